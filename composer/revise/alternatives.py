"""Several routines for one brief that really differ, each nearly as good as the best.

Two routines differ on a count when they do not dance the same part of the same figure on it; their distance is the
share of such counts. Routines are found one after the other: each is at least ``different`` from every one before it
and at most ``within`` below the best score, and among those has the highest score, or most points in a style. When
there is no further one, that is a proof about the routines chosen so far, not about every choice of that many.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from composer.network import build
from composer.network.model import Network
from composer.outcome import Found, NoRoutine, Undecided
from composer.problem import Problem
from composer.revise.kept import distance, keeping, kept_row
from composer.revise.scored import scored
from composer.revise.styles import Style, stated_style, style_points
from composer.routine import Routine
from composer.rules.base import Breach, Demand, Points, Row, Stated, Term
from composer.units import TICKS_PER_BEAT

FIRST_WORK: Final = 0.2
"""Part of the limit with which a further routine is first looked for; a proof that it is the best is not needed."""


@dataclass(frozen=True)
class Wanted:
    """How many routines, how different (share of counts), how near to the best (share of its score), in what style."""

    number: int = 3
    different: Fraction = Fraction(3, 10)
    within: Fraction = Fraction(1, 20)
    style: Style | None = None


@dataclass(frozen=True)
class Alternative:
    """A routine, its points in the style asked for, and on how many counts it differs from each one before it."""

    routine: Routine
    style_points: int | None
    distances: tuple[int, ...]


@dataclass(frozen=True)
class Alternatives:
    """What was found. ``complete``: as many as wanted; else ``exhausted`` says whether it is proved that no further
    routine differs so much from all of these and is so good.

    ``best`` is the best score known, proved when ``best_proven``; ``least_score`` is what every alternative reaches;
    ``least_different`` the counts, of ``counts``, on which any two differ at least.
    """

    found: tuple[Alternative, ...]
    best: int
    best_proven: bool
    least_score: int
    least_different: int
    counts: int
    complete: bool
    exhausted: bool


def alternatives(
    problem: Problem,
    wanted: Wanted,
    *,
    first: Routine | None = None,
    time_limit_s: float = 20.0,
    seed: int = 0,
    heard: Callable[[int], None] | None = None,
) -> Alternatives | NoRoutine | Undecided:
    """Find routines.

    Parameters
    ----------
    first : a routine that is there already; it counts as the first when it is good enough, and all others differ
        from it.
    time_limit_s : about how long to look for the best one, and for each of the others.
    heard : told the number found so far.
    """
    from composer.rules import state_all

    network = build(problem)
    stated = state_all(problem, network)
    search = _Search(problem, network, stated, seed)
    best = search.found(stated.terms, (), time_limit_s, search.points)
    if isinstance(best, NoRoutine | Undecided):
        return best
    top = best.bound if best.proven_best else best.routine.score
    counts = problem.length_ticks // TICKS_PER_BEAT
    floor = -(-(top * wanted.within.denominator - abs(top) * wanted.within.numerator) // wanted.within.denominator)
    apart = -(-counts * wanted.different.numerator // wanted.different.denominator)
    chosen: list[Routine] = []
    if first is not None and first.score >= floor:
        chosen.append(first)
    elif wanted.style is None:
        chosen.append(best.routine)
    exhausted = False
    while len(chosen) < wanted.number and not exhausted:
        if heard is not None:
            heard(len(chosen))
        outcome = search.further(chosen, floor, apart, wanted.style, time_limit_s)
        if isinstance(outcome, Undecided):
            break
        if isinstance(outcome, NoRoutine):
            exhausted = True
            break
        chosen.append(scored(problem, replace(outcome.routine, status="good", bound=top), search.sentences))
    found = tuple(
        Alternative(
            routine,
            None if wanted.style is None else style_points(wanted.style, problem, routine).total,
            tuple(distance(other, routine)[0] for other in chosen[:index]),
        )
        for index, routine in enumerate(chosen)
    )
    return Alternatives(
        found, top, best.proven_best, floor, apart, counts, len(chosen) >= wanted.number, exhausted
    )  # fmt: skip


class _Search:
    def __init__(self, problem: Problem, network: Network, stated: Stated, seed: int) -> None:
        self.problem, self.network, self.stated, self.seed = problem, network, stated, seed
        self.sentences = {term.key: term.sentence for term in stated.terms}
        self.score: dict[int | str, int] = {}
        for term in stated.terms:
            for var, points in term.weights.items():
                self.score[var] = self.score.get(var, 0) + points

    def points(self, problem: Problem, routine: Routine) -> list[Points]:
        from composer.rules import points_of

        return list(points_of(problem, routine))

    def further(
        self, chosen: Sequence[Routine], floor: int, apart: int, style: Style | None, time_limit_s: float
    ) -> Found | NoRoutine | Undecided:
        """One more routine, far enough from those chosen and good enough."""
        counts = self.problem.length_ticks // TICKS_PER_BEAT
        demands = [
            Demand("alternatives:score", "The routine is nearly as good as the best", law=True,
                   rows=(Row(self.score, least=floor),))
        ]  # fmt: skip
        for number, routine in enumerate(chosen):
            row = kept_row(keeping(routine, self.problem.length_ticks), self.network, most=counts - apart)
            sentence = f"It differs from routine {number + 1}"
            demands.append(Demand(f"alternatives:differs-{number}", sentence, law=True, rows=(row,)))
        for part in (FIRST_WORK, 1.0) if chosen or style is None else (1.0,):
            if style is None:
                outcome = self.found(self.stated.terms, demands, part * time_limit_s, self.points)
            else:
                extra = stated_style(style, self.problem, self.network)
                outcome = self.found(
                    extra.terms, demands, part * time_limit_s,
                    lambda problem, routine: [style_points(style, problem, routine)], extra,
                )  # fmt: skip
            if not isinstance(outcome, Undecided):
                break
        return outcome

    def found(
        self,
        terms: Sequence[Term],
        demands: Sequence[Demand],
        time_limit_s: float,
        points: Callable[[Problem, Routine], list[Points]],
        extra: Stated | None = None,
    ) -> Found | NoRoutine | Undecided:
        from composer.rules import breaches_of
        from composer.solve.read import Judges
        from composer.solve.solve import limits_for, solve_stated

        more = extra or Stated()
        stated = replace(
            self.stated,
            demands=(*self.stated.demands, *demands),
            unknowns=(*self.stated.unknowns, *more.unknowns),
            unknown_rows=(*self.stated.unknown_rows, *more.unknown_rows),
            terms=tuple(terms),
        )
        limits = limits_for(time_limit_s, self.seed)

        def judged(problem: Problem, routine: Routine) -> list[Breach]:
            return list(breaches_of(problem, routine))

        return solve_stated(self.problem, self.network, stated, Judges(judged, points), limits)
