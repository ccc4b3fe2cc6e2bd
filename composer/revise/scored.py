"""A routine with the score card that its brief gives it, computed by the rules' checkers alone."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from composer.problem import Problem
from composer.routine import Routine
from composer.rules.base import carded


def scored(problem: Problem, routine: Routine, sentences: Mapping[str, str] | None = None) -> Routine:
    """The same figures, with score, score card and digests of this problem.

    Parameters
    ----------
    sentences : what each term says, by key; those of the old score card when left out.
    """
    from composer.rules import points_of

    words = {line.term: line.sentence for line in routine.score_card} | dict(sentences or {})
    return replace(
        carded(routine, points_of(problem, routine), words),
        title=problem.brief.title,
        dances=problem.brief.dances,
        length_ticks=problem.length_ticks,
        brief_digest=problem.document.digest,
        catalogue_digest=problem.catalogue.digest,
    )
