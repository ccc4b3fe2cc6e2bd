"""What a walk may still bring at best, exactly for the few things that matter most.

Multipliers price everything that couples distant parts of a routine; a path priced so can still dance the same bonus
twice, or never dance what must come. Some of these things are therefore not priced but *remembered*: a state per node
says which of them have been danced, and the longest path over (node, state) cannot cheat on them. What is worth
remembering is found by looking at the best path: whatever it cheats on is added, as long as the states stay few.

Two kinds of things are remembered. A *need* is a row that asks for so many of some arcs and must be full at the end. A
*bonus* is an unknown worth points that is 1 at most where one of its arcs is danced. Numbers are points times SCALE;
:attr:`Lookahead.bound` holds for every routine over the arcs given.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Final

import numpy as np

from composer.solve.linear import OPEN, Flags, Ints, Linear
from composer.solve.longest import FAR, SCALE, Priced
from composer.solve.ties import second_arcs

MOST_STATES: Final = 256
MOST_CELLS: Final = 3_000_000
"""Arcs times states that are worth their time."""
PROVING: Final = 2
"""So many times as many of both are worth it where all walks are looked at."""
NEVER: Final = FAR // 4
"""No path to the end."""
NEVER_SMALL: Final = -(1 << 30)
"""The same where all numbers are so small that 32 bits hold them."""


@dataclass(frozen=True)
class Bonus:
    """An unknown worth ``worth`` once one of ``arcs`` is danced; the multipliers give each of them ``price``.

    ``again`` is, per arc, what they give too much when one of the arcs has been danced before. That is the price, less
    the part of cuts for arcs that may complete a tie: there the cut may be what the tie is worth.
    """

    arcs: Ints
    price: int
    worth: int
    again: Ints
    name: str

    @property
    def unused(self) -> int:
        """What the multipliers count although none of the arcs is danced."""
        return max(self.worth - self.price, 0)

    @property
    def first(self) -> int:
        """What they give too much for the first arc."""
        return self.price + self.unused - max(self.worth, 0)


@dataclass(frozen=True)
class Need:
    """At least ``least`` by weight of some arcs; ``weight`` is per arc of the search."""

    row: int
    weight: Ints
    least: int
    price: int


class Lookahead:
    """Longest paths over (node, state) for the arcs ``ids`` of a problem (they must all lie on paths).

    Needs are remembered first, then the bonuses on which the best path cheats, or (``overpaid``) those that mixtures
    are paid for too often. Where all walks are looked at (``proving``) only the bound counts: these come first then.
    """

    def __init__(
        self, linear: Linear, proofs: Priced, ids: Ints, *, overpaid: bool = False, proving: bool = False
    ) -> None:
        self.linear, self.proofs, self.ids = linear, proofs, ids
        self.tail, self.head = linear.tail[ids], linear.head[ids]
        self.bonuses = _bonuses(linear, proofs, ids)
        self.needs = _needs(linear, proofs, ids)
        times = PROVING if proving else 1
        self.most = int(min(times * MOST_STATES, max(1, times * MOST_CELLS // max(1, len(ids)))))
        self.kept_needs: list[Need] = []
        self.kept: list[int] = []
        if overpaid and proving:
            self._remember_overpaid()
        self._remember_needs()
        if overpaid and not proving:
            self._remember_overpaid()
        self._levels()
        self._solve()
        while self._cheats():
            self._solve()

    @property
    def states(self) -> int:
        """How many states a node has."""
        number = 1 << len(self.kept)
        for need in self.kept_needs:
            number *= need.least + 1
        return number

    @property
    def bound(self) -> int:
        """Whole points no routine over these arcs can exceed."""
        return self.bound_scaled // SCALE

    @property
    def bound_scaled(self) -> int:
        """The same times SCALE."""
        best = int(self.behind[0, 0])
        return (best if best > self.lost else NEVER) + self.fixed

    @property
    def lost(self) -> int:
        """Worth no more than this is no path to the end."""
        return self.never // 2

    def _remember_needs(self) -> None:
        """Remember the needs, the smallest first, as long as the states stay few."""
        for need in sorted(self.needs, key=lambda need: need.least):
            if self.states * (need.least + 1) <= self.most:
                self.kept_needs.append(need)

    def _remember_overpaid(self) -> None:
        """Remember the bonuses that mixtures are paid for too often, most first, as long as the states stay few."""
        place = {bonus.name: index for index, bonus in enumerate(self.bonuses)}
        for name in self.proofs.overpaid:
            if name in place and 2 * self.states <= self.most:
                self.kept.append(place[name])

    def _levels(self) -> None:
        """Arcs by their tail's tick, latest first, each with where its nodes' runs begin."""
        cuts = np.flatnonzero(np.diff(self.linear.tick[self.tail])) + 1
        self.parts = []
        for begin, end in reversed(list(pairwise([0, *cuts.tolist(), len(self.ids)]))):
            nodes, starts = np.unique(self.tail[begin:end], return_index=True)
            self.parts.append((slice(begin, end), nodes, starts))

    def _solve(self) -> None:
        states = self.states
        self.fixed = self.proofs.bound_scaled - int(self.proofs.ahead[self.linear.sink])
        weights = self.proofs.weights[self.ids].astype(np.int64)
        state = np.arange(states)
        small = np.min_scalar_type(states - 1)
        self.goes = np.zeros((len(self.ids), states), dtype=small)
        place, last = 1, 0
        for need in self.kept_needs:
            weights += need.price * need.weight
            self.fixed -= need.price * need.least
            digit = state // place % (need.least + 1)
            by_weight = place * np.minimum(digit + np.arange(need.least + 1)[:, None], need.least)
            self.goes += by_weight.astype(small)[np.minimum(need.weight, need.least)]
            last += place * need.least
            place *= need.least + 1
        ended = state % place == last
        kept = [self.bonuses[index] for index in self.kept]
        self.never = NEVER_SMALL if self._longest(weights, kept) < -NEVER_SMALL // 2 else NEVER
        size = np.int32 if self.never == NEVER_SMALL else np.int64
        brings = np.repeat(weights.astype(size)[:, None], states, axis=1)
        for bonus in kept:
            danced = state // place % 2
            self.goes += (place * danced).astype(small)
            self.goes[bonus.arcs] += (place * (1 - danced)).astype(small)
            brings[bonus.arcs] -= np.where(danced == 1, bonus.again[:, None], bonus.price - max(bonus.worth, 0)).astype(
                size
            )
            self.fixed -= bonus.unused
            place *= 2
        self.last = brings[:, -1].copy()
        """By arc, what it brings where all that is remembered has been danced."""
        self.behind = np.full((len(self.linear.tick), states), self.never, dtype=size)
        self.behind[self.linear.sink, ended] = 0
        self.promise = brings
        """By arc and state before it: what it brings and all that may come behind it."""
        for part, nodes, starts in self.parts:
            onward = self.promise[part]
            onward += self.behind.ravel()[(self.head[part] * states)[:, None] + self.goes[part]]
            self.behind[nodes] = np.maximum(np.maximum.reduceat(onward, starts, axis=0), self.never)

    def through(self) -> Ints:
        """Per arc, the most (times SCALE) that a routine over these arcs has that dances it."""
        states = self.states
        ahead = np.full((len(self.linear.tick), states), NEVER, dtype=np.int64)
        ahead[0, 0] = 0
        found = np.full(len(self.ids), NEVER, dtype=np.int64)
        for part, _, _ in reversed(self.parts):
            promise, to = self.promise[part].astype(np.int64), (self.head[part] * states)[:, None] + self.goes[part]
            found[part] = np.where(promise > self.lost, ahead[self.tail[part]] + promise, NEVER).max(axis=1)
            gone = ahead[self.tail[part]] + promise - self.behind.ravel()[to]
            np.maximum.at(ahead.ravel(), to.ravel(), gone.ravel())
        return found + self.fixed

    def _longest(self, weights: Ints, bonuses: list[Bonus]) -> int:
        """No path from or to any node is larger than this, whatever its sign."""
        sizes = np.abs(weights)
        for bonus in bonuses:
            sizes[bonus.arcs] += bonus.price + abs(bonus.worth)
        behind = np.zeros(len(self.linear.tick), dtype=np.int64)
        for part, nodes, starts in self.parts:
            behind[nodes] = np.maximum.reduceat(behind[self.head[part]] + sizes[part], starts)
        return int(behind.max())

    def _cheats(self) -> bool:
        """Whether the best path counted too much for a bonus, which is remembered from now on."""
        lost = self.overcounted(self.path())
        for index in self.kept:
            lost[index] = 0
        worst = np.argsort(-lost, kind="stable")
        added = False
        for index in worst[:2].tolist():
            if lost[index] > 0 and 2 * self.states <= self.most:
                self.kept.append(index)
                added = True
        return added

    def overcounted(self, path: list[int]) -> Ints:
        """Per bonus, what its multiplier gives too much on a path (positions in ``ids``)."""
        on = np.zeros(len(self.ids), dtype=np.int64)
        on[path] = 1
        lost = []
        for bonus in self.bonuses:
            times = int(on[bonus.arcs].sum())
            lost.append(bonus.first + bonus.price * (times - 1) if times else bonus.unused)
        return np.array(lost, dtype=np.int64)

    def path(self) -> list[int]:
        """A best path, as positions in ``ids``."""
        first = np.searchsorted(self.tail, np.arange(len(self.linear.tick) + 1))
        node, state, found = 0, 0, []
        while node != self.linear.sink and first[node] < first[node + 1]:
            arcs = np.arange(first[node], first[node + 1])
            best = int(arcs[np.argmax(self.promise[arcs, state])])
            found.append(best)
            node, state = int(self.head[best]), int(self.goes[best, state])
        return found


def _bonuses(linear: Linear, proofs: Priced, ids: Ints) -> list[Bonus]:
    """Unknowns 0/1 with one row of their own that keeps them below the sum of their arcs, no arc with two of them."""
    matrix: Any = linear.on_unknowns
    weigh: Any = linear.on_arcs[:, ids]
    free = SCALE * linear.unknown_points - matrix.T @ proofs.multipliers
    single: Flags = (np.diff(matrix.indptr) == 1) & (linear.least == 0) & (linear.most == OPEN)
    own = matrix.indices[matrix.indptr[np.flatnonzero(single)]]
    alone_there = np.bincount(own, minlength=len(linear.names)) == 1
    taken = np.zeros(len(ids), dtype=np.bool_)
    cuts = _cut_prices(linear, proofs, ids, weigh)
    found = []
    yes_no = alone_there & (linear.low == 0) & (linear.high == 1)
    rows = np.flatnonzero(single & (proofs.multipliers <= 0))
    places = matrix.indptr[rows]
    rows = rows[(matrix.data[places] == -1) & yes_no[matrix.indices[places]]]
    for row in rows.tolist():
        column = int(matrix.indices[matrix.indptr[row]])
        part = slice(weigh.indptr[row], weigh.indptr[row + 1])
        arcs = weigh.indices[part].astype(np.int64)
        own, (more, again) = -int(proofs.multipliers[row]), cuts.get((column, arcs.tobytes()), (0, 0))
        price = own + more
        worth = int(free[column]) + price
        if (weigh.data[part] != 1).any() or taken[arcs].any() or (price == 0 and worth <= 0):
            continue
        taken[arcs] = True
        name = linear.names[int(matrix.indices[matrix.indptr[row]])]
        again = np.broadcast_to(own + np.asarray(again, dtype=np.int64), arcs.shape)
        found.append(Bonus(arcs, price, worth, again, name))
    return found


def _cut_prices(linear: Linear, proofs: Priced, ids: Ints, weigh: Any) -> dict[tuple[int, bytes], tuple[int, Ints]]:
    """What cuts (:mod:`composer.solve.cuts`) give the arcs of a bonus more, by the bonus and its arcs.

    In all, and arc by arc without the arcs that are the second of a tie in the cut.
    """
    matrix: Any = linear.on_unknowns
    several = (np.diff(matrix.indptr) > 1) & (linear.least == 0) & (linear.most == OPEN) & (proofs.multipliers < 0)
    found: dict[tuple[int, bytes], tuple[int, Ints]] = {}
    if not several.any():
        return found
    second = second_arcs(linear, weigh, linear.tick[linear.tail[ids]])
    for row in np.flatnonzero(several).tolist():
        own, part = slice(*matrix.indptr[row : row + 2]), slice(*weigh.indptr[row : row + 2])
        if (matrix.data[own] != -1).any() or (weigh.data[part] != 1).any():
            continue
        arcs, columns = weigh.indices[part].astype(np.int64), matrix.indices[own].tolist()
        completes = np.isin(arcs, np.concatenate([second.get(column, arcs[:0]) for column in columns]))
        price = -int(proofs.multipliers[row])
        for column in columns:
            more, again = found.get((column, arcs.tobytes()), (0, np.zeros(len(arcs), dtype=np.int64)))
            found[column, arcs.tobytes()] = more + price, again + np.where(completes, 0, price)
    return found


def _needs(linear: Linear, proofs: Priced, ids: Ints) -> list[Need]:
    """Rows that ask for something of arcs alone; of those that weigh alike the one that asks for most."""
    weigh: Any = linear.on_arcs[:, ids]
    alone = np.diff(linear.on_unknowns.indptr) == 0
    asks = alone & (linear.least > 0) & (linear.least < 16)
    found: dict[bytes, Need] = {}
    for row in np.flatnonzero(asks).tolist():
        weight = np.asarray(weigh[row].todense(), dtype=np.int64).ravel()
        if (weight >= 0).all():
            need = Need(row, weight, int(linear.least[row]), min(int(proofs.multipliers[row]), 0))
            like = found.get(weight.tobytes())
            if like is None or like.least < need.least:
                found[weight.tobytes()] = need
    return list(found.values())


def for_proofs(linear: Linear, proofs: Priced, ids: Ints) -> Lookahead:
    """For when all walks are looked at: of both ways to remember the one that promises less."""
    usual = Lookahead(linear, proofs, ids, proving=True)
    if not proofs.overpaid:
        return usual
    other = Lookahead(linear, proofs, ids, overpaid=True, proving=True)
    return other if other.bound_scaled < usual.bound_scaled else usual
