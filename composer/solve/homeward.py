"""What a walk may still bring at best from where it stands on the floor: a longest path over places, in coarse squares.

A longest path over nodes forgets the floor: it may promise points to a couple that can no longer come round, or home to
the first place of a closed lap. Here the same arcs and weights are followed with the place as well, in squares of the
floor. Where the end must be near the first place, squares lie round that place (a walk knows how far it has come from
it better than where it is); otherwise round the south-west corner. A square stands for all places in it, so a promise
is never too small; squares that no routine comes through are worth nothing.

Walks know bounds of their place, not the place: each table is kept in several sizes of squares, so that a few of the
right size cover what a walk may be (:meth:`Homeward.worth`). Points are times SCALE.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from composer.network.table import slices
from composer.solve.columns import Whole
from composer.solve.ground import FAR_MM, ArcGround
from composer.solve.linear import Ints, Linear
from composer.solve.lookahead import NEVER, Lookahead
from composer.solve.zones import Zones

MOST_SQUARES: Final = 6_000_000
"""Squares of all tables together; they grow until so few do."""
SIZES_MM: Final = (250, 350, 500, 700, 1000, 1400, 2000)
LEVELS: Final = 5
ACROSS: Final = 3
"""So many squares or oblongs more than one, at most, cover along an axis what a walk may be."""
LARGE: Final = 32_000
"""The largest worth in parts that is kept (in 16 bits)."""
LONGEST: Final = 1 << 28
"""No path is longer than this while tables are filled (in 32 bits); larger weights are rounded up to parts."""
NOTHING: Final = -(1 << 30)
Table = NDArray[np.int32]


class Homeward:
    """Tables for the arcs of a search; ``ahead`` says what weighs, and which needs are told apart."""

    def __init__(self, linear: Linear, ids: Ints, ground: ArcGround, ahead: Lookahead, first: Zones) -> None:
        self.linear, self.ids, self.ground, self.ahead = linear, ids, ground, ahead
        self.tail, self.head = linear.tail[ids], linear.head[ids]
        self.phases = ahead.states >> len(ahead.kept)
        self.tried = 0
        """How often a figure was tried over a whole table: most of the work there was."""
        state = np.arange(ahead.states) // self.phases
        self.extra = np.zeros(ahead.states, dtype=np.int64)
        """Per state, what the bonuses that are remembered can still bring."""
        for place, index in enumerate(ahead.kept):
            self.extra += np.where((state >> place) & 1, 0, max(ahead.bonuses[index].worth, 0))
        self._frame(first.astype(np.int64))
        self._reached()
        self._size()
        self._fill()

    def _frame(self, within: Ints) -> None:
        """Bounds of what is looked at as a figure begins: the place, or the place less the first one."""
        begins = self.ground.begins.astype(np.int64)
        if self.ground.closes:
            first = begins[self.tail == 0]
            low = np.maximum(first[:, :, 0].min(axis=0), within[:, 0])
            high = np.minimum(first[:, :, 1].max(axis=0), within[:, 1])
            self.begins = begins - np.stack([high, low], axis=1)
            self.begins[:, :, 0] = np.maximum(self.begins[:, :, 0], self.ground.apart[:, :, 0])
            self.begins[:, :, 1] = np.minimum(self.begins[:, :, 1], self.ground.apart[:, :, 1])
            self.begins[self.tail == 0] = 0
        else:
            self.begins = begins

    def _reached(self) -> None:
        """Which nodes are come to in which phase, and within what bounds of the place (forwards)."""
        size = len(self.linear.tick)
        self.box = np.empty((size, self.phases, 2, 2), dtype=np.int64)
        self.box[..., 0], self.box[..., 1] = FAR_MM, -FAR_MM
        self.box[0, 0, :, 0], self.box[0, 0, :, 1] = -FAR_MM, FAR_MM
        cuts = np.flatnonzero(np.diff(self.linear.tick[self.tail])) + 1
        self.steps = slices(np.arange(len(self.ids)), cuts)
        goes = self.ahead.goes[:, : self.phases].astype(np.int64) % self.phases
        self.goes = goes
        for part in self.steps:
            for phase in range(self.phases):
                box = self.box[self.tail[part], phase]
                low = np.maximum(box[:, :, 0], self.begins[part, :, 0])
                high = np.minimum(box[:, :, 1], self.begins[part, :, 1])
                ok = np.flatnonzero((low <= high).all(axis=1))
                if not len(ok):
                    continue
                arcs = part[ok]
                to = self.head[arcs], goes[arcs, phase]
                np.minimum.at(self.box[..., 0], to, low[ok] + self.ground.taken[arcs, :, 0])
                np.maximum.at(self.box[..., 1], to, high[ok] + self.ground.taken[arcs, :, 1])

    def _size(self) -> None:
        """The smallest squares that are not too many, and where each table begins."""
        width = np.minimum(self.box[..., 1], FAR_MM) - np.maximum(self.box[..., 0], -FAR_MM)
        used = np.asarray((width >= 0).all(axis=-1))
        used[0] = used[self.linear.sink] = False
        nodes, phases = np.nonzero(used)
        for size in SIZES_MM:
            low = np.floor_divide(self.box[nodes, phases, :, 0] + size // 2, size)
            high = np.floor_divide(self.box[nodes, phases, :, 1] + size // 2, size)
            shape = high - low + 1
            if int(shape.prod(axis=1).sum()) <= MOST_SQUARES:
                break
        self.size, self.low, self.shape = size, low, shape
        self.table = np.full((len(self.linear.tick), self.phases), -1, dtype=np.int64)
        self.table[nodes, phases] = np.arange(len(nodes))

    def _fill(self) -> None:
        sink, size, half = self.linear.sink, self.size, self.size // 2
        first = np.searchsorted(self.tail, np.arange(len(self.linear.tick) + 1))
        weights = self.ahead.last.astype(np.int64)
        most = sum(int(np.abs(weights[part]).max()) for part in self.steps)
        self.part = most // LONGEST + 1
        weights = -(-weights // self.part)
        self.worths: list[Table | None] = [None] * len(self.low)
        full = self.ahead.behind[sink, : self.phases] == 0
        begin_low = np.floor_divide(self.begins[:, :, 0] + half, size)
        begin_high = np.floor_divide(self.begins[:, :, 1] + half, size)
        step_low = np.floor_divide(self.ground.taken[:, :, 0], size)
        step_high = np.floor_divide(self.ground.taken[:, :, 1] + size - 1, size)
        nodes, phases = np.nonzero(self.table >= 0)
        for node, phase in zip(nodes[::-1].tolist(), phases[::-1].tolist(), strict=True):
            number = int(self.table[node, phase])
            low, shape = self.low[number].tolist(), self.shape[number].tolist()
            worth = np.full(shape, NOTHING, dtype=np.int32)
            self.tried += int(first[node + 1] - first[node])
            for arc in range(first[node], first[node + 1]):
                head, then = int(self.head[arc]), int(self.goes[arc, phase])
                x0, y0 = (max(int(begin_low[arc, k]) - low[k], 0) for k in (0, 1))
                x1, y1 = (min(int(begin_high[arc, k]) - low[k] + 1, shape[k]) for k in (0, 1))
                if x0 >= x1 or y0 >= y1:
                    continue
                mine = worth[x0:x1, y0:y1]
                if head == sink:
                    if full[then]:
                        np.maximum(mine, int(weights[arc]), out=mine)
                    continue
                onward = self.worths[self.table[head, then]] if self.table[head, then] >= 0 else None
                if onward is None:
                    continue
                to = self.low[self.table[head, then]].tolist()
                best = _best(
                    onward,
                    (x0 + low[0] - to[0] + int(step_low[arc, 0]), y0 + low[1] - to[1] + int(step_low[arc, 1])),
                    (x1 - x0, y1 - y0),
                    (int(step_high[arc, 0] - step_low[arc, 0]), int(step_high[arc, 1] - step_low[arc, 1])),
                )
                np.maximum(mine, best + int(weights[arc]), out=mine, where=best > NOTHING // 2)
            if (worth > NOTHING // 2).any():
                self.worths[number] = worth
        self._stack()

    def _stack(self) -> None:
        """All tables one after another, each again in oblongs of twice, four times ... the size along either axis."""
        most = max(
            (int(np.abs(worth[worth > NOTHING // 2]).max()) for worth in self.worths if worth is not None), default=0
        )
        self.unit = most // LARGE + 1
        self.at = np.full((LEVELS, LEVELS, len(self.low)), -1, dtype=np.int64)
        self.down = np.ones((LEVELS, len(self.low)), dtype=np.int64)
        parts, begins = [np.full(1, -LARGE - 1, dtype=np.int16)], 1
        for number, worth in enumerate(self.worths):
            if worth is None:
                continue
            wide = np.where(worth > NOTHING // 2, -(-worth // self.unit), -LARGE - 1).astype(np.int16)
            for x in range(LEVELS):
                tall = wide
                for y in range(LEVELS):
                    self.at[x, y, number], self.down[y, number] = begins, tall.shape[1]
                    parts.append(tall.ravel())
                    begins += tall.size
                    tall = _halved(tall.T).T
                wide = _halved(wide)
        self.flat = np.concatenate(parts)
        self.worths = []

    def worth(self, node: Whole, state: Ints, low: Ints, high: Ints) -> Ints:
        """The most that walks at nodes may still bring, whose places are within bounds, (walk, axis) each."""
        table = self.table[node, state % self.phases]
        half = self.size // 2
        begin = np.maximum(np.floor_divide(low + half, self.size) - self.low[table], 0)
        end = np.minimum(np.floor_divide(high + half, self.size) - self.low[table], self.shape[table] - 1)
        ok = (table >= 0) & np.all(begin <= end, axis=1)
        level = np.ceil(np.log2(np.maximum(end - begin, ACROSS) / ACROSS)).astype(np.int64)
        level = np.minimum(level, LEVELS - 1)
        begin, end = begin >> level, end >> level
        at, down = self.at[level[:, 0], level[:, 1], table], self.down[level[:, 1], table]
        ok &= at >= 0
        found = np.full(len(node), -LARGE - 1, dtype=np.int16)
        for x in range(int((end - begin)[ok, 0].max(initial=0)) + 1):
            for y in range(int((end - begin)[ok, 1].max(initial=0)) + 1):
                here = at + np.minimum(begin[:, 0] + x, end[:, 0]) * down + np.minimum(begin[:, 1] + y, end[:, 1])
                found = np.maximum(found, self.flat[np.where(ok, here, 0)])
        worth: Ints = np.where(
            found >= -LARGE, found.astype(np.int64) * (self.unit * self.part) + self.extra[state], NEVER
        )
        return worth


def _halved(worth: Any) -> Any:
    """The same with two neighbours along the first axis taken together."""
    if len(worth) % 2:
        worth = np.concatenate([worth, np.full_like(worth[:1], -LARGE - 1)])
    return np.maximum(worth[::2], worth[1::2])


def _best(onward: Table, begin: tuple[int, int], shape: tuple[int, int], more: tuple[int, int]) -> Table:
    """The most of the squares ``begin`` to ``begin + more`` for each of a shape; NOTHING outside the table."""
    wide = np.full((shape[0] + more[0], shape[1] + more[1]), NOTHING, dtype=np.int32)
    (bx, by), (nx, ny) = begin, onward.shape
    x0, y0, x1, y1 = max(0, bx), max(0, by), min(nx, bx + wide.shape[0]), min(ny, by + wide.shape[1])
    if x0 < x1 and y0 < y1:
        wide[x0 - bx : x1 - bx, y0 - by : y1 - by] = onward[x0:x1, y0:y1]
    tall = wide[: shape[0]]
    for k in range(1, more[0] + 1):
        tall = np.maximum(tall, wide[k : k + shape[0]])
    best = tall[:, : shape[1]]
    for k in range(1, more[1] + 1):
        best = np.maximum(best, tall[:, k : k + shape[1]])
    return best
