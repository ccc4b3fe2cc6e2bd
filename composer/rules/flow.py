"""Smooth joins: fewer hands let go between figures.

Score ``flow``: less 2 points times the weight ``flow`` wherever hands are let go so that the next figure can begin (the
hold of a figure's end is not the hold of the next one's beginning). Taken from the later figure.
Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise

import numpy as np

from composer.network.model import Network
from composer.problem import Problem
from composer.routine import Routine
from composer.rules.base import Breach, Example, Points, Stated, Term
from composer.rules.look import danced, each
from composer.rules.weights import nonzero

NAME = "flow"
TERM = "flow"
POINTS = -2

EXAMPLES = (Example("letting go costs points only", ("open-out", "one-hand", "one-hand", "one-hand")),)


def state(problem: Problem, network: Network) -> Stated:
    """The term ``flow``."""
    weight = POINTS * problem.brief.wishes.weights.flow
    if not weight:
        return Stated()
    table, catalogue, nodes = network.table, problem.catalogue, network.nodes
    holds = sorted(catalogue.holds)
    number = {hold: k for k, hold in enumerate(holds)}
    have = np.array([-1 if n.stand is None else number[n.stand.hold] for n in nodes], dtype=np.int32)
    led = np.array([node.swapped for node in nodes], dtype=np.int32)
    need = np.array([number[catalogue.figures[f].chart.entry.hold] if f else 0 for f in table.names], dtype=np.int32)
    own = table.danced[table.tail[table.danced] != network.source]
    changes = (led[table.tail[own]] != table.swapped[own]) & problem.both_lead

    def let_go(had: int, needed: int, swapped: int) -> int:
        return weight * catalogue.lets_go(holds[had], holds[needed], swapped=bool(swapped))

    costs = each(let_go, have[table.tail[own]], need[table.figure[own]], changes.astype(np.int32))
    weights = nonzero(own, costs)
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
