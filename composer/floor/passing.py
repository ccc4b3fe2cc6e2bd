"""What is to be passed on a floor and how much room is missing there, piece by piece of a figure.

A piece is what the couple covers from one station to the next (:mod:`composer.floor.stations`); it keeps beyond one of
the lines round every block (:mod:`composer.floor.shape`), the next piece beyond another if it likes.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from composer.floor.model import Place, Room
from composer.floor.shape import Block, Line, blocks
from composer.floor.stations import Pair, longest_edge, step_for
from composer.kinematics.motion import Motion


@dataclass(frozen=True)
class Passing:
    """The blocks of a room with lines fine enough for some figures, and the ticks between stations.

    ``edge_mm`` is the longest straight line round a piece of those figures; None where nothing is to be passed.
    """

    blocks: tuple[Block, ...]
    step: int
    edge_mm: int | None = None

    @property
    def shut(self) -> bool:
        """Whether nobody can be beyond some block anywhere."""
        return any(not block.lines for block in self.blocks)


def passing(room: Room, motions: Iterable[Motion]) -> Passing:
    """What is to be passed by these figures; no blocks where the floor is free."""
    if not blocks(room):
        return Passing((), 1)
    known = tuple(motions)
    step = step_for(known)
    edge_mm = longest_edge(known, step)
    return Passing(blocks(room, edge_mm), step, edge_mm)


def lacking(
    given: Passing, figure_pairs: Sequence[Pair], limits: tuple[Place, Place], stray: int = 0
) -> Iterator[tuple[str, float, int]]:
    """Blocks a figure does not pass: name, mm that are missing at its worst piece, and which piece that is.

    Parameters
    ----------
    figure_pairs : both partners at every station, in the room.
    limits : the ground the figure may take less and more along x and y, early or late on its way, strays included.
    stray : how far a body may be off its way with strides that are not natural, also on the first and the last piece.
    """
    last = len(figure_pairs) - 1
    ends_by = ((-stray, stray), (-stray, stray))
    for block in given.blocks:
        worst: tuple[float, int] = (0.0, 0)
        for number, (one, two) in enumerate(pairwise(figure_pairs)):
            ends = ((one, limits if number else ends_by), (two, limits if number + 1 < last else ends_by))
            lack = min((max(_lack(line, *end) for end in ends) for line in block.lines), default=math.inf)
            worst = max(worst, (lack, -number))
        if worst[0] > 0:
            yield block.name, worst[0], -worst[1]


def _lack(line: Line, places: Iterable[Place], limits: tuple[Place, Place]) -> float:
    """How far the nearest place is from being beyond a line, mm; not above zero when all are."""
    given = sum(max(0, -p * low, -p * high) for p, (low, high) in zip((line.a, line.b), limits, strict=True))
    return (line.c - min(line.at(place) for place in places) + given) / math.hypot(line.a, line.b)
