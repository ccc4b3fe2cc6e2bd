"""Use of the floor: the routine is spread over the room rather than danced in one corner.

Asks: with ``wishes.spread: n`` the leader begins figures in at least n of the four quarters of the floor (halves by
width and depth, each quarter with its own middle lines left out by half a metre, so that a step across is no visit).
Source: a show uses the floor it is given, common practice, no source; the half metre is the tool's own. Score
``spread``: ten times the weight ``spread`` for every quarter in which a figure begins; not on a travelling floor, where
laps lead everywhere.

Linear form: one 0/1 unknown for every quarter, at most the sum of 0/1 witnesses, one for every tick at which a figure
may begin; a witness holds the place at its tick (:mod:`composer.rules.places`) inside the quarter, eased by as much
as the unknown's own bounds allow when it is 0. Where points are given, a witness is 1 exactly when the place is in its
quarter: along each axis the place lies in one of three bands, and a witness is the meeting of two.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

from composer.floor.model import Room
from composer.network.model import Network
from composer.problem import Problem
from composer.routine import Routine
from composer.rules.base import Breach, Change, Demand, Example, Points, Row, Stated, Term, Unknown
from composer.rules.look import danced, said
from composer.rules.places import chained, place_name, ways_over

NAME = "spread"
QUARTERS: Final = ((0, 0), (1, 0), (1, 1), (0, 1))
MIDDLE_MM: Final = 500
KEY, TERM = f"{NAME}:quarters", NAME
PER_QUARTER: Final = 10
BANDS: Final = ("low", "middle", "high")

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
    """Witnesses for quarters, a demand and the term ``spread``."""
    room, least, weight = problem.room, problem.brief.wishes.spread, _weight(problem)
    if room is None or (least is None and not weight):
        return Stated()
    bounds = {unknown.name: unknown for unknown in chained(room, network, ways_over(problem, room, network)).unknowns}
    starts = sorted(network.table.by_start)
    seen = [f"{NAME}:quarter-{quarter}" for quarter in range(4)]
    unknowns = [Unknown(name, 0, 1) for name in seen]
    rows: list[Row] = []
    for quarter, name in enumerate(seen):
        witnesses = [f"{name}@{tick}" for tick in starts]
        unknowns += [Unknown(witness, 0, 1) for witness in witnesses]
        rows.append(Row({name: 1, **dict.fromkeys(witnesses, -1)}, most=0))
        for tick, witness in zip(starts, witnesses, strict=True):
            rows += _inside(room, quarter, tick, witness, bounds) if not weight else _meeting(quarter, tick, witness)
            if weight:
                rows.append(Row({name: 1, witness: -1}, least=0))
    for tick in starts if weight else ():
        for axis, size in (("x", room.width_mm), ("y", room.depth_mm)):
            bands, own = _bands(axis, size, tick, bounds)
            unknowns, rows = unknowns + bands, rows + own
    demands: tuple[Demand, ...] = ()
    if least is not None:
        where = said(problem, "wishes", "spread")
        demands = (Demand(KEY, _sentence(least), where, rows=(Row(dict.fromkeys(seen, 1), least=least),)),)
    terms = (Term(TERM, "Floor use: quarters of the floor danced in", dict.fromkeys(seen, weight)),) if weight else ()
    return Stated(demands, tuple(unknowns), tuple(rows), terms)


def _weight(problem: Problem) -> int:
    """Points for every quarter."""
    travels = problem.room is None or problem.room.style == "travelling"
    return 0 if travels else PER_QUARTER * problem.brief.wishes.weights.spread


def _edges(size: int) -> tuple[int, int]:
    """Up to where the lower band goes, and from where the upper one."""
    return size // 2 - MIDDLE_MM, -(-size // 2) + MIDDLE_MM


def _bands(axis: str, size: int, tick: int, bounds: dict[str, Unknown]) -> tuple[list[Unknown], list[Row]]:
    """One of three 0/1 unknowns is 1: that of the band in which the place at a tick lies along an axis."""
    name, (low, high) = place_name(axis, tick), _edges(size)
    known = bounds[name]
    spans = ((known.least, low), (max(low + 1, known.least), min(high - 1, known.most)), (high, known.most))
    bands = [band_name(axis, band, tick) for band in BANDS]
    unknowns = [Unknown(band, 0, int(a <= b)) for band, (a, b) in zip(bands, spans, strict=True)]
    return unknowns, [
        Row(dict.fromkeys(bands, 1), 1, 1),
        Row({name: 1, **{band: -a for band, (a, _) in zip(bands, spans, strict=True) if a}}, least=0),
        Row({name: 1, **{band: -b for band, (_, b) in zip(bands, spans, strict=True) if b}}, most=0),
    ]


def _meeting(quarter: int, tick: int, witness: str) -> Iterator[Row]:
    """The witness is 1 exactly when the place lies in its quarter's bands along both axes."""
    bands = [band_name(axis, BANDS[2 * upper], tick) for axis, upper in zip("xy", QUARTERS[quarter], strict=True)]
    for band in bands:
        yield Row({witness: 1, band: -1}, most=0)
    yield Row({witness: 1, **dict.fromkeys(bands, -1)}, least=-1)


def band_name(axis: str, band: str, tick: int) -> str:
    """The unknown that says in which band the place at a tick lies."""
    return f"{NAME}:{axis}-{band}@{tick}"


def _inside(room: Room, quarter: int, tick: int, witness: str, bounds: dict[str, Unknown]) -> Iterator[Row]:
    """The place lies in the quarter when the witness says so."""
    for axis, (upper, size) in zip(
        ("x", "y"), zip(QUARTERS[quarter], (room.width_mm, room.depth_mm), strict=True), strict=True
    ):
        name = place_name(axis, tick)
        if upper:
            limit = _edges(size)[1]
            eased = limit - bounds[name].least
            yield Row({name: 1, witness: -eased}, least=limit - eased)
        else:
            limit = _edges(size)[0]
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
    """The term ``spread``, given where a quarter is first danced in."""
    room, weight = problem.room, _weight(problem)
    if room is None or not weight:
        return ()
    given = [0] * len(routine.figures)
    seen: set[int | None] = {None}
    for index, placed, _ in danced(problem, routine):
        if placed.x_mm is not None and placed.y_mm is not None:
            quarter = quarter_of(room, placed.x_mm, placed.y_mm)
            given[index] = 0 if quarter in seen else weight
            seen.add(quarter)
    return (Points(TERM, sum(given), tuple(given)),)


def _sentence(least: int) -> str:
    return f"The routine is danced in at least {least} of the four quarters of the floor"
