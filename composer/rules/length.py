"""The figures fill the music exactly: no gap, no overlap, nothing cut short. Follows from the music, a law.

The network only has paths from the first danced beat to the end of the last, so the demand states no rows; it is
listed so that explanations can name it. Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable

from composer.network.model import Network
from composer.problem import Problem
from composer.routine import Routine
from composer.rules.base import Breach, Demand, Example, Points, Stated
from composer.rules.look import call, count_of
from composer.units import TICKS_PER_BEAT, count_at, count_text

NAME = "length"
FILLS = f"{NAME}:fills"

EXAMPLES = (
    Example("sixteen counts are filled", ("four", "four", "eight")),
    Example("two counts are missing at the end", ("four", "four", "six"), good=False),
    Example("the last figure runs two counts over", ("four", "eight", "six"), good=False),
    Example("nothing is danced", (), good=False),
)


def state(problem: Problem, network: Network) -> Stated:
    """One law without rows, for explanations."""
    return Stated(demands=(Demand(FILLS, _sentence(problem), problem.where("music"), law=True),))


def _sentence(problem: Problem) -> str:
    return f"The figures fill the {problem.length_ticks // TICKS_PER_BEAT} counts of the music exactly"


def breaches(problem: Problem, routine: Routine) -> list[Breach]:
    """Gaps, overlaps, figures of the wrong length, and a wrong end."""
    where, found = problem.where("music"), []

    def add(tick: int, message: str) -> None:
        found.append(Breach(FILLS, message, count=count_of(tick), where=where, law=True))

    if not routine.figures:
        add(0, "the routine has no figures")
        return found
    at = 0
    for placed in routine.figures:
        name = call(problem, placed.figure)
        if placed.start_tick != at:
            kind = "a gap" if placed.start_tick > at else "an overlap"
            add(
                placed.start_tick, f"there is {kind} before {name}: it should begin on count {count_text(count_at(at))}"
            )
        figure = problem.catalogue.figures.get(placed.figure)
        if figure is not None and placed.end_tick - placed.start_tick != figure.length_ticks:
            add(placed.start_tick, f"{name} takes {figure.chart.beats} counts")
        at = placed.end_tick
    if at != problem.length_ticks:
        beats = abs(problem.length_ticks - at) // TICKS_PER_BEAT
        over = "too long" if at > problem.length_ticks else "too short"
        add(at, f"the routine is {beats} counts {over}: the music has {problem.length_ticks // TICKS_PER_BEAT} counts")
    if routine.length_ticks != problem.length_ticks:
        add(0, "the routine was made for music of another length")
    return found


def points(problem: Problem, routine: Routine) -> Iterable[Points]:
    """No score."""
    return ()
