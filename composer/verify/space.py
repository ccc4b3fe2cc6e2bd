"""Walking the routine across the real room with shapely: both bodies, every moment and every stretch between.

Where something stands in the room or a corner points inwards, everything between the two bodies must keep clear as well
(arms, lead), as wide as a body.

World frame as in :mod:`composer.floor.model`. Rotation, lanes and strides are worked out here from scratch, in floating
point, with two millimetres of tolerance for the whole-millimetre places of the record. Ground taken beyond a figure's
natural travel is spread evenly over the figure.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise
from typing import TYPE_CHECKING

from composer.catalogue.model import Figure
from composer.floor.model import BODY_RADIUS_MM, Room
from composer.kinematics.motion import Pose
from composer.problem import Problem
from composer.routine import Placed, Routine
from composer.rules.base import Breach
from composer.units import TICKS_PER_BEAT

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

TOLERANCE_MM = 2.0
HALF_BEAT = TICKS_PER_BEAT // 2
HANDED_MM = 5.0
"""Where the other partner takes the lead: a body ends a figure up to 2 mm off the standing place its hold asks for."""
Point = tuple[float, float]


def walls(problem: Problem, routine: Routine) -> Iterator[Breach]:
    """Bodies off the floor or in something, places that do not follow, lanes left, strides beyond what is allowed."""
    room = problem.room
    if room is None:
        return
    floor, lanes = _floor(room), _lanes(room)
    if room.style == "travelling" and room.lane_mm is None:
        yield from _round_a_middle(routine)
    expected: Point | None = None
    other: Point | None = None
    led: bool | None = None
    if room.start_x_mm is not None and room.start_y_mm is not None:
        expected = (room.start_x_mm, room.start_y_mm)
    for placed in routine.figures:
        figure = problem.catalogue.figures.get(placed.figure)
        if figure is None:
            expected = other = None
            continue
        name = figure.chart.name
        if led is not None and led != placed.swapped:
            expected = other
        led = placed.swapped
        if placed.x_mm is None or placed.y_mm is None:
            yield _breach("room", placed.start_tick, f"{name} has no place on the floor")
            expected = other = None
            continue
        here = (placed.x_mm, placed.y_mm)
        if expected is not None and math.dist(expected, here) > (HANDED_MM if expected is other else TOLERANCE_MM):
            apart = math.dist(expected, here) / 1000
            yield _breach("room", placed.start_tick, f"{name} begins {apart:.2f} m from where the couple stands")
        if room.style == "travelling" and lanes and not _covers(lanes[placed.corners % 4], here):
            yield _breach("lane", placed.start_tick, f"{name} begins outside the lane of its side")
        yield from _bodies(room, floor, placed, figure)
        yield from _strides(room, placed, figure)
        expected = _world(placed, figure, figure.length_ticks, figure.motion.moments[-1].leader)
        other = _world(placed, figure, figure.length_ticks, figure.motion.moments[-1].follower)
    if routine.figures and expected is not None and room.finish is not None:
        off = max(abs(expected[0] - room.finish.x_mm), abs(expected[1] - room.finish.y_mm))
        if off > room.finish.within_mm + TOLERANCE_MM:
            message = f"the couple ends {off / 1000:.2f} m from where it is to finish"
            yield _breach("finish", routine.figures[-1].end_tick - 1, message)


def _breach(subject: str, tick: int, message: str) -> Breach:
    return Breach(f"replay:{subject}", message, count=tick // TICKS_PER_BEAT + 1, law=True)


def _floor(room: Room) -> BaseGeometry:
    """Where bodies may be: the outline less its margin and less everything that stands there."""
    from shapely.geometry import Point as PointOf
    from shapely.geometry import Polygon

    rectangle = ((0, 0), (room.width_mm, 0), (room.width_mm, room.depth_mm), (0, room.depth_mm))
    floor: BaseGeometry = Polygon(room.outline or rectangle).buffer(TOLERANCE_MM - room.margin_mm)
    for item in room.obstacles:
        if len(item.corners) == 1:
            taken = PointOf(item.corners[0]).buffer(max(0.0, item.radius_mm - TOLERANCE_MM))
        else:
            taken = Polygon(item.corners).buffer(-TOLERANCE_MM)
        floor = floor.difference(taken)
    return floor


def _lanes(room: Room) -> list[BaseGeometry]:
    """Where the leader may begin a figure along the south, east, north and west side: bands along the walls.

    A stretch of wall belongs to the side whose direction is nearest to its own; past an inward corner its band goes on
    as far as it is deep. Empty without a lane.
    """
    from shapely import unary_union
    from shapely.geometry import Polygon, box

    if room.lane_mm is None:
        return []
    rectangle = ((0, 0), (room.width_mm, 0), (room.width_mm, room.depth_mm), (0, room.depth_mm))
    ring = room.outline or rectangle
    whole = Polygon(ring)
    reach = room.margin_mm + BODY_RADIUS_MM + room.lane_mm
    edge = room.margin_mm + BODY_RADIUS_MM
    bands: list[list[BaseGeometry]] = [[], [], [], []]
    for index, (here, there) in enumerate(zip(ring, (*ring[1:], ring[0]), strict=True)):
        before, after, length = ring[index - 1], ring[(index + 2) % len(ring)], math.dist(here, there)
        ux, uy = (there[0] - here[0]) / length, (there[1] - here[1]) / length
        back = reach if _bends_inward(before, here, there) else 0.0
        on = reach if _bends_inward(here, there, after) else 0.0
        ends = ((here[0] - back * ux, here[1] - back * uy), (there[0] + on * ux, there[1] + on * uy))
        deep = [(x - reach * uy, y + reach * ux) for x, y in ends]
        bands[round(math.atan2(uy, ux) / (math.pi / 2)) % 4].append(Polygon([*ends, *deep[::-1]]))
    anywhere = box(edge, edge, room.width_mm - edge, room.depth_mm - edge)
    side_bands = [unary_union(side) if side else _along_box(room, number) for number, side in enumerate(bands)]
    floor = whole if room.outline else anywhere
    return [band.intersection(floor).buffer(TOLERANCE_MM, join_style="mitre") for band in side_bands]


def _along_box(room: Room, side: int) -> BaseGeometry:
    """The band along one side of the rectangle round a floor none of whose walls run that way."""
    from shapely.geometry import box

    reach = room.margin_mm + BODY_RADIUS_MM + (room.lane_mm or 0)
    wide, deep = room.width_mm, room.depth_mm
    around = ((0, 0, wide, reach), (wide - reach, 0, wide, deep), (0, deep - reach, wide, deep), (0, 0, reach, deep))
    return box(*around[side])


def _bends_inward(before: Point, here: Point, after: Point) -> bool:
    """Whether the outline turns right at a corner."""
    return (here[0] - before[0]) * (after[1] - before[1]) - (here[1] - before[1]) * (after[0] - before[0]) < 0


def _round_a_middle(routine: Routine) -> Iterator[Breach]:
    """Without a lane: what is danced on the south side begins south of what is danced on the north side; east, west."""
    for low, high, axis in ((0, 2, 1), (3, 1, 0)):
        places = {
            side: [
                (axis_of, item.start_tick)
                for item in routine.figures
                if item.corners % 4 == side and (axis_of := (item.x_mm, item.y_mm)[axis]) is not None
            ]
            for side in (low, high)
        }
        if places[low] and places[high]:
            inner, outer = max(places[low]), min(places[high])
            if inner[0] > outer[0] + TOLERANCE_MM:
                message = "opposite sides of the room are danced with no middle between them"
                yield _breach("lane", max(inner[1], outer[1]), message)


def _covers(area: BaseGeometry, place: Point) -> bool:
    from shapely.geometry import Point as PointOf

    return bool(area.covers(PointOf(place)))


def _bodies(room: Room, floor: BaseGeometry, placed: Placed, figure: Figure) -> Iterator[Breach]:
    """The first moment of a figure at which a body is where it must not be."""
    from shapely.geometry import LineString

    wide = BODY_RADIUS_MM + _stray(room, placed, figure)
    for tick, role, stretch in _stretches(placed, figure):
        body = LineString(stretch).buffer(wide)
        if floor.covers(body):
            continue
        over = max(_beyond(room, point) for point in stretch) / 1000
        where = f"{over:.2f} m off the floor" if over > 0 else "off the floor or too close to what stands there"
        yield _breach("room", placed.start_tick + tick, f"{figure.chart.name}: the {role} is {where}")
        return
    if room.outline or room.obstacles:
        for tick, taken in couples(placed, figure):
            if not floor.covers(taken.buffer(wide)):
                message = f"{figure.chart.name}: something stands between the partners or too close to their arms"
                yield _breach("room", placed.start_tick + tick, message)
                return


def couples(placed: Placed, figure: Figure) -> Iterator[tuple[int, BaseGeometry]]:
    """What the line between both body centres covers, half a beat at a time (tick of the figure): all that lies between
    the places it comes from and goes to, because partners who turn about each other go round."""
    from shapely.geometry import MultiPoint

    stretches = list(_stretches(placed, figure))[2:]
    ticks = [moment.tick for moment in figure.motion.moments]
    lasts = [after - before for before, after in pairwise(ticks)]
    quick = len(lasts) > figure.length_ticks // HALF_BEAT
    for last, (tick, _, leader), (_, _, follower) in zip(lasts, stretches[::2], stretches[1::2], strict=True):
        parts = last if quick else -(-last // HALF_BEAT)
        at = [[_part_way(run, k / parts) for run in (leader, follower)] for k in range(parts + 1)]
        yield from ((tick, MultiPoint([*one, *two]).convex_hull) for one, two in pairwise(at))


def _part_way(run: list[Point], share: float) -> Point:
    (ax, ay), (bx, by) = run
    return ax + (bx - ax) * share, ay + (by - ay) * share


def _stray(room: Room, placed: Placed, figure: Figure) -> float:
    """How far a body may be off its natural way with the ground taken spread evenly: as simulated at such strides.

    The scale is told by the axis along which the figure goes further; on a travelling floor by the side danced along.
    """
    natural = _turned(placed, *_end(figure))
    axis = placed.corners % 2 if room.style == "travelling" else int(abs(natural[1]) > abs(natural[0]))
    more, step = (placed.more_x_mm, placed.more_y_mm)[axis], natural[axis]
    if not more or abs(step) < 1:
        return 0.0
    part = 100 * more / step
    scale = 100 + (math.floor(part) if part < 0 else math.ceil(part))
    return figure.motion.stray_mm(scale, scale)


def _strides(room: Room, placed: Placed, figure: Figure) -> Iterator[Breach]:
    """Ground taken or given up must be that of strides within those of the brief and of the figure.

    On a travelling floor along the side danced along; elsewhere there must be one scale that gives both what was taken
    to the east and what was taken to the north.
    """
    motion = figure.motion
    natural = _turned(placed, *_end(figure))
    least = max(room.stride[0] / 100, motion.shortest_scale) if room.stride != (100, 100) else 1.0
    most = min(room.stride[1] / 100, motion.longest_scale) if room.stride != (100, 100) else 1.0
    low, high = min(least, 1.0) - 1, max(most, 1.0) - 1
    for axis, more in enumerate((placed.more_x_mm, placed.more_y_mm)):
        free = room.style != "travelling" or placed.corners % 2 == axis
        own = sorted((more - off) / natural[axis] for off in (-TOLERANCE_MM, TOLERANCE_MM)) if natural[axis] else None
        if not free or own is None:
            if abs(more) <= TOLERANCE_MM:
                continue
        else:
            low, high = max(low, own[0]), min(high, own[1])
            if low <= high:
                continue
        message = f"{figure.chart.name} takes {more / 1000:+.2f} m beyond its natural ground, which is too much"
        if axis and free:
            message += f" for strides that give {placed.more_x_mm / 1000:+.2f} m along the other axis"
        yield _breach("ground", placed.start_tick, message)
        return


def _end(figure: Figure) -> Point:
    """Where the leader's centre is at the end, forward and right of where it began."""
    end = figure.motion.moments[-1].leader
    return end.forward_mm, end.right_mm


def _turned(placed: Placed, forward: float, right: float) -> Point:
    """A stretch of the leader's starting frame as it lies on the floor plan."""
    angle = -math.radians(45 * placed.faces)
    ahead, aside = (math.cos(angle), math.sin(angle)), (math.sin(angle), -math.cos(angle))
    return forward * ahead[0] + right * aside[0], forward * ahead[1] + right * aside[1]


def _world(placed: Placed, figure: Figure, tick: int, pose: Pose) -> Point:
    """Where a body is at a tick of the figure, with its share of the ground taken beyond the natural travel."""
    x, y = _turned(placed, pose.forward_mm, pose.right_mm)
    share = tick / figure.length_ticks
    return (placed.x_mm or 0) + x + share * placed.more_x_mm, (placed.y_mm or 0) + y + share * placed.more_y_mm


def _stretches(placed: Placed, figure: Figure) -> Iterator[tuple[int, str, list[Point]]]:
    """For each moment (tick of the figure) and role: the straight stretch walked up to it."""
    before = figure.motion.moments[0]
    for now in figure.motion.moments:
        for role, a, b in (("leader", before.leader, now.leader), ("follower", before.follower, now.follower)):
            stretch = [_world(placed, figure, before.tick, a), _world(placed, figure, now.tick, b)]
            yield min(now.tick, figure.length_ticks - 1), role, stretch
        before = now


def _beyond(room: Room, point: Point) -> float:
    """How far (mm) a body round ``point`` reaches past the rectangle round the floor."""
    x, y = point
    low, east, north = room.margin_mm, room.width_mm - room.margin_mm, room.depth_mm - room.margin_mm
    return BODY_RADIUS_MM + max(low - x, low - y, x - east, y - north)
