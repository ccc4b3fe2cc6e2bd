"""A problem without what says nothing: unknowns that can only be 0, rows that cannot be broken or that others imply.

With most arcs out of use most rows are empty words, and every step after that would read them again. A row "one of
these at most" goes where no path can dance two of them, or where the row before or behind it says the same of more
arcs (windows that slide over the music do). Its multiplier moves to the row that stays, so that no bound gets worse:
the arcs of the shorter row cost what they did, others cost more, and the sides are the same.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from composer.solve.linear import OPEN, Flags, Ints, Linear


@dataclass(frozen=True)
class Compact:
    """``linear`` has the rows ``rows`` of the problem before.

    ``moved`` is, by row of the problem before, the row that took its place, itself where none did.
    """

    linear: Linear
    rows: Ints
    moved: Ints

    def multipliers(self, before: Ints) -> Ints:
        """Multipliers of the rows left that prove as much as those of all rows did."""
        found = np.zeros_like(before)
        gone = self.moved != np.arange(len(before))
        np.add.at(found, self.moved, np.where(gone, np.maximum(before, 0), before))
        left: Ints = found[self.rows]
        return left


def compact(linear: Linear, spared: Flags | None = None) -> Compact:
    """The same problem in fewer rows and unknowns; it has the same routines of the same points.

    Parameters
    ----------
    spared : rows that stay whatever they say.
    """
    on_arcs: Any = linear.on_arcs[:, np.flatnonzero(linear.usable)]
    linear = without(linear, _never(linear, on_arcs))
    columns = np.flatnonzero((linear.low != 0) | (linear.high != 0))
    on_unknowns: Any = linear.on_unknowns[:, columns]
    low, high = _ends(on_arcs, np.zeros(on_arcs.shape[1], dtype=np.int64), np.ones(on_arcs.shape[1], dtype=np.int64))
    more = _ends(on_unknowns, linear.low[columns], linear.high[columns])
    stays = (low + more[0] < linear.least) | (high + more[1] > linear.most)
    once = stays & (linear.most == 1) & (linear.least <= 0) & (high == np.diff(on_arcs.indptr)) & (low == 0)
    once &= np.diff(on_unknowns.indptr) == 0
    if spared is not None:
        stays, once = stays | spared, once & ~spared
    moved = np.arange(len(stays))
    rows = np.flatnonzero(once)
    if len(rows):
        moved[rows] = _told_by(linear, on_arcs[rows], rows)
        stays[rows] = moved[rows] == rows
        moved[moved < 0] = np.flatnonzero(moved < 0)
    kept = np.flatnonzero(stays)
    few = replace(
        linear.with_rows(kept),
        on_unknowns=on_unknowns[kept],
        names=tuple(linear.names[column] for column in columns.tolist()),
        low=linear.low[columns],
        high=linear.high[columns],
        unknown_points=linear.unknown_points[columns],
    )
    return Compact(few, kept, moved)


def _ends(matrix: Any, low: Ints, high: Ints) -> tuple[Ints, Ints]:
    """The least and the most each row can come to, column by column on its own."""
    return matrix.maximum(0) @ low + matrix.minimum(0) @ high, matrix.maximum(0) @ high + matrix.minimum(0) @ low


def _told_by(linear: Linear, once: Any, rows: Ints) -> Ints:
    """Per row "one of these at most" the row that says as much: itself, a longer one, -1 where every path keeps it."""
    arcs = np.flatnonzero(linear.usable)
    begins, ends, starts = linear.tick[linear.tail[arcs]], linear.tick[linear.head[arcs]], once.indptr[:-1]
    once.sort_indices()
    one_after_other = np.minimum.reduceat(ends[once.indices], starts) <= np.maximum.reduceat(
        begins[once.indices], starts
    )
    size, place = np.diff(once.indptr), np.arange(len(rows))
    common = np.asarray(once[:-1].multiply(once[1:]).sum(axis=1)).ravel()
    to = place.copy()
    to[1:][(common == size[1:]) & (common < size[:-1])] -= 1
    to[:-1][common == size[:-1]] += 1
    while (to != to[to]).any():
        to = to[to]
    told: Ints = np.where(one_after_other, rows[to], -1)
    return told


def without(linear: Linear, gone: Flags) -> Linear:
    """The same with some unknowns held at 0."""
    return replace(linear, high=np.where(gone, 0, linear.high)) if gone.any() else linear


def _never(linear: Linear, on_arcs: Any) -> Flags:
    """Unknowns 0/1 that some row, whatever is asked, keeps below a sum of which no arcs are left."""
    matrix: Any = linear.on_unknowns
    alone = (np.diff(matrix.indptr) == 1) & (np.diff(on_arcs.indptr) == 0)
    empty = np.flatnonzero(alone & (linear.least == 0) & (linear.most == OPEN) & (linear.owner < 0))
    empty = empty[matrix.data[matrix.indptr[empty]] < 0]
    found = np.zeros(len(linear.names), dtype=np.bool_)
    found[matrix.indices[matrix.indptr[empty]]] = True
    gone: Flags = found & (linear.low == 0) & (linear.high == 1)
    return gone
