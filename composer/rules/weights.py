"""Weights of very many arcs as arrays, read like a dictionary.

A rule over a large network states millions of weights; as arrays they are 4 bytes each, often only a view of what the
network has anyway. :func:`parted` gives the arrays of any weights, dictionaries too; whoever wants single weights reads
them as from a dictionary.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

import numpy as np
from numpy.typing import NDArray

from composer.network.table import Numbers

NONE: Mapping[str, int] = {}
Values = NDArray[np.int32] | NDArray[np.int64]


ONES: Final = np.broadcast_to(np.int32(1), 1_000)
"""One value in memory, read so many times; most sums count their arcs once each."""


def _alike(amount: int, size: int) -> Values:
    """The same value so many times."""
    return ONES[:size] if amount == 1 and size <= len(ONES) else np.broadcast_to(np.int32(amount), size)


class Weights(Mapping[int | str, int]):
    """``amounts`` of ``arcs`` (ids, each once; one value may stand for all), and of extra unknowns by name."""

    __slots__ = ("_dict", "amounts", "arcs", "named")

    def __init__(self, arcs: Numbers, amounts: Values | int = 1, named: Mapping[str, int] = NONE) -> None:
        self.arcs = arcs
        self.amounts: Values = _alike(amounts, len(arcs)) if isinstance(amounts, int) else amounts
        self.named = named
        self._dict: dict[int | str, int] | None = None

    def __len__(self) -> int:
        return len(self.arcs) + len(self.named)

    def __iter__(self) -> Iterator[int | str]:
        return iter(self._all())

    def __getitem__(self, var: int | str) -> int:
        return self._all()[var]

    def _all(self) -> dict[int | str, int]:
        if self._dict is None:
            found: dict[int | str, int] = dict(self.named.items())
            found.update(zip(self.arcs.tolist(), self.amounts.tolist(), strict=True))
            self._dict = found
        return self._dict

    def __repr__(self) -> str:
        return f"Weights({self._all()!r})"


def nonzero(arcs: Numbers, amounts: Values, named: Mapping[str, int] = NONE) -> Weights:
    """Weights without those that are 0."""
    some = np.flatnonzero(amounts)
    return Weights(arcs, amounts, named) if len(some) == len(arcs) else Weights(arcs[some], amounts[some], named)


def parted(weights: Mapping[int | str, int]) -> tuple[NDArray[np.integer], NDArray[np.integer], Mapping[str, int]]:
    """(ids of arcs, their weights, weights of extra unknowns) of any weights."""
    if isinstance(weights, Weights):
        return weights.arcs, weights.amounts, weights.named
    named = {var: weight for var, weight in weights.items() if isinstance(var, str)}
    if named and len(named) == len(weights):
        return np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64), named
    own = {var: weight for var, weight in weights.items() if var not in named} if named else weights
    arcs = np.fromiter(own, dtype=np.int64, count=len(own))
    return arcs, np.fromiter(own.values(), dtype=np.int64, count=len(own)), named
