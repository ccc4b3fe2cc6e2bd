"""Longest paths through the network and the bounds they prove, in whole numbers throughout.

For any multipliers ``y`` of the rows (zero where the row's side is open) and any routine that keeps the rows,

    points  <=  longest path with arc weights ``points - y.rows``
                + best choice of every unknown on its own with ``unknown_points - y.rows``
                + sum of y * (the side of the row that y pushes against).

Multipliers are whole multiples of ``1 / SCALE``, so nothing is rounded on the way; the same sum with the longest
path *through one arc* bounds every routine that uses this arc.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Protocol

import numpy as np
from numpy.typing import NDArray

from composer.network.table import slices
from composer.solve.linear import OPEN, Flags, Ints, Linear

SCALE: Final = 1 << 16
FAR: Final = -(1 << 61)
LARGEST: Final = 1 << 58
"""Largest size of any sum that is allowed, so that int64 never overflows."""


@dataclass(frozen=True)
class Priced:
    """What multipliers prove.

    ``bound`` holds for every routine, ``through[a]`` for every routine that uses arc ``a`` (below any real score
    where no path uses it), ``spare[u]`` is how far (points times SCALE) unknown u's best end is above its other end.
    ``path`` is the longest path. ``slope`` is, per row, row value at the maximum minus the side pushed against.
    """

    multipliers: Ints
    bound_scaled: int
    through_scaled: Ints
    path: tuple[int, ...]
    chosen: Ints
    ahead: Ints
    behind: Ints
    weights: Ints
    overpaid: tuple[str, ...] = ()

    @property
    def bound(self) -> int:
        """Whole points no routine can exceed."""
        return self.bound_scaled // SCALE

    def can_reach(self, score: int) -> Flags:
        """Arcs that a routine with at least ``score`` points might use."""
        kept: Flags = self.through_scaled >= score * SCALE
        return kept


class Shape(Protocol):
    """Nodes by tick and arcs by tail, as in :class:`composer.solve.linear.Linear`."""

    @property
    def tick(self) -> Ints: ...
    @property
    def tail(self) -> Ints: ...
    @property
    def head(self) -> Ints: ...
    @property
    def usable(self) -> Flags: ...
    @property
    def sink(self) -> int: ...


class Levels:
    """The usable arcs of a network in the order longest paths need; built once, used for many weights."""

    def __init__(self, linear: Shape) -> None:
        self.linear = linear
        self.size = len(linear.tick)
        self.ids = np.flatnonzero(linear.usable)
        tail, head = linear.tail[self.ids], linear.head[self.ids]
        tick = linear.tick
        self.out = self._grouped(tick[tail], tail, backward=True)
        self.into = self._grouped(tick[head], head, backward=False)

    def _grouped(self, tick: Ints, node: Ints, *, backward: bool) -> list[tuple[Ints, Ints, Ints, Ints, Ints]]:
        """Per tick: arcs sorted by node, where each node's run begins, and the nodes."""
        order = np.lexsort((self.ids, node, tick))
        groups = []
        edges = np.flatnonzero(np.diff(tick[order])) + 1
        for part in slices(order, edges):
            if len(part):
                nodes, starts = np.unique(node[part], return_index=True)
                arcs = self.ids[part]
                other = (self.linear.head if backward else self.linear.tail)[arcs]
                groups.append((arcs, starts.astype(np.int64), nodes, other, part))
        return groups[::-1] if backward else groups

    def longest(self, weights: Ints) -> tuple[Ints, Ints]:
        """(longest path from the source, longest path to the sink) per node; FAR where there is none."""
        ahead = np.full(self.size, FAR, dtype=np.int64)
        behind = np.full(self.size, FAR, dtype=np.int64)
        ahead[0] = behind[self.linear.sink] = 0
        for arcs, starts, nodes, other, _ in self.into:
            ahead[nodes] = np.maximum.reduceat(ahead[other] + weights[arcs], starts)
        for arcs, starts, nodes, other, _ in self.out:
            behind[nodes] = np.maximum.reduceat(behind[other] + weights[arcs], starts)
        return ahead, behind

    def path(self, weights: Ints, ahead: Ints) -> tuple[int, ...]:
        """One longest path; of equal ones the arc with the least id, from the end backwards."""
        linear = self.linear
        into: list[int] = []
        node = linear.sink
        by_head = self._by_head()
        while node != 0:
            arcs = by_head[node]
            best = int(arcs[np.argmax(ahead[linear.tail[arcs]] + weights[arcs])])
            into.append(best)
            node = int(linear.tail[best])
        return tuple(reversed(into))

    def _by_head(self) -> dict[int, Ints]:
        if not hasattr(self, "_heads"):
            self._heads: dict[int, Ints] = {}
            for arcs, starts, nodes, _, _ in self.into:
                for node, part in zip(nodes.tolist(), slices(arcs, starts[1:]), strict=True):
                    self._heads[node] = np.sort(part)
        return self._heads


def whole_multipliers(linear: Linear, multipliers: NDArray[np.float64]) -> Ints:
    """Floats as multiples of 1/SCALE, zero where the row has no such side or the value is no number."""
    tame = np.nan_to_num(np.clip(multipliers, -1e9, 1e9), nan=0.0, posinf=0.0, neginf=0.0)
    whole = np.rint(tame * SCALE).astype(np.int64)
    whole[(whole > 0) & (linear.most == OPEN)] = 0
    whole[(whole < 0) & (linear.least == -OPEN)] = 0
    return whole


def priced(linear: Linear, levels: Levels, multipliers: Ints) -> Priced | None:
    """The bounds these multipliers prove; None when no path is left or numbers would grow too large."""
    if not linear.feasible_path:
        return None
    reduced = SCALE * linear.points - linear.priced_by(multipliers)
    free = SCALE * linear.unknown_points - linear.on_unknowns.T @ multipliers
    side = np.where(multipliers > 0, linear.most, np.where(multipliers < 0, linear.least, 0))
    if not _tame(linear, reduced, free, side, multipliers):
        return None
    chosen = np.where(free > 0, linear.high, linear.low)
    fixed = int(free @ chosen) + int(multipliers @ side)
    ahead, behind = levels.longest(reduced)
    through = np.full(len(reduced), FAR, dtype=np.int64)
    through[levels.ids] = (ahead[linear.tail] + reduced + behind[linear.head])[levels.ids] + fixed
    bound = int(ahead[linear.sink]) + fixed
    path = levels.path(reduced, ahead)
    return Priced(multipliers, bound, through, path, chosen, ahead, behind, reduced)


def _tame(linear: Linear, reduced: Ints, free: Ints, side: Ints, multipliers: Ints) -> bool:
    """Whether every product and sum stays far below the int64 limit (checked in floats, with room to spare)."""
    beats = len(linear.tick)
    rows = float(np.abs(multipliers.astype(float)) @ np.abs(side.astype(float)))
    unknowns = float(np.abs(free.astype(float)) @ np.maximum(abs(linear.low.astype(float)), abs(linear.high)))
    arcs = float(np.abs(reduced.astype(float)).max(initial=0.0)) * min(beats, len(reduced))
    weights = linear.on_arcs.data
    coefficient = max(-float(weights.min(initial=0)), float(weights.max(initial=0)))
    inner = coefficient * float(np.abs(multipliers.astype(float)).sum())
    return max(rows, unknowns, arcs, inner) < LARGEST
