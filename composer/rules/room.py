"""The couple stays on the floor along its whole path, clear of what stands there, and begins where the brief says.

Asks: at every moment of every figure both bodies' centres lie within every wall less margin and a body's half-width
(:func:`composer.floor.shape.walls`); the couple passes each obstacle, and each inward corner of the outline, piece by
piece (:func:`composer.floor.shape.blocks`), never with it between the partners; with ``room.start`` the leader begins
there, with ``room.finish`` the routine ends there. Walls are hard, but all of this was said in the brief, so each is a
demand that a clash can name.

A figure that takes more or less ground than its natural strides stays inside both ways, from the first moment as it
comes and up to the last as it comes to its end; so the couple may take the ground early or late, and as far off as
bodies stray with such strides. Past a block it leaves room for all it may take. Off a travelling floor what it takes
along x and along y is that of one scale.

Source: the user's room; body widths are common practice, no source.

Linear form: places are unknowns (:mod:`composer.rules.places`). A figure that begins at a tick adds to every wall's
row how far either body reaches towards it. Such a reach is never below zero, because the leader's own first place is
one of the points, so nothing has to be switched on or off. Past a block: :mod:`composer.rules.passing`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from composer.catalogue.model import Figure
from composer.errors import Where
from composer.floor.model import BODY_RADIUS_MM, Place, Room
from composer.floor.passing import Passing, lacking
from composer.floor.placing import ground_limits, keeps_scale, moved, stray_of, widened
from composer.floor.placing import placed as placed_at
from composer.floor.shape import Line, blocks, walls
from composer.floor.stations import Pair, stations
from composer.network.model import Arc, Network
from composer.network.table import Numbers
from composer.problem import Problem
from composer.routine import Placed, Routine
from composer.routineplaces import next_leader
from composer.rules.base import Breach, Change, Demand, Example, Points, Row, Stated
from composer.rules.look import count_of, danced, listed, said
from composer.rules.passing import Passed, on_one_side, passing_of, past_blocks
from composer.rules.places import NOBODY, Way, chained, metres, place_name, point, ways_over
from composer.rules.weights import nonzero
from composer.units import beats_from_ticks

NAME = "room"
WALLS, START, FINISH = f"{NAME}:walls", f"{NAME}:start", f"{NAME}:finish"
PLACE, GROUND = f"{NAME}:place", f"{NAME}:ground"

HALL = {"style": "spot", "width": 3, "depth": 2}
SPOT = {**HALL, "start": {"x": 0.5, "y": 1.0}}
PILLAR = {"style": "spot", "width": 6, "depth": 4, "obstacles": [{"name": "pillar", "x": 3, "y": 1, "radius": 0.2}]}
BENT = {"style": "spot", "outline": [[0, 0], [6, 0], [6, 2], [3, 2], [3, 5], [0, 5]]}
GOAL = {**HALL, "finish": {"x": 2.0, "y": 1.0, "within": "10 cm"}}

EXAMPLES = (
    # walk goes 1.5 m forward and the follower stands 38 cm ahead: 500 + 1500 + 380 = 2380 of 2700 mm
    Example("the room is long enough", ("walk", "four", "eight"), room=HALL, at=(500, 1000)),
    Example("the follower comes to the wall exactly", ("walk", "four", "eight"), room=HALL, at=(820, 1000)),
    Example("the follower would be in the wall", ("walk", "four", "eight"), room=HALL, at=(821, 1000), good=False),
    Example("inside at both ends, outside on the way", ("swing-out", "four", "eight"), room=HALL, at=(500, 1000),
            good=False),
    Example("begins where the brief says", ("walk", "four", "eight"), room=SPOT, at=(500, 1000)),
    Example("a millimetre off", ("walk", "four", "eight"), room=SPOT, at=(501, 1000), good=False),
    # the follower stands 5 cm to the right of the leader, south when facing east: 1000 + 200 + 300 + 50 = 1550 mm
    Example("past the pillar exactly", ("walk", "four", "eight"), room=PILLAR, at=(2200, 1550)),
    Example("a millimetre too close to it", ("walk", "four", "eight"), room=PILLAR, at=(2200, 1549), good=False),
    Example("along one arm of the floor", ("walk", "four", "eight"), room=BENT, at=(3000, 1000)),
    Example("into the inner corner", ("walk", "four", "eight"), room=BENT, at=(2000, 2500), good=False),
    Example("ends 10 cm from the place wished", ("walk", "four", "eight"), room=GOAL, at=(600, 1000)),
    Example("ends a millimetre further", ("walk", "four", "eight"), room=GOAL, at=(601, 1000), good=False),
)  # fmt: skip


def state(problem: Problem, network: Network) -> Stated:
    """Places as unknowns, rows for walls and blocks, start and finish."""
    room = problem.room
    if room is None:
        return Stated()
    ways = ways_over(problem, room, network)
    chain = chained(room, network, ways)
    number, known = ways.numbered(network.table)
    parts = [(_Reaches(known, at_end=False), chain.ticks, network.table.by_start)]
    if room.stretches:
        ends_there = tuple(tick for tick in chain.ticks if tick in network.table.by_end)
        parts.append((_Reaches(known, at_end=True), ends_there, network.table.by_end))
    rows = [
        row
        for wall in walls(room)
        for reaches, ticks, arcs in parts
        for row in _wall_rows(wall, reaches.towards(wall)[number], ticks, arcs)
    ]
    found = blocks(room)
    shut = any(not block.lines for block in found)
    forbids = frozenset(network.table.danced.tolist()) if shut else frozenset[int]()
    ends = tuple(_ends(problem, room, network))

    def stated(past: Passed) -> Stated:
        own = Demand(WALLS, _sentence(room), said(problem, "room"), forbids=forbids, rows=(*rows, *past.rows))
        return Stated((own, *ends), (*chain.unknowns, *past.unknowns), (*chain.rows, *past.ties))

    if not found or forbids:
        return stated(Passed())
    arcs = [arc for arc in network.arcs if arc.figure]
    begin: dict[int, list[Arc]] = {tick: [] for tick in chain.ticks}
    for arc in arcs:
        begin[arc.start].append(arc)
    whole = stated(past_blocks(problem, room, network, arcs, ways))
    return replace(whole, stricter=stated(on_one_side(room, network, begin, ways)), looser=stated(Passed()))


class _Reaches:
    """How far the bodies of many figures reach: of those that give without their last moment, or ``at_end`` without
    their first, told from where they end; one that does not give is looked at whole from its start alone.
    """

    def __init__(self, ways: Sequence[Way], *, at_end: bool) -> None:
        parts = [_part(way, at_end=at_end).reshape(-1, 2) for way in ways]
        self.points = np.concatenate([*parts, np.zeros((1, 2), dtype=np.int64)])
        """The last one stands for arcs that dance nothing."""
        self.starts = np.cumsum([0, *map(len, parts)])
        self.stray = np.array([*(way.stray for way in ways), 0])

    def towards(self, wall: Line) -> NDArray[np.int64]:
        """By way, the most that a wall asks for."""
        far = np.maximum.reduceat(self.points @ np.array([wall.a, wall.b]), self.starts)
        found: NDArray[np.int64] = far + np.ceil(self.stray * math.hypot(wall.a, wall.b)).astype(np.int64)
        return found


def _part(way: Way, *, at_end: bool) -> NDArray[np.int64]:
    if at_end:
        return way.bodies[1:] - np.array(way.travel) if way.gives else np.zeros((1, 2), dtype=np.int64)
    return way.bodies[:-1] if way.gives else way.bodies


def _wall_rows(
    wall: Line, reach: NDArray[np.int64], ticks: Iterable[int], arcs: Mapping[int, Numbers]
) -> Iterator[Row]:
    """Both bodies of every figure that begins (or ends) at a tick stay within a wall; ``reach`` is by arc."""
    for tick in ticks:
        own = arcs.get(tick, NOBODY)
        yield Row(nonzero(own, reach[own], _at(wall, tick)), most=wall.c)


def _at(line: Line, tick: int) -> dict[str, int]:
    named = ((place_name("x", tick), line.a), (place_name("y", tick), line.b))
    return {name: weight for name, weight in named if weight}


def _ends(problem: Problem, room: Room, network: Network) -> Iterator[Demand]:
    if room.start_x_mm is not None and room.start_y_mm is not None:
        sentence = f"The leader begins {metres(room.start_x_mm)} m from the west and {metres(room.start_y_mm)} m from"
        places = (("x", room.start_x_mm), ("y", room.start_y_mm))
        rows = tuple(Row({place_name(axis, 0): 1}, at, at) for axis, at in places)
        yield Demand(START, f"{sentence} the south wall", said(problem, "room", "start"), rows=rows)
    if room.finish is not None:
        end, near = network.length_ticks, room.finish.within_mm
        places = (("x", room.finish.x_mm), ("y", room.finish.y_mm))
        rows = tuple(Row({place_name(axis, end): 1}, at - near, at + near) for axis, at in places)
        sentence = f"The leader ends at {point((room.finish.x_mm, room.finish.y_mm))}, give or take {near // 10} cm"
        yield Demand(FINISH, sentence, said(problem, "room", "finish"), rows=rows)


def breaches(problem: Problem, routine: Routine) -> list[Breach]:
    """Every figure replayed moment by moment, and its place compared with where the one before ended."""
    room = problem.room
    if room is None:
        return []
    found: list[Breach] = []
    before: Place | None = None
    last: tuple[Placed, Place] | None = None
    was: tuple[Placed, Figure] | None = None
    lines, round_about = walls(room), passing_of(problem, room)
    for index, placed, figure in danced(problem, routine):
        if placed.x_mm is None or placed.y_mm is None:
            found.append(Breach(PLACE, f"{figure.chart.name} has no place on the floor", _count(placed), law=True))
            before = last = was = None
            continue
        here, more = (placed.x_mm, placed.y_mm), (placed.more_x_mm, placed.more_y_mm)
        led = before if was is not None and placed.swapped != was[0].swapped else None
        if was is not None and placed.swapped != was[0].swapped:
            before = next_leader(problem.catalogue, was[1], was[0].faces, before, changes=True)[1]
        if index == 0:
            found += _start_breach(problem, room, here)
        elif before is not None and before != here and _follows(routine, index):
            message = f"{figure.chart.name} begins at {point(here)}; the figure before ended at {point(before)}"
            found.append(Breach(PLACE, message, _count(placed), law=True))
        found += _ground_breach(room, placed, figure, said(problem, "room", "stride"))
        stray = stray_of(room, figure.motion, placed.faces, placed.corners)
        nearer = [(line, line.units(stray)) for line in lines]
        found += _outside(nearer, placed, figure, here, said(problem, "room"))
        start = _first_pair(placed, figure, led)
        found += _blocked(problem, round_about, placed, figure, start, said(problem, "room"))
        before = moved(here, figure.motion, placed.faces, more)
        last, was = (placed, before), (placed, figure)
    if last is not None and room.finish is not None:
        off = max(abs(last[1][0] - room.finish.x_mm), abs(last[1][1] - room.finish.y_mm))
        if off > room.finish.within_mm:
            wanted = point((room.finish.x_mm, room.finish.y_mm))
            message = f"the leader ends at {point(last[1])}; the brief says {wanted}"
            found.append(Breach(FINISH, message, count_of(last[0].end_tick - 1), said(problem, "room", "finish")))
    return found


def softer(problem: Problem, key: str) -> list[Change]:
    """Begin or end elsewhere; a smaller margin; a larger floor, half a metre at a time; other strides; tables moved."""
    given = problem.brief.room
    if given is None:
        return []
    if key == START:
        return [Change(key, "let the couple begin anywhere on the floor", ("room", "start"), None, 2)]
    if key == FINISH:
        return [Change(key, "let the couple end anywhere on the floor", ("room", "finish"), None, 2)]
    found = []
    for margin in sorted({given.margin // 2, 0}, reverse=True):
        if margin < given.margin:
            sentence = f"keep {metres(margin)} m clear of the edge instead of {metres(given.margin)} m"
            found.append(Change(key, sentence, ("room", "margin"), margin, 2 if margin else 3))
    for side in ("width", "depth") if given.outline is None else ():
        for more in (500, 1000, 2000, 4000):
            size = getattr(given, side) + more
            sentence = f"find a floor {metres(size)} m {'wide' if side == 'width' else 'deep'}"
            found.append(Change(key, sentence, ("room", side), size, 4 + more // 500))
    if not given.obstacles and not given.doors and given.outline is None:
        for least in (0.9, 0.8):
            if least < given.stride.least:
                wider = given.stride.model_copy(update={"least": least})
                sentence = f"let strides shrink to {least:g} of their natural length"
                found.append(Change(key, sentence, ("room", "stride"), wider, 2))
    for name in dict.fromkeys(item.name for item in given.obstacles):
        others = tuple(item for item in given.obstacles if item.name != name)
        found.append(Change(key, f"move {name} out of the way", ("room", "obstacles"), others, 6))
    return found


def points(problem: Problem, routine: Routine) -> Iterable[Points]:
    """No score."""
    return ()


def _follows(routine: Routine, index: int) -> bool:
    return routine.figures[index - 1].end_tick == routine.figures[index].start_tick


def _start_breach(problem: Problem, room: Room, here: Place) -> Iterator[Breach]:
    if room.start_x_mm is not None and room.start_y_mm is not None and here != (room.start_x_mm, room.start_y_mm):
        wanted = point((room.start_x_mm, room.start_y_mm))
        where = said(problem, "room", "start")
        yield Breach(START, f"the leader begins at {point(here)}; the brief says {wanted}", 1, where)


def _ground_breach(room: Room, placed: Placed, figure: Figure, where: Where | None) -> Iterator[Breach]:
    """Ground beyond what strides give is a matter of bodies: a law."""
    limits = ground_limits(room, figure.motion, placed.faces, placed.corners)
    for more, (least, most) in zip((placed.more_x_mm, placed.more_y_mm), limits, strict=True):
        if not least <= more <= most:
            message = f"{figure.chart.name} takes {more / 10:+.0f} cm of ground; it may take {least / 10:+.0f} to"
            yield Breach(GROUND, f"{message} {most / 10:+.0f} cm", _count(placed), where, law=True)
            return
    if not keeps_scale(room, figure.motion, placed.faces, (placed.more_x_mm, placed.more_y_mm)):
        message = f"{figure.chart.name} takes {placed.more_x_mm / 10:+.1f} cm of ground eastwards and"
        message += (
            f" {placed.more_y_mm / 10:+.1f} cm northwards; longer or shorter strides change both in the same part"
        )
        yield Breach(GROUND, message, _count(placed), where, law=True)


def _outside(
    lines: Sequence[tuple[Line, int]], placed: Placed, figure: Figure, here: Place, where: Where | None
) -> Iterator[Breach]:
    """The worst moment of a figure at each wall it crosses, or may cross with strides that are not natural."""
    worst: dict[str, tuple[int, str, int]] = {}
    most = [line.c for line, _ in lines]
    moments, more = figure.motion.moments, (placed.more_x_mm, placed.more_y_mm)
    for index, moment in enumerate(moments):
        shifts = {(0, 0)} if index == 0 else {more} if index == len(moments) - 1 else {(0, 0), more}
        for role, pose in (("leader", moment.leader), ("follower", moment.follower)):
            dx, dy = placed_at(pose.forward_mm, pose.right_mm, placed.faces)
            for mx, my in sorted(shifts):
                x, y = here[0] + dx + mx, here[1] + dy + my
                for number, (line, stray) in enumerate(lines):
                    value = line.a * x + line.b * y + stray
                    if value <= most[number]:
                        continue
                    most[number], over = value, line.over_mm(value)
                    if over > worst.get(line.name, (0, "", 0))[0]:
                        worst[line.name] = (over, role, placed.start_tick + moment.tick)
    for wall, (over, role, tick) in worst.items():
        message = f"in {figure.chart.name} the {role} comes {-(-over // 10)} cm too close to the {wall} wall"
        yield Breach(WALLS, message, int(beats_from_ticks(tick)) + 1, where)


def _blocked(
    problem: Problem, given: Passing, placed: Placed, figure: Figure, start: Pair, where: Where | None
) -> Iterator[Breach]:
    """Blocks that the figure does not pass, with how much is missing at its worst piece."""
    room, here = problem.room, (placed.x_mm or 0, placed.y_mm or 0)
    if room is None or not given.blocks:
        return
    pairs = [_shifted(pair, here) for pair in stations(figure.motion, placed.faces, given.step)]
    limits = ground_limits(room, figure.motion, placed.faces, placed.corners)
    stray = stray_of(room, figure.motion, placed.faces, placed.corners)
    pairs[0], pairs[-1] = start, _shifted(pairs[-1], (placed.more_x_mm, placed.more_y_mm))
    for name, lack, piece in lacking(given, pairs, widened(limits, stray), stray):
        much = "" if lack == math.inf else f"comes {math.ceil(lack / 10)} cm too close to "
        message = f"in {figure.chart.name} the couple {much or 'cannot pass '}{name}"
        yield Breach(WALLS, message, count_of(placed.start_tick + piece * given.step), where)


def _shifted(pair: Pair, by: Place) -> Pair:
    (ax, ay), (bx, by_) = pair
    return (ax + by[0], ay + by[1]), (bx + by[0], by_ + by[1])


def _first_pair(placed: Placed, figure: Figure, led: Place | None) -> Pair:
    """Both bodies as a figure begins; ``led`` is where the other partner stands who led until then."""
    here = (placed.x_mm or 0, placed.y_mm or 0)
    if led is not None:
        return led, here
    first = figure.motion.moments[0].follower
    dx, dy = placed_at(first.forward_mm, first.right_mm, placed.faces)
    return here, (here[0] + dx, here[1] + dy)


def _count(placed: Placed) -> int:
    return count_of(placed.start_tick)


def _sentence(room: Room) -> str:
    size = f"{metres(room.width_mm)} x {metres(room.depth_mm)} m floor"
    margin = f", {metres(room.margin_mm)} m clear of the edge" if room.margin_mm else ""
    names = list(dict.fromkeys(obstacle.name for obstacle in room.obstacles))
    if names:  # what a body needs is said where centimetres are missing
        return f"Both partners stay on the {size}{margin}, off {listed(names)}"
    return f"Both partners stay on the {size}{margin} ({BODY_RADIUS_MM // 10} cm for each body)"
