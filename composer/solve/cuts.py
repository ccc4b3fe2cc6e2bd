"""Rows that every routine keeps anyway, but mixtures of routines do not: they bring the relaxation's ceiling down.

A *bonus* is earned once, however often its figure is danced; a *tie* needs its figure twice. A figure danced with ``k``
ties is danced at ``k + 1`` ticks at least: every tie leads from one tick to a later one, and where no two lead to the
same tick they never close a ring. So *bonus + ties of a figure <= how often it is danced*. Half of one routine and half
of another that share no section dance a figure half a time in each of two sections and get half of the tie and all of
the bonus for that; this row takes half of it away again.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from composer.solve.linear import OPEN, Flags, Ints, Linear
from composer.solve.ties import rows_below_arcs, tied_columns


def with_cuts(linear: Linear) -> Linear:
    """The same problem with such rows added behind all others; it has the same routines."""
    from composer.solve.sparse import csr_matrix, vstack

    found = _cuts(linear)
    if not found:
        return linear
    arcs, columns = [arcs for arcs, _ in found], [np.array(columns, dtype=np.int64) for _, columns in found]

    def rows(parts: list[Ints], weight: int, like: Any) -> Any:
        data = np.full(sum(map(len, parts)), weight, dtype=like.dtype)
        starts = np.cumsum([0, *map(len, parts)])
        return csr_matrix((data, np.concatenate(parts), starts), shape=(len(parts), like.shape[1]))

    return replace(
        linear,
        on_arcs=vstack([linear.on_arcs, rows(arcs, 1, linear.on_arcs)]).tocsr(),
        on_unknowns=vstack([linear.on_unknowns, rows(columns, -1, linear.on_unknowns)]).tocsr(),
        least=np.append(linear.least, np.zeros(len(found), dtype=np.int64)),
        most=np.append(linear.most, np.full(len(found), OPEN)),
        owner=np.append(linear.owner, np.full(len(found), -1)),
    )


def _cuts(linear: Linear) -> list[tuple[Ints, list[int]]]:
    """(arcs, unknowns) of every such row: a bonus, and of its figure's ties one at most for every second tick."""
    ties = tied_columns(linear)
    if not len(ties):
        return []
    weigh, begins = linear.on_arcs, linear.tick[linear.tail]
    own = {
        column: [weigh.indices[weigh.indptr[row] : weigh.indptr[row + 1]].astype(np.int64) for row in rows]
        for column, rows in rows_below_arcs(linear).items()
    }
    bonus_of = np.full(len(linear.points), -1, dtype=np.int64)
    for column in np.flatnonzero(_bonuses(linear)).tolist():
        if len(own.get(column, ())) == 1:
            bonus_of[own[column][0]] = column
    layers: dict[int, list[dict[int, int]]] = {}
    for column in ties.tolist():
        first, second = sorted(own[column], key=lambda arcs: int(begins[arcs[0]]) if len(arcs) else -1)
        bonus = _only(bonus_of, first, second)
        if bonus < 0 or not _one_after_other(begins, first, second):
            continue
        due, of_bonus = int(begins[second[0]]), layers.setdefault(bonus, [])
        free = next((layer for layer in of_bonus if due not in layer), None)
        if free is None:
            of_bonus.append(free := {})
        free[due] = column
    return [(own[bonus][0], [bonus, *layer.values()]) for bonus, found in layers.items() for layer in found]


def _bonuses(linear: Linear) -> Flags:
    """Unknowns 0/1 that bring points."""
    found: Flags = (linear.low == 0) & (linear.high == 1) & (linear.unknown_points > 0)
    return found


def _only(bonus_of: Ints, first: Ints, second: Ints) -> int:
    """The bonus that all arcs of a tie bring, -1 where there is none."""
    if not len(first) or not len(second):
        return -1
    one = bonus_of[first[0]]
    return int(one) if (bonus_of[first] == one).all() and (bonus_of[second] == one).all() else -1


def _one_after_other(begins: Ints, first: Ints, second: Ints) -> bool:
    """Whether there are first arcs, which all begin at one tick, and second ones, which all begin at one later tick."""
    if not len(first) or not len(second):
        return False
    one, other = begins[first], begins[second]
    return bool((one == one[0]).all() and (other == other[0]).all() and one[0] < other[0])
