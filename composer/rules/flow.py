"""Smooth joins: fewer hands let go between figures.

Score ``flow``: less 2 points times the weight ``flow`` wherever hands are let go so that the next figure can begin (the
hold of a figure's end is not the hold of the next one's beginning). Taken from the later figure.
Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise

from composer.network.model import Network
from composer.problem import Problem
from composer.routine import Routine
from composer.rules.base import Breach, Example, Points, Stated, Term, Var
from composer.rules.look import danced

NAME = "flow"
TERM = "flow"
POINTS = -2

EXAMPLES = (Example("letting go costs points only", ("open-out", "one-hand", "one-hand", "one-hand")),)


def state(problem: Problem, network: Network) -> Stated:
    """The term ``flow``."""
    weight = POINTS * problem.brief.wishes.weights.flow
    if not weight:
        return Stated()
    weights: dict[Var, int] = {}
    for arc in network.arcs:
        stand = network.nodes[arc.tail].stand
        if arc.figure and stand is not None:
            need = problem.catalogue.figures[arc.figure].chart.entry.hold
            changes = problem.both_lead and network.changes_lead(arc)
            if problem.catalogue.lets_go(stand.hold, need, swapped=changes):
                weights[arc.id] = weight
    return Stated(terms=(Term(TERM, "Flow: joins at which hands are let go cost points", weights),))


def breaches(problem: Problem, routine: Routine) -> list[Breach]:
    """Nothing is demanded."""
    return []


def points(problem: Problem, routine: Routine) -> Iterable[Points]:
    """The term ``flow``."""
    weight = POINTS * problem.brief.wishes.weights.flow
    if not weight:
        return ()
    given = [0] * len(routine.figures)
    known = list(danced(problem, routine))
    for (before_at, was, before), (index, placed, figure) in pairwise(known):
        have, need = before.chart.exit.hold, figure.chart.entry.hold
        changes = was.swapped != placed.swapped
        if index == before_at + 1 and problem.catalogue.lets_go(have, need, swapped=changes):
            given[index] = weight
    return (Points(TERM, sum(given), tuple(given)),)
