"""A smaller problem whose best is at least as good: facings and sides of the room forgotten.

Arcs that dance the same figure at the same time are merged (in a travelling room: in the same alignment, so that
alignments still bind). A merged arc is usable where one of its members is and has the most points of any. A row is
kept where it weighs all members alike; other rows, such as those of the walls, are left out, and with them the
unknowns nobody else asks about. Every routine of the full problem is therefore one of the small problem with no
fewer points: bounds and "impossible" carry over, solutions need not.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from composer.network.model import Network
from composer.solve.linear import Flags, Ints, Linear, on_paths

BLOCK: Final = 2_000_000
"""About so many weights of rows are looked at at a time."""


@dataclass(frozen=True)
class Collapsed:
    """The small problem, the small arc of every arc, and where its rows come from."""

    small: Linear
    arc_of: Ints
    rows: Ints

    def multipliers(self, full: Linear, small: Ints) -> Ints:
        """Multipliers of the small problem's rows as multipliers of the full problem's."""
        wide = np.zeros(len(full.least), dtype=np.int64)
        wide[self.rows] = small
        return wide

    def members(self, arcs: tuple[int, ...]) -> Flags:
        """Full arcs that dance what these small arcs dance."""
        chosen = np.zeros(len(self.small.points), dtype=np.bool_)
        chosen[list(arcs)] = True
        found: Flags = chosen[self.arc_of]
        return found


def collapse(network: Network, linear: Linear) -> Collapsed | None:
    """The small problem; None where merging would not make it much smaller."""
    table = network.table
    travels = bool(table.corners.any())
    node_of, tick = _nodes(network, travels)
    tail, head = node_of[table.tail], node_of[table.head]
    code = (table.figure * np.int64(len(tick)) + tail) * len(tick) + head
    if travels:
        code = 8 * code + (table.faces + 2 * table.corners) % 8
    _, first, group = np.unique(code, return_index=True, return_inverse=True)
    if not len(first) or 2 * len(first) > len(table):
        return None
    order = np.lexsort((first, tail[first]))  # arcs go by tail; of one tail as in the network
    place = np.empty(len(order), dtype=np.int64)
    place[order] = np.arange(len(order))
    return _merged(linear, place[group], tick, tail[first[order]], head[first[order]])


def _nodes(network: Network, travels: bool) -> tuple[Ints, Ints]:
    """Small node of every node, and the small nodes' ticks; order by tick is kept."""
    keys: dict[tuple[Any, ...], int] = {}
    node_of: list[int] = []
    tick: list[int] = []
    for node in network.nodes:
        stand = node.stand
        if stand is None:
            key: tuple[Any, ...] = (node.id,)
        else:
            alignment = (stand.faces + 2 * node.corners) % 8 if travels else 0
            key = (node.tick, stand.hold, stand.leader_free, stand.follower_free, alignment, node.swapped)
        node_of.append(keys.setdefault(key, len(keys)))
        if len(keys) > len(tick):
            tick.append(node.tick)
    ticks = np.array(tick, dtype=np.int64)
    ticks[0], ticks[-1] = -1, network.length_ticks + 1
    return np.array(node_of, dtype=np.int64), ticks


def _merged(linear: Linear, group: Ints, tick: Ints, tail: Ints, head: Ints) -> Collapsed:
    size = len(tail)
    usable = np.zeros(size, dtype=np.bool_)
    usable[group[linear.usable]] = True
    points = np.full(size, np.iinfo(np.int64).min, dtype=np.int64)
    np.maximum.at(points, group[linear.usable], linear.points[linear.usable])
    points[~usable] = 0
    members = np.bincount(group[linear.usable], minlength=size)
    rows, matrix = _even_rows(linear, group, members)
    on_unknowns = linear.on_unknowns[rows]
    asked = np.diff(on_unknowns.tocsc().indptr) > 0
    wanted = np.flatnonzero(asked | (linear.unknown_points != 0))
    small = Linear(
        tick=tick,
        demands=linear.demands,
        tail=tail,
        head=head,
        points=points,
        usable=on_paths(tick, tail, head, usable),
        on_arcs=matrix,
        on_unknowns=on_unknowns[:, wanted],
        least=linear.least[rows],
        most=linear.most[rows],
        owner=linear.owner[rows],
        names=tuple(linear.names[i] for i in wanted),
        low=linear.low[wanted],
        high=linear.high[wanted],
        unknown_points=linear.unknown_points[wanted],
    )
    return Collapsed(small, group, rows)


def _even_rows(linear: Linear, group: Ints, members: Ints) -> tuple[Ints, Any]:
    """Rows that weigh all usable members of every merged arc alike, and their weights on merged arcs."""
    from composer.solve.sparse import csr_matrix, vstack

    used = np.flatnonzero(linear.usable)
    joins = csr_matrix(
        (np.ones(len(used), dtype=np.int32), (used, group[used])), shape=(len(linear.usable), len(members))
    )
    blocks = [_even_block(linear.on_arcs[first:last], joins, members) for first, last in _blocks(linear.on_arcs.indptr)]
    first = np.cumsum([0, *(len(even) for even, _ in blocks)])
    kept = [begin + np.flatnonzero(even) for begin, (even, _) in zip(first.tolist(), blocks, strict=False)]
    if not kept:
        return np.zeros(0, dtype=np.int64), csr_matrix((0, len(members)), dtype=np.int64)
    return np.concatenate(kept), vstack([weights for _, weights in blocks]).tocsr()


def _blocks(starts: Ints) -> Iterator[tuple[int, int]]:
    """(first, last) of blocks of rows with about BLOCK weights each."""
    row, rows = 0, len(starts) - 1
    while row < rows:
        last = max(row + 1, int(np.searchsorted(starts, starts[row] + BLOCK, side="right")) - 1)
        yield row, last
        row = last


def _even_block(rows: Any, joins: Any, members: Ints) -> tuple[Flags, Any]:
    """Which rows of a block are even, and their weights."""
    from composer.solve.sparse import csr_matrix

    number, total = _like(rows, np.ones_like(rows.data)) @ joins, _like(rows, rows.data.astype(np.int64)) @ joins
    squares = _like(rows, rows.data.astype(np.int64) ** 2) @ joins
    if not number.nnz:
        return np.ones(number.shape[0], dtype=np.bool_), csr_matrix(number.shape, dtype=np.int64)
    for matrix in (number, total, squares):
        matrix.sort_indices()
    owner = np.repeat(np.arange(number.shape[0]), np.diff(number.indptr))
    sums, square = _at(total, number), _at(squares, number)
    # as many as the members, and of as much as their squares allow: all weigh the same
    even = (number.data == members[number.indices]) & (square * number.data == sums**2)
    ok = np.ones(number.shape[0], dtype=np.bool_)
    ok[owner[~even]] = False
    weights = csr_matrix((sums // number.data, number.indices, number.indptr), shape=number.shape)
    return ok, weights[np.flatnonzero(ok)]


def _at(matrix: Any, where: Any) -> Ints:
    """Values of a matrix where another one with sorted indices has any."""
    owner = np.repeat(np.arange(where.shape[0]), np.diff(where.indptr))
    found: Ints = np.asarray(matrix[owner, where.indices]).ravel()
    return found


def _like(rows: Any, data: Ints) -> Any:
    from composer.solve.sparse import csr_matrix

    return csr_matrix((data, rows.indices, rows.indptr), shape=rows.shape)
