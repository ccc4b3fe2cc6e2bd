"""Stretches of a routine tied by yes-no unknowns ("danced as before"), followed by walks.

A *tie* is an unknown that can be 1 only where one of its first arcs and, later, one of its second arcs is danced. The
multipliers give both a part of what it is worth; a walk that dances one without the other was promised too much. The
first arc is remembered until the walk has come past the tick at which the second would begin; then what was promised
for nothing is taken back. *Asked* rows want so much of ties: a walk that can no longer have it is dropped.

Ties of the same two ticks share a *slot*: a walk begins at most one figure at a tick. Points are times SCALE.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from composer.network.table import slices
from composer.solve.linear import OPEN, Ints, Linear
from composer.solve.longest import SCALE, Priced

LARGE: Final = 30_000
"""More than this is not kept in the 16 bits a walk has for every sum."""
ALL: Final = 1 << 60
"""Taken back from a walk that cannot become a routine."""
Small = NDArray[np.int16]


@dataclass(frozen=True)
class Tied:
    """One tie: unknowns with the same arcs together.

    ``one`` and ``other`` are what the multipliers give the first and the second arc, ``both`` what they give too much
    when both are danced (below zero where they give too little), ``unused`` what they count in any case.
    """

    columns: tuple[int, ...]
    first: Ints
    second: Ints
    one: int
    other: int
    both: int
    unused: int


def tied(linear: Linear, proofs: Priced, ids: Ints) -> list[Tied]:
    """All ties among the arcs ``ids``; an arc is the first of one tie at most, and the second of one."""
    matrix, weigh = linear.on_unknowns, linear.on_arcs[:, ids]
    weigh.sort_indices()
    columns: Any = matrix.tocsc()
    single = np.diff(matrix.indptr) == 1
    plain, earliest, latest = _rows(weigh, linear.tick[linear.tail[ids]])
    free = SCALE * linear.unknown_points - matrix.T @ proofs.multipliers
    pairs: dict[tuple[bytes, bytes], list[tuple[int, int, int, int]]] = {}
    for column in tied_columns(linear).tolist():
        rows = columns.indices[columns.indptr[column] : columns.indptr[column + 1]]
        before, after = sorted(rows[single[rows]].tolist(), key=lambda row: earliest[row])
        apart = earliest[before] == latest[before] < earliest[after] == latest[after]
        if plain[before] and plain[after] and apart:
            one, other = -int(proofs.multipliers[before]), -int(proofs.multipliers[after])
            first, second = (weigh.indices[weigh.indptr[row] : weigh.indptr[row + 1]] for row in (before, after))
            worth = int(free[column]) + one + other
            key = first.astype(np.int64).tobytes(), second.astype(np.int64).tobytes()
            pairs.setdefault(key, []).append((column, one, other, worth))
    found, led, followed = [], np.zeros(len(ids), dtype=np.bool_), np.zeros(len(ids), dtype=np.bool_)
    for key, parts in pairs.items():
        first, second = (np.frombuffer(own, dtype=np.int64) for own in key)
        if led[first].any() or followed[second].any():
            continue
        led[first], followed[second] = True, True
        found.append(
            Tied(
                columns=tuple(column for column, *_ in parts),
                first=first,
                second=second,
                one=sum(one for _, one, _, _ in parts),
                other=sum(other for _, _, other, _ in parts),
                both=sum(one + other - max(worth, 0) for _, one, other, worth in parts),
                unused=sum(max(worth - one - other, 0) for _, one, other, worth in parts),
            )
        )
    return found


def tied_columns(linear: Linear) -> Ints:
    """Unknowns 0/1 kept below two sums of arcs, by a row each; all else only wants more of them, or is a cut."""
    matrix: Any = linear.on_unknowns
    rows = np.repeat(np.arange(matrix.shape[0]), np.diff(matrix.indptr))
    single = (np.diff(matrix.indptr) == 1)[rows]
    below = (matrix.data == -1) & (linear.least[rows] == 0) & (linear.most[rows] == OPEN)
    wants = (matrix.data > 0) & (linear.most[rows] == OPEN)
    size = len(linear.names)
    kept = np.bincount(matrix.indices[single & below], minlength=size) == 2
    strange = np.bincount(matrix.indices[np.where(single, ~below, ~below & ~wants)], minlength=size) > 0
    yes_no = (linear.low == 0) & (linear.high == 1) & (linear.unknown_points >= 0)
    return np.flatnonzero(kept & ~strange & yes_no)


def rows_below_arcs(linear: Linear) -> dict[int, list[int]]:
    """By unknown, the rows that keep it alone below a sum of arcs."""
    matrix: Any = linear.on_unknowns
    found: dict[int, list[int]] = {}
    for row in np.flatnonzero((np.diff(matrix.indptr) == 1) & (linear.least == 0) & (linear.most == OPEN)).tolist():
        place = matrix.indptr[row]
        if matrix.data[place] == -1:
            found.setdefault(int(matrix.indices[place]), []).append(row)
    return found


def second_arcs(linear: Linear, weigh: Any, begins: Ints) -> dict[int, Ints]:
    """By tie, the arcs that begin later; ``weigh`` are the rows of arcs, whose ticks are ``begins``."""
    rows_of, found = rows_below_arcs(linear), dict[int, Ints]()
    for column in tied_columns(linear).tolist():
        sides = [weigh.indices[weigh.indptr[row] : weigh.indptr[row + 1]] for row in rows_of[column]]
        later = max((side for side in sides if len(side)), key=lambda side: int(begins[side].min()), default=None)
        if later is not None:
            found[column] = later.astype(np.int64)
    return found


def _rows(weigh: Any, begins: Ints) -> tuple[list[bool], list[int], list[int]]:
    """Per row whether it has arcs, all of weight 1, and the first and the last tick at which they begin."""
    some = np.flatnonzero(np.diff(weigh.indptr))
    plain, earliest, latest = np.zeros(weigh.shape[0], dtype=np.bool_), *np.zeros((2, weigh.shape[0]), dtype=np.int64)
    if len(some):
        starts, ticks = weigh.indptr[some], begins[weigh.indices]
        plain[some] = np.logical_and.reduceat(weigh.data == 1, starts)
        earliest[some], latest[some] = np.minimum.reduceat(ticks, starts), np.maximum.reduceat(ticks, starts)
    return plain.tolist(), earliest.tolist(), latest.tolist()


class Ties:
    """Ties and what is asked of them, for walks over the arcs ``ids``; ``begins`` and ``ends`` are their ticks."""

    def __init__(self, linear: Linear, proofs: Priced, ids: Ints, begins: Ints, ends: Ints) -> None:
        found = tied(linear, proofs, ids)
        size = len(ids)
        keys = sorted({(int(begins[t.first[0]]), int(begins[t.second[0]])) for t in found})
        slot = {key: index for index, key in enumerate(keys)}
        self.any = bool(found)
        self.slots = len(keys)
        self.due = np.array([other for _, other in keys], dtype=np.int64)
        self.unused = np.zeros(self.slots, dtype=np.int64)
        """By slot: what is counted for its ties in any case."""
        self.one, self.other, self.both = np.zeros((3, len(found) + 1), dtype=np.int64)
        self.first_slot, self.second_slot = np.full((2, size), -1, dtype=np.int64)
        self.first_tie, self.second_tie = np.zeros((2, size), dtype=np.int16)
        asked = _asked(linear, found)
        self.least = np.array([linear.least[row] for row in asked], dtype=np.int64)
        self.price = np.array([max(0, -int(proofs.multipliers[row])) for row in asked], dtype=np.int64)
        self.worth = np.zeros((len(found) + 1, len(asked)), dtype=np.int16)
        self.last_second = np.full(len(asked), -1, dtype=np.int64)
        for number, (tie, weights) in enumerate(zip(found, _weights(linear, found, asked), strict=True), start=1):
            here = slot[int(begins[tie.first[0]]), int(begins[tie.second[0]])]
            self.unused[here] += tie.unused
            self.one[number], self.other[number], self.both[number] = tie.one, tie.other, tie.both
            self.first_slot[tie.first], self.second_slot[tie.second] = here, here
            self.first_tie[tie.first], self.second_tie[tie.second] = number, number
            self.worth[number] = weights
            self.last_second[weights > 0] = np.maximum(self.last_second[weights > 0], keys[here][1])
        self.begins, self.ends = begins, ends
        spans, self.span = np.unique(np.stack([begins, ends]), axis=1, return_inverse=True)
        self.passed = (self.due >= spans[0][:, None]) & (self.due < spans[1][:, None])
        """By span of ticks: the slots a figure of that span comes past."""
        self.too_long = self.first_slot >= 0
        self.too_long[self.too_long] = ends[self.too_long] > self.due[self.first_slot[self.too_long]]
        """First arcs that last until their second cannot begin any more."""
        self.coming = _coming(linear, ids, self.worth[np.where(self.too_long, 0, self.first_tie)])
        """By arc: what first arcs after it may add to every asked row."""

    def nothing(self) -> tuple[Small, Small]:
        """What a walk that has not begun remembers: its tie in every slot, and what it may have of every asked row."""
        return np.zeros((1, self.slots), dtype=np.int16), np.zeros((1, len(self.least)), dtype=np.int16)

    def lost(self, begun: Small, had: Small, arc: Ints) -> Ints:
        """What is taken back from walks (a row each) that go on with an arc each; ALL where too little is left."""
        back = np.zeros(len(arc), dtype=np.int64)
        if not self.any:
            return back
        met, missed = self._second(begun, arc)
        back[missed] = self.other[self.second_tie[arc[missed]]]
        back[met] = self.both[self.second_tie[arc[met]]]
        for slot, gone, left in self._passed(begun, arc, met):
            back[gone] += self.unused[slot]
            back[left] += self.one[begun[left, slot]]
        early = self.too_long[arc]
        back[early] += self.one[self.first_tie[arc[early]]]
        _, had = self.onward(begun, had, arc)
        for row in range(len(self.least)):
            spare = had[:, row].astype(np.int64) - self.least[row]
            last = (self.ends[arc] > self.last_second[row]) & (self.begins[arc] <= self.last_second[row])
            back += np.where(last, self.price[row] * np.maximum(spare, 0), 0)
            back[spare + self.coming[arc, row] < 0] = ALL
        return back

    def onward(self, begun: Small, had: Small, arc: Ints) -> tuple[Small, Small]:
        """What such walks remember from then on."""
        begun, had = begun.copy(), had.copy()
        if not self.any:
            return begun, had
        met, _ = self._second(begun, arc)
        for slot, gone, left in self._passed(begun, arc, met):
            had[left] -= self.worth[begun[left, slot]]
            begun[gone, slot] = 0
        first = np.flatnonzero((self.first_slot[arc] >= 0) & ~self.too_long[arc])
        begun[first, self.first_slot[arc[first]]] = self.first_tie[arc[first]]
        had[first] += self.worth[self.first_tie[arc[first]]]
        return begun, had

    def _second(self, begun: Small, arc: Ints) -> tuple[Ints, Ints]:
        """Walks whose arc is the second of a tie: those that danced its first, and those that did not."""
        second = np.flatnonzero(self.second_slot[arc] >= 0)
        same = begun[second, self.second_slot[arc[second]]] == self.second_tie[arc[second]]
        return second[same], second[~same]

    def _passed(self, begun: Small, arc: Ints, met: Ints) -> Iterator[tuple[int, Ints, Ints]]:
        """Slots come past, each with the walks that do, and those of them that leave a first arc without its second."""
        kept = np.full(len(arc), -1, dtype=np.int64)
        kept[met] = self.second_slot[arc[met]]
        passed = self.passed[self.span[arc]]
        for slot in np.flatnonzero(passed.any(axis=0)).tolist():
            gone = np.flatnonzero(passed[:, slot])
            yield slot, gone, gone[(begun[gone, slot] > 0) & (kept[gone] != slot)]


def _coming(linear: Linear, ids: Ints, worth: Small) -> Ints:
    """What paths behind every arc can bring at most of every asked row."""
    tail, head = linear.tail[ids], linear.head[ids]
    ahead = np.zeros((len(linear.tick), worth.shape[1]), dtype=np.int64)
    if not worth.size:
        return ahead[head]
    nodes, starts = np.unique(tail, return_index=True)
    for node, part in zip(nodes[::-1].tolist(), slices(np.arange(len(ids)), starts[1:])[::-1], strict=True):
        ahead[node] = (ahead[head[part]] + worth[part]).max(axis=0, initial=0)
    return ahead[head]


def _asked(linear: Linear, found: list[Tied]) -> list[int]:
    """Rows that want so much of ties and of nothing else."""
    followed = linear.high == 0
    followed[[column for tie in found for column in tie.columns]] = True
    matrix: Any = linear.on_unknowns
    several = np.flatnonzero((np.diff(matrix.indptr) > 1) & (np.diff(linear.on_arcs.indptr) == 0))
    rows = []
    for row in several.tolist():
        part = slice(matrix.indptr[row], matrix.indptr[row + 1])
        asks = linear.most[row] == OPEN and 0 < linear.least[row] < LARGE and matrix.data[part].sum() < LARGE
        if asks and followed[matrix.indices[part]].all() and (matrix.data[part] > 0).all():
            rows.append(row)
    return rows


def _weights(linear: Linear, found: list[Tied], asked: list[int]) -> list[Small]:
    """By tie, how much of every asked row it brings."""
    rows: Ints = linear.on_unknowns[asked].toarray() if asked else np.zeros((0, len(linear.names)), dtype=np.int64)
    return [rows[:, list(tie.columns)].sum(axis=1).astype(np.int16) for tie in found]
