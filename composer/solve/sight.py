"""Which arcs the relaxation looks at: interior point pays for every arc, and of many a tenth is all it needs.

At first arcs are taken for what figures and the unknowns they feed are worth; with the multipliers of a round arcs out
of sight are priced exactly, and while any of them promises more than was found, the best by these multipliers are
looked at as well. What is found is then the relaxation of all arcs, to less than ``CLOSE``.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from composer.solve.linear import Flags, Linear
from composer.solve.longest import SCALE, Levels, priced, whole_multipliers

MANY_ARCS: Final = 3_000
"""So many arcs are looked at all at once."""
PART: Final = 12
FEWEST: Final = 1200
"""One in PART of the arcs, FEWEST at least, comes into sight at a time."""
WIDER: Final = 3
"""So many times as many where those in sight hold no routine."""
TIED: Final = 5
"""With more unknowns than one for so many arcs, what unknowns are worth says little of arcs: all of them are seen."""
CLOSE: Final = 0.05
"""So many points may arcs out of sight promise more than those in sight."""


class Sight:
    """Arcs in sight."""

    def __init__(self, linear: Linear) -> None:
        self.linear, count = linear, int(linear.usable.sum())
        self.seen: Flags = linear.usable
        self.wide, self.small = False, count <= max(MANY_ARCS, TIED * len(linear.names))
        if not self.small:
            self.levels, self.more = Levels(linear), max(FEWEST, count // PART)
            self.asked = False
            self._price(_worth(linear))
            self.seen = self._best(self.more)

    @property
    def part(self) -> Linear:
        """The problem of the arcs in sight."""
        return self.linear if self.whole else self.linear.narrowed(self.seen)

    @property
    def whole(self) -> bool:
        """Whether everything is in sight."""
        return self.seen is self.linear.usable

    def holds(self, multipliers: NDArray[np.float64], worth: float, used: Flags) -> bool:
        """Whether no arc promises more than ``worth`` points by these multipliers; if not, more come into sight.

        Where far more came into sight than usual, the best and those ``used`` stay.
        """
        if self.small:
            return True
        bound = self._price(multipliers)
        holds = bound is not None and bound <= (worth + CLOSE) * SCALE
        if self.wide:
            self.seen, self.wide = used | self._best(self.more), False
        elif not holds:
            self.seen = self.seen | self._best(self.more)
        return holds

    def widen(self) -> bool:
        """More arcs come into sight, there is no routine of those seen; False where everything was seen.

        First those of what rows ask for, then far more.
        """
        if self.whole:
            return False
        if not self.asked:
            self.asked = True
            self._price(_worth(self.linear, self.levels))
            self.seen = self.seen | self._best(self.more)
        else:
            self.seen, self.wide = self._best(WIDER * int(self.seen.sum())), True
        return True

    def _price(self, multipliers: NDArray[np.float64]) -> int | None:
        """The bound of all arcs by some multipliers; None when they are of no use."""
        proofs = priced(self.linear, self.levels, whole_multipliers(self.linear, multipliers))
        self.through = None if proofs is None else proofs.through_scaled
        return None if proofs is None else proofs.bound_scaled

    def _best(self, number: int) -> Flags:
        """So many of the best arcs by the last multipliers."""
        if self.through is None or number >= len(self.levels.ids):
            return self.linear.usable
        best: Flags = self.through >= np.sort(self.through[self.levels.ids])[-number]
        return best


def _worth(linear: Linear, asked: Levels | None = None) -> NDArray[np.float64]:
    """Multipliers that say what is worth points: every unknown's for the rows that keep it below what is danced.

    With ``asked`` (levels of the problem) rows that ask for figures give each as much as figures bring on the best
    path.
    """
    matrix, found = linear.on_unknowns, np.zeros(len(linear.least))
    rows = np.flatnonzero((np.diff(matrix.indptr) == 1) & (linear.least == 0))
    rows = rows[matrix.data[matrix.indptr[rows]] < 0]
    column = matrix.indices[matrix.indptr[rows]]
    found[rows] = -linear.unknown_points[column] / np.bincount(column, minlength=len(linear.names))[column]
    if asked is None:
        return found
    proofs = priced(linear, asked, whole_multipliers(linear, found))
    asks = np.flatnonzero((np.diff(matrix.indptr) == 0) & (linear.least > 0))
    if proofs is not None and len(asks):
        figure = abs(int(proofs.weights[list(proofs.path)].sum())) / SCALE / len(proofs.path)
        most = linear.on_arcs[asks].max(axis=1).toarray().ravel()  # 0 where nothing is left of what must come
        found[asks] = -figure / np.maximum(most, 1)
    return found
