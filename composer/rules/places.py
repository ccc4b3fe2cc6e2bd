"""Where the leader stands, as unknowns: the helper of the families that look at places.

Unknown ``room:x@<tick>`` (and ``y``) is where the leader stands at each tick at which some figure begins: the place
at the tick before plus the travel of the figures that ended since; where partners change roles the leader is from
then on whoever stood there as follower, and the place moves to that body. While a longer figure runs across the tick
the place is still where that figure began. The place at the end of the music is known where somebody asks for it.

Where the brief leaves a choice of stride, ``room:more-x@<tick>`` is the ground the figure that ends at the tick takes
beyond its natural travel, within :func:`composer.floor.placing.ground_limits`. Off a travelling floor strides change
the ground along both axes alike: ``room:scale-<way>@<tick>`` is the part (in ten-thousandths) by which a way that ends
at the tick is danced larger or smaller (0 for the others), and the ground taken is that part of the way's travel to
less than a millimetre. Whole numbers throughout.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Final
from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import NDArray

from composer.floor.model import Place, Room
from composer.floor.placing import (
    WHOLE,
    bodies_of,
    ground_limits,
    handed,
    scale_limits,
    scales_whole,
    stray_of,
    travel_of,
    widened,
)
from composer.network.model import Network, Node
from composer.network.table import Numbers, Table
from composer.problem import Problem
from composer.rules.base import Row, Unknown, Var
from composer.rules.weights import Weights, nonzero

AXES: Final = ("x", "y")
NOBODY: Final = np.zeros(0, dtype=np.int32)
Ended = tuple[Numbers, Numbers]
"""The arcs that end at a tick and the numbers of their ways."""


def place_name(axis: str, tick: int) -> str:
    """The unknown that says where the leader stands at a tick; ``axis`` is ``x`` or ``y``."""
    return f"room:{axis}@{tick}"


def more_name(axis: str, tick: int) -> str:
    """The unknown that says how much more ground the figure that ends at a tick takes."""
    return f"room:more-{axis}@{tick}"


def scale_name(way: int, tick: int) -> str:
    """The unknown that says by what part a way that ends at a tick is danced larger or smaller."""
    return f"room:scale-{way}@{tick}"


@dataclass(frozen=True, eq=False)
class Way:
    """What one figure does on the floor when begun in one facing along one side.

    ``bodies`` is where both are at every moment (:func:`composer.floor.placing.bodies_of`); ``stray`` is how far a body
    may be off it when strides are not natural; ``percents`` are the least and the most beyond natural strides.
    """

    travel: Place
    bodies: NDArray[np.int64]
    limits: tuple[Place, Place]
    stray: int = 0
    percents: Place = (0, 0)

    def reach(self, a: int, b: int) -> int:
        """The most of ``a*x + b*y`` along it."""
        return int((self.bodies @ np.array([a, b])).max())

    @property
    def eased(self) -> tuple[Place, Place]:
        """What it may take within its way, strays included."""
        return widened(self.limits, self.stray)

    @property
    def gives(self) -> bool:
        """Whether it may take more or less ground."""
        return any(any(pair) for pair in self.limits)


class Ways:
    """Ways by figure, facing and side, worked out once."""

    def __init__(self, problem: Problem, room: Room) -> None:
        self.problem, self.figures, self.room = problem, problem.catalogue.figures, room
        self.known: dict[tuple[str, int, int], Way] = {}
        self.walked: dict[tuple[str, int], tuple[Place, NDArray[np.int64]]] = {}

    def of(self, figure: str, faces: int, corners: int) -> Way:
        """The way of a figure."""
        key = (figure, faces, corners % 2)
        if key not in self.known:
            motion = self.figures[figure].motion
            if key[:2] not in self.walked:
                self.walked[key[:2]] = travel_of(motion, faces), bodies_of(motion, faces)
            limits, stray = (
                ground_limits(self.room, motion, faces, corners),
                stray_of(self.room, motion, faces, corners),
            )
            percents = scale_limits(self.room, motion) if self.room.stretches else (0, 0)
            self.known[key] = Way(*self.walked[key[:2]], limits, stray, percents)
        return self.known[key]

    def numbered(self, table: Table) -> tuple[Numbers, list[Way]]:
        """A number for the way of every arc (by its id), and the ways by number: networks have many arcs, few ways.

        Arcs into the sink have the number 0, which means nothing there.
        """
        own, number = table.danced, np.zeros(len(table), dtype=np.int32)
        code = (table.figure[own] * 8 + table.faces[own]) * 2 + table.corners[own] % 2
        _, first, number[own] = np.unique(code, return_index=True, return_inverse=True)
        figures = (table.names[k] for k in table.figure[own[first]].tolist())
        facings, corners = table.faces[own[first]].tolist(), table.corners[own[first]].tolist()
        return number, [self.of(*key) for key in zip(figures, facings, corners, strict=True)]

    def over(self, node: Node) -> Place:
        """From the leader to the follower as they stand between two figures."""
        assert node.stand is not None
        stance = self.problem.catalogue.stances[self.problem.catalogue.holds[node.stand.hold].stance]
        return handed((0, 0), stance, node.stand.faces)


_KNOWN: WeakKeyDictionary[Table, Ways] = WeakKeyDictionary()


def ways_over(problem: Problem, room: Room, network: Network) -> Ways:
    """The ways of a network's figures in a room; families that look at places share them, as long as it is kept."""
    ways = _KNOWN.get(network.table)
    if ways is None or ways.room != room or ways.problem.catalogue is not problem.catalogue:
        ways = _KNOWN[network.table] = Ways(problem, room)
    return ways


@dataclass
class Chain:
    """Unknown places and the rows that tie them together; ``ticks`` have a place."""

    ticks: tuple[int, ...] = ()
    unknowns: list[Unknown] = field(default_factory=list)
    rows: list[Row] = field(default_factory=list)


def asks_for_end(room: Room) -> bool:
    """Whether anything looks at the place at the end of the music."""
    return room.closed or room.finish is not None or room.stretches


def chained(room: Room, network: Network, ways: Ways) -> Chain:
    """The places of a network's arcs."""
    table = network.table
    starts = {0, *table.by_start}
    if asks_for_end(room):
        starts.add(network.length_ticks)
    chain = Chain(tuple(sorted(starts)))
    number, known = ways.numbered(table)
    lengths = np.zeros(len(known), dtype=np.int32)
    ends: dict[int, Ended] = {}
    for tick in chain.ticks:
        own = table.by_end.get(tick, NOBODY)
        ends[tick] = own, number[own]
        lengths[number[own]] = table.end[own] - table.start[own]
    over: dict[int, dict[int, Place]] = {}
    for arc in network.arcs if ways.problem.both_lead else ():
        if network.changes_lead(arc):
            over.setdefault(arc.start, {})[arc.id] = ways.over(network.nodes[arc.tail])
    firsts = ((room.start_x_mm, room.width_mm), (room.start_y_mm, room.depth_mm))
    for index, (axis, (first, size)) in enumerate(zip(AXES, firsts, strict=True)):
        led = {tick: {arc: step[index] for arc, step in arcs.items() if step[index]} for tick, arcs in over.items()}
        _along(chain, index, axis, (min(0, first or 0), max(size, first or 0)), ends, (known, lengths.tolist()), led)
    if scales_whole(room):
        _in_scale(chain, ends, known)
    return chain


def _in_scale(chain: Chain, ends: Mapping[int, Ended], ways: Sequence[Way]) -> None:
    """More ground along x and y in the same part of the way that ends at a tick; ways alike share an unknown.

    Along an axis on which nothing that ends at a tick may take even a millimetre there is nothing to tie.
    """
    known = {unknown.name for unknown in chain.unknowns}
    for tick, arcs in ends.items():
        alike: dict[tuple[Place, Place], list[int]] = {}
        names: dict[tuple[Place, Place], str] = {}
        for arc, number in zip(arcs[0].tolist(), arcs[1].tolist(), strict=True):
            way = ways[number]
            if way.gives:
                alike.setdefault((way.travel, way.percents), []).append(arc)
                names.setdefault((way.travel, way.percents), scale_name(number, tick))
        for (travel, (least, most)), own in alike.items():
            name = names[travel, (least, most)]
            least, most = WHOLE // 100 * least, WHOLE // 100 * most
            chain.unknowns.append(Unknown(name, least, most))
            if least:
                chain.rows.append(Row({name: 1, **dict.fromkeys(own, -least)}, least=0))
            if most:
                chain.rows.append(Row({name: 1, **dict.fromkeys(own, -most)}, most=0))
        for index, axis in enumerate(AXES):
            parts: dict[Var, int] = {name: -key[0][index] for key, name in names.items() if key[0][index]}
            if parts and more_name(axis, tick) in known:
                chain.rows.append(Row({more_name(axis, tick): WHOLE, **parts}, 1 - WHOLE, WHOLE - 1))


def _along(
    chain: Chain,
    index: int,
    axis: str,
    begins: Place,
    ends: Mapping[int, Ended],
    ways: tuple[Sequence[Way], Sequence[int]],
    led: Mapping[int, Mapping[int, int]],
) -> None:
    """Unknowns and rows along one axis. Bounds follow from the fastest figure, so that they never bind.

    ``ways``: the ways, and how long each takes
    (0 where none of them ends at a tick that counts). ``led``: by tick the figures that begin there with roles changed,
    and how far it is to the body that leads then.
    """
    steps = np.array([way.travel[index] for way in ways[0]], dtype=np.int32)
    lows, highs = (np.array([way.limits[index][end] for way in ways[0]], dtype=np.int32) for end in (0, 1))
    gives = lows.any() or highs.any()
    fastest = 0
    for step, low, high, length in zip(steps.tolist(), lows.tolist(), highs.tolist(), ways[1], strict=True):
        if length:
            fastest = max(fastest, -(-max(abs(step + low), abs(step + high)) // length))
    wider = sum(max(map(abs, apart.values()), default=0) for apart in led.values())
    ended: dict[int, Weights] = {}
    for tick, (arcs, number) in ends.items():
        more: dict[str, int] = {}
        if gives and (lows[number].any() or highs[number].any()):
            more = {more_name(axis, tick): 1}
            least, most = nonzero(arcs, -lows[number], more), nonzero(arcs, -highs[number], more)
            ends_of_it = -int(least.amounts.max(initial=0)), -int(most.amounts.min(initial=0))
            chain.unknowns.append(Unknown(more_name(axis, tick), *ends_of_it))
            chain.rows += [Row(least, least=0), Row(most, most=0)]
        ended[tick] = nonzero(arcs, steps[number], more)
    chain.unknowns += [
        Unknown(place_name(axis, t), begins[0] - fastest * t - wider, begins[1] + fastest * t + wider)
        for t in chain.ticks
    ]
    for before, tick in pairwise(chain.ticks):
        own, over = ended[tick], led.get(tick, {})
        named = {place_name(axis, before): 1, **own.named, place_name(axis, tick): -1}
        if over:
            both: dict[Var, int] = {**dict(own), **dict(over.items())}
            both.update(named)
            chain.rows.append(Row(both, 0, 0))
        else:
            chain.rows.append(Row(Weights(own.arcs, own.amounts, named), 0, 0))


def point(place: Place) -> str:
    """A place as people read it."""
    return f"({metres(place[0])} m, {metres(place[1])} m)"


def metres(mm: int | None) -> str:
    """Metres with at most two places."""
    return f"{(mm or 0) / 1000:.2f}".rstrip("0").rstrip(".")


def shifted(path: Iterable[Place], by: Place) -> tuple[Place, ...]:
    """A path moved."""
    return tuple((x + by[0], y + by[1]) for x, y in path)
