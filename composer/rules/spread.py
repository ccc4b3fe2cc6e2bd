"""Use of the floor: the routine is spread over the room rather than danced in one corner.

Asks: with ``wishes.spread: n`` the leader begins figures in at least n of the four quarters of the floor (halves by
width and depth, each quarter with its own middle lines left out by half a metre, so that a step across is no visit).
Source: a show uses the floor it is given, common practice, no source; the half metre is the tool's own.

Linear form: one 0/1 unknown for every quarter, at most the sum of 0/1 witnesses, one for every tick at which a figure
may begin; a witness holds the place at its tick (:mod:`composer.rules.places`) inside the quarter, eased by as much
as the unknown's own bounds allow when it is 0.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

from composer.floor.model import Room
from composer.network.model import Network
from composer.problem import Problem
from composer.routine import Routine
from composer.rules.base import Breach, Change, Demand, Example, Points, Row, Stated, Unknown
from composer.rules.look import danced, said
from composer.rules.places import Ways, chained, place_name

NAME = "spread"
QUARTERS: Final = ((0, 0), (1, 0), (1, 1), (0, 1))
MIDDLE_MM: Final = 500
KEY = f"{NAME}:quarters"

HALL = {"style": "show", "width": 8, "depth": 5}

EXAMPLES = (
    # the quarters end 50 cm before the middle lines: x up to 3.5 m and from 4.5 m, y up to 2 m and from 3 m
    Example("from the west into the east", ("walk", "walk", "four", "four"), {"spread": 2}, room=HALL, at=(1500, 2000)),
    Example("one side only", ("walk", "walk", "four", "four"), {"spread": 2}, room=HALL, at=(1499, 2000), good=False),
    Example("along the middle line", ("walk", "walk", "four", "four"), {"spread": 2}, room=HALL, at=(1500, 2001),
            good=False),
    Example("not asked for", ("four", "four", "eight"), room=HALL, at=(1500, 2500)),
)  # fmt: skip


def state(problem: Problem, network: Network) -> Stated:
    """Witnesses for quarters, and one demand."""
    room, least = problem.room, problem.brief.wishes.spread
    if room is None or least is None:
        return Stated()
    arcs = [arc for arc in network.arcs if arc.figure]
    bounds = {unknown.name: unknown for unknown in chained(room, network, arcs, Ways(problem, room)).unknowns}
    starts = sorted({arc.start for arc in arcs})
    unknowns: list[Unknown] = []
    rows: list[Row] = []
    for quarter in range(4):
        seen = f"{NAME}:quarter-{quarter}"
        witnesses = [f"{NAME}:quarter-{quarter}@{tick}" for tick in starts]
        unknowns += [Unknown(name, 0, 1) for name in (seen, *witnesses)]
        rows.append(Row({seen: 1, **dict.fromkeys(witnesses, -1)}, most=0))
        for tick, witness in zip(starts, witnesses, strict=True):
            rows += _inside(room, quarter, tick, witness, bounds)
    demand = Row({f"{NAME}:quarter-{quarter}": 1 for quarter in range(4)}, least=least)
    return Stated(
        (Demand(KEY, _sentence(least), said(problem, "wishes", "spread"), rows=(demand,)),),
        tuple(unknowns),
        tuple(rows),
    )


def _inside(room: Room, quarter: int, tick: int, witness: str, bounds: dict[str, Unknown]) -> Iterator[Row]:
    """The place lies in the quarter when the witness says so."""
    for axis, (upper, size) in zip(
        ("x", "y"), zip(QUARTERS[quarter], (room.width_mm, room.depth_mm), strict=True), strict=True
    ):
        name = place_name(axis, tick)
        if upper:
            limit = -(-size // 2) + MIDDLE_MM
            eased = limit - bounds[name].least
            yield Row({name: 1, witness: -eased}, least=limit - eased)
        else:
            limit = size // 2 - MIDDLE_MM
            eased = bounds[name].most - limit
            yield Row({name: 1, witness: eased}, most=limit + eased)


def quarter_of(room: Room, x: int, y: int) -> int | None:
    """Which quarter of the floor a place lies in; None near a middle line."""
    halves = []
    for at, size in ((x, room.width_mm), (y, room.depth_mm)):
        if 2 * at <= size - 2 * MIDDLE_MM - size % 2:
            halves.append(0)
        elif 2 * at >= size + 2 * MIDDLE_MM + size % 2:
            halves.append(1)
        else:
            return None
    return QUARTERS.index((halves[0], halves[1]))


def breaches(problem: Problem, routine: Routine) -> list[Breach]:
    """Too few quarters."""
    room, least = problem.room, problem.brief.wishes.spread
    if room is None or least is None:
        return []
    places = [(p.x_mm, p.y_mm) for _, p, _ in danced(problem, routine)]
    seen = {quarter_of(room, x, y) for x, y in places if x is not None and y is not None} - {None}
    if len(seen) >= least:
        return []
    message = f"{len(seen)} of the four quarters of the floor are danced in; at least {least} are wished"
    return [Breach(KEY, message, None, said(problem, "wishes", "spread"))]


def softer(problem: Problem, key: str) -> list[Change]:
    """Fewer quarters, or none in particular."""
    least = problem.brief.wishes.spread or 1
    found = [
        Change(key, f"use {fewer} of the four quarters of the floor", ("wishes", "spread"), fewer, 2 + least - fewer)
        for fewer in range(least - 1, 1, -1)
    ]
    return [*found, Change(key, "dance anywhere on the floor", ("wishes", "spread"), None, 6)]


def points(problem: Problem, routine: Routine) -> Iterable[Points]:
    """No score."""
    return ()


def _sentence(least: int) -> str:
    return f"The routine is danced in at least {least} of the four quarters of the floor"
