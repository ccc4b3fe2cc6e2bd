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
        if count > max(MANY_ARCS, TIED * len(linear.names)):
            self.levels = Levels(linear)
            self.more = max(FEWEST, count // PART)
            self.seen = np.zeros(len(linear.points), dtype=np.bool_)
            self.holds(_worth(linear), -np.inf)

    @property
    def part(self) -> Linear:
        """The problem of the arcs in sight."""
        return self.linear if self.whole else self.linear.narrowed(self.seen)

    @property
    def whole(self) -> bool:
        """Whether everything is in sight."""
        return self.seen is self.linear.usable

    def holds(self, multipliers: NDArray[np.float64], worth: float) -> bool:
        """Whether no arc promises more than ``worth`` points by these multipliers; if not, more come into sight."""
        if self.whole:
            return True
        proofs = priced(self.linear, self.levels, whole_multipliers(self.linear, multipliers))
        if proofs is not None and proofs.bound_scaled <= (worth + CLOSE) * SCALE:
            return True
        self.through = None if proofs is None else proofs.through_scaled
        self._look()
        return False

    def widen(self) -> None:
        """Far more arcs come into sight: with these there is no routine."""
        self.more *= WIDER
        self._look()

    def _look(self) -> None:
        if self.through is None or self.more >= len(self.levels.ids):
            self.seen = self.linear.usable
        else:
            best = np.sort(self.through[self.levels.ids])[::-1]
            self.seen = self.seen | (self.through >= best[self.more])


def _worth(linear: Linear) -> NDArray[np.float64]:
    """Multipliers that give every unknown's points to the rows which keep it below what is danced."""
    matrix = linear.on_unknowns
    rows = np.flatnonzero((np.diff(matrix.indptr) == 1) & (linear.least == 0))
    rows = rows[matrix.data[matrix.indptr[rows]] < 0]
    column = matrix.indices[matrix.indptr[rows]]
    found = np.zeros(len(linear.least))
    found[rows] = -linear.unknown_points[column] / np.bincount(column, minlength=len(linear.names))[column]
    return found
