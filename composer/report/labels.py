"""Places for words on a picture so that none covers another: boxes round them, and the nearest place that is free.

Boxes are (left, top, right, bottom) in the units of the picture, y downwards. Words are taken to be as wide as a
cautious mean letter makes them, so what is drawn is never wider than its box.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

from composer.report.model import ObstacleMark, RoomMark

Box = tuple[float, float, float, float]
Place = tuple[float, float]
LETTER: Final = 0.56
"""Mean width of a letter as a part of its size, as in :func:`composer.report.svg.shortened`."""
RINGS: Final = 16
WAYS: Final = 16
MOST_WIDE: Final = 120
SPACE: Final = 1.5


def text_box(words: str, x: float, y: float, size: float) -> Box:
    """The box of words centred on ``x`` with their baseline at ``y``."""
    half = len(words) * size * LETTER / 2
    return x - half, y - 0.85 * size, x + half, y + 0.25 * size


def meet(one: Box, two: Box) -> bool:
    """Whether two boxes overlap; boxes that touch do not."""
    return one[0] < two[2] and two[0] < one[2] and one[1] < two[3] and two[1] < one[3]


def shared(one: Box, two: Box) -> float:
    """The area two boxes have in common."""
    wide = min(one[2], two[2]) - max(one[0], two[0])
    tall = min(one[3], two[3]) - max(one[1], two[1])
    return max(0.0, wide) * max(0.0, tall)


@dataclass
class Labels:
    """What is drawn so far on a picture so wide and tall."""

    wide: float
    tall: float
    taken: list[Box] = field(default_factory=list)

    def free(self, box: Box) -> bool:
        """Whether nothing that is drawn would be covered."""
        return not any(meet(box, other) for other in self.taken)

    def put(self, words: str, x: float, y: float, size: float) -> Place:
        """The place nearest (x, y) at which the words are on the picture and cover nothing, else least; it is taken."""
        step = 0.6 * size
        tried = [(x, y)] + [
            (x + ring * step * math.cos(math.tau * k / WAYS), y + ring * step * math.sin(math.tau * k / WAYS))
            for ring in range(1, RINGS + 1)
            for k in range(WAYS)
        ]
        half = len(words) * size * LETTER / 2
        inside = [
            (min(max(px, half + 1), max(half + 1, self.wide - half - 1)), min(max(py, size), self.tall - 0.3 * size))
            for px, py in tried
        ]
        best, least = inside[0], math.inf
        for place in inside:
            box = text_box(words, *place, size)
            wider = (box[0] - SPACE, box[1], box[2] + SPACE, box[3])
            covered = sum(shared(wider, other) for other in self.taken)
            if covered < least:
                best, least = place, covered
            if not covered:
                break
        self.taken.append(text_box(words, *best, size))
        return best


def round_box(x: float, y: float) -> Box:
    """The box of a number."""
    return x - 10.5, y - 10.5, x + 10.5, y + 10.5


def free_place(
    x: float,
    y: float,
    taken: list[tuple[float, float]],
    wide: float,
    tall: float,
    apart: float = 22,
    boxes: Sequence[Box] = (),
) -> tuple[float, float]:
    """A place near (x, y), inside the picture, ``apart`` from all places taken off some boxes; else (x, y)."""
    places = [(x, y)] + [
        (x + ring * apart * 0.4 * math.cos(k * math.pi / 6), y + ring * apart * 0.4 * math.sin(k * math.pi / 6))
        for ring in range(2, 12)
        for k in range(12)
    ]
    for px, py in places:
        clear = 11 <= px <= wide - 11 and 11 <= py <= tall - 11 and all(math.dist((px, py), t) >= apart for t in taken)
        if clear and not any(meet(round_box(px, py), words) for words in boxes):
            return px, py
    return x, y


def room_names(room: RoomMark) -> list[tuple[str, tuple[Place, ...]]]:
    """(name, places in mm in whose middle it would stand) of obstacles and doors; pieces of one obstacle have one."""
    groups: list[tuple[ObstacleMark, list[Place]]] = []
    for thing in room.obstacles:
        own = next((group for group in groups if _pieces(group[0], group[1], thing)), None)
        if own is None:
            groups.append((thing, list(thing.corners)))
        else:
            own[1].extend(thing.corners)
    found: list[tuple[str, tuple[Place, ...]]] = [(thing.name, tuple(places)) for thing, places in groups]
    return found + [(door.name, door.ends) for door in room.doors]


def _pieces(first: ObstacleMark, places: list[Place], other: ObstacleMark) -> bool:
    """Whether something is a piece of the same outline."""
    return first.name == other.name and len(other.corners) > 1 and bool(set(places) & set(other.corners))
