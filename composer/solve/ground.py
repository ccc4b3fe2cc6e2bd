"""What a problem's rows say of places on the floor, arc by arc: ground taken, and where a figure may begin.

The rows of the walls and of the places (:mod:`composer.rules.places`) are read back, so that a search which knows
where the couple stands needs nothing the other engines do not have. Only rows along one axis are read; what else
bears on places (slanted walls, obstacles, a choice of stride) is left to CP-SAT. Whole millimetres.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from composer.solve.linear import OPEN, Ints, Linear

AXES: Final = ("room:x@", "room:y@")
FAR_MM: Final = 1 << 28


@dataclass(frozen=True)
class Ground:
    """Per arc: ``dx, dy`` of the leader, and ``west, south, east, north``: bounds of the place where it may begin.

    Where roles change before a figure, both are told from where the old leader stood: the way to the body that leads
    from then on is a part of ``dx, dy`` and is taken off the bounds.
    ``whole`` is False where some figure may take more or less ground than that; then nothing here excludes anything.
    """

    dx: Ints
    dy: Ints
    west: Ints
    south: Ints
    east: Ints
    north: Ints
    whole: bool


def ground_of(linear: Linear) -> Ground | None:
    """The ground of a problem; None where nothing is asked about places."""
    place = {
        column: (axis, int(name.removeprefix(prefix)))
        for column, name in enumerate(linear.names)
        for axis, prefix in enumerate(AXES)
        if name.startswith(prefix)
    }
    if not place:
        return None
    size = len(linear.points)
    travel, over = np.zeros((2, size), dtype=np.int64), np.zeros((2, size), dtype=np.int64)
    start = np.maximum(0, linear.tick[linear.tail])
    least, most = np.full((2, size), -FAR_MM, dtype=np.int64), np.full((2, size), FAR_MM, dtype=np.int64)
    begins = _by_start(linear)
    whole = True
    for row in _rows_with(linear, place):
        columns, weights = _row(linear.on_unknowns, row)
        arcs, values = _row(linear.on_arcs, row)
        known = [place[c] for c in columns.tolist() if c in place]
        if len(known) == 2 and known[0][0] == known[1][0] and linear.least[row] == linear.most[row] == 0:
            begun = start[arcs] == max(tick for _, tick in known)
            travel[known[0][0], arcs[~begun]] = values[~begun]
            over[known[0][0], arcs[begun]] = values[begun]
            whole &= len(columns) == 2
        elif len(columns) == 1:
            axis, tick = known[0]
            own = begins.get(tick)
            if own is not None:
                reach = np.zeros(size, dtype=np.int64)
                reach[arcs] = values
                _bound(least[axis], most[axis], own, int(weights[0]), reach[own], linear, row)
    travel, least, most = travel + over, least - over, most - over
    return Ground(travel[0], travel[1], least[0], least[1], most[0], most[1], whole)


def _bound(least: Ints, most: Ints, own: Ints, weight: int, reach: Ints, linear: Linear, row: int) -> None:
    """``low <= weight * place + reach <= high`` as bounds of the place, rounded inwards."""
    low, high = int(linear.least[row]), int(linear.most[row])
    if weight < 0:
        weight, reach, low, high = -weight, -reach, -high, -low
    if high != OPEN:
        most[own] = np.minimum(most[own], (high - reach) // weight)
    if low != -OPEN:
        least[own] = np.maximum(least[own], -((reach - low) // weight))


def _by_start(linear: Linear) -> dict[int, Ints]:
    """Usable arcs by the tick at which they begin."""
    ids = np.flatnonzero(linear.usable)
    start = np.maximum(0, linear.tick[linear.tail[ids]])
    cuts = np.flatnonzero(np.diff(start)) + 1  # arcs go by tail, and tails by tick
    return {int(start[np.searchsorted(ids, part[0])]): part for part in np.split(ids, cuts) if len(part)}


def _rows_with(linear: Linear, place: dict[int, tuple[int, int]]) -> list[int]:
    asked: Any = linear.on_unknowns[:, sorted(place)]
    rows: list[int] = np.flatnonzero(np.diff(asked.indptr)).tolist()
    return rows


def _row(matrix: Any, row: int) -> tuple[Ints, Ints]:
    part = slice(matrix.indptr[row], matrix.indptr[row + 1])
    return matrix.indices[part], matrix.data[part]
