"""Which bonuses a mixture of routines is paid for more often than any routine is.

The relaxation dances a figure's bonus once in all: a fifth of every routine, or five times in a fifth of them. How much
of it the routines of the mixture really earn is told by a walk that goes on from every node as the mixture does.
Where that is little, the figure is worth remembering (:mod:`composer.solve.lookahead`): a walk that knows that it has
danced it is paid no second time.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from composer.solve.linear import OPEN, Flags, Ints, Linear
from composer.solve.relax import USED, Floats, Relaxed


def overpaid(linear: Linear, advice: Relaxed) -> tuple[str, ...]:
    """Unknowns that the mixture is paid for too often, by how many points, most first."""
    columns, arcs = _bonuses(linear)
    ids = np.flatnonzero(advice.arc_values > USED)
    earned = _chances(linear, ids, advice.arc_values[ids], _danced(linear, ids, arcs))
    lost = linear.unknown_points[columns] * (advice.unknown_values[columns] - earned)
    order = np.argsort(-lost, kind="stable")
    return tuple(linear.names[column] for column in columns[order[lost[order] > USED]].tolist())


def _bonuses(linear: Linear) -> tuple[Ints, Ints]:
    """Unknowns 0/1 worth points that one row alone keeps below a sum of arcs, and that row."""
    matrix: Any = linear.on_unknowns
    single: Flags = (np.diff(matrix.indptr) == 1) & (linear.least == 0) & (linear.most == OPEN)
    rows = np.flatnonzero(single)
    rows = rows[matrix.data[matrix.indptr[rows]] == -1]
    columns = matrix.indices[matrix.indptr[rows]].astype(np.int64)
    once = np.bincount(columns, minlength=len(linear.names)) == 1
    worth = once & (linear.low == 0) & (linear.high == 1) & (linear.unknown_points > 0)
    return columns[worth[columns]], rows[worth[columns]]


def _danced(linear: Linear, ids: Ints, rows: Ints) -> Flags:
    """By arc (``ids``) and row, whether the row weighs the arc."""
    found: Flags = linear.on_arcs[rows][:, ids].T.toarray() > 0
    return found


def _chances(linear: Linear, ids: Ints, values: Floats, danced: Flags) -> Floats:
    """By column of ``danced``, how likely one of its arcs is danced."""
    tail, head = linear.tail[ids], linear.head[ids]
    leaves = np.bincount(tail, values, minlength=len(linear.tick))
    without = np.zeros((len(linear.tick), danced.shape[1]))
    without[0] = 1.0
    for arc, (begin, end, value) in enumerate(zip(tail.tolist(), head.tolist(), values.tolist(), strict=True)):
        without[end] += without[begin] * (value / leaves[begin]) * ~danced[arc]
    found: Floats = 1.0 - without[linear.sink]
    return found
