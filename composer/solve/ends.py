"""How a routine may end after it began in some way, read back from rows such as those of a closed lap.

A row over arcs alone that lets figures of the beginning be danced only with some arcs into the end
(:mod:`composer.rules.loop`) is a matter of how a walk began. Beginnings that allow the same ends are of one *kind*, a
small number; per node a bit says whether an end that fits a kind can still be reached.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np

from composer.network.table import slices
from composer.solve.linear import Flags, Ints, Linear

MOST_KINDS: Final = 62


class Ends:
    """Kinds of beginnings over the arcs ``ids`` of a problem (they must all lie on paths)."""

    def __init__(self, few: Linear, ids: Ints) -> None:
        tail, head = few.tail[ids], few.head[ids]
        first, last = np.flatnonzero(tail == 0), np.flatnonzero(head == few.sink)
        allowed = np.ones((len(first), len(last)), dtype=np.bool_)
        for starts, ends in _pairs(few, ids, tail, head):
            allowed[np.ix_(np.isin(first, starts), ~np.isin(last, ends))] = False
        kinds, kind = np.unique(allowed, axis=0, return_inverse=True)
        self.any = len(kinds) > 1 or not kinds.all()
        self.kind = np.zeros(len(ids), dtype=np.int8)
        self.open = np.full(len(ids), -1, dtype=np.int64)
        """Bits of the kinds with which each arc can still come to an end that fits."""
        if len(kinds) > MOST_KINDS:
            self.any = False
        if not self.any:
            return
        self.kind[first] = kind.ravel()
        at = np.zeros(len(few.tick), dtype=np.int64)
        bits = (kinds * (np.int64(1) << np.arange(len(kinds)))[:, None]).sum(axis=0)
        self.open[last] = bits
        cuts = np.flatnonzero(np.diff(few.tick[tail])) + 1
        for part in slices(np.arange(len(ids)), cuts)[::-1]:
            inner = part[head[part] != few.sink]
            self.open[inner] = at[head[inner]]
            np.bitwise_or.at(at, tail[part], self.open[part])

    def begun(self, kind: Ints, arc: Ints) -> Ints:
        """The kinds of walks that go on with their arcs; a walk at the source has none yet."""
        return np.maximum(kind, self.kind[arc])

    def fits(self, kind: Ints, arc: Ints) -> Flags:
        """Whether walks of these kinds may go on with their arcs."""
        ok: Flags = (self.open[arc] >> kind) & 1 == 1
        return ok


def _pairs(few: Linear, ids: Ints, tail: Ints, head: Ints) -> list[tuple[Ints, Ints]]:
    """(arcs of the beginning, ends without which none of them may be danced) of every such row."""
    rows: Any = few.on_arcs[:, ids].tocsr()
    alone = (np.diff(few.on_unknowns.indptr) == 0) & (few.most == 0)
    found = []
    for row in np.flatnonzero(alone & (np.diff(rows.indptr) > 0)).tolist():
        part = slice(rows.indptr[row], rows.indptr[row + 1])
        arcs, weights = rows.indices[part].astype(np.int64), rows.data[part]
        starts, ends = arcs[weights > 0], arcs[weights < 0]
        even = (weights[weights > 0] <= -weights[weights < 0].max(initial=-1)).all()
        if len(starts) and even and (tail[starts] == 0).all() and (head[ends] == few.sink).all():
            found.append((starts, ends))
    return found
