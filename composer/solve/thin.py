"""What could still beat the routine in hand, made less and less: better prices, then walks merged, and again.

Prices that suit what is remembered leave few arcs (:mod:`composer.solve.sharpen`). Over these, walks go on exactly as
long as they promise most, merged with others where they promise least (:mod:`composer.solve.merged`); an arc on no good
way is in no routine that good. Fewer arcs allow better prices and fewer walks.
"""

from __future__ import annotations

from typing import Final

from composer.solve.fitted import fitted
from composer.solve.linear import Linear
from composer.solve.longest import Priced
from composer.solve.merged import left_by
from composer.solve.sharpen import Sharp, sharpened
from composer.solve.walks import Walks

TURNS: Final = 2
WORTH: Final = 10
"""Another turn is worth it when the last one took one arc in so many."""
WIDTHS: Final = (500, 3_000)
"""Least and most walks at a tick that are not merged."""
WALKED: Final = 5_000_000
"""Arcs times walks at a tick: about the steps of a turn."""


def thinned(linear: Linear, proofs: Priced, least: int, most_steps: int) -> Sharp:
    """The arcs that a routine of ``least`` points may dance, as far as a few turns tell."""
    bound, cells, stepped = proofs.bound, 0, 0
    for _ in range(TURNS):
        before = int(linear.usable.sum())
        sharp = sharpened(linear, proofs, least)
        linear, proofs, bound, cells = sharp.linear, sharp.proofs, min(bound, sharp.bound), cells + sharp.cells
        arcs = int(linear.usable.sum())
        if not arcs:
            break
        width = min(max(WALKED // arcs, WIDTHS[0]), WIDTHS[1])
        left = left_by(Walks(linear, proofs, None, linear.usable, proving=True), width, least, most_steps - stepped)
        if left is None:
            stepped = most_steps
            break
        stepped, bound = stepped + left.stepped, min(bound, left.ceiling)
        linear, proofs = fitted(linear, proofs, left.arcs)
        if not left.arcs.any() or WORTH * int(linear.usable.sum()) > (WORTH - 1) * before:
            break
    return Sharp(linear, proofs, max(bound, least - 1), cells, stepped)
