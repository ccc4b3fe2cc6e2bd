"""The couple stays on the floor along its whole path, and begins where the brief says.

Asks: at every moment of every figure both bodies' centres lie inside the room less its margin and a body's half-width
(:attr:`composer.floor.model.Room.inside`); with ``room.start`` the leader begins there. Walls are hard, but their size,
the margin and the starting place were said in the brief, so both are demands that a clash can name.
Source: the user's room; body widths are common practice, no source.

Linear form: unknown ``room:x@<tick>`` (and ``y``) is where the leader stands at each tick at which some figure begins:
the place at the tick before plus the travel of the figures that ended since. A figure that begins at the tick adds
how far either body leaves that place on its way; while a longer figure runs across the tick the place is still where
that figure began, which is itself inside. Such a distance is never on the wrong side of zero, because the leader's own
first place is one of the points, so nothing has to be switched on or off. Whole millimetres throughout, rounded once
in :mod:`composer.floor.placing`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise

from composer.catalogue.model import Figure
from composer.errors import Where
from composer.floor.model import BODY_RADIUS_MM, Room
from composer.floor.placing import extent_of, travel_of
from composer.floor.placing import placed as placed_at
from composer.network.model import Arc, Network
from composer.problem import Problem
from composer.routine import Placed, Routine
from composer.rules.base import Breach, Change, Demand, Example, Points, Row, Stated, Unknown, Var
from composer.rules.look import count_of, danced, said
from composer.units import beats_from_ticks

NAME = "room"
WALLS, START, PLACE = f"{NAME}:walls", f"{NAME}:start", f"{NAME}:place"

HALL = {"style": "spot", "width": 3, "depth": 2}
SPOT = {**HALL, "start": {"x": 0.5, "y": 1.0}}

EXAMPLES = (
    # walk goes 1.5 m forward and the follower stands 38 cm ahead: 500 + 1500 + 380 = 2380 of 2700 mm
    Example("the room is long enough", ("walk", "four", "eight"), room=HALL, at=(500, 1000)),
    Example("the follower comes to the wall exactly", ("walk", "four", "eight"), room=HALL, at=(820, 1000)),
    Example("the follower would be in the wall", ("walk", "four", "eight"), room=HALL, at=(821, 1000), good=False),
    Example("inside at both ends, outside on the way", ("swing-out", "four", "eight"), room=HALL, at=(500, 1000),
            good=False),
    Example("begins where the brief says", ("walk", "four", "eight"), room=SPOT, at=(500, 1000)),
    Example("a millimetre off", ("walk", "four", "eight"), room=SPOT, at=(501, 1000), good=False),
)  # fmt: skip


@dataclass(frozen=True)
class _Axis:
    """One direction of the room: its name, its place in a pair, the limits of a centre, the wall names, the start."""

    name: str
    index: int
    least: int
    most: int
    size: int
    low_wall: str
    high_wall: str
    start: int | None


def state(problem: Problem, network: Network) -> Stated:
    """Places as unknowns, rows for the walls, and the start."""
    room = problem.room
    if room is None:
        return Stated()
    arcs = [arc for arc in network.arcs if arc.figure]
    paths = _Paths(problem)
    unknowns: list[Unknown] = []
    chain: list[Row] = []
    walls: list[Row] = []
    start: list[Row] = []
    for axis in _axes(room):
        new, links, own = _places(axis, arcs, paths)
        unknowns, chain, walls = unknowns + new, chain + links, walls + own
        if axis.start is not None:
            start.append(Row({_name(axis, 0): 1}, axis.start, axis.start))
    demands = [Demand(WALLS, _sentence(room), said(problem, "room"), rows=tuple(walls))]
    if start:
        sentence = f"The leader begins {_metres(room.start_x_mm)} m from the west and {_metres(room.start_y_mm)} m from"
        demands.append(Demand(START, f"{sentence} the south wall", said(problem, "room", "start"), rows=tuple(start)))
    return Stated(tuple(demands), tuple(unknowns), tuple(chain))


class _Paths:
    """Travel and extents by figure and facing, worked out once."""

    def __init__(self, problem: Problem) -> None:
        self.figures = problem.catalogue.figures
        self.known: dict[tuple[str, int], tuple[tuple[int, int], tuple[int, int, int, int]]] = {}

    def of(self, arc: Arc) -> tuple[tuple[int, int], tuple[int, int, int, int]]:
        key = (arc.figure, arc.faces)
        if key not in self.known:
            motion = self.figures[arc.figure].motion
            self.known[key] = (travel_of(motion, arc.faces), extent_of(motion, arc.faces))
        return self.known[key]


def _places(axis: _Axis, arcs: list[Arc], paths: _Paths) -> tuple[list[Unknown], list[Row], list[Row]]:
    """Unknown places, the rows that tie them together, and the rows of both walls."""
    ticks = sorted({0, *(arc.start for arc in arcs)})
    ended: dict[int, dict[Var, int]] = {tick: {} for tick in ticks}
    low: dict[int, dict[Var, int]] = {tick: {_name(axis, tick): 1} for tick in ticks}
    high: dict[int, dict[Var, int]] = {tick: {_name(axis, tick): 1} for tick in ticks}
    fastest = 0
    for arc in arcs:
        travel, extent = paths.of(arc)
        step, least, most = travel[axis.index], min(0, extent[axis.index]), max(0, extent[axis.index + 2])
        if step and arc.end in ended:
            ended[arc.end][arc.id] = step
            fastest = max(fastest, -(-abs(step) // (arc.end - arc.start)))
        if least:
            low[arc.start][arc.id] = least
        if most:
            high[arc.start][arc.id] = most
    begins = (min(0, axis.start or 0), max(axis.size, axis.start or 0))
    unknowns = [Unknown(_name(axis, t), begins[0] - fastest * t, begins[1] + fastest * t) for t in ticks]
    links = [
        Row({_name(axis, before): 1, **ended[tick], _name(axis, tick): -1}, 0, 0) for before, tick in pairwise(ticks)
    ]
    walls = [row for t in ticks for row in (Row(low[t], least=axis.least), Row(high[t], most=axis.most))]
    return unknowns, links, walls


def breaches(problem: Problem, routine: Routine) -> list[Breach]:
    """Every figure replayed moment by moment, and its place compared with where the one before ended."""
    room = problem.room
    if room is None:
        return []
    found: list[Breach] = []
    before: tuple[int, int] | None = None
    for index, placed, figure in danced(problem, routine):
        if placed.x_mm is None or placed.y_mm is None:
            found.append(Breach(PLACE, f"{figure.chart.name} has no place on the floor", _count(placed), law=True))
            before = None
            continue
        here = (placed.x_mm, placed.y_mm)
        if index == 0:
            found += _start_breach(problem, room, here)
        elif before is not None and before != here and _follows(routine, index):
            message = f"{figure.chart.name} begins at {_point(here)}; the figure before ended at {_point(before)}"
            found.append(Breach(PLACE, message, _count(placed), law=True))
        found += _outside(room, placed, figure, here, said(problem, "room"))
        dx, dy = placed_at(figure.motion.travel_forward_mm, figure.motion.travel_right_mm, placed.faces)
        before = (here[0] + dx, here[1] + dy)
    return found


def softer(problem: Problem, key: str) -> list[Change]:
    """Begin elsewhere; a smaller margin; a larger floor, half a metre at a time."""
    given = problem.brief.room
    if given is None:
        return []
    if key == START:
        return [Change(key, "let the couple begin anywhere on the floor", ("room", "start"), None, 2)]
    found = []
    for margin in sorted({given.margin // 2, 0}, reverse=True):
        if margin < given.margin:
            sentence = f"keep {_metres(margin)} m clear of the edge instead of {_metres(given.margin)} m"
            found.append(Change(key, sentence, ("room", "margin"), margin, 2 if margin else 3))
    for side in ("width", "depth"):
        for more in (500, 1000, 2000, 4000):
            size = getattr(given, side) + more
            sentence = f"find a floor {_metres(size)} m {'wide' if side == 'width' else 'deep'}"
            found.append(Change(key, sentence, ("room", side), size, 4 + more // 500))
    return found


def points(problem: Problem, routine: Routine) -> Iterable[Points]:
    """No score."""
    return ()


def _follows(routine: Routine, index: int) -> bool:
    return routine.figures[index - 1].end_tick == routine.figures[index].start_tick


def _start_breach(problem: Problem, room: Room, here: tuple[int, int]) -> Iterator[Breach]:
    if room.start_x_mm is not None and room.start_y_mm is not None and here != (room.start_x_mm, room.start_y_mm):
        wanted = _point((room.start_x_mm, room.start_y_mm))
        where = said(problem, "room", "start")
        yield Breach(START, f"the leader begins at {_point(here)}; the brief says {wanted}", 1, where)


def _outside(
    room: Room, placed: Placed, figure: Figure, here: tuple[int, int], where: Where | None
) -> Iterator[Breach]:
    """The worst moment of a figure at each wall it crosses."""
    worst: dict[str, tuple[int, str, int]] = {}
    for moment in figure.motion.moments:
        for role, pose in (("leader", moment.leader), ("follower", moment.follower)):
            turned = placed_at(pose.forward_mm, pose.right_mm, placed.faces)
            for axis in _axes(room):
                at = here[axis.index] + turned[axis.index]
                for wall, over in ((axis.low_wall, axis.least - at), (axis.high_wall, at - axis.most)):
                    if over > 0 and over > worst.get(wall, (0, "", 0))[0]:
                        worst[wall] = (over, role, placed.start_tick + moment.tick)
    for wall, (over, role, tick) in worst.items():
        message = f"in {figure.chart.name} the {role} comes {-(-over // 10)} cm too close to the {wall} wall"
        yield Breach(WALLS, message, int(beats_from_ticks(tick)) + 1, where)


def _axes(room: Room) -> tuple[_Axis, _Axis]:
    least_x, least_y, most_x, most_y = room.inside
    return (
        _Axis("x", 0, least_x, most_x, room.width_mm, "west", "east", room.start_x_mm),
        _Axis("y", 1, least_y, most_y, room.depth_mm, "south", "north", room.start_y_mm),
    )


def place_name(axis: str, tick: int) -> str:
    """The unknown that says where the leader stands at a tick; ``axis`` is ``x`` or ``y``."""
    return f"{NAME}:{axis}@{tick}"


def _name(axis: _Axis, tick: int) -> str:
    return place_name(axis.name, tick)


def _count(placed: Placed) -> int:
    return count_of(placed.start_tick)


def _metres(mm: int | None) -> str:
    return f"{(mm or 0) / 1000:.2f}".rstrip("0").rstrip(".")


def _point(place: tuple[int, int]) -> str:
    return f"({_metres(place[0])} m, {_metres(place[1])} m)"


def _sentence(room: Room) -> str:
    size = f"{_metres(room.width_mm)} x {_metres(room.depth_mm)} m floor"
    margin = f", {_metres(room.margin_mm)} m clear of the edge" if room.margin_mm else ""
    return f"Both partners stay on the {size}{margin} ({BODY_RADIUS_MM // 10} cm for each body)"
