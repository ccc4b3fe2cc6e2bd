"""What a problem's rows say of places on the floor, arc by arc: ground taken, and where a figure may begin and end.

The rows of the walls and of the places (:mod:`composer.rules.places`) are read back, so that a search which knows
where the couple stands needs nothing the other engines do not have. Only rows along one axis are read; what else
bears on places (slanted walls, obstacles, the same stride along both axes) is left to CP-SAT: nothing read here
excludes a routine that the rows allow. Whole millimetres; ``FAR_MM`` stands for no bound.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from composer.network.table import slices
from composer.solve.anchors import AXES, anchors_of
from composer.solve.linear import OPEN, Ints, Linear

Lengths = NDArray[np.int32]
Sides = tuple[int, int]
FAR_MM: Final = 1 << 28
PART_MM: Final = 3_000
"""Parts of the floor where a closed routine may begin are about so large."""


@dataclass(frozen=True)
class Ground:
    """Bounds per arc, each (axis, side, arc) with sides least and most, in 32 bits: networks have a million arcs.

    Attributes
    ----------
    taken : ground the figure takes, strides and all.
    begins : where the leader may stand as it begins.
    ends : where the leader may stand as it ends.
    apart : how far from the first place the leader may stand as it begins (a closed lap asks this of the end).

    Where roles change before a figure, all are told from where the old leader stood: the way to the body that leads
    from then on is a part of the ground taken and is taken off the bounds at the beginning.
    """

    taken: Lengths
    begins: Lengths
    ends: Lengths
    apart: Lengths

    @property
    def closes(self) -> bool:
        """Whether any place must be near the first one."""
        return bool((np.abs(self.apart) < FAR_MM // 2).any())

    def parts(self, linear: Linear) -> list[Lengths]:
        """Bounds, (1, axis, side), of the parts of the floor where a closed routine may begin; none where none closes.

        So far the first place matters: whoever knows it to a few metres knows which ways lead back to it.
        """
        begin = linear.usable & (linear.tail == 0)
        if not self.closes or not begin.any():
            return []
        low, high = self.begins[:, 0, begin].min(axis=1), self.begins[:, 1, begin].max(axis=1)
        number = np.maximum(1, -(-(high - low) // PART_MM))
        ends = [
            low[axis] + (high[axis] - low[axis] + 1) * np.arange(number[axis] + 1) // number[axis] for axis in (0, 1)
        ]
        return [
            np.array([[[x, to_x - 1], [y, to_y - 1]]], dtype=np.int32)
            for x, to_x in pairwise(ends[0].tolist())
            for y, to_y in pairwise(ends[1].tolist())
        ]

    def of(self, ids: Ints) -> ArcGround:
        """The ground of some arcs, arc by arc."""
        taken, begins, ends, apart = (
            np.ascontiguousarray(part[:, :, ids].transpose(2, 0, 1), dtype=np.int32)
            for part in (self.taken, self.begins, self.ends, self.apart)
        )
        return ArcGround(taken, begins, ends, apart, self.closes)


@dataclass(frozen=True)
class ArcGround:
    """The same, each (arc, axis, side) in 32 bits; ``closes`` where any place must be near the first one."""

    taken: Lengths
    begins: Lengths
    ends: Lengths
    apart: Lengths
    closes: bool


def ground_of(linear: Linear) -> Ground | None:
    """The ground of a problem; None where nothing is asked about places."""
    place = {
        column: (axis, int(name.removeprefix(prefix)))
        for column, name in enumerate(linear.names)
        for axis, prefix in enumerate(AXES)
        if name.startswith(prefix)
    }
    return _Reading(linear, place).ground() if place else None


class _Reading:
    def __init__(self, linear: Linear, place: dict[int, tuple[int, int]]) -> None:
        self.linear, self.place = linear, place
        size = len(linear.points)
        self.ids = np.flatnonzero(linear.usable)
        self.opens, self.closes = np.maximum(0, linear.tick[linear.tail]), linear.tick[linear.head]
        self.begin, self.end = self.by_tick(self.opens), self.by_tick(self.closes)
        self.over = np.zeros((2, size), dtype=np.int32)
        self.taken = np.zeros((2, 2, size), dtype=np.int32)
        self.reach = np.zeros(size, dtype=np.int64)
        """Weights of one row, zero again after every use."""
        self.begins, self.ends, self.apart = (_anywhere((2, 2, size)) for _ in range(3))
        self.columns: Any = linear.on_unknowns.tocsc()

    def by_tick(self, ticks: Ints) -> dict[int, Ints]:
        """Usable arcs by a tick of theirs."""
        order = self.ids[np.argsort(ticks[self.ids], kind="stable")]
        cuts = np.flatnonzero(np.diff(ticks[order])) + 1
        return {int(ticks[part[0]]): part for part in slices(order, cuts) if len(part)}

    def ground(self) -> Ground:
        rows: Ints = np.unique(self.columns[:, sorted(self.place)].indices)
        single: list[tuple[int, int, int, int, Sides]] = []
        anchors = set(anchors_of(self.linear).tolist())
        for row in rows.tolist():
            columns, weights = _row(self.linear.on_unknowns, row)
            known = [self.place[c] for c in columns.tolist() if c in self.place]
            others = [c for c in columns.tolist() if c not in self.place]
            tied = self.linear.least[row] == self.linear.most[row] == 0
            if len(columns) == 1:
                single.append((row, *known[0], int(weights[0]), self.sides(row)))
            elif len(known) == 1 and len(others) == 1 and others[0] in anchors:
                by = columns.tolist().index(others[0])
                sides = self.sides(row, others[0], int(weights[by]))
                single.append((row, *known[0], int(weights[1 - by]), sides))
            elif len(known) == 2 and known[0][0] == known[1][0]:
                if tied and len(others) < 2:
                    self.link(row, known[0][0], max(tick for _, tick in known), others)
                elif not others:
                    self.distance(row, known, weights)
        for row, axis, tick, weight, sides in single:
            self.wall(row, axis, tick, weight, sides)
        if not self.over.any():
            return Ground(self.taken, self.begins, self.ends, self.apart)
        over = self.over[:, None]
        return Ground(self.taken + over, self.begins - over, self.ends, self.apart - over)

    def sides(self, row: int, column: int = 0, weight: int = 0) -> Sides:
        """What a row allows the rest when an unknown has so much weight in it; OPEN where anything goes."""
        ends = weight * int(self.linear.low[column]), weight * int(self.linear.high[column])
        least, most = int(self.linear.least[row]), int(self.linear.most[row])
        return least if least == -OPEN else least - max(ends), most if most == OPEN else most - min(ends)

    def link(self, row: int, axis: int, tick: int, others: list[int]) -> None:
        """The place at a tick is the place before, and the ground of what ended, and what its strides add."""
        arcs, values = _row(self.linear.on_arcs, row)
        begun = self.opens[arcs] == tick
        self.taken[axis][:, arcs[~begun]] += values[~begun]
        self.over[axis, arcs[begun]] = values[begun]
        for column in others:
            across = self.ids[(self.opens[self.ids] < tick) & (self.closes[self.ids] >= tick)]
            self.taken[axis][:, across] += self.more(column, tick, across)

    def more(self, column: int, tick: int, across: Ints) -> Ints:
        """Bounds of an unknown per arc that runs up to a tick or across it; of its arcs only one can be danced."""
        bounds = np.empty((2, len(across)), dtype=np.int64)
        bounds[0], bounds[1] = self.linear.low[column], self.linear.high[column]
        reach = self.reach
        for row in _row(self.columns.T, column)[0].tolist():
            weights, (arcs, values) = _row(self.linear.on_unknowns, row)[1], _row(self.linear.on_arcs, row)
            if len(weights) == 1 and (self.closes[arcs] == tick).all():
                reach[arcs] = values
                bounds = self.bounded(bounds, self.sides(row), int(weights[0]), reach[across])
                reach[arcs] = 0
        return bounds

    def wall(self, row: int, axis: int, tick: int, weight: int, sides: Sides) -> None:
        """Bounds of the place at a tick, for the figures that begin there or for those that end there."""
        arcs, values = _row(self.linear.on_arcs, row)
        reach = self.reach
        reach[arcs] = values
        begin, end = self.begin.get(tick), self.end.get(tick)
        if begin is not None and (self.opens[arcs] == tick).all():
            self.begins[axis][:, begin] = self.bounded(self.begins[axis][:, begin], sides, weight, reach[begin])
        elif (
            end is not None
            and (self.closes[arcs] == tick).all()
            and (begin is None or not self.over[axis, begin].any())
        ):
            self.ends[axis][:, end] = self.bounded(self.ends[axis][:, end], sides, weight, reach[end])
        reach[arcs] = 0

    def distance(self, row: int, known: list[tuple[int, int]], weights: Ints) -> None:
        """How far a place may be from the first one."""
        (axis, tick), sign = max(known), int(weights[known.index(max(known))])
        begin = self.begin.get(tick)
        if (
            begin is not None
            and min(known)[1] == 0
            and sorted(weights.tolist()) == [-1, 1]
            and not _row(self.linear.on_arcs, row)[0].size
        ):
            none = np.zeros(len(begin), dtype=np.int64)
            self.apart[axis][:, begin] = self.bounded(self.apart[axis][:, begin], self.sides(row), sign, none)

    def bounded(self, bounds: Ints, sides: Sides, weight: int, reach: Ints) -> Ints:
        """Bounds of an unknown with ``low <= weight * unknown + reach <= high`` as well, rounded inwards."""
        low, high = sides
        if weight < 0:
            weight, reach, low, high = -weight, -reach, -high, -low
        least, most = bounds
        if high != OPEN:
            most = np.minimum(most, high - reach if weight == 1 else (high - reach) // weight)
        if low != -OPEN:
            least = np.maximum(least, low - reach if weight == 1 else -((reach - low) // weight))
        within: Ints = np.stack([least, most]).clip(-FAR_MM, FAR_MM)
        return within


def _anywhere(shape: tuple[int, int, int]) -> Lengths:
    bounds = np.full(shape, FAR_MM, dtype=np.int32)
    bounds[:, 0] = -FAR_MM
    return bounds


def _row(matrix: Any, row: int) -> tuple[Ints, Ints]:
    part = slice(matrix.indptr[row], matrix.indptr[row + 1])
    return matrix.indices[part], matrix.data[part]
