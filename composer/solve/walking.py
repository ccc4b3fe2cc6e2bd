"""Walks put to work: a good routine early, then all walks that could still beat it, until none is left.

First few figures and few walks, more of both until a routine is found; then, with its points to beat, either *all*
walks (if they do not become too many, that is a proof: every better routine is among them) or the most promising ones.
What comes through goes to CP-SAT, whose routine alone counts.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from composer.solve.cpsat import Answer, Built, Limits
from composer.solve.fitted import fitted
from composer.solve.ground import ground_of
from composer.solve.linear import Flags, Ints, Linear
from composer.solve.longest import SCALE, Priced
from composer.solve.walks import Finished, Walks

FIRST: Final = ((5_000, 500), (15_000, 2_000), (40_000, 4_000))
"""(figures in time, walks kept) in the search for a first routine."""
TOGETHER: Final = (1, 10, 60)
"""So many of the best walks together are given to CP-SAT."""
EFFORTS: Final = ((10_000, 2_000, 3_000_000), (25_000, 4_000, 20_000_000), (80_000, 12_000, 60_000_000))
"""(figures in time, walks kept, steps of all walks) in the search for better ones."""
ANYTHING: Final = -(1 << 40)
"""Points that every routine has."""
STEPS_PER_WORK: Final = 6_000_000.0


@dataclass
class Walked:
    """The best routine found, a proven ceiling, and the work it took."""

    best: Answer | None
    ceiling: int
    work: float = 0.0

    @property
    def proven(self) -> bool:
        """Whether no routine is better."""
        return self.best is not None and self.best.score >= self.ceiling


def walked(
    linear: Linear,
    proofs: Priced,
    limits: Limits,
    heard: Callable[[int, int], None] | None = None,
    known: Answer | None = None,
) -> Walked:
    """The best routine that walks find, and what they prove.

    Parameters
    ----------
    heard : hears (points, ceiling) of every better routine; what it raises stops the work.
    known : a routine already in hand.
    """
    return _Walking(linear, proofs, limits, heard, known).result()


class _Walking:
    def __init__(
        self,
        linear: Linear,
        proofs: Priced,
        limits: Limits,
        heard: Callable[[int, int], None] | None,
        known: Answer | None,
    ) -> None:
        self.linear, self.proofs, self.limits, self.heard = linear, proofs, limits, heard
        self.ground = ground_of(linear)
        self.levels: Ints = np.sort(proofs.through_scaled[linear.usable] // SCALE)[::-1]
        self.known = Walked(known, proofs.bound)

    @property
    def left(self) -> float:
        return self.limits.work - self.known.work

    def result(self) -> Walked:
        for arcs, width in FIRST:
            if self.known.best is not None or self.left <= 0:
                break
            least = min(int(self.levels[min(arcs, len(self.levels)) - 1]), self.known.ceiling)
            walks = self.walks(self.proofs.can_reach(least))
            self.look(walks, width, ANYTHING)
            if arcs >= len(self.levels):
                break
        if self.known.best is not None:
            self.better()
        return self.known

    def better(self) -> None:
        """Beat the routine in hand, or prove that none does."""
        for arcs, width, steps in EFFORTS:
            found = True
            while found and not self.known.proven and self.left > 0:
                assert self.known.best is not None
                least = self.known.best.score + 1
                number = int((self.levels >= least).sum())
                if number <= 2 * arcs and self.all(self.proofs.can_reach(least), steps):
                    return
                level = int(self.levels[min(arcs, len(self.levels)) - 1])
                keep = self.proofs.can_reach(max(least, level))
                found = self.look(self.walks(keep), width, least)

    def walks(self, keep: Flags, least: int | None = None) -> Walks:
        """Walks over some arcs, for routines of ``least`` points."""
        few, proofs = fitted(self.linear, self.proofs, keep, least)
        return Walks(few, proofs, self.ground, few.usable)

    def all(self, keep: Flags, steps: int) -> bool:
        """Whether all walks that could beat the routine in hand were looked at, or there is none."""
        assert self.known.best is not None
        best = self.known.best.score
        walks = self.walks(keep, best + 1)
        bound = walks.ahead.bound if len(walks.ids) else best
        self.known.ceiling = max(best, min(self.known.ceiling, bound))
        if self.known.proven:
            return True
        found = walks.run(None, best + 1, steps)
        self.known.work += found.stepped / STEPS_PER_WORK
        if not found.whole:
            return False
        self.known.ceiling = max((best, *found.points))
        if found.walks:
            self.settle(found)
        return True

    def settle(self, found: Finished) -> None:
        """The best routine over everything that came through."""
        few = self.linear.narrowed(self.over(found.walks))
        answer = self.solved(few, self.left)
        if answer is None:
            return
        if answer.verdict == "none":
            assert self.known.best is not None
            self.known.ceiling = self.known.best.score
        elif answer.verdict == "best":
            self.known.ceiling = answer.score

    def look(self, walks: Walks, width: int, least: int) -> bool:
        """Whether the most promising walks hold a better routine."""
        if not len(walks.ids):
            return False
        found = walks.run(width, least, int(self.left * STEPS_PER_WORK) + 1)
        self.known.work += found.stepped / STEPS_PER_WORK
        before = self.known.best
        for most in TOGETHER:
            if found.walks:
                few = self.linear.narrowed(self.over(found.walks[:most]))
                self.solved(few, self.limits.work / 20)
            if most >= len(found.walks):
                break
        return self.known.best is not before

    def over(self, walks: tuple[tuple[int, ...], ...]) -> Flags:
        keep = np.zeros(len(self.linear.points), dtype=np.bool_)
        for walk in walks:
            keep[list(walk)] = True
        return keep

    def solved(self, few: Linear, work: float) -> Answer | None:
        """CP-SAT on few figures; a better routine is kept."""
        if not few.feasible_path or work <= 0:
            return None
        best = self.known.best
        floor = None if best is None else best.score + 1
        if floor is not None and floor > self.known.ceiling:
            return None
        built = Built(few, floor=floor, ceiling=self.known.ceiling)
        answer = built.solve(replace(self.limits, work=min(work, self.left)))
        self.known.work += answer.deterministic_time
        if answer.verdict in ("best", "good"):
            self.known.best = replace(answer, verdict="good", bound=None)
            if self.heard is not None:
                self.heard(answer.score, self.known.ceiling)
        return answer
