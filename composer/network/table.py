"""Arcs as columns: what large networks are made of, and what rules read where they look at very many arcs.

A network of 300 figures and 288 counts in a room has 400,000 arcs. As columns they take 10 MB and are made in a tenth
of a second; as objects ten times as much of both. :class:`Arcs` shows them as objects to whoever wants them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING, TypeVar, overload

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from composer.network.model import Arc

Numbers = NDArray[np.int32]
Any_ = TypeVar("Any_", bound=np.generic)


def slices(ordered: NDArray[Any_], cuts: NDArray[np.intp]) -> list[NDArray[Any_]]:
    """Views of what lies between cuts, as numpy's own ``split``, which takes far longer over many small ones."""
    return [ordered[begin:end] for begin, end in pairwise([0, *cuts.tolist(), len(ordered)])]


@dataclass(frozen=True, eq=False)
class Table:
    """One entry per arc, in the order of their ids; all are int32.

    ``names`` are the figures in rising order, "" (the arcs into the sink) first where it occurs, and ``figure`` is
    the place in it. ``swapped`` is 0 or 1. The other columns are as in :class:`composer.network.model.Arc`.
    """

    names: tuple[str, ...]
    figure: Numbers
    start: Numbers
    end: Numbers
    faces: Numbers
    tail: Numbers
    head: Numbers
    corners: Numbers
    swapped: Numbers

    def __len__(self) -> int:
        return len(self.figure)

    @cached_property
    def danced(self) -> Numbers:
        """Ids of the arcs of figures: all but those into the sink."""
        if not self.names or self.names[0]:
            return np.arange(len(self), dtype=np.int32)
        return np.flatnonzero(self.figure).astype(np.int32)

    @cached_property
    def by_figure(self) -> Mapping[str, Numbers]:
        """Ids of the arcs of every figure, rising, figures in rising order; those into the sink are left out."""
        order = np.argsort(self.figure, kind="stable").astype(np.int32)
        cuts = np.searchsorted(self.figure[order], np.arange(1, len(self.names)))
        return {name: own for name, own in zip(self.names, slices(order, cuts), strict=True) if name and len(own)}

    @cached_property
    def by_start(self) -> Mapping[int, Numbers]:
        """Ids of the arcs of figures by the tick at which they begin, rising (arcs go by tail, tails by tick)."""
        return self._by(self.start, self.danced)

    @cached_property
    def by_end(self) -> Mapping[int, Numbers]:
        """Ids of the arcs of figures by the tick at which they end, rising, ticks in rising order."""
        return self._by(self.end, self.danced[np.argsort(self.end[self.danced], kind="stable")])

    @cached_property
    def figures_by_start(self) -> Mapping[int, Mapping[str, Numbers]]:
        """The same figure by figure, in rising order of their names."""
        return {tick: self._figures(own) for tick, own in self.by_start.items()}

    @cached_property
    def figures_by_end(self) -> Mapping[int, Mapping[str, Numbers]]:
        """Ids of the arcs that end at a tick, figure by figure."""
        return {tick: self._figures(own) for tick, own in self.by_end.items()}

    def _figures(self, own: Numbers) -> dict[str, Numbers]:
        ordered = own[np.argsort(self.figure[own], kind="stable")]
        cuts = np.flatnonzero(np.diff(self.figure[ordered])) + 1
        return {self.names[self.figure[part[0]]]: part for part in slices(ordered, cuts) if len(part)}

    def _by(self, tick: Numbers, ordered: Numbers) -> dict[int, Numbers]:
        cuts = np.flatnonzero(np.diff(tick[ordered])) + 1
        return {int(tick[own[0]]): own for own in slices(ordered, cuts) if len(own)}

    def arc(self, number: int) -> Arc:
        """One arc as an object."""
        return next(self.arcs(number, number + 1))

    def arcs(self, begin: int, end: int) -> Iterator[Arc]:
        """Arcs as objects."""
        from composer.network.model import Arc

        part = slice(begin, end)
        columns = [self.start, self.end, self.faces, self.tail, self.head, self.corners]
        figures = (self.names[k] for k in self.figure[part].tolist())
        swapped = (self.swapped[part] != 0).tolist()
        numbers = (column[part].tolist() for column in columns)
        return map(Arc, range(begin, end), figures, *numbers, swapped)


def table_of(arcs: Sequence[Arc]) -> Table:
    """The columns of arcs given as objects."""
    if isinstance(arcs, Arcs):
        return arcs.table
    names = sorted({arc.figure for arc in arcs})
    number = {name: k for k, name in enumerate(names)}
    rows = [
        (number[a.figure], a.start, a.end, a.faces, a.tail, a.head, a.corners, int(a.swapped)) for a in arcs
    ]  # fmt: skip
    return Table(tuple(names), *np.array(rows, dtype=np.int32).reshape(len(rows), 8).T.copy())


class Arcs(Sequence["Arc"]):
    """Arcs of a table as objects, made when somebody asks for them and kept once somebody has gone through all."""

    def __init__(self, table: Table) -> None:
        self.table = table
        self._all: tuple[Arc, ...] | None = None

    def __len__(self) -> int:
        return len(self.table)

    @overload
    def __getitem__(self, index: int) -> Arc: ...
    @overload
    def __getitem__(self, index: slice) -> Sequence[Arc]: ...
    def __getitem__(self, index: int | slice) -> Arc | Sequence[Arc]:
        if self._all is not None or isinstance(index, slice):
            return self._everything()[index]
        return self.table.arc(range(len(self))[index])

    def __iter__(self) -> Iterator[Arc]:
        return iter(self._everything())

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Sequence) and tuple(self) == tuple(other)

    __hash__ = None  # type: ignore[assignment]

    def _everything(self) -> tuple[Arc, ...]:
        from composer.collecting import uncollected

        if self._all is None:
            with uncollected():
                self._all = tuple(self.table.arcs(0, len(self)))
        return self._all
