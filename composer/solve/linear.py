"""One problem as whole-number arrays: arcs, rows, unknowns and points, read by every engine alike.

Conventions: arcs are columns by their id in the network; a missing side of a row is ``-OPEN`` or ``OPEN``; all
numbers are int64 but the weights of arcs, which are int32 where none is larger. A row belongs to the demand at
``owner`` (its index in ``demands``) or to nobody (-1), then it always holds.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from composer.collecting import uncollected
from composer.network.model import Network
from composer.network.table import slices
from composer.rules.base import Demand, Row, Stated
from composer.rules.weights import parted

OPEN: Final = 1 << 60
MOST_SMALL: Final = 1 << 30
"""Weights below are kept in 32 bits."""
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class Linear:
    """Columns are arcs (``tail``, ``head``, ``points``) and unknowns (``low``, ``high``, ``unknown_points``).

    ``demands`` are in words only: their rows stand below, each with its owner among them, -1 for those of the unknowns.
    ``on_arcs`` (rows x arcs) and ``on_unknowns`` (rows x unknowns) are scipy CSR matrices; ``usable`` marks the
    arcs that no demand forbids and that lie on a path from source to sink. ``tick`` is per node, in rising order,
    the source's below and the sink's above all others; the source is node 0, the sink the last; arcs go by tail.
    """

    tick: Ints
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
    def sink(self) -> int:
        """Node id of the sink."""
        return len(self.tick) - 1

    @property
    def feasible_path(self) -> bool:
        """Whether any path from source to sink is left."""
        return bool(self.usable.any())

    def narrowed(self, keep: Flags) -> Linear:
        """The same with fewer usable arcs, dead ends cut off."""
        return replace(self, usable=on_paths(self.tick, self.tail, self.head, self.usable & keep))

    def with_rows(self, keep: Ints) -> Linear:
        """The same with some of the rows only."""
        return replace(
            self,
            on_arcs=self.on_arcs[keep],
            on_unknowns=self.on_unknowns[keep],
            least=self.least[keep],
            most=self.most[keep],
            owner=self.owner[keep],
        )

    def priced_by(self, multipliers: Ints) -> Ints:
        """Per arc, all rows' weights times their multipliers; rows whose multiplier is zero are not looked at."""
        rows = np.flatnonzero(multipliers)
        found: Ints = self.on_arcs[rows].T @ multipliers[rows]
        return found

    def score_of(self, arcs: Collection[int], values: Mapping[str, int]) -> int:
        """Points of a path and values of the unknowns."""
        arc_points = int(self.points[np.fromiter(arcs, dtype=np.int64)].sum())
        return arc_points + sum(int(p) * values[n] for n, p in zip(self.names, self.unknown_points, strict=True))


@uncollected()
def linear_from(network: Network, stated: Stated, standing: Collection[str] | None = None) -> Linear:
    """Arrays of everything stated.

    Parameters
    ----------
    standing : keys of the wishes that count; all when None. Laws always count.
    """
    counts = [d for d in stated.demands if d.law or standing is None or d.key in standing]
    table, size = network.table, len(network.arcs)
    tail, head = table.tail.astype(np.int64), table.head.astype(np.int64)
    usable = np.ones(size, dtype=np.bool_)
    rows: list[Row] = list(stated.unknown_rows)
    owner = [-1] * len(rows)
    for index, demand in enumerate(counts):
        if demand.forbids:
            usable[np.fromiter(demand.forbids, dtype=np.int64, count=len(demand.forbids))] = False
        rows.extend(demand.rows)
        owner.extend([index] * len(demand.rows))
    names = tuple(u.name for u in stated.unknowns)
    arc_points, unknown_points = np.zeros(size, dtype=np.int64), dict.fromkeys(names, 0)
    for term in stated.terms:
        arcs, values, named = parted(term.weights)
        arc_points[arcs] += values
        for name, value in named.items():
            unknown_points[name] = unknown_points.get(name, 0) + value
    on_arcs, on_unknowns = matrices(rows, size, names)
    least = np.array([-OPEN if r.least is None else r.least for r in rows], dtype=np.int64)
    most = np.array([OPEN if r.most is None else r.most for r in rows], dtype=np.int64)
    least, most = _in_small_numbers(on_arcs, on_unknowns, least, most)
    tick = node_ticks(network)
    return Linear(
        tick=tick,
        demands=tuple(demand.words for demand in counts),
        tail=tail,
        head=head,
        points=arc_points,
        usable=on_paths(tick, tail, head, usable),
        on_arcs=on_arcs,
        on_unknowns=on_unknowns,
        least=least,
        most=most,
        owner=np.array(owner, dtype=np.int64),
        names=names,
        low=np.array([u.least for u in stated.unknowns], dtype=np.int64),
        high=np.array([u.most for u in stated.unknowns], dtype=np.int64),
        unknown_points=np.array([unknown_points[n] for n in names], dtype=np.int64),
    )


def node_ticks(network: Network) -> Ints:
    """Ticks of all nodes, the source just before and the sink just after everything."""
    tick = np.fromiter((n.tick for n in network.nodes), dtype=np.int64, count=len(network.nodes))
    tick[network.source], tick[network.sink] = -1, network.length_ticks + 1
    return tick


def matrices(rows: Sequence[Row], arcs: int, names: Sequence[str]) -> tuple[Any, Any]:
    """Weights of rows over arcs and over unknowns as CSR matrices without zeros; over arcs in int32 where that holds
    them, half of the memory of large networks.
    """
    from composer.solve.sparse import csr_matrix

    place = {name: i for i, name in enumerate(names)}
    parts = [parted(row.weights) for row in rows]
    own_starts = np.cumsum([0, *(len(named) for _, _, named in parts)])
    own_column = np.array([place[name] for _, _, named in parts for name in named], dtype=np.int64)
    own_value = np.array([value for _, _, named in parts for value in named.values()], dtype=np.int64)
    starts = np.cumsum([0, *(len(column) for column, _, _ in parts)])
    wide = [values for _, values, _ in parts if values.dtype.itemsize > 4]
    small = max((int(np.abs(values).max(initial=0)) for values in wide), default=0) < MOST_SMALL
    columns = np.empty(starts[-1], dtype=np.int32)
    data = np.empty(starts[-1], dtype=np.int32 if small else np.int64)
    if parts:
        np.concatenate([column for column, _, _ in parts], out=columns, casting="same_kind")
        np.concatenate([values for _, values, _ in parts], out=data, casting="same_kind")
    if small and len(data) and max(int(data.max()), -int(data.min())) >= MOST_SMALL:
        data = data.astype(np.int64)
    first = csr_matrix((data, columns, starts), shape=(len(rows), arcs))
    second = csr_matrix((own_value, own_column, own_starts), shape=(len(rows), len(names)))
    for matrix in (first, second):
        matrix.eliminate_zeros()
    return first, second


def _in_small_numbers(on_arcs: Any, on_unknowns: Any, least: Ints, most: Ints) -> tuple[Ints, Ints]:
    """Every row divided by what all its weights have in common, sides rounded inwards; same whole solutions.

    Multipliers are rounded to ``1 / SCALE``, and a weight of 20,000 would turn that into a third of a point.
    """
    common = np.gcd(_common(on_arcs), _common(on_unknowns))
    common[common == 0] = 1
    for row in np.flatnonzero(common > 1).tolist():
        for matrix in (on_arcs, on_unknowns):
            matrix.data[matrix.indptr[row] : matrix.indptr[row + 1]] //= common[row]
    least = np.where(least == -OPEN, -OPEN, -(-least // common))
    return least, np.where(most == OPEN, OPEN, most // common)


def _common(matrix: Any) -> Ints:
    """The greatest common divisor of every row's weights, 0 of an empty row."""
    found = np.zeros(matrix.shape[0], dtype=np.int64)
    some = np.flatnonzero(np.diff(matrix.indptr))
    if len(some):
        found[some] = np.gcd.reduceat(matrix.data, matrix.indptr[some])
    return found


def on_paths(tick: Ints, tail: Ints, head: Ints, usable: Flags) -> Flags:
    """The usable arcs that lie on some path from the first node to the last of usable arcs only.

    ``tick`` is by node; arcs go by tail, and tails by tick.
    """
    chosen = np.flatnonzero(usable)
    tails, heads = tail[chosen], head[chosen]
    cuts = np.flatnonzero(np.diff(tick[tails])) + 1
    levels = list(zip(slices(tails, cuts), slices(heads, cuts), strict=True))
    from_start, to_end = np.zeros((2, len(tick)), dtype=np.bool_)
    from_start[0] = to_end[-1] = True
    for tails_there, heads_there in levels:
        from_start[heads_there[from_start[tails_there]]] = True
    for tails_there, heads_there in reversed(levels):
        to_end[tails_there[to_end[heads_there]]] = True
    kept = np.zeros(len(usable), dtype=np.bool_)
    kept[chosen[from_start[tails] & to_end[heads]]] = True
    return kept
