"""Finds the best routine and proves it: bounds first, CP-SAT on the few arcs that still matter.

The linear relaxation of these networks is tight, so almost no arc can take part in a nearly best routine. The
search works on *bands*: all arcs through which a path of at least ``cut`` points is possible by a proven bound.
A band's best is the best of all as soon as it reaches ``cut``, because a routine that leaves the band stays below;
otherwise ``cut - 1`` is a new proven ceiling, and the next band is cut just above the best routine in hand. Bands
grow until the proof closes or the work is used up. An arc is dropped only by a finished bound, so the answer is
the same as that of the whole model (tests/solve compares them).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from composer.network.model import Network
from composer.solve.collapse import Collapsed, collapse
from composer.solve.compact import compact
from composer.solve.cpsat import Answer, Built, Limits, Watch
from composer.solve.cuts import with_cuts
from composer.solve.improve import Searched, improved, repaired
from composer.solve.linear import Flags, Ints, Linear
from composer.solve.longest import SCALE, Levels, Priced, priced, whole_multipliers
from composer.solve.mixtures import overpaid
from composer.solve.relax import relaxed
from composer.solve.twins import without_twins
from composer.solve.walking import Smaller, walked

SMALL: Final = 400
"""So few arcs are given to CP-SAT at once; bounds would take longer than the proof."""
FIRST_BAND: Final = 300
GROWTH: Final = 4
"""Each band has at least so many times the arcs of the last one, so that all of them cost little more than the last."""

REPAIR_ARCS: Final = (1, 2000, 6000, 20000)
"""A broken path is repaired in bands of about so many arcs, the narrowest first: what it finds there is best."""
GOOD: Final = 50
"""Walks begin with a routine in hand only if it lacks at most one part in so many; a poorer one they soon better."""
MOST_COPIED: Final = 5_000_000
"""With more weights than this rows that say nothing are left in until few arcs are left: two copies take too much."""
POLISH_ARCS: Final = 1200
"""With more arcs than this still to be looked at, stretches find better routines sooner than the next band."""


@dataclass
class Effort:
    """What was done: arcs before and after the reduction, bands, deterministic time. For benchmarks and logs."""

    arcs: int = 0
    arcs_in_last_band: int = 0
    first_ceiling: int | None = None
    bands: int = 0
    work: float = 0.0


def decide(
    linear: Linear,
    limits: Limits,
    watch: Watch | None = None,
    effort: Effort | None = None,
    network: Network | None = None,
    known: Answer | None = None,
) -> Answer:
    """The best path, or the proof that there is none, or what is known when the work is used up.

    Parameters
    ----------
    network : where the arcs come from; with it, problems that differ only in facing are merged first.
    known : a routine already in hand; the answer is as good at least.
    """
    single = without_twins(linear)
    noted = effort if effort is not None else Effort()
    whole = with_cuts(single.linear)
    few = compact(whole).linear if whole.on_arcs.nnz <= MOST_COPIED else whole
    answer = _decide(few, limits, watch, noted, network, known)
    if answer.values:
        answer = replace(answer, values={**dict.fromkeys(single.linear.names, 0), **answer.values})
    answer = single.told(answer)
    if known is not None and (answer.verdict == "unknown" or (answer.verdict == "good" and answer.score < known.score)):
        return replace(known, verdict="good", bound=answer.bound, deterministic_time=answer.deterministic_time)
    return answer


def _decide(
    linear: Linear,
    limits: Limits,
    watch: Watch | None,
    noted: Effort,
    network: Network | None,
    known: Answer | None,
) -> Answer:
    noted.arcs = noted.arcs_in_last_band = int(linear.usable.sum())
    if not linear.feasible_path:
        return Answer("none")
    collapsed = collapse(network, linear) if network is not None and noted.arcs > SMALL else None
    if collapsed is not None:
        return _by_collapse(linear, collapsed, limits, watch, noted, known)
    answer = _decided(linear, limits, watch, noted, known)
    return replace(answer, deterministic_time=noted.work)


def _decided(linear: Linear, limits: Limits, watch: Watch | None, noted: Effort, known: Answer | None) -> Answer:
    if int(linear.usable.sum()) > SMALL:
        advice = relaxed(linear)
        if advice is not None:
            proofs = priced(linear, Levels(linear), whole_multipliers(linear, advice.multipliers))
            if proofs is not None:
                proofs = replace(proofs, overpaid=overpaid(linear, advice))
                bands = _Bands(linear, proofs, limits, watch, noted, known)
                bands.walk()
                return bands.answer()
    answer = Built(linear).solve(limits, watch)
    noted.work += answer.deterministic_time
    return answer


def _by_collapse(
    linear: Linear, collapsed: Collapsed, limits: Limits, watch: Watch | None, noted: Effort, known: Answer | None
) -> Answer:
    """The small problem first: it may be impossible, gives a ceiling, and its best path is tried in full."""
    small = collapsed.small
    if not small.feasible_path:
        return Answer("none")
    advice = relaxed(small)
    proofs = None
    if advice is not None:
        multipliers = whole_multipliers(small, advice.multipliers)
        proofs = priced(small, Levels(small), multipliers)
    if advice is None or proofs is None:
        return _decided(linear, limits, watch, noted, known)
    full = priced(linear, Levels(linear), collapsed.multipliers(linear, proofs.multipliers))
    if full is None:
        return _decided(linear, limits, watch, noted, known)
    names = overpaid(small, advice)
    proofs, full = replace(proofs, overpaid=names), replace(full, overpaid=names)
    bands = _Bands(linear, full, limits, watch, noted, known)
    bands.walk(Smaller(small, proofs, collapsed.arc_of))
    if bands.done:
        return replace(bands.summary(), deterministic_time=noted.work)
    first = _Bands(small, proofs, replace(limits, work=bands.left / 4), None, noted, None).answer()
    bands.left = limits.work - noted.work
    if first.verdict == "none":
        return replace(first, deterministic_time=noted.work)
    if first.bound is not None:
        bands.ceiling = min(bands.ceiling, first.bound)
    bands.same = collapsed.arc_of
    if first.arcs and bands.best is None:
        bands.try_within(collapsed.members(first.arcs))
        if bands.best is None:
            bands.repair(_first_member(linear, collapsed, first), _left_out(linear, collapsed))
    return replace(bands.answer(), deterministic_time=noted.work)


def _first_member(linear: Linear, collapsed: Collapsed, small: Answer) -> Answer:
    """One full arc for every small arc of a path; they need not join in facing."""
    chosen = np.flatnonzero(collapsed.members(small.arcs) & linear.usable)
    _, first = np.unique(collapsed.arc_of[chosen], return_index=True)
    return replace(small, arcs=tuple(chosen[first].tolist()))


def _left_out(linear: Linear, collapsed: Collapsed) -> Flags:
    """All rows of the demands that the small problem does not know in full."""
    left = np.ones(len(linear.least), dtype=np.bool_)
    left[collapsed.rows] = False
    soft: Flags = np.isin(linear.owner, linear.owner[left]) & (linear.owner >= 0)
    return soft


class _Bands:
    def __init__(
        self,
        linear: Linear,
        proofs: Priced,
        limits: Limits,
        watch: Watch | None,
        noted: Effort,
        known: Answer | None,
    ) -> None:
        self.linear, self.proofs, self.limits, self.watch, self.noted = linear, proofs, limits, watch, noted
        self.best = known
        self.ceiling = proofs.bound
        if noted.first_ceiling is None:
            noted.first_ceiling = proofs.bound
        self.left = limits.work
        through = proofs.through_scaled[linear.usable] // SCALE
        self.levels = np.sort(through)[::-1]
        """Whole points reachable through each usable arc, best first."""
        self.same: Ints = np.arange(len(linear.points))
        self.polished = False

    def walk(self, smaller: Smaller | None = None) -> None:
        """A routine and a ceiling by walks that know the floor; often all there is to do."""
        limits = replace(self.limits, work=self.left * 2 / 3)
        gap = 0 if self.best is None else self.ceiling - self.best.score
        good = None if self.best is None or GOOD * gap > abs(self.best.score) else self.best
        found = walked(self.linear, self.proofs, limits, self.watch, good, smaller, self.left / 3)
        self.take(Searched(found.best, found.work), told=True)
        self.ceiling = min(self.ceiling, found.ceiling)

    @property
    def done(self) -> bool:
        """Whether the routine in hand is proved best."""
        return self.best is not None and self.best.score >= self.ceiling

    def try_within(self, keep: Flags) -> None:
        """Look for a routine among few arcs; proves nothing about the others."""
        few = self.linear.narrowed(keep)
        if few.feasible_path:
            answer = Built(few, ceiling=self.ceiling).solve(replace(self.limits, work=self.left / 4), self.heard())
            self.left -= answer.deterministic_time
            self.noted.work += answer.deterministic_time
            if answer.verdict in ("best", "good"):
                self.best = answer

    def repair(self, start: Answer, soft: Flags) -> None:
        """A first routine from the best path that forgets some rows; the narrowest band with any first."""
        if not soft.any():
            return
        seen = -1
        for arcs in REPAIR_ARCS:
            floor = min(int(self.levels[min(arcs, len(self.levels)) - 1]), start.score, self.ceiling)
            keep = self.proofs.can_reach(floor)
            band = self.linear.narrowed(keep)
            if self.best is not None or int(keep.sum()) == seen or not band.feasible_path:
                continue
            seen = int(keep.sum())
            limits = replace(self.limits, work=min(self.left, self.limits.work / 10))
            self.take(repaired(band, start, self.same, soft, floor, limits))

    def polish(self) -> None:
        """A better routine by stretches, once, where much is left to prove."""
        if self.polished or self.best is None or self.best.score >= self.ceiling:
            return
        if int((self.levels > self.best.score).sum()) <= POLISH_ARCS:
            return
        self.polished = True
        band = self.linear.narrowed(self.proofs.can_reach(self.best.score + 1))
        if band.feasible_path:
            limits = replace(self.limits, work=self.left / 3)
            self.take(improved(band, self.best, self.same, self.ceiling, limits, self.heard()))

    def take(self, searched: Searched, *, told: bool = False) -> None:
        self.left -= searched.work
        self.noted.work += searched.work
        found = searched.answer
        if found is not None and (self.best is None or found.score > self.best.score):
            self.best = found
            if self.watch is not None and not told:
                self.watch(found.score, self.ceiling)

    def answer(self) -> Answer:
        size = FIRST_BAND
        while self.left > 0:
            self.polish()
            floor = None if self.best is None else self.best.score + 1
            if floor is not None and floor > self.ceiling:
                break
            cut = self.cut(size, floor)
            keep = self.proofs.can_reach(cut)
            band = self.linear.narrowed(keep)
            whole = (floor is not None and cut <= floor) or bool(keep[self.linear.usable].all())
            answer = self.solved(band, floor, whole)
            if answer.verdict in ("best", "good") and (self.best is None or answer.score > self.best.score):
                self.best = answer
            if answer.verdict == "none" and whole:
                self.ceiling = self.ceiling if self.best is None else self.best.score
                if self.best is None:
                    return replace(answer, deterministic_time=self.noted.work)
            elif answer.verdict in ("best", "none"):
                reached = answer.score if answer.verdict == "best" else cut - 1
                self.ceiling = min(self.ceiling, reached if whole else max(cut - 1, reached))
            elif whole:
                if answer.bound is not None:
                    self.ceiling = min(self.ceiling, answer.bound)
                break
            size = max(GROWTH * int(band.usable.sum()), GROWTH * size)
        return self.summary()

    def cut(self, size: int, floor: int | None) -> int:
        """Points such that about ``size`` arcs can reach them; never below the floor, never above the ceiling."""
        cut = int(self.levels[min(size, len(self.levels)) - 1])
        if size * GROWTH // 2 >= len(self.levels) and floor is None:
            cut = int(self.levels[-1])
        lowest = cut if floor is None else floor
        if floor is not None and int((self.levels >= floor).sum()) <= GROWTH * size:
            cut = floor
        return min(max(cut, lowest), self.ceiling)

    def solved(self, band: Linear, floor: int | None, whole: bool) -> Answer:
        if not band.feasible_path:
            return Answer("none")
        self.noted.bands += 1
        self.noted.arcs_in_last_band = int(band.usable.sum())
        work = self.left if whole else min(self.left, max(self.limits.work / 4, self.left / 2))
        answer = Built(band, floor=floor, ceiling=self.ceiling).solve(replace(self.limits, work=work), self.heard())
        self.left -= answer.deterministic_time
        self.noted.work += answer.deterministic_time
        return answer

    def heard(self) -> Callable[[int, int], None] | None:
        """The bound of a band is none of the whole problem: report the proven ceiling instead."""
        watch = self.watch
        return None if watch is None else lambda score, _: watch(score, self.ceiling)

    def summary(self) -> Answer:
        if self.best is None:
            return Answer("unknown", bound=self.ceiling, deterministic_time=self.noted.work)
        proved = self.best.score >= self.ceiling
        verdict = "best" if proved else "good"
        bound = max(self.ceiling, self.best.score)
        return replace(self.best, verdict=verdict, bound=bound, deterministic_time=self.noted.work)  # type: ignore[arg-type]


def reachable(proofs: Priced, score: int) -> Flags:
    """Arcs a routine of at least ``score`` points may use (for tests and benchmarks)."""
    return proofs.can_reach(score)
