"""Why a figure is not (there) in the routine: it cannot be, or it can at a price.

The question becomes one more wish ("it is danced", "it begins on that count"). Without a routine for the brief and this
wish the clashes that contain the wish say why, and remedies what would have to give; otherwise the best routine with
the figure is compared with the best without being asked for it.
"""

from __future__ import annotations

import time
from collections import Counter
from dataclasses import dataclass, replace
from typing import Final

from composer.brief.schema import Must
from composer.explain.elsewhere import nearer, spans
from composer.explain.finer import must_key
from composer.explain.why import explain
from composer.outcome import Found, NoRoutine
from composer.problem import Problem
from composer.routine import Routine
from composer.rules.look import call
from composer.solve import solve
from composer.units import TICKS_PER_BEAT
from composer.verify import verify

SHARE: Final = 0.4
"""Part of the time for each of the two routines."""
NEARER: Final = 0.2
"""Part of the time for a routine as good that changes less."""


@dataclass(frozen=True)
class Already:
    """The figure is in the best routine (there) anyway; ``counts`` are where it begins."""

    routine: Routine
    proven_best: bool
    counts: tuple[int, ...]


@dataclass(frozen=True)
class AtAPrice:
    """Possible. ``lost`` points; ``exact`` when both routines are proved best; ``by_term`` (term, points lost).

    ``leaves`` and ``comes`` are figures with the number of times they go and come; ``stands_there`` what the best
    routine dances on that count.
    """

    best: Routine
    with_it: Routine
    lost: int
    exact: bool
    by_term: tuple[tuple[str, int], ...]
    leaves: tuple[tuple[str, int], ...]
    comes: tuple[tuple[str, int], ...]
    counts: tuple[int, ...]
    stands_there: str | None = None


@dataclass(frozen=True)
class Impossible:
    """With this wish no routine exists: the clashes it takes part in, and what would help while it stays."""

    why: NoRoutine


@dataclass(frozen=True)
class NoRoutineAnyway:
    """The brief has no routine, with or without the figure."""

    why: NoRoutine


@dataclass(frozen=True)
class Unknown:
    """Time ran out; ``about`` says for which of the two routines."""

    about: str
    seconds: float


Answer = Already | AtAPrice | Impossible | NoRoutineAnyway | Unknown


def why_figure(
    problem: Problem, figure: str, *, at: int | None = None, time_limit_s: float = 20.0, seed: int = 0
) -> Answer:
    """Why a figure (its id) is not in the routine, or does not begin on count ``at``."""
    began = time.monotonic()
    wish = Must(figure=figure, at=at)
    asked = with_must(problem, wish)
    first = solve(problem, seed=seed, time_limit_s=SHARE * time_limit_s)
    if isinstance(first, NoRoutine):
        return NoRoutineAnyway(explain(problem, time_limit_s=time_limit_s, seed=seed))
    best = first.routine if isinstance(first, Found) else first.best_so_far
    if best is None:
        return Unknown("the best routine without asking for it", time.monotonic() - began)
    counts = starts_of(best, figure)
    if counts and (at is None or at in counts):
        return Already(best, isinstance(first, Found) and first.proven_best, counts)
    second = solve(asked, seed=seed, time_limit_s=SHARE * time_limit_s)
    if isinstance(second, NoRoutine):
        found = explain(asked, time_limit_s=time_limit_s, seed=seed)
        key = must_key(figure, at)
        mine = tuple(c for c in found.clashes if any(m.key.startswith(key) for m in c.members)) or found.clashes
        kept = tuple(r for r in found.remedies if _keeps(r.sentence, call(problem, figure)))
        return Impossible(NoRoutine(mine, kept))
    routine = second.routine if isinstance(second, Found) else second.best_so_far
    if routine is None:
        return Unknown("the best routine with it", time.monotonic() - began)
    if breaches := verify(asked, routine):
        raise ValueError(f"the routine with the figure breaks {breaches[0].key}")
    if len(spans(best.figures, routine.figures)) > 1:
        routine = nearer(asked, best, routine, time_limit_s=NEARER * time_limit_s, seed=seed) or routine
    exact = isinstance(first, Found) and first.proven_best and isinstance(second, Found) and second.proven_best
    return _price(problem, best, routine, figure, at, exact)


def _keeps(sentence: str, name: str) -> bool:
    """Whether a remedy still dances the figure; one that gives it up again is none here."""
    return f"o without {name}" not in sentence


def with_must(problem: Problem, wish: Must) -> Problem:
    """The problem with one figure more that has to occur."""
    wishes = problem.brief.wishes
    more = wishes.model_copy(update={"must": (*wishes.must, wish)})
    return replace(problem, brief=problem.brief.model_copy(update={"wishes": more}))


def starts_of(routine: Routine, figure: str) -> tuple[int, ...]:
    """Counts on which a figure begins."""
    return tuple(p.start_tick // TICKS_PER_BEAT + 1 for p in routine.figures if p.figure == figure)


def _price(problem: Problem, best: Routine, other: Routine, figure: str, at: int | None, exact: bool) -> AtAPrice:
    before, after = Counter(p.figure for p in best.figures), Counter(p.figure for p in other.figures)
    points = {line.term: line.points for line in other.score_card}
    lost = [(line.term, line.points - points.get(line.term, 0)) for line in best.score_card]
    there = None
    if at is not None:
        tick = (at - 1) * TICKS_PER_BEAT
        there = next((p.figure for p in best.figures if p.start_tick <= tick < p.end_tick), None)
    return AtAPrice(
        best,
        other,
        best.score - other.score,
        exact,
        tuple((term, number) for term, number in lost if number),
        tuple(sorted((before - after).items())),
        tuple(sorted((after - before).items())),
        starts_of(other, figure),
        there,
    )
