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

from composer.floor.model import Place, Room
from composer.floor.placing import (
    WHOLE,
    ground_limits,
    handed,
    path_of,
    scale_limits,
    scales_whole,
    stray_of,
    travel_of,
    widened,
)
from composer.network.model import Arc, Network, Node
from composer.problem import Problem
from composer.rules.base import Row, Unknown, Var

AXES: Final = ("x", "y")


def place_name(axis: str, tick: int) -> str:
    """The unknown that says where the leader stands at a tick; ``axis`` is ``x`` or ``y``."""
    return f"room:{axis}@{tick}"


def more_name(axis: str, tick: int) -> str:
    """The unknown that says how much more ground the figure that ends at a tick takes."""
    return f"room:more-{axis}@{tick}"


def scale_name(way: int, tick: int) -> str:
    """The unknown that says by what part a way that ends at a tick is danced larger or smaller."""
    return f"room:scale-{way}@{tick}"


@dataclass(frozen=True)
class Way:
    """What one figure does on the floor when begun in one facing along one side.

    ``path`` is all of it, ``early`` leaves the last moment out, ``late`` the first; ``stray`` is how far a body may be
    off it when strides are not natural; ``percents`` are the least and the most beyond natural strides.
    """

    travel: Place
    path: tuple[Place, ...]
    early: tuple[Place, ...]
    late: tuple[Place, ...]
    limits: tuple[Place, Place]
    stray: int = 0
    percents: Place = (0, 0)

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
        self.walked: dict[tuple[str, int], tuple[Place, tuple[Place, ...], tuple[Place, ...], tuple[Place, ...]]] = {}

    def of(self, figure: str, faces: int, corners: int) -> Way:
        """The way of a figure."""
        key = (figure, faces, corners % 2)
        if key not in self.known:
            motion = self.figures[figure].motion
            if key[:2] not in self.walked:
                runs = (path_of(motion, faces), path_of(motion, faces, last=False), path_of(motion, faces, first=False))
                self.walked[key[:2]] = travel_of(motion, faces), *runs
            limits, stray = (
                ground_limits(self.room, motion, faces, corners),
                stray_of(self.room, motion, faces, corners),
            )
            percents = scale_limits(self.room, motion) if self.room.stretches else (0, 0)
            self.known[key] = Way(*self.walked[key[:2]], limits, stray, percents)
        return self.known[key]

    def numbered(self, arcs: Iterable[Arc]) -> tuple[dict[int, int], list[Way]]:
        """A number for the way of every arc (by its id), and the ways by number: networks have many arcs, few ways."""
        numbers: dict[tuple[str, int, int], int] = {}
        mine = {arc.id: numbers.setdefault((arc.figure, arc.faces, arc.corners % 2), len(numbers)) for arc in arcs}
        return mine, [self.of(*key) for key in numbers]

    def over(self, node: Node) -> Place:
        """From the leader to the follower as they stand between two figures."""
        assert node.stand is not None
        stance = self.problem.catalogue.stances[self.problem.catalogue.holds[node.stand.hold].stance]
        return handed((0, 0), stance, node.stand.faces)


@dataclass
class Chain:
    """Unknown places and the rows that tie them together; ``ticks`` have a place."""

    ticks: tuple[int, ...] = ()
    unknowns: list[Unknown] = field(default_factory=list)
    rows: list[Row] = field(default_factory=list)


def asks_for_end(room: Room) -> bool:
    """Whether anything looks at the place at the end of the music."""
    return room.closed or room.finish is not None or room.stretches


def chained(room: Room, network: Network, arcs: list[Arc], ways: Ways) -> Chain:
    """The places of a network's arcs."""
    starts = {0, *(arc.start for arc in arcs)}
    if asks_for_end(room):
        starts.add(network.length_ticks)
    chain = Chain(tuple(sorted(starts)))
    ends: dict[int, list[tuple[int, int]]] = {tick: [] for tick in chain.ticks}
    number, known = ways.numbered(arcs)
    lengths = [0] * len(known)
    over: dict[int, dict[Var, Place]] = {}
    for arc in arcs:
        if arc.end in ends:
            ends[arc.end].append((arc.id, number[arc.id]))
            lengths[number[arc.id]] = arc.end - arc.start
        if ways.problem.both_lead and network.changes_lead(arc):
            over.setdefault(arc.start, {})[arc.id] = ways.over(network.nodes[arc.tail])
    firsts = ((room.start_x_mm, room.width_mm), (room.start_y_mm, room.depth_mm))
    for index, (axis, (first, size)) in enumerate(zip(AXES, firsts, strict=True)):
        led = {tick: {arc: step[index] for arc, step in arcs.items() if step[index]} for tick, arcs in over.items()}
        _along(chain, index, axis, (min(0, first or 0), max(size, first or 0)), ends, (known, lengths), led)
    if scales_whole(room):
        _in_scale(chain, ends, known)
    return chain


def _in_scale(chain: Chain, ends: Mapping[int, Sequence[tuple[int, int]]], ways: Sequence[Way]) -> None:
    """More ground along x and y in the same part of the way that ends at a tick; ways alike share an unknown.

    Along an axis on which nothing that ends at a tick may take even a millimetre there is nothing to tie.
    """
    known = {unknown.name for unknown in chain.unknowns}
    for tick, arcs in ends.items():
        alike: dict[tuple[Place, Place], list[int]] = {}
        names: dict[tuple[Place, Place], str] = {}
        for arc, number in arcs:
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
    ends: Mapping[int, Sequence[tuple[int, int]]],
    ways: tuple[Sequence[Way], Sequence[int]],
    led: Mapping[int, Mapping[Var, int]],
) -> None:
    """Unknowns and rows along one axis. Bounds follow from the fastest figure, so that they never bind.

    ``ends``: by tick the arcs that end there and the numbers of their ways. ``ways``: the ways, and how long each takes
    (0 where none of them ends at a tick that counts). ``led``: by tick the figures that begin there with roles changed,
    and how far it is to the body that leads then.
    """
    steps = [way.travel[index] for way in ways[0]]
    lows, highs = [way.limits[index][0] for way in ways[0]], [way.limits[index][1] for way in ways[0]]
    gives = any(lows) or any(highs)
    fastest = 0
    for step, low, high, length in zip(steps, lows, highs, ways[1], strict=True):
        if length:
            fastest = max(fastest, -(-max(abs(step + low), abs(step + high)) // length))
    wider = sum(max(map(abs, apart.values()), default=0) for apart in led.values())
    ended: dict[int, dict[Var, int]] = {}
    for tick, arcs in ends.items():
        travels: dict[Var, int] = {arc: steps[way] for arc, way in arcs if steps[way]}
        least: dict[Var, int] = {arc: -lows[way] for arc, way in arcs if lows[way]} if gives else {}
        most: dict[Var, int] = {arc: -highs[way] for arc, way in arcs if highs[way]} if gives else {}
        if least or most:
            name = more_name(axis, tick)
            chain.unknowns.append(Unknown(name, -max(least.values(), default=0), -min(most.values(), default=0)))
            chain.rows += [Row({name: 1, **least}, least=0), Row({name: 1, **most}, most=0)]
            travels[name] = 1
        ended[tick] = travels
    chain.unknowns += [
        Unknown(place_name(axis, t), begins[0] - fastest * t - wider, begins[1] + fastest * t + wider)
        for t in chain.ticks
    ]
    chain.rows += [
        Row({place_name(axis, before): 1, **ended[tick], **led.get(tick, {}), place_name(axis, tick): -1}, 0, 0)
        for before, tick in pairwise(chain.ticks)
    ]


def point(place: Place) -> str:
    """A place as people read it."""
    return f"({metres(place[0])} m, {metres(place[1])} m)"


def metres(mm: int | None) -> str:
    """Metres with at most two places."""
    return f"{(mm or 0) / 1000:.2f}".rstrip("0").rstrip(".")


def shifted(path: Iterable[Place], by: Place) -> tuple[Place, ...]:
    """A path moved."""
    return tuple((x + by[0], y + by[1]) for x, y in path)
