"""Where a travelling couple may begin a figure on each side of a floor: strips along its walls.

With a lane asked for, a strip lies along every stretch of wall that a side is danced along, as deep as the lane; of a
floor that is no rectangle each stretch has its own. A stretch belongs to the side whose direction (counter-clockwise:
east along the south, then north, west, south) is nearest to its own. At an inward corner a strip goes on as far as it
is deep, so that neighbouring strips meet. Without a lane the couple goes round a middle of its own.
"""

from __future__ import annotations

import math
from typing import Final

from composer.floor.model import Place, Room
from composer.floor.shape import FINE, Line, turn

NAMES: Final = ("south", "east", "north", "west")
Strip = tuple[Line, ...]
"""``a*x + b*y <= c`` holds for every line."""


def strips(room: Room, corners: int, depth_mm: int) -> tuple[Strip, ...]:
    """The strips of a side, at least one; a place is in lane when it is in one of them."""
    side = corners % 4
    if room.outline:
        found = tuple(_strips(room, side, depth_mm))
        if found:
            return found
    least_x, least_y, most_x, most_y = room.inside
    line = (
        Line(0, 1, least_y + depth_mm, NAMES[0]),
        Line(-1, 0, depth_mm - most_x, NAMES[1]),
        Line(0, -1, depth_mm - most_y, NAMES[2]),
        Line(1, 0, least_x + depth_mm, NAMES[3]),
    )
    return ((line[side],),)


def _strips(room: Room, side: int, depth_mm: int) -> list[Strip]:
    """Along every stretch of an outline that runs in the direction of a side."""
    found: list[Strip] = []
    ring = room.outline
    for index, (here, there) in enumerate(zip(ring, (*ring[1:], ring[0]), strict=True)):
        along = (there[0] - here[0], there[1] - here[1])
        if round(math.atan2(along[1], along[0]) / (math.pi / 2)) % 4 != side:
            continue
        a, b = _unit(along)
        size = math.hypot(a, b)
        before, after = ring[index - 1], ring[(index + 2) % len(ring)]
        reach = room.edge_mm + depth_mm
        low = _end(turn(before, here, there), reach, size)
        high = _end(turn(here, there, after), reach, size)
        found.append(
            (
                Line(-b, a, -b * here[0] + a * here[1] + math.floor(reach * size), NAMES[side]),
                Line(b, -a, b * here[0] - a * here[1], NAMES[side]),
                Line(-a, -b, -(a * here[0] + b * here[1]) + low, NAMES[side]),
                Line(a, b, a * there[0] + b * there[1] + high, NAMES[side]),
            )
        )
    return found


def _end(bend: int, reach: int, size: float) -> int:
    """How far a strip goes on past its end: past an inward corner as far as it is deep."""
    return math.floor(reach * size) if bend < 0 else 0


def _unit(along: Place) -> Place:
    """A direction in whole numbers of about ``FINE``; exact along an axis."""
    if not along[0] or not along[1]:
        return (along[0] > 0) - (along[0] < 0), (along[1] > 0) - (along[1] < 0)
    size = math.hypot(*along)
    return round(along[0] * FINE / size), round(along[1] * FINE / size)


def in_strip(strip: Strip, place: Place) -> bool:
    """Whether a place lies in a strip."""
    return all(line.at(place) <= line.c for line in strip)
