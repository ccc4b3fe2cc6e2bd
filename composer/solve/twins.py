"""Unknowns that mean the same are one: two families may each have their own unknown for "danced as before".

Ties (:func:`composer.solve.ties.tied_columns`) that need the same figures are as large as these let them be in some
best routine, so they may as well be equal. The first stands for all; the rows that keep the others below their figures
go. A third of the rows of a problem with all rules go so, and nearly half the time of its relaxation.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from composer.solve.cpsat import Answer
from composer.solve.linear import Linear
from composer.solve.ties import rows_below_arcs, tied_columns


@dataclass(frozen=True)
class Single:
    """A problem in which no tie has a twin, and by the name of every twin left out the one that stands for it."""

    linear: Linear
    stands_for: Mapping[str, str]

    def told(self, answer: Answer) -> Answer:
        """The answer with the values of twins as well."""
        twins = {twin: answer.values[one] for twin, one in self.stands_for.items() if one in answer.values}
        return replace(answer, values={**answer.values, **twins}) if twins else answer


def without_twins(linear: Linear) -> Single:
    """The same problem with one unknown for all ties of the same figures."""
    from composer.solve.sparse import csr_matrix

    weigh, rows_of = linear.on_arcs, rows_below_arcs(linear)
    one_of, first = np.arange(len(linear.names)), dict[tuple[bytes, ...], int]()
    dropped: list[int] = []
    for column in tied_columns(linear).tolist():
        arcs = (weigh.indices[weigh.indptr[row] : weigh.indptr[row + 1]] for row in rows_of[column])
        weights = (weigh.data[weigh.indptr[row] : weigh.indptr[row + 1]] for row in rows_of[column])
        key = tuple(sorted(a.tobytes() + b"|" + w.tobytes() for a, w in zip(arcs, weights, strict=True)))
        one_of[column] = first.setdefault(key, column)
        if one_of[column] != column:
            dropped += rows_of[column]
    twins = np.flatnonzero(one_of != np.arange(len(one_of)))
    if not len(twins):
        return Single(linear, {})
    left = np.flatnonzero(one_of == np.arange(len(one_of)))
    joins = csr_matrix((np.ones(len(one_of), dtype=np.int64), (np.arange(len(one_of)), one_of)))
    points = np.zeros_like(linear.unknown_points)
    np.add.at(points, one_of, linear.unknown_points)
    few = linear.with_rows(np.setdiff1d(np.arange(len(linear.least)), dropped))
    single = replace(
        few,
        on_unknowns=(few.on_unknowns @ joins)[:, left].tocsr(),
        names=tuple(linear.names[column] for column in left.tolist()),
        low=linear.low[left],
        high=linear.high[left],
        unknown_points=points[left],
    )
    return Single(single, {linear.names[twin]: linear.names[one_of[twin]] for twin in twins.tolist()})
