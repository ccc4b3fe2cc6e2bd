"""Walking the routine across the real room with shapely: both bodies, every moment and every stretch between.

World frame as in :mod:`composer.floor.model`. Rotation is done here from scratch, in floating point, with two
millimetres of tolerance for the whole-millimetre places of the record.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from composer.catalogue.model import Figure
from composer.floor.model import BODY_RADIUS_MM, Room
from composer.problem import Problem
from composer.routine import Placed, Routine
from composer.rules.base import Breach
from composer.units import TICKS_PER_BEAT

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

TOLERANCE_MM = 2.0
Point = tuple[float, float]


def walls(problem: Problem, routine: Routine) -> Iterator[Breach]:
    """Bodies that leave the floor, places that do not follow from the figure before, a wrong first place."""
    room = problem.room
    if room is None:
        return
    from shapely.geometry import LineString, box
    from shapely.geometry import Point as PointOf

    floor = box(room.margin_mm, room.margin_mm, room.width_mm - room.margin_mm, room.depth_mm - room.margin_mm)
    floor = floor.buffer(TOLERANCE_MM, join_style="mitre")
    lanes = _lanes(room) if room.style == "travelling" else None
    expected: Point | None = None
    if room.start_x_mm is not None and room.start_y_mm is not None:
        expected = (room.start_x_mm, room.start_y_mm)
    for placed in routine.figures:
        figure = problem.catalogue.figures.get(placed.figure)
        if figure is None:
            expected = None
            continue
        if placed.x_mm is None or placed.y_mm is None:
            yield _breach(placed.start_tick, f"{figure.chart.name} has no place on the floor")
            expected = None
            continue
        if expected is not None and math.dist(expected, (placed.x_mm, placed.y_mm)) > TOLERANCE_MM:
            apart = math.dist(expected, (placed.x_mm, placed.y_mm)) / 1000
            yield _breach(placed.start_tick, f"{figure.chart.name} begins {apart:.2f} m from where the couple stands")
        if lanes is not None and not lanes[placed.corners % 4].covers(PointOf(placed.x_mm, placed.y_mm)):
            message = f"{figure.chart.name} begins outside the lane of its side"
            yield replace(_breach(placed.start_tick, message), key="replay:lane")
        for tick, role, stretch in _stretches(placed, figure):
            body = LineString(stretch).buffer(BODY_RADIUS_MM)
            if not floor.covers(body):
                over = max(_beyond(floor.bounds, point) for point in stretch) / 1000
                yield _breach(
                    placed.start_tick + tick, f"{figure.chart.name}: the {role} is {over:.2f} m off the floor"
                )
                break
        end = figure.motion.moments[-1].leader
        expected = _world(placed, end.forward_mm, end.right_mm)


def _lanes(room: Room) -> list[BaseGeometry]:
    """Where the leader may begin a figure along the south, east, north and west side: a band along each."""
    from shapely.geometry import LineString, box

    edge = room.margin_mm + BODY_RADIUS_MM
    floor = box(edge, edge, room.width_mm - edge, room.depth_mm - edge)
    shorter = min(room.width_mm, room.depth_mm) - 2 * edge
    depth = room.lane_mm if room.lane_mm is not None else max(0, shorter // 2)
    x0, y0, x1, y1 = floor.bounds
    sides = [((x0, y0), (x1, y0)), ((x1, y0), (x1, y1)), ((x0, y1), (x1, y1)), ((x0, y0), (x0, y1))]
    return [
        floor.intersection(LineString(side).buffer(depth, cap_style="square")).buffer(TOLERANCE_MM, join_style="mitre")
        for side in sides
    ]


def _breach(tick: int, message: str) -> Breach:
    return Breach("replay:room", message, count=tick // TICKS_PER_BEAT + 1, law=True)


def _world(placed: Placed, forward: float, right: float) -> Point:
    """A point of the leader's starting frame on the floor plan."""
    angle = -math.radians(45 * placed.faces)
    x, y = placed.x_mm or 0, placed.y_mm or 0
    ahead, aside = (math.cos(angle), math.sin(angle)), (math.sin(angle), -math.cos(angle))
    return x + forward * ahead[0] + right * aside[0], y + forward * ahead[1] + right * aside[1]


def _stretches(placed: Placed, figure: Figure) -> Iterator[tuple[int, str, list[Point]]]:
    """For each moment (tick of the figure) and role: the straight stretch walked up to it."""
    before = figure.motion.moments[0]
    for now in figure.motion.moments:
        for role, a, b in (("leader", before.leader, now.leader), ("follower", before.follower, now.follower)):
            yield (
                min(now.tick, figure.length_ticks - 1),
                role,
                [_world(placed, a.forward_mm, a.right_mm), _world(placed, b.forward_mm, b.right_mm)],
            )
        before = now


def _beyond(bounds: tuple[float, float, float, float], point: Point) -> float:
    """How far (mm) a body round ``point`` reaches past the bounds."""
    x, y = point
    return BODY_RADIUS_MM + max(bounds[0] - x, bounds[1] - y, x - bounds[2], y - bounds[3])
