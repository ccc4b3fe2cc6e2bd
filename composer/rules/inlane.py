"""Lanes as rows: for :mod:`composer.rules.line_of_dance`.

The place of the leader at a tick (``room:x@<tick>``, :mod:`composer.rules.places`) keeps to the whole floor. On a
rectangle a lane differs from the floor in one limit, which the figures that begin there on a side move to the edge of
its lane. Other floors have a strip for every stretch of wall: one 0/1 unknown each, of which one holds where a figure
begins on the side. Without a lane two unknowns say where the couple's middle is, and the figures of a side lie on its
side of it. While a longer figure runs across the tick the place is where it began.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from composer.floor.lanes import Strip, strips
from composer.floor.model import Room
from composer.network.model import Arc
from composer.rules.base import Row, Unknown, Var
from composer.rules.places import place_name

Begin = Mapping[int, Sequence[tuple[Arc, bool]]]
"""By tick the arcs that begin there, and whether a corner is turned before them."""


@dataclass
class InLane:
    """Unknowns and rows."""

    unknowns: list[Unknown] = field(default_factory=list)
    rows: list[Row] = field(default_factory=list)


def in_lane(room: Room, begin: Begin) -> InLane:
    """Where figures may begin on each side of a travelling floor."""
    found = InLane()
    if room.lane_mm is None:
        low_x, low_y, high_x, high_y = room.inside
        found.unknowns += [Unknown(middle_name("x"), low_x, max(low_x, high_x))]
        found.unknowns += [Unknown(middle_name("y"), low_y, max(low_y, high_y))]
    for tick, arcs in sorted(begin.items()):
        rectangle = not room.outline
        found.rows += _limits(room, tick, arcs if rectangle else ())
        if room.lane_mm is None:
            found.rows += _round_the_middle(room, tick, arcs)
        if rectangle:
            continue
        for side in range(4):
            on = [arc.id for arc, _ in arcs if arc.corners == side]
            after = [arc.id for arc, turns in arcs if turns and arc.corners == side]
            for what, chosen, depth in (("lane", on, room.lane_mm), ("corner", after, room.corner_mm)):
                if chosen and depth is not None:
                    _in_strips(found, room, f"{what}-{side}", tick, chosen, strips(room, side, depth))
    return found


def _limits(room: Room, tick: int, arcs: Sequence[tuple[Arc, bool]]) -> tuple[Row, ...]:
    """Four limits of the leader's place at a tick, each moved inwards by the figures that begin along its side."""
    floor, moves = room.inside, [dict[Var, int]() for _ in range(4)]
    for arc, turns in arcs:
        depths = [depth for depth in (room.lane_mm, room.corner_mm if turns else None) if depth is not None]
        if not depths:
            continue
        lane = room.band(arc.corners, min(depths))
        for side in range(4):
            if lane[side] != floor[side]:
                moves[side][arc.id] = floor[side] - lane[side]
    x, y = place_name("x", tick), place_name("y", tick)
    return (
        Row({x: 1, **moves[0]}, least=floor[0]),
        Row({y: 1, **moves[1]}, least=floor[1]),
        Row({x: 1, **moves[2]}, most=floor[2]),
        Row({y: 1, **moves[3]}, most=floor[3]),
    )


def _round_the_middle(room: Room, tick: int, arcs: Sequence[tuple[Arc, bool]]) -> list[Row]:
    """South-side figures begin south of the middle, and so on; nothing is further apart than the floor is wide."""
    low_x, low_y, high_x, high_y = room.inside
    rows = []
    for side, (axis, sign, far) in enumerate(
        (("y", 1, high_y - low_y), ("x", -1, high_x - low_x), ("y", -1, high_y - low_y), ("x", 1, high_x - low_x))
    ):
        on: dict[Var, int] = {arc.id: far for arc, _ in arcs if arc.corners == side}
        if on:
            rows.append(Row({place_name(axis, tick): sign, middle_name(axis): -sign, **on}, most=far))
    return rows


def _in_strips(
    found: InLane, room: Room, what: str, tick: int, arcs: Sequence[int], choices: tuple[Strip, ...]
) -> None:
    """One of the strips holds when one of the figures begins."""
    names: dict[Var, int] = {}
    for number, strip in enumerate(choices):
        name = f"line_of_dance:{what}.{number}@{tick}"
        names[name] = 1
        found.unknowns.append(Unknown(name, 0, 1))
        for line in strip:
            parts = ((place_name("x", tick), line.a), (place_name("y", tick), line.b))
            at: dict[Var, int] = {place: part for place, part in parts if part}
            eased = max(0, max(line.at(corner) for corner in room.outer) - line.c)
            found.rows.append(Row({**at, name: eased}, most=line.c + eased))
    found.rows.append(Row({**names, **dict.fromkeys(arcs, -1)}, least=0))


def middle_name(axis: str) -> str:
    """The unknown that says where the couple's own middle is."""
    return f"line_of_dance:middle-{axis}"
