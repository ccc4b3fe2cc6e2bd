"""Facts about paths through a network once some arcs are taken away: who begins it, where figures change.

Everything here is exact and needs no solver: a path exists or it does not.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Final

import numpy as np

from composer.explain.stock import Stock
from composer.network.model import Network
from composer.solve.linear import Flags, Ints, on_paths

FEW_ROWS: Final = 3
"""A demand with more rows is none of those that fix a figure to a count."""


@dataclass(frozen=True)
class Ways:
    """The arcs that lie on some path, and what can be read off them. Counts begin at 1."""

    network: Network
    usable: Flags

    @property
    def any(self) -> bool:
        """Whether a path is left."""
        return bool(self.usable.any())

    def figures(self) -> list[str]:
        """Figures that some path dances."""
        arcs = self.network.arcs
        return sorted({arcs[i].figure for i in np.flatnonzero(self.usable).tolist()} - {""})

    def first(self) -> list[str]:
        """Figures that can come first."""
        return self._named(lambda arc: arc.start == 0)

    def last(self) -> list[str]:
        """Figures that can come last."""
        return self._named(lambda arc: arc.end == self.network.length_ticks)

    def starts(self, figure: str) -> list[int]:
        """Ticks at which a figure can begin."""
        arcs = self.network.arcs
        return sorted({arcs[i].start for i in np.flatnonzero(self.usable).tolist() if arcs[i].figure == figure})

    def changes(self) -> list[int]:
        """Ticks at which one figure can end and another begin."""
        arcs = self.network.arcs
        return sorted({arcs[i].start for i in np.flatnonzero(self.usable).tolist() if arcs[i].figure})

    def _named(self, wanted: object) -> list[str]:
        arcs = self.network.arcs
        chosen = (arcs[i] for i in np.flatnonzero(self.usable).tolist())
        return sorted({arc.figure for arc in chosen if arc.figure and wanted(arc)})  # type: ignore[operator]


class Paths:
    """Asks for ways under any choice of forbidding demands."""

    def __init__(self, stock: Stock) -> None:
        self.stock = stock
        by_figure: dict[str, list[int]] = {}
        for arc in stock.network.arcs:
            if arc.figure:
                by_figure.setdefault(arc.figure, []).append(arc.id)
        arcs = stock.network.arcs
        self._ids = np.arange(len(arcs), dtype=np.int64)
        self._start = np.fromiter((arc.start for arc in arcs), dtype=np.int64, count=len(arcs))
        self._end = np.fromiter((arc.end for arc in arcs), dtype=np.int64, count=len(arcs))
        self._figure_arcs = {name: np.array(own, dtype=np.int64) for name, own in by_figure.items()}

    def open(self, keys: Collection[str]) -> Flags:
        """Arcs these demands and the laws do not forbid; what has to begin on a count keeps that count free."""
        usable = np.ones(len(self.stock.tail), dtype=np.bool_)
        for key in (*self.stock.laws, *keys):
            usable[self.stock.parts[key].forbids] = False
            for arcs in self._begin_together(key):
                usable &= ~self._covering(int(self._start[arcs[0]])) | np.isin(self._ids, arcs)
        return usable

    def exact(self, keys: Collection[str]) -> bool:
        """Whether :meth:`open` says all there is to these demands; else a way may still be closed by their rows."""
        return all(len(self._begin_together(key)) == len(self.stock.parts[key].rows.least) for key in keys)

    def _begin_together(self, key: str) -> list[Ints]:
        """Arcs of which one has to be danced, where all of them begin at the same tick."""
        rows, found = self.stock.parts[key].rows, []
        for row in range(len(rows.least)) if len(rows.least) <= FEW_ROWS else ():
            begin, end = rows.arcs.indptr[row : row + 2]
            arcs, weights = rows.arcs.indices[begin:end].astype(np.int64), rows.arcs.data[begin:end]
            plain = rows.least[row] == 1 and len(arcs) and (weights == 1).all()
            if plain and len(np.unique(self._start[arcs])) == 1 and row not in {cell[0] for cell in rows.cells}:
                found.append(arcs)
        return found

    def _covering(self, tick: int) -> Flags:
        """Arcs danced at a tick."""
        covering: Flags = (self._start <= tick) & (tick < self._end)
        return covering

    def ways(self, usable: Flags) -> Ways:
        """Paths over these arcs."""
        stock = self.stock
        return Ways(stock.network, on_paths(stock.tick, stock.tail, stock.head, usable))

    def arcs_of(self, figure: str) -> Ints:
        """Arc ids of a figure."""
        return self._figure_arcs.get(figure, np.zeros(0, dtype=np.int64))

    def left(self, usable: Flags) -> set[str]:
        """Figures of which some arc is open, on a path or not."""
        return {name for name, own in self._figure_arcs.items() if usable[own].any()}

    def wholly_out(self, key: str) -> set[str]:
        """Figures a demand takes out altogether."""
        gone = np.zeros(len(self.stock.tail), dtype=np.bool_)
        gone[self.stock.parts[key].forbids] = True
        return {name for name, own in self._figure_arcs.items() if gone[own].all()}

    def with_figure(self, usable: Flags, keys: Collection[str], figure: str) -> Flags:
        """The same with one figure let back in wherever the demands took it out altogether."""
        more = usable.copy()
        own = self.arcs_of(figure)
        still = np.ones(len(usable), dtype=np.bool_)
        for key in keys:
            if figure not in self.wholly_out(key):
                still[self.stock.parts[key].forbids] = False
        more[own] = still[own]
        return more

    def most(self, usable: Flags, arcs: Ints) -> int:
        """The most of these arcs that one path can have."""
        from composer.solve.longest import Levels

        weights = np.zeros(len(usable), dtype=np.int64)
        weights[arcs] = 1
        linear = self.stock.linear(())
        linear = linear.narrowed(usable)
        if not linear.feasible_path:
            return 0
        ahead, _ = Levels(linear).longest(weights)
        return int(ahead[linear.sink])
