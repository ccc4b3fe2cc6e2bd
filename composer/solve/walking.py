"""Walks put to work: a good routine early, then all walks that could still beat it, until none is left.

First few figures and few walks, more of both until a routine is found; then, with its points to beat, either *all*
walks (if they do not become too many, that is a proof: every better routine is among them) or the most promising ones.
What comes through goes to CP-SAT, whose routine alone counts.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from composer.solve.anchors import anchors_of, held, parts
from composer.solve.cpsat import Answer, Built, Limits
from composer.solve.fitted import fitted
from composer.solve.ground import Ground, ground_of
from composer.solve.linear import Flags, Ints, Linear
from composer.solve.longest import SCALE, Priced
from composer.solve.sharpen import narrowed
from composer.solve.thin import thinned
from composer.solve.ties import tied_columns
from composer.solve.walks import Finished, Walks

FIRST: Final = ((5_000, 500), (15_000, 2_000), (40_000, 4_000))
"""(figures in time, walks kept) in the search for a first routine."""
TOGETHER: Final = (1, 10, 60)
"""So many of the best walks together are given to CP-SAT."""
EFFORTS: Final = ((10_000, 2_000, 4_000_000), (25_000, 4_000, 60_000_000), (80_000, 12_000, 150_000_000))
"""(figures in time, walks kept, steps of all walks) in the search for better ones."""
MOST_SMALLER: Final = (2_000_000, 10_000_000)
"""Steps of walks through the smaller problem: walls are mostly what holds, unless stretches are tied to each other."""
FEW: Final = 2_500
"""So few arcs are given to CP-SAT when their walks are too many."""
WIDE: Final = 200
"""A gap is wide when it is more than this part of the points in hand: then its upper half is looked at first."""
ANYTHING: Final = -(1 << 40)
"""Points that every routine has."""
STEPS_PER_WORK: Final = 8_000_000.0
CELLS_PER_WORK: Final = 40_000_000.0
"""Arcs times states of look-aheads that take a second."""


@dataclass(frozen=True)
class Smaller:
    """A smaller problem that has a routine of no fewer points for every routine of the whole one.

    ``arc_of`` is its arc for every arc of the whole problem.
    """

    linear: Linear
    proofs: Priced
    arc_of: Ints


@dataclass
class Walked:
    """The best routine found, a proven ceiling, and the work it took."""

    best: Answer | None
    ceiling: int
    work: float = 0.0

    @property
    def points(self) -> int:
        """Points of the routine in hand; fewer than any has without one."""
        return ANYTHING if self.best is None else self.best.score

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
    smaller: Smaller | None = None,
    reserve: float = 0.0,
) -> Walked:
    """The best routine that walks find, and what they prove.

    Parameters
    ----------
    heard : hears (points, ceiling) of every better routine; what it raises stops the work.
    known : a routine already in hand.
    smaller : the problem without facings and walls; where few walks are left in it, only their figures count.
    reserve : more work for when so few arcs are left that CP-SAT may settle them.
    """
    return _Walking(linear, proofs, limits, heard, known, smaller, reserve).result()


class _Walking:
    def __init__(
        self,
        linear: Linear,
        proofs: Priced,
        limits: Limits,
        heard: Callable[[int, int], None] | None,
        known: Answer | None,
        smaller: Smaller | None,
        reserve: float,
    ) -> None:
        self.reserve = reserve
        self.smaller, self.smaller_steps, self.smaller_least = smaller, 0, ANYTHING
        self.thinnest: tuple[tuple[int, bool], Linear, Priced] | None = None
        """(points asked for, whether walks took part), the arcs left and what they may bring."""
        self.linear, self.proofs, self.limits, self.heard = linear, proofs, limits, heard
        self.ground = ground_of(linear)
        self.anchored = len(anchors_of(linear)) > 0
        self.levels: Ints = np.sort(proofs.through_scaled[linear.usable] // SCALE)[::-1]
        self.known = Walked(known, proofs.bound)
        self.most_smaller = MOST_SMALLER[len(tied_columns(linear)) > 0]
        self.crowded = ANYTHING
        """With so many points walks were too many for the memory."""

    @property
    def left(self) -> float:
        return self.limits.work - self.known.work

    def result(self) -> Walked:
        for arcs, width in FIRST:
            if self.known.best is not None or self.left <= 0:
                break
            least = min(int(self.levels[min(arcs, len(self.levels)) - 1]), self.known.ceiling)
            self.look(self.walks(self.proofs.can_reach(least)), width, ANYTHING)
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
                before = self.known.best
                if self.closed(2 * arcs, width, steps):
                    return
                if self.known.best is not before:
                    continue
                least = self.score + 1
                level = int(self.levels[min(arcs, len(self.levels)) - 1])
                keep = self.proofs.can_reach(max(least, level))
                found = any(self.look(self.walks(keep, least, overpaid=way), width, least) for way in (False, True))

    @property
    def score(self) -> int:
        """Points of the routine in hand."""
        assert self.known.best is not None
        return self.known.best.score

    def closed(self, arcs: int, width: int, steps: int) -> bool:
        """Whether all walks better than the routine in hand could be looked at.

        Where walls count, first those far better, if any; without walls the arcs left are made few first.
        """
        gap = self.known.ceiling - self.score
        far = gap * WIDE > self.score and steps > EFFORTS[0][2] and self.smaller is not None
        for more in (1 + gap // 2, 1) if far else (1,):
            least = self.score + more
            if self.known.proven or self.left <= 0 or least <= self.crowded:
                break
            keep = self.proofs.can_reach(least) & self.in_smaller(least, steps)
            if int((keep & self.linear.usable).sum()) > arcs or not self.all(least, keep, width, steps):
                break
        return self.known.proven

    def in_smaller(self, least: int, steps: int) -> Flags:
        """Arcs danced by walks of so many points in the smaller problem; all arcs where those walks are too many."""
        steps = min(steps, self.most_smaller)
        everything = np.ones(len(self.linear.points), dtype=np.bool_)
        if self.smaller is None or (steps <= self.smaller_steps and least <= self.smaller_least):
            return everything
        few, proofs = self.thin(self.smaller.linear, self.smaller.proofs, least, 0)
        found = Walks(few, proofs, None, few.usable, proving=True).run(None, least, steps)
        self.known.work += found.stepped / STEPS_PER_WORK
        if not found.whole:
            self.smaller_steps, self.smaller_least = steps, least
            return everything
        on = np.zeros(len(few.usable), dtype=np.bool_)
        for walk in found.walks:
            on[list(walk)] = True
        return on[self.smaller.arc_of]

    def thin(self, linear: Linear, proofs: Priced, least: int, steps: int) -> tuple[Linear, Priced]:
        """The arcs left for routines of ``least`` points where walls are forgotten, and what they may bring; with steps
        for walks they are made as few as can be.
        """
        if self.thinnest is not None and self.thinnest[0] == (least, steps > 0):
            return self.thinnest[1:]
        if self.thinnest is not None and self.thinnest[0][0] <= least:
            few, fit = self.thinnest[1:]
        else:
            few, fit = fitted(linear, proofs, proofs.can_reach(least), least)
        if few.feasible_path:
            found = thinned(few, fit, least, steps) if steps else narrowed(few, fit, least)
            self.known.work += found.cells / CELLS_PER_WORK + found.stepped / STEPS_PER_WORK
            self.known.ceiling = max(self.score, min(self.known.ceiling, found.bound))
            few, fit = found.linear, found.proofs
        self.thinnest = (least, steps > 0), few, fit
        return few, fit

    def walks(self, keep: Flags, least: int | None = None, *, overpaid: bool = False) -> Walks:
        """Walks over some arcs, for a routine of ``least`` points."""
        few, proofs = fitted(self.linear, self.proofs, keep, least)
        return Walks(few, proofs, self.ground, few.usable, overpaid=overpaid)

    def all(self, least: int, keep: Flags, width: int, steps: int) -> bool:
        """Whether all walks over the arcs ``keep`` that could have so many points were looked at, or none is left."""
        hard, most = steps > EFFORTS[0][2], min(steps, int(self.left * STEPS_PER_WORK) + 1)
        if self.smaller is None:
            few, proofs = self.thin(self.linear, self.proofs, least, most if hard else 0)
            most = min(most, self.most_smaller) if few.usable.sum() <= FEW else most
        else:
            few, proofs = fitted(self.linear, self.proofs, keep, least)
        walks = Walks(few, proofs, self.ground, few.usable, proving=True)
        bound = walks.ahead.bound if len(walks.ids) else least - 1
        self.known.ceiling = max(self.score, min(self.known.ceiling, max(bound, least - 1)))
        if bound < least:
            return True
        if hard and least == self.score + 1 and self.look_at(walks, width, least):
            return False
        found = self.everywhere(walks, least, most)
        self.known.work += found.stepped / STEPS_PER_WORK
        if found.whole:
            self.known.ceiling = min(self.known.ceiling, max((least - 1, *found.points)))
            return self.sifted(found, least)
        if hard and len(walks.ids) <= FEW:
            self.limits, self.reserve = replace(self.limits, work=self.limits.work + self.reserve), 0.0
            return self.settle(few.usable, least, self.left / 2)
        if found.stepped < most:
            self.crowded = max(self.crowded, least)
        return False

    def everywhere(self, walks: Walks, least: int, most_steps: int) -> Finished:
        """All walks of so many points, with anchors in one part of the floor after another."""
        if not self.anchored:
            return walks.run(None, least, most_steps)
        found = Finished((), (), 0, True)
        for ground in self.grounds(parts):
            own = walks.over(ground).run(None, least, most_steps - found.stepped)
            found = Finished(found.walks + own.walks, found.points + own.points, found.stepped + own.stepped, own.whole)
            if not own.whole:
                break
        return found

    def sifted(self, found: Finished, least: int) -> bool:
        """Whether the best routine over all that came through is known; the best few are looked at first, for with a
        better routine in hand most of the others fall.
        """
        left = found
        while left.walks:
            before = self.known.points
            if len(left.walks) > TOGETHER[1]:
                self.together(left)
            if self.known.points == before:
                return self.settle(self.over(left.walks), max(least, before + 1), self.left)
            number = sum(points > self.known.points for points in left.points)
            left = replace(left, walks=left.walks[:number], points=left.points[:number])
        self.known.ceiling = max(self.score, least - 1)
        return True

    def settle(self, keep: Flags, least: int, work: float) -> bool:
        """Whether the best routine over the arcs left is known; none else has so many points."""
        answer = self.solved(self.linear.narrowed(keep), work, least)
        if answer is None or answer.verdict not in ("best", "none"):
            return False
        self.known.ceiling = answer.score if answer.verdict == "best" else least - 1
        return True

    def look(self, walks: Walks, width: int, least: int) -> bool:
        """Whether the most promising walks hold a better routine.

        Where none that comes home can be danced, anchors are held at one place after another.
        """
        if not len(walks.ids):
            return False
        better = self.look_at(walks, width, least)
        if better is not False or not self.anchored:
            return bool(better)
        return any(self.left > 0 and self.look_at(walks.over(ground), width, least) for ground in self.grounds(held))

    def grounds(self, spans: Callable[[Linear], Iterator[Linear]]) -> Iterator[Ground]:
        """The ground with anchors within one span after another; made again each time, since each is large."""
        for linear in spans(self.linear):
            ground = ground_of(linear)
            assert ground is not None
            yield ground

    def look_at(self, walks: Walks, width: int, least: int) -> bool | None:
        """Whether the most promising walks hold a better routine; None where no walk at all comes home."""
        found = walks.run(width, least, int(self.left * STEPS_PER_WORK) + 1)
        self.known.work += found.stepped / STEPS_PER_WORK
        before = self.known.best
        self.together(found)
        return None if found.whole and not found.walks else self.known.best is not before

    def together(self, found: Finished) -> None:
        """Look for a better routine over the best walks, more and more of them together."""
        for most in TOGETHER:
            hopeful = sum(points > self.known.points for points in found.points[:most])
            if hopeful:
                few = self.linear.narrowed(self.over(found.walks[:hopeful]))
                self.solved(few, self.limits.work / 20)
            if hopeful < most:
                break

    def over(self, walks: tuple[tuple[int, ...], ...]) -> Flags:
        keep = np.zeros(len(self.linear.points), dtype=np.bool_)
        for walk in walks:
            keep[list(walk)] = True
        return keep

    def solved(self, few: Linear, work: float, floor: int | None = None) -> Answer | None:
        """CP-SAT on few figures, for routines of ``floor`` points or better ones; a better routine is kept."""
        if not few.feasible_path or work <= 0:
            return None
        if floor is None and self.known.best is not None:
            floor = self.score + 1
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
