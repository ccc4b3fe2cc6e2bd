"""Routines as walks through the network, many at once, that know where the couple stands and what was danced.

A linear relaxation averages a step east with a step west and so says nothing about walls; but its multipliers say well
what the rest of a routine may still bring. Walks kept to a *width* are a quick way to good routines; without, nothing
is dropped that could become a routine of the points asked for. Either way CP-SAT decides on the figures that come
through. How a walk goes on: :mod:`composer.solve.stepping`.

Where the end must come back to the first place, most walks never come home. Few of them are then begun from one part
of the floor after another, so that each knows well what leads back; all of them are merged first
(:mod:`composer.solve.merged`), which leaves fewer figures or none.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from composer.solve.merged import left_by
from composer.solve.stepping import Finished, Stepping

MERGED: Final = 4_000
"""Merged walks at a tick."""
WORTH_PARTS: Final = 1_000
"""Fewer walks than this are not begun again from every part of the floor: its tables take longer than they."""
TABLE: Final = 200
"""A figure tried over a whole table of places takes so many times the work of one tried by a walk."""

__all__ = ["Finished", "Walks"]


class Walks(Stepping):
    """Walks over some of the arcs of a problem."""

    def run(self, width: int | None, least: int, most_steps: int) -> Finished:
        """Walks that can reach ``least`` points, ``width`` of them kept at every tick; none with too many steps."""
        if self.home is None:
            return super().run(width, least, most_steps)
        if width is None:
            return self._all(least, most_steps)
        found = super().run(width, least, most_steps)
        tried = found.stepped + TABLE * self.home.tried
        if found.walks or found.whole or width < WORTH_PARTS:
            return replace(found, stepped=tried)
        proofs, ground = self.given
        assert ground is not None
        for part in ground.parts(self.linear):
            if found.walks or tried > most_steps:
                break
            own = Stepping(self.linear, proofs, ground, self.keep, part)
            if len(own.ids) and own.home is not None:
                found = own.run(width, least, most_steps - tried)
                tried += found.stepped + TABLE * own.home.tried
        return replace(found, stepped=tried, whole=False)

    def _all(self, least: int, most_steps: int) -> Finished:
        """All walks over what merged walks leave."""
        assert self.home is not None
        tried = TABLE * self.home.tried
        left = left_by(self, MERGED, least, most_steps)
        if left is None:
            return Finished((), (), tried + most_steps, False)
        tried += left.stepped
        if not left.arcs.any():
            return Finished((), (), tried, True)
        proofs, ground = self.given
        found = Stepping(self.linear, proofs, ground, left.arcs, proving=True).run(None, least, most_steps)
        return replace(found, stepped=tried + found.stepped)
