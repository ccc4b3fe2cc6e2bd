"""What walks have used of every row, and what the multipliers promised them too much.

Rows that only limit arcs are kept exactly: "one of these" as a bit (its place is free again once no later arc asks),
"so much of these" as a sum (:mod:`composer.solve.packed`). Three kinds of promises are taken back as soon as they are
known to be empty: a bonus danced again (:mod:`composer.solve.lookahead` remembers the most important ones), the price
of a row that no later arc can fill any more, and a tie begun in vain (:mod:`composer.solve.ties`). This only ever
lowers what a walk is said to reach, and never below what it does reach.

All arrays are per arc (``ids`` of a search) or per walk; points are times SCALE.
"""

from __future__ import annotations

from dataclasses import dataclass
from heapq import heappop, heappush
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from composer.solve.columns import Columns
from composer.solve.linear import Flags, Ints, Linear
from composer.solve.longest import SCALE, Priced
from composer.solve.lookahead import Lookahead
from composer.solve.packed import Packed
from composer.solve.ties import Ties

BITS: Final = 62
MOST_PRICED: Final = 64
"""Rows whose price is followed, the dearest first."""
LARGE: Final = 30_000
"""Rows with larger numbers than this are left to CP-SAT; sums of walks are kept in 16 bits."""
Small = NDArray[np.int16]


@dataclass
class Used(Columns):
    """Per walk: bits of rows, sums of rows, bits of bonuses danced, sums of priced rows, ties begun and to be had."""

    bits: Ints
    sums: Ints
    danced: Ints
    tally: Small
    begun: Small
    had: Small


class Account:
    """Rows as walks over the arcs ``ids`` of a narrowed problem keep them."""

    def __init__(self, few: Linear, proofs: Priced, ids: Ints, ahead: Lookahead) -> None:
        self.begins, self.ends = few.tick[few.tail[ids]], few.tick[few.head[ids]]
        self._limits(few, ids)
        self._bonuses(len(ids), ahead)
        self._prices(few, proofs, ids, ahead)
        self.ties = Ties(few, proofs, ids, self.begins, self.ends)

    def nothing(self) -> Used:
        """A walk that has not begun."""
        bits = np.zeros((1, self.bit.shape[1]), dtype=np.int64), np.zeros((1, self.bonus.shape[1]), dtype=np.int64)
        tally = np.zeros((1, len(self.price)), dtype=np.int16)
        return Used(bits[0], self.sums.nothing(), bits[1], tally, *self.ties.nothing())

    def fits(self, used: Used, walk: Ints, arc: Ints) -> Flags:
        """Whether each walk may go on with its arc."""
        taken = np.any(used.bits[walk] & self.bit[arc], axis=1)
        ok: Flags = np.logical_not(taken) & self.sums.fits(used.sums, walk, arc)
        return ok

    def again(self, used: Used, walk: Ints, arc: Ints) -> Ints:
        """What the multipliers give too much for the bonus of each arc."""
        before = (used.danced[walk] & self.bonus[arc]).any(axis=1)
        given: Ints = self.extra[arc, before.astype(np.int64)]
        return given

    def given_back(self, used: Used, walk: Ints, arc: Ints) -> Ints:
        """Prices of the rows that are closed when each arc ends, as far as the walk leaves room, and lost ties."""
        lost = self.ties.lost(used.begun[walk], used.had[walk], arc)
        if not len(self.price):
            return lost
        tally = used.tally[walk] + self.share[arc]
        due = (self.last >= self.begins[arc, None]) & (self.last < self.ends[arc, None])
        room = np.maximum(np.where(self.price > 0, self.side - tally, tally - self.side), 0)
        back: Ints = np.where(due, room * np.abs(self.price), 0).sum(axis=1)
        return back + lost

    def after(self, used: Used, walk: Ints, arc: Ints) -> Used:
        """Each walk gone on with its arc."""
        bits = used.bits[walk] | self.bit[arc]
        bits &= self.open[self.span[arc]]
        sums = self.sums.after(used.sums, walk, arc)
        ties = self.ties.onward(used.begun[walk], used.had[walk], arc)
        return Used(bits, sums, used.danced[walk] | self.bonus[arc], used.tally[walk] + self.share[arc], *ties)

    def missed(self, used: Used) -> Ints:
        """What finished walks were promised for bonuses they never danced."""
        lost = np.zeros(len(used.danced), dtype=np.int64)
        for index in np.flatnonzero(self.unused).tolist():
            never = (used.danced[:, index // BITS] >> (index % BITS)) & 1 == 0
            lost += np.where(never, self.unused[index], 0)
        return lost

    def _limits(self, few: Linear, ids: Ints) -> None:
        """Rows that only limit arcs, as far as these arcs could break them."""
        rows: Any = few.on_arcs[:, ids]
        alone = np.diff(few.on_unknowns.indptr) == 0
        low = np.asarray(rows.minimum(0).sum(axis=1)).ravel()
        high = np.asarray(rows.maximum(0).sum(axis=1)).ravel()
        limit = (
            alone
            & (low >= 0)
            & (few.most >= 0)
            & (few.most < LARGE)
            & (high > few.most)
            & (_largest(rows) < LARGE // 2)
        )
        once = limit & (few.most == 1)
        some = np.flatnonzero(limit & ~once)
        self.sums = Packed(rows[some], few.most[some])
        self._slots(rows[np.flatnonzero(once)].tocsr())

    def _slots(self, rows: Any) -> None:
        """A bit for every row; rows never open at the same time may share one. ``open`` are those that stay open."""
        starts = rows.indptr[:-1]
        begins = self.begins[rows.indices]
        earliest, latest = np.zeros((2, 0), dtype=np.int64)
        if rows.nnz:
            earliest, latest = np.minimum.reduceat(begins, starts), np.maximum.reduceat(begins, starts)
        busy: list[tuple[int, int]] = []
        free: list[int] = []
        slot_of: list[tuple[int, int, int, Ints]] = []
        for row in np.lexsort((latest, earliest)).tolist():
            begin, end = int(earliest[row]), int(latest[row])
            while busy and busy[0][0] < begin:
                heappush(free, heappop(busy)[1])
            slot = heappop(free) if free else len(busy)
            heappush(busy, (end, slot))
            slot_of.append((slot, begin, end, rows.indices[rows.indptr[row] : rows.indptr[row + 1]]))
        words = max(1, -(-(len(busy) + len(free)) // BITS))
        self.bit = np.zeros((len(self.begins), words), dtype=np.int64)
        spans_of_arcs, self.span = np.unique(np.stack([self.begins, self.ends]), axis=1, return_inverse=True)
        self.open = np.zeros((spans_of_arcs.shape[1], words), dtype=np.int64)
        for slot, first, last, arcs in slot_of:
            word, value = slot // BITS, np.int64(1) << (slot % BITS)
            self.bit[arcs, word] |= value
            self.open[(spans_of_arcs[0] >= first) & (spans_of_arcs[1] <= last), word] |= value

    def _bonuses(self, size: int, ahead: Lookahead) -> None:
        bonuses = ahead.bonuses
        self.bonus = np.zeros((size, max(1, -(-len(bonuses) // BITS))), dtype=np.int64)
        self.extra = np.zeros((size, 2), dtype=np.int64)
        self.unused = np.zeros(len(bonuses), dtype=np.int64)
        for index, bonus in enumerate(bonuses):
            self.bonus[bonus.arcs, index // BITS] = np.int64(1) << (index % BITS)
            if index not in ahead.kept:
                self.extra[bonus.arcs, 0], self.extra[bonus.arcs, 1] = bonus.first, bonus.again
                self.unused[index] = bonus.unused

    def _prices(self, few: Linear, proofs: Priced, ids: Ints, ahead: Lookahead) -> None:
        """The dearest priced rows of arcs alone; ``last`` is when their last arc begins."""
        price = proofs.multipliers.copy()
        price[[need.row for need in ahead.kept_needs]] = 0
        price[np.diff(few.on_unknowns.indptr) != 0] = 0
        side = np.where(price > 0, few.most, few.least)
        largest = _largest(few.on_arcs)
        price[(np.abs(side) > LARGE) | (largest > LARGE // 64)] = 0
        rows = np.argsort(-np.abs(price), kind="stable")[:MOST_PRICED]
        rows = rows[np.abs(price[rows]) >= SCALE // 16]
        self.price, self.side = price[rows], side[rows]
        self.share = np.asarray(few.on_arcs[rows][:, ids].todense(), dtype=np.int16).T.copy()
        self.last = np.where(self.share != 0, self.begins[:, None], -2).max(axis=0, initial=-2)


def _largest(rows: Any) -> Ints:
    """The largest size of a weight in every row."""
    sizes = abs(rows).tocsr()
    if not sizes.nnz:
        return np.zeros(rows.shape[0], dtype=np.int64)
    largest: Ints = sizes.max(axis=1).toarray().ravel()
    return largest
