"""Steps of many walks at once through the network: where each couple may stand, what was danced, what may still come.

A walk carries what it can reach by the lookahead (:mod:`composer.solve.lookahead`), the zones of places where it may
have begun and may stand (:mod:`composer.solve.zones`; nothing is lost by leaving the first place and the strides open),
how it began where the end must fit, and what it has used of every row that limits something. With a ``width`` only the
most promising walks are kept, and walks at the same node and nearly the same place are rivals.
"""

from __future__ import annotations

from copy import copy
from dataclasses import dataclass
from typing import Final, Self

import numpy as np

from composer.network.table import slices
from composer.solve.account import Account, Used
from composer.solve.columns import Columns, Whole
from composer.solve.ends import Ends
from composer.solve.ground import Ground
from composer.solve.homeward import Homeward
from composer.solve.linear import Flags, Ints, Linear
from composer.solve.longest import SCALE, Priced
from composer.solve.lookahead import Lookahead, for_proofs
from composer.solve.zones import APART, FIRST, Zones, anywhere, keep_apart, move, possible, spare, stand_within

MOST_BYTES: Final = 200_000_000
"""Walks waiting to go on may take so much memory."""
PORTION: Final = 200_000
"""So many tries are held at a time."""
BORN: Final = 10
"""A figure that may be danced takes so many times the work of one that may not."""
NEARLY_MM: Final = 500
"""Walks in the same square of this size are rivals."""
RIVALS: Final = 3
"""So many of them are kept."""


@dataclass(frozen=True)
class Finished:
    """Walks from start to end, the best first: their arcs, and the points each has at most.

    ``stepped`` is how often a walk was tried to go on with a figure, weighed by what it took;
    ``whole`` says that no walk was dropped: every routine of the points asked for is among them.
    """

    walks: tuple[tuple[int, ...], ...]
    points: tuple[int, ...]
    stepped: int
    whole: bool


@dataclass
class Labels(Columns):
    """Walks at one tick; ``log`` is where a walk's last step is written down."""

    at: Whole
    state: Whole
    gone: Ints
    reach: Ints
    log: Whole
    begun: Whole
    zones: Zones
    used: Used


class Stepping:
    """Walks over some of the arcs of a problem."""

    def __init__(
        self,
        linear: Linear,
        proofs: Priced,
        ground: Ground | None,
        keep: Flags,
        first: Zones | None = None,
        *,
        overpaid: bool = False,
        proving: bool = False,
    ) -> None:
        """Walks over the arcs of ``keep``, from first places within bounds, (1, axis, side), when given.

        All of them are to be looked at where ``proving``; ``overpaid``: see :class:`Lookahead`.
        """
        few = linear.narrowed(keep)
        self.given: tuple[Priced, Ground | None] = (proofs, ground)
        self.keep = keep
        self.started = anywhere()
        if first is not None:
            stand_within(self.started, first)
        self.linear = linear
        self.ids = np.flatnonzero(few.usable)
        self.tail, self.head = linear.tail[self.ids], linear.head[self.ids].astype(np.int32)
        if proving:
            self.ahead = for_proofs(linear, proofs, self.ids)
        else:
            self.ahead = Lookahead(linear, proofs, self.ids, overpaid=overpaid)
        self.account = Account(few, proofs, self.ids, self.ahead)
        nodes = np.arange(len(linear.tick))
        self.first = np.searchsorted(self.tail, nodes)
        self.after = np.searchsorted(self.tail, nodes, side="right")
        self.ends = Ends(few, self.ids)
        self._stand_on(ground)
        self.bytes_each = self.start().bytes_each

    def over(self, ground: Ground) -> Self:
        """The same walks where places are bound otherwise."""
        other = copy(self)
        other._stand_on(ground)
        return other

    def _stand_on(self, ground: Ground | None) -> None:
        self.given = (self.given[0], ground)
        self.ground = None if ground is None else ground.of(self.ids)
        self.home = None
        if self.ground is not None and self.ground.closes and len(self.ids):
            self.home = Homeward(self.linear, self.ids, self.ground, self.ahead, self.started[0, :, FIRST])

    def run(self, width: int | None, least: int, most_steps: int) -> Finished:
        """Walks that can reach ``least`` points, ``width`` of them kept at every tick; none with too many steps."""
        log_arc: list[Whole] = []
        log_from: list[Whole] = []
        logged, tried, whole, tick = 0, 0, True, self.linear.tick
        waiting: dict[int, list[Labels]] = {-1: [self.start()]}
        number, most = 1, MOST_BYTES // self.bytes_each
        ended = None
        while waiting:
            labels = Labels.joined(waiting.pop(min(waiting)))
            if labels.at[0] == self.linear.sink:
                ended = labels
                break
            number -= len(labels.at)
            if width is not None:
                came = len(labels.at)
                labels = self.kept(labels, width)
                whole &= len(labels.at) == came
            tries = self.after[labels.at] - self.first[labels.at]
            tried += int(tries.sum())
            cuts = np.flatnonzero(np.diff(np.cumsum(tries) // PORTION)) + 1
            for portion in slices(np.arange(len(tries)), cuts):
                if tried > most_steps or number + len(labels.at) > most:
                    return Finished((), (), tried, False)
                born, arcs = self.stepped(labels.take(portion) if len(cuts) else labels, least * SCALE)
                tried += BORN * len(arcs)
                number += len(arcs)
                log_arc.append(arcs)
                log_from.append(born.log)
                born.log = np.arange(logged, logged + len(arcs), dtype=np.int32)
                logged += len(arcs)
                heads = tick[born.at]
                for then in np.unique(heads).tolist():
                    waiting.setdefault(then, []).append(born.take(np.flatnonzero(heads == then)))
        if ended is None:
            return Finished((), (), tried, whole)
        points = (ended.reach - self.account.missed(ended.used)) // SCALE
        order = np.argsort(-points, kind="stable")
        order = order[points[order] >= least]
        arcs, previous = np.concatenate(log_arc), np.concatenate(log_from)
        walks = tuple(_path(int(k), arcs, previous) for k in ended.log[order])
        return Finished(walks, tuple(points[order].tolist()), tried, whole)

    def start(self) -> Labels:
        """The one walk that has not begun."""
        at = np.zeros(1, dtype=np.int32)
        gone = np.full(1, self.ahead.fixed, dtype=np.int64)
        reach = gone + int(self.ahead.behind[0, 0])
        state, begun = at.astype(self.ahead.goes.dtype), at.astype(np.int8)
        return Labels(at, state, gone, reach, at - 1, begun, self.started, self.account.nothing())

    def stepped(self, labels: Labels, least: int) -> tuple[Labels, Whole]:
        """Every walk gone on with by every figure that it may dance; ``log`` of the result is the walk's own."""
        ahead, account, used = self.ahead, self.account, labels.used
        number = self.after[labels.at] - self.first[labels.at]
        walk = np.repeat(np.arange(len(labels.at)), number)
        arc = self.first[labels.at][walk] + np.arange(len(walk)) - np.repeat(np.cumsum(number) - number, number)
        came = labels.state[walk]
        promise = ahead.promise[arc, came]
        reach = labels.gone[walk] + promise
        ok = np.flatnonzero((reach >= least) & (promise > ahead.lost))
        walk, arc, came, reach = (part[ok] for part in (walk, arc, came, reach))
        reach = reach - account.again(used, walk, arc)
        begun = self.ends.begun(labels.begun[walk], arc)
        ok = np.flatnonzero((reach >= least) & self.ends.fits(begun, arc) & account.fits(used, walk, arc))
        walk, arc, came, reach, begun = (part[ok] for part in (walk, arc, came, reach, begun))
        reach = reach - account.given_back(used, walk, arc)
        zones, inside = self.moved(labels.zones, walk, arc)
        state = ahead.goes[arc, came]
        onward = ahead.behind[self.head[arc], state]
        gone = reach - onward
        onward = self.homeward(arc, state, zones, onward)
        ok = np.flatnonzero(inside & (gone + onward >= least))
        walk, arc, gone, state, onward, begun = (part[ok] for part in (walk, arc, gone, state, onward, begun))
        after = account.after(used, walk, arc)
        born = Labels(self.head[arc], state, gone, gone + onward, labels.log[walk], begun, zones[ok], after)
        return born, self.ids[arc].astype(np.int32)

    def homeward(self, arc: Ints, state: Whole, zones: Zones, onward: Ints) -> Ints:
        """What walks gone on with their arcs may still bring, now that their places are known as well."""
        if self.home is None:
            return onward
        inner = np.flatnonzero(self.head[arc] != self.linear.sink)
        place = zones[inner][:, :, APART].astype(np.int64)
        worth = self.home.worth(self.head[arc[inner]], state[inner].astype(np.int64), place[:, :, 0], place[:, :, 1])
        onward = onward.copy()
        onward[inner] = np.minimum(onward[inner], worth)
        return onward

    def moved(self, before: Zones, walk: Ints, arc: Ints) -> tuple[Zones, Flags]:
        """Zones of walks gone on with their arcs, and which are possible."""
        zones, ground = before[walk], self.ground
        if ground is None:
            return zones, np.ones(len(walk), dtype=np.bool_)
        stand_within(zones, ground.begins[arc])
        if ground.closes:
            keep_apart(zones, ground.apart[arc])
        inside = possible(zones)
        move(zones, ground.taken[arc])
        stand_within(zones, ground.ends[arc])
        return zones, inside & possible(zones)

    def kept(self, labels: Labels, width: int) -> Labels:
        """Of rivals the best few; of all the best ``width``, of equally good ones those with room to spare."""
        x, y = ((labels.zones[:, axis, APART].sum(axis=1) // (2 * NEARLY_MM)).astype(np.int64) for axis in (0, 1))
        cell = [labels.at, x, y, labels.state, labels.begun]
        worth = labels.reach + spare(labels.zones)
        order = np.lexsort((-worth, *cell))
        new = np.zeros(len(order), dtype=np.bool_)
        new[0] = True
        for part in cell:
            new[1:] |= part[order[1:]] != part[order[:-1]]
        begins = np.flatnonzero(new)
        rank = np.arange(len(order)) - np.repeat(begins, np.diff(np.append(begins, len(order))))
        order = order[rank < RIVALS]
        if len(order) > width:
            order = order[np.argsort(-worth[order], kind="stable")[:width]]
        return labels.take(order)


def _path(last: int, arc: Whole, before: Whole) -> tuple[int, ...]:
    found = []
    while last >= 0:
        found.append(int(arc[last]))
        last = int(before[last])
    return tuple(reversed(found))
