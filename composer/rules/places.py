"""Where the leader stands, as unknowns: the helper of the families that look at places.

Unknown ``room:x@<tick>`` (and ``y``) is where the leader stands at each tick at which some figure begins: the place
at the tick before plus the travel of the figures that ended since; where partners change roles the leader is from
then on whoever stood there as follower, and the place moves to that body. While a longer figure runs across the tick
the place is still where that figure began. The place at the end of the music is known where somebody asks for it. Where
the brief leaves a choice of stride, ``room:more-x@<tick>`` is the ground the figure that ends at the tick takes
beyond its natural travel, within :func:`composer.floor.placing.ground_limits`. Whole millimetres throughout.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Final

from composer.floor.model import Place, Room
from composer.floor.placing import ground_limits, handed, path_of, stray_of, travel_of, widened
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


@dataclass(frozen=True)
class Way:
    """What one figure does on the floor when begun in one facing along one side.

    ``path`` is all of it, ``early`` leaves the last moment out, ``late`` the first; ``stray`` is how far a body may be
    off it when strides are not natural.
    """

    travel: Place
    path: tuple[Place, ...]
    early: tuple[Place, ...]
    late: tuple[Place, ...]
    limits: tuple[Place, Place]
    stray: int = 0

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
            self.known[key] = Way(*self.walked[key[:2]], limits, stray)
        return self.known[key]

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
    ends: dict[int, list[Arc]] = {tick: [] for tick in chain.ticks}
    over: dict[int, dict[Var, Place]] = {}
    for arc in arcs:
        if arc.end in ends:
            ends[arc.end].append(arc)
        if ways.problem.both_lead and network.changes_lead(arc):
            over.setdefault(arc.start, {})[arc.id] = ways.over(network.nodes[arc.tail])
    firsts = ((room.start_x_mm, room.width_mm), (room.start_y_mm, room.depth_mm))
    for index, (axis, (first, size)) in enumerate(zip(AXES, firsts, strict=True)):
        led = {tick: {arc: step[index] for arc, step in arcs.items() if step[index]} for tick, arcs in over.items()}
        _along(chain, index, axis, (min(0, first or 0), max(size, first or 0)), ends, ways, led)
    return chain


def _along(
    chain: Chain,
    index: int,
    axis: str,
    begins: Place,
    ends: dict[int, list[Arc]],
    ways: Ways,
    led: Mapping[int, Mapping[Var, int]],
) -> None:
    """Unknowns and rows along one axis. Bounds follow from the fastest figure, so that they never bind.

    ``led``: by tick the figures that begin there with roles changed, and how far it is to the body that leads then.
    """
    fastest = 0
    wider = sum(max(map(abs, steps.values()), default=0) for steps in led.values())
    ended: dict[int, dict[Var, int]] = {}
    for tick, arcs in ends.items():
        travels: dict[Var, int] = {}
        least: dict[Var, int] = {}
        most: dict[Var, int] = {}
        for arc in arcs:
            way = ways.of(arc.figure, arc.faces, arc.corners)
            step, (low, high) = way.travel[index], way.limits[index]
            if step:
                travels[arc.id] = step
            if low:
                least[arc.id] = -low
            if high:
                most[arc.id] = -high
            far = max(abs(step + low), abs(step + high))
            if far:
                fastest = max(fastest, -(-far // (arc.end - arc.start)))
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
