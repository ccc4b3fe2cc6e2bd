"""Figures the couple likes, or would rather not dance: points every time one comes.

Score ``favoured``: the number given under ``prefer`` (-20 to 20) each time the figure is danced; 15 is about what the
usual weight of variety gives for one more figure. Source: the user's own wishes, no source needed.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from composer.network.model import Network
from composer.problem import Problem
from composer.routine import Routine
from composer.rules.base import Breach, Example, Points, Stated, Term
from composer.rules.look import danced, figure_id
from composer.rules.weights import nonzero

NAME = "preferences"
TERM = "favoured"

EXAMPLES = (Example("a liking is no demand", ("four", "four", "eight"), wishes={"prefer": {"test/four": -20}}),)


def state(problem: Problem, network: Network) -> Stated:
    """The term ``favoured``."""
    worth = _worth(problem)
    if not worth:
        return Stated()
    table = network.table
    by_figure = np.array([worth.get(name, 0) for name in table.names], dtype=np.int32)
    weights = nonzero(table.danced, by_figure[table.figure[table.danced]])
    return Stated(terms=(Term(TERM, "Favoured: figures the brief prefers, every time they are danced", weights),))


def breaches(problem: Problem, routine: Routine) -> list[Breach]:
    """Nothing is demanded."""
    return []


def points(problem: Problem, routine: Routine) -> Iterable[Points]:
    """The term ``favoured``."""
    if not problem.brief.wishes.prefer:
        return ()
    given = [0] * len(routine.figures)
    for index, _, figure in danced(problem, routine):
        given[index] = sum(
            points for name, points in problem.brief.wishes.prefer.items() if figure_id(problem, name) == figure.id
        )
    return (Points(TERM, sum(given), tuple(given)),)


def _worth(problem: Problem) -> dict[str, int]:
    """Points by figure id; a figure named twice (by id and by stem) adds up."""
    found: dict[str, int] = {}
    for name, points in problem.brief.wishes.prefer.items():
        identity = figure_id(problem, name)
        found[identity] = found.get(identity, 0) + points
    return found
