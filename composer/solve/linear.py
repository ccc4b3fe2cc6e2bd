"""One problem as whole-number arrays: arcs, rows, unknowns and points, read by every engine alike.

Conventions: arcs are columns by their id in the network; a missing side of a row is ``-OPEN`` or ``OPEN``; all
numbers are int64. A row belongs to the demand at ``owner`` (its index in ``demands``) or to nobody (-1), then it
always holds.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from composer.network.model import Network
from composer.rules.base import Demand, Row, Stated, Var

OPEN: Final = 1 << 60
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class Linear:
    """Columns are arcs (``tail``, ``head``, ``points``) and unknowns (``low``, ``high``, ``unknown_points``).

    ``on_arcs`` (rows x arcs) and ``on_unknowns`` (rows x unknowns) are scipy CSR matrices; ``usable`` marks the
    arcs that no demand forbids and that lie on a path from source to sink.
    """

    network: Network
    demands: tuple[Demand, ...]
    tail: Ints
    head: Ints
    points: Ints
    usable: Flags
    on_arcs: Any
    on_unknowns: Any
    least: Ints
    most: Ints
    owner: Ints
    names: tuple[str, ...]
    low: Ints
    high: Ints
    unknown_points: Ints

    @property
    def feasible_path(self) -> bool:
        """Whether any path from source to sink is left."""
        return bool(self.usable.any())

    def narrowed(self, keep: Flags) -> Linear:
        """The same with fewer usable arcs, dead ends cut off."""
        return replace(self, usable=on_paths(self.network, self.tail, self.head, self.usable & keep))

    def score_of(self, arcs: Collection[int], values: Mapping[str, int]) -> int:
        """Points of a path and values of the unknowns."""
        arc_points = int(self.points[np.fromiter(arcs, dtype=np.int64)].sum())
        return arc_points + sum(int(p) * values[n] for n, p in zip(self.names, self.unknown_points, strict=True))


def linear_from(network: Network, stated: Stated, standing: Collection[str] | None = None) -> Linear:
    """Arrays of everything stated.

    Parameters
    ----------
    standing : keys of the wishes that count; all when None. Laws always count.
    """
    counts = [d for d in stated.demands if d.law or standing is None or d.key in standing]
    size = len(network.arcs)
    tail = np.fromiter((a.tail for a in network.arcs), dtype=np.int64, count=size)
    head = np.fromiter((a.head for a in network.arcs), dtype=np.int64, count=size)
    usable = np.ones(size, dtype=np.bool_)
    rows: list[Row] = list(stated.unknown_rows)
    owner = [-1] * len(rows)
    for index, demand in enumerate(counts):
        if demand.forbids:
            usable[np.fromiter(demand.forbids, dtype=np.int64)] = False
        rows.extend(demand.rows)
        owner.extend([index] * len(demand.rows))
    names = tuple(u.name for u in stated.unknowns)
    points: dict[Var, int] = {}
    for term in stated.terms:
        for var, weight in term.weights.items():
            points[var] = points.get(var, 0) + weight
    arc_points = np.zeros(size, dtype=np.int64)
    for var, weight in points.items():
        if isinstance(var, int):
            arc_points[var] = weight
    on_arcs, on_unknowns = _matrices(rows, size, names)
    return Linear(
        network=network,
        demands=tuple(counts),
        tail=tail,
        head=head,
        points=arc_points,
        usable=on_paths(network, tail, head, usable),
        on_arcs=on_arcs,
        on_unknowns=on_unknowns,
        least=np.array([-OPEN if r.least is None else r.least for r in rows], dtype=np.int64),
        most=np.array([OPEN if r.most is None else r.most for r in rows], dtype=np.int64),
        owner=np.array(owner, dtype=np.int64),
        names=names,
        low=np.array([u.least for u in stated.unknowns], dtype=np.int64),
        high=np.array([u.most for u in stated.unknowns], dtype=np.int64),
        unknown_points=np.array([points.get(n, 0) for n in names], dtype=np.int64),
    )


def _matrices(rows: list[Row], arcs: int, names: tuple[str, ...]) -> tuple[Any, Any]:
    from scipy.sparse import csr_matrix

    place = {name: i for i, name in enumerate(names)}
    parts: tuple[tuple[list[int], list[int], list[int]], ...] = (([], [], []), ([], [], []))
    for number, row in enumerate(rows):
        for var, weight in row.weights.items():
            if weight:
                at, column, value = parts[0] if isinstance(var, int) else parts[1]
                at.append(number)
                column.append(var if isinstance(var, int) else place[var])
                value.append(weight)
    shapes = (len(rows), arcs), (len(rows), len(names))
    first, second = (
        csr_matrix((np.array(v, dtype=np.int64), (r, c)), shape=shape)
        for (r, c, v), shape in zip(parts, shapes, strict=True)
    )
    return first, second


def on_paths(network: Network, tail: Ints, head: Ints, usable: Flags) -> Flags:
    """The usable arcs that lie on some path from source to sink of usable arcs only."""
    size = len(network.nodes)
    ahead, behind = np.zeros(size, dtype=np.bool_), np.zeros(size, dtype=np.bool_)
    ahead[network.source] = behind[network.sink] = True
    chosen = np.flatnonzero(usable)  # ids go by tail, and tails by tick
    tails, heads = tail[chosen].tolist(), head[chosen].tolist()
    from_start, to_end = ahead.tolist(), behind.tolist()
    for t, h in zip(tails, heads, strict=True):
        if from_start[t]:
            from_start[h] = True
    for t, h in zip(reversed(tails), reversed(heads), strict=True):
        if to_end[h]:
            to_end[t] = True
    ahead, behind = np.array(from_start, dtype=np.bool_), np.array(to_end, dtype=np.bool_)
    kept: Flags = usable & ahead[tail] & behind[head]
    return kept
