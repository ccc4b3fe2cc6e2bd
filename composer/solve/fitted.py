"""Bounds fitted to few figures and to points to beat: what cannot be is promised nothing any more.

With fewer arcs some unknowns can only be 0, and ties (:mod:`composer.solve.ties`) that no path of the points asked for
can have are given up. Their multipliers become zero, which lowers what all other paths are said to reach; so more arcs
and ties fall, and so on. Nothing is lost that could become a routine of those points.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from composer.solve.compact import compact, without
from composer.solve.linear import Flags, Ints, Linear
from composer.solve.longest import FAR, SCALE, Levels, Priced, priced
from composer.solve.ties import Tied, tied

ROUNDS: Final = 4
MOST_CELLS: Final = 20_000_000
"""Arcs times places where a tie may begin that are worth their time."""


def fitted(linear: Linear, proofs: Priced, keep: Flags, least: int | None = None) -> tuple[Linear, Priced]:
    """The problem over some arcs, and its bounds; only routines of ``least`` points need be kept, all when None.

    What comes back has the same arcs, fewer of them in use, and only the rows and unknowns that still say something.
    """
    few, fit = linear.narrowed(keep), proofs
    for _ in range(ROUNDS):
        if not few.feasible_path:
            break
        less = compact(few)
        again = priced(less.linear, Levels(less.linear), less.multipliers(fit.multipliers))
        if again is None:
            break
        few = less.linear
        fit = replace(again, overpaid=proofs.overpaid)
        if least is None:
            break
        hopeless = _hopeless(few, fit, least)
        left = few.narrowed(fit.can_reach(least))
        same = not hopeless.any() and (left.usable == few.usable).all()
        few = without(left, hopeless)
        if same:
            break
    return few, fit


def _hopeless(linear: Linear, proofs: Priced, least: int) -> Flags:
    """Unknowns of ties whose two figures no path of ``least`` points dances."""
    ids = np.flatnonzero(linear.usable)
    ties = tied(linear, proofs, ids)
    found = np.zeros(len(linear.names), dtype=np.bool_)
    heads = np.unique(np.concatenate([np.zeros(0, dtype=np.int64), *(linear.head[ids[tie.first]] for tie in ties)]))
    if not ties or len(ids) * len(heads) > MOST_CELLS:
        return found
    between = _between(linear, proofs, heads)
    fixed = proofs.bound_scaled - int(proofs.ahead[linear.sink])
    for tie in ties:
        if _reach(linear, proofs, between, heads, ids, tie) + fixed < least * SCALE:
            found[list(tie.columns)] = True
    return found


def _between(linear: Linear, proofs: Priced, heads: Ints) -> Ints:
    """Longest paths from each of some nodes (columns) to every node (rows)."""
    longest = np.full((len(linear.tick), len(heads)), FAR // 4, dtype=np.int64)
    longest[heads, np.arange(len(heads))] = 0
    for arcs, starts, nodes, other, _ in Levels(linear).into:
        onward = np.maximum.reduceat(longest[other] + proofs.weights[arcs][:, None], starts, axis=0)
        longest[nodes] = np.maximum(longest[nodes], onward)
    return longest


def _reach(linear: Linear, proofs: Priced, between: Ints, heads: Ints, ids: Ints, tie: Tied) -> int:
    """What a path with a first and a second arc of a tie has at most, fixed part left out."""
    one, other = ids[tie.first], ids[tie.second]
    before = proofs.ahead[linear.tail[one]] + proofs.weights[one]
    behind = proofs.weights[other] + proofs.behind[linear.head[other]]
    way = between[linear.tail[other]][:, np.searchsorted(heads, linear.head[one])]
    return int((before[None, :] + way + behind[:, None]).max()) - tie.both
