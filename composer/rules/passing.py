"""Past what stands in the room, piece by piece: rows and checker for :mod:`composer.rules.room`.

From one station of a figure to the next (:mod:`composer.floor.stations`) the couple keeps beyond one of the lines round
every block; the next piece may choose another line, so a figure may wind round a pillar.

Linear form: both partners' places at every station of the music are unknowns, tied to the arcs as they run. A piece
then has one 0/1 unknown for every line of a block, and no arcs: the line chosen holds at both ends of the piece for
both partners, the others are eased by as much as the room is wide. Where strides may give or take ground, how much the
running figure may is an unknown too, and stations within a figure leave room for all of it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Final

from composer.floor.model import Room
from composer.floor.passing import Passing, passing
from composer.floor.shape import Block, Line, blocks
from composer.floor.stations import Pair, stations
from composer.network.model import Arc, Network
from composer.problem import Problem
from composer.rules.base import Row, Unknown, Var
from composer.rules.places import AXES, Way, Ways, more_name, place_name

BODIES: Final = ("lead", "follow", "next")
"""Leader and follower at the end of a piece; the follower as the next piece begins (a figure's own start)."""
GIVES: Final = ("less", "more")
ENDS: Final = ("first", "last")
"""A station as where a piece begins, and as where one ends."""


@dataclass
class Passed:
    """What is stated: unknowns, rows that tie them to the arcs, and the rows of the demand."""

    unknowns: list[Unknown] = field(default_factory=list)
    ties: list[Row] = field(default_factory=list)
    rows: list[Row] = field(default_factory=list)


def passing_of(problem: Problem, room: Room) -> Passing:
    """What is to be passed, fine enough for every figure of the brief's dances made for such a room."""
    return passing(room, (figure.motion for figure in problem.figures().values() if room.style in figure.styles))


def past_blocks(problem: Problem, room: Room, network: Network, arcs: Sequence[Arc], ways: Ways) -> Passed:
    """Rows and unknowns for every block of the room; nothing where the floor is free."""
    given = passing_of(problem, room)
    if not given.blocks or given.shut:
        return Passed()
    return _Passing(problem, room, network, arcs, ways, given).stated()


class _Passing:
    def __init__(
        self, problem: Problem, room: Room, network: Network, arcs: Sequence[Arc], ways: Ways, given: Passing
    ) -> None:
        self.room, self.network, self.arcs, self.ways, self.given = room, network, arcs, ways, given
        self.figures = problem.catalogue.figures
        self.found = Passed()
        self.known: dict[tuple[str, int], tuple[Pair, ...]] = {}
        self.ends = sorted({arc.end for arc in arcs})
        self.starts = sorted({arc.start for arc in arcs})
        self.ticks = range(0, network.length_ticks + 1, given.step)

    def stated(self) -> Passed:
        for axis in (0, 1):
            self.tie(axis)
        most_given = self.tie_ground() if self.room.stretches else 0
        for before, after in pairwise(self.ticks):
            for index, block in enumerate(self.given.blocks):
                self.piece(index, block, before, after, most_given)
        return self.found

    def pairs(self, arc: Arc) -> tuple[Pair, ...]:
        """Stations of an arc's figure."""
        key = (arc.figure, arc.faces)
        if key not in self.known:
            self.known[key] = stations(self.figures[arc.figure].motion, arc.faces, self.given.step)
        return self.known[key]

    def tie(self, axis: int) -> None:
        """Places of both partners at every station along one axis."""
        steps: dict[int, dict[Var, int]] = {tick: {} for tick in self.ticks}
        across: dict[int, dict[Var, int]] = {tick: {} for tick in self.ticks}
        begins: dict[int, dict[Var, int]] = {tick: {} for tick in self.ticks}
        fastest, widest = 0, 0
        for arc in self.arcs:
            pairs, at = self.pairs(arc), arc.start
            swap = self.ways.over(self.network.nodes[arc.tail])[axis] if self.network.changes_lead(arc) else 0
            own = swap or pairs[0][1][axis] - pairs[0][0][axis]
            if own:
                begins[at][arc.id] = own
            for before, (leader, follower) in pairwise(pairs):
                at += self.given.step
                far = leader[axis] - before[0][axis] + swap
                swap = 0
                fastest = max(fastest, abs(far))
                widest = max(widest, abs(own), abs(follower[axis] - leader[axis]))
                if far:
                    steps[at][arc.id] = far
                if follower[axis] != leader[axis]:
                    across[at][arc.id] = follower[axis] - leader[axis]
                    if at != arc.end:
                        begins[at][arc.id] = follower[axis] - leader[axis]
        self.chain(axis, steps, across, begins, (fastest, widest))

    def chain(
        self,
        axis: int,
        steps: dict[int, dict[Var, int]],
        across: dict[int, dict[Var, int]],
        begins: dict[int, dict[Var, int]],
        reach: tuple[int, int],
    ) -> None:
        """The unknowns of one axis with the rows that follow them from station to station."""
        room, name = self.room, AXES[axis]
        size, first = ((room.width_mm, room.start_x_mm), (room.depth_mm, room.start_y_mm))[axis]
        low, high = min(0, first or 0), max(size, first or 0)
        grown: dict[int, int] = dict.fromkeys(self.ticks, 0)
        if room.stretches:
            for arc in self.arcs:
                limits = self.ways.of(arc.figure, arc.faces, arc.corners).limits[axis]
                grown[arc.end] = max(grown[arc.end], *map(abs, limits))
        far = 0
        before: str | None = None
        for tick in self.ticks:
            here = body_name("lead", name, tick)
            far += reach[0] + grown[tick] if tick else 0
            self.found.unknowns.append(Unknown(here, low - far, high + far))
            row: dict[Var, int] = {here: -1, **steps[tick], (before or place_name(name, 0)): 1}
            if grown[tick]:
                row[more_name(name, tick)] = 1
            self.found.ties.append(Row(row, 0, 0))
            for body, offsets in (("follow", across), ("next", begins)):
                if tick != (0 if body == "follow" else self.ticks[-1]):
                    other = body_name(body, name, tick)
                    self.found.unknowns.append(Unknown(other, low - far - reach[1], high + far + reach[1]))
                    self.found.ties.append(Row({other: -1, here: 1, **offsets[tick]}, 0, 0))
            before = here

    def tie_ground(self) -> int:
        """How much less and more ground the running figure may take, by end of a piece; returns the most there is.

        Where a figure begins and where it ends it is where it is, but for what bodies stray.
        """
        most = 0
        for axis in (0, 1):
            parts: dict[tuple[str, str], dict[int, dict[Var, int]]] = {
                (end, give): {tick: {} for tick in self.ticks} for end in ENDS for give in GIVES
            }
            for arc in self.arcs:
                way = self.ways.of(arc.figure, arc.faces, arc.corners)
                for give, limit, stray in zip(GIVES, way.eased[axis], (-way.stray, way.stray), strict=True):
                    if not limit:
                        continue
                    most = max(most, abs(limit))
                    for tick in range(arc.start + self.given.step, arc.end, self.given.step):
                        for end in ENDS:
                            parts[end, give][tick][arc.id] = limit
                    if stray:
                        parts["first", give][arc.start][arc.id] = stray
                        parts["last", give][arc.end][arc.id] = stray
            for (end, give), by_tick in parts.items():
                for tick in self.ticks[1 if end == "last" else 0 : -1 if end == "first" else None]:
                    weights, name = by_tick[tick], ground_name(end, give, AXES[axis], tick)
                    ends = min(0, *weights.values(), 0), max(0, *weights.values(), 0)
                    self.found.unknowns.append(Unknown(name, *ends))
                    self.found.ties.append(Row({name: -1, **weights}, 0, 0))
        return most

    def piece(self, index: int, block: Block, before: int, after: int, most_given: int) -> None:
        """One line of a block holds at both ends of a piece for both partners."""
        names: dict[Var, int] = {}
        for number, line in enumerate(block.lines):
            name = f"room:past-{index}.{number}@{after}"
            names[name] = 1
            eased = line.c - min(line.at(corner) for corner in self.room.outer)
            eased += (abs(line.a) + abs(line.b)) * most_given
            for body, tick in (("lead", before), ("next", before), ("lead", after), ("follow", after)):
                at: dict[Var, int] = {}
                for axis, part in zip(AXES, (line.a, line.b), strict=True):
                    if part:
                        at[body_name(body, axis, tick)] = part
                        if self.room.stretches:
                            end = "first" if tick == before else "last"
                            at[ground_name(end, "less" if part > 0 else "more", axis, tick)] = part
                self.found.rows.append(Row({**at, name: -eased}, least=line.c - eased))
        self.found.unknowns += [Unknown(str(name), 0, 1) for name in names]
        self.found.rows.append(Row(names, least=1))


def on_one_side(room: Room, network: Network, begin: Mapping[int, Sequence[Arc]], ways: Ways) -> Passed:
    """The short way to ask for more: every figure passes a block as a whole beyond one of a few lines.

    Parameters
    ----------
    begin : by tick the arcs that begin there; the leader's place there is known (:mod:`composer.rules.places`).
    """
    found = Passed()
    known: dict[tuple[int, Line], tuple[int, int]] = {}

    def back(way: Way, line: Line) -> tuple[int, int]:
        """How far a figure comes back towards a line, and what of it is ground it may take."""
        key = (id(way), line)
        if key not in known:
            pairs = zip((line.a, line.b), way.eased, strict=True)
            given = -sum(min(0, part * low, part * high) for part, (low, high) in pairs)
            known[key] = -way.reach(-line.a, -line.b) - given, given
        return known[key]

    for index, block in enumerate(blocks(room)):
        for tick in sorted(begin):
            names: dict[Var, int] = {}
            ground = [(arc.id, ways.of(arc.figure, arc.faces, arc.corners)) for arc in begin[tick]]
            for number, line in enumerate(block.lines):
                far = {arc: back(way, line) for arc, way in ground}
                most_given = max((given for _, given in far.values()), default=0)
                eased = line.c - min(line.at(corner) for corner in room.outer) + most_given
                name = f"room:aside-{index}.{number}@{tick}"
                names[name] = 1
                at: dict[Var, int] = {place_name(axis, tick): p for axis, p in zip(AXES, (line.a, line.b), strict=True)}
                weights: dict[Var, int] = {**at, **{arc: value for arc, (value, _) in far.items()}, name: -eased}
                found.rows.append(Row({var: value for var, value in weights.items() if value}, least=line.c - eased))
            found.unknowns += [Unknown(str(name), 0, 1) for name in names]
            found.rows.append(Row(names, least=1))
    return found


def body_name(body: str, axis: str, tick: int) -> str:
    """The unknown that says where a partner is at a station."""
    return f"room:{body}-{axis}@{tick}"


def ground_name(end: str, give: str, axis: str, tick: int) -> str:
    """The unknown that says how much less or more ground the figure running after a station (``first``) or up to it
    (``last``) may have taken there."""
    return f"room:{end}-{give}-ground-{axis}@{tick}"
