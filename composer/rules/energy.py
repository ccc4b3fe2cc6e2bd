"""Quiet figures in quiet music, big ones where the music is big.

Score ``energy``: for every count of a figure 3 points times the weight ``energy`` when the figure's energy (1 to 5) is
that of the section, 2 when it is one off, 1 when two off, otherwise none; nothing where the section's energy is not
known. Counted per count, so that many short figures gain nothing over few long ones.
Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import accumulate

import numpy as np

from composer.network.model import Network
from composer.problem import Problem
from composer.routine import Routine
from composer.rules.base import Breach, Example, Points, Stated, Term
from composer.rules.look import danced
from composer.rules.weights import nonzero
from composer.units import TICKS_PER_BEAT

NAME = "energy"
TERM = "energy"
BEST = 3

EXAMPLES = (Example("a poor match is no breach", ("four", "four", "eight"), music={"energies": [5, 1]}),)


def state(problem: Problem, network: Network) -> Stated:
    """The term ``energy``."""
    weight, music = problem.brief.wishes.weights.energy, problem.timeline
    if not weight or all(section.energy is None for section in music.sections):
        return Stated()
    first, known = music.usable[0], [0] * music.length_beats
    for section in music.sections:
        for beat in range(max(0, section.start - first), min(len(known), section.start - first + section.beats)):
            known[beat] = section.energy or 0
    sums = {
        energy: list(accumulate((max(0, BEST - abs(energy - e)) if e else 0 for e in known), initial=0))
        for energy in range(1, 6)
    }
    table, figures = network.table, problem.catalogue.figures
    runs = np.array([sums[figures[name].chart.energy if name else 1] for name in table.names], dtype=np.int32)
    figure, own = table.figure[table.danced], table.danced
    worth = runs[figure, table.end[own] // TICKS_PER_BEAT] - runs[figure, table.start[own] // TICKS_PER_BEAT]
    weights = nonzero(own, weight * worth)
    return Stated(terms=(Term(TERM, "Energy: figures as lively as their section, count by count", weights),))


def breaches(problem: Problem, routine: Routine) -> list[Breach]:
    """Nothing is demanded."""
    return []


def points(problem: Problem, routine: Routine) -> Iterable[Points]:
    """The term ``energy``, count by count."""
    weight, music = problem.brief.wishes.weights.energy, problem.timeline
    if not weight or all(section.energy is None for section in music.sections):
        return ()
    given = [0] * len(routine.figures)
    for index, placed, figure in danced(problem, routine):
        for tick in range(max(0, placed.start_tick), min(placed.end_tick, problem.length_ticks), TICKS_PER_BEAT):
            beat = music.usable[0] + tick // TICKS_PER_BEAT
            for section in music.sections:
                if section.start <= beat < section.start + section.beats and section.energy is not None:
                    given[index] += weight * max(0, BEST - abs(section.energy - figure.chart.energy))
    return (Points(TERM, sum(given), tuple(given)),)
