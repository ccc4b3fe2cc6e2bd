"""A routine with the score card that its brief gives it, computed by the rules' checkers alone."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import replace

from composer.problem import Problem
from composer.routine import Routine, ScoreLine
from composer.textfiles import json_text


def brief_digest(problem: Problem) -> str:
    """What a routine record says about the brief it was made for."""
    return hashlib.sha256(json_text(problem.document.data).encode()).hexdigest()[:16]


def scored(problem: Problem, routine: Routine, sentences: Mapping[str, str] | None = None) -> Routine:
    """The same figures, with score, score card and digests of this problem.

    Parameters
    ----------
    sentences : what each term says, by key; those of the old score card when left out.
    """
    from composer.rules import points_of

    words = {line.term: line.sentence for line in routine.score_card} | dict(sentences or {})
    card = tuple(
        ScoreLine(p.term, words.get(p.term, p.term), p.total, p.by_figure) for p in points_of(problem, routine)
    )
    return replace(
        routine,
        title=problem.brief.title,
        dances=problem.brief.dances,
        length_ticks=problem.length_ticks,
        score=sum(line.points for line in card),
        score_card=card,
        brief_digest=brief_digest(problem),
        catalogue_digest=problem.catalogue.digest,
    )
