"""Unknowns that rows tie to places at many ticks: where the couple's own middle is, when no lane is given.

A walk knows places, not the middle it goes round. So good routines are looked for with the middle held at one place
after another, and proofs look at one part of the floor after another; together the parts hold every middle.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import product
from typing import Any, Final

import numpy as np

from composer.solve.linear import Ints, Linear

AXES: Final = ("room:x@", "room:y@")
"""How the names of unknown places begin."""
MOST: Final = 2
"""Held or parted together every further anchor would take three times as long."""
QUARTERS: Final = (2, 1, 3)
"""Quarters of its span at which an anchor is held, one after another."""
PARTS: Final = 3
"""An anchor's span is looked at in so many parts."""


def anchors_of(linear: Linear) -> Ints:
    """Columns of unknowns that stand in rows beside one place, at more than one tick; none where they are too many."""
    matrix: Any = linear.on_unknowns
    tick = np.full(len(linear.names), -1)
    for column, name in enumerate(linear.names):
        if name.startswith(AXES):
            tick[column] = int(name.split("@")[1])
    two = np.flatnonzero(np.diff(matrix.indptr) == 2)
    pairs = matrix.indices[matrix.indptr[two][:, None] + np.arange(2)]
    pairs = pairs[(tick[pairs] >= 0).sum(axis=1) == 1]
    beside = np.where(tick[pairs] < 0, pairs, 0).sum(axis=1), tick[pairs].max(axis=1, initial=-1)
    found, number = np.unique(np.unique(np.stack(beside, axis=1), axis=0)[:, 0], return_counts=True)
    columns: Ints = found[number > 1].astype(np.int64)
    return columns if len(columns) <= MOST else columns[:0]


def held(linear: Linear) -> Iterator[Linear]:
    """The problem with its anchors held where they may well be, the middle of their spans first."""
    anchors = anchors_of(linear)
    for quarters in product(QUARTERS, repeat=len(anchors)):
        low, high = linear.low.copy(), linear.high.copy()
        span = high[anchors] - low[anchors]
        low[anchors] += span * np.array(quarters, dtype=np.int64) // 4
        high[anchors] = low[anchors]
        yield replace(linear, low=low, high=high)


def parts(linear: Linear) -> Iterator[Linear]:
    """The problem with its anchors within one part of their spans after another; the parts are everything."""
    anchors = anchors_of(linear)
    for numbers in product(range(PARTS), repeat=len(anchors)):
        low, high = linear.low.copy(), linear.high.copy()
        at, size = np.array(numbers, dtype=np.int64), linear.high[anchors] - linear.low[anchors] + 1
        low[anchors], high[anchors] = low[anchors] + size * at // PARTS, low[anchors] + size * (at + 1) // PARTS - 1
        if (low <= high).all():
            yield replace(linear, low=low, high=high)
