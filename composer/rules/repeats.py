"""How often a figure comes back, and how soon.

Asks: no figure comes more than ``repeats.most`` times; between the end of a figure and its next beginning lie at least
``repeats.apart`` counts of other figures. Source: the user's own wishes; judges and audiences tire of repeats (common
practice, no source).

Linear form of ``apart``: two beginnings of a figure of length L lie at least L + apart counts from each other exactly
when every stretch of time of that length, its end left out, holds at most one beginning. Only stretches that hold a
beginning no earlier stretch held are stated.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from composer.network.model import Network
from composer.network.table import Numbers
from composer.problem import Problem
from composer.routine import Routine
from composer.rules.base import Breach, Change, Demand, Example, Points, Row, Stated
from composer.rules.look import call, count_of, said, stretches, times
from composer.rules.weights import Weights
from composer.units import TICKS_PER_BEAT

NAME = "repeats"
MOST, APART = f"{NAME}:most", f"{NAME}:apart"

EXAMPLES = (
    Example("twice is at most twice", ("four", "four", "eight"), wishes={"repeats": {"most": 2}}),
    Example("three times is not", ("four", "four", "four", "side"), wishes={"repeats": {"most": 2}}, good=False),
    Example("four counts apart", ("four", "side", "four", "side"), wishes={"repeats": {"apart": 4}}),
    Example("five counts apart", ("four", "side", "four", "side"), wishes={"repeats": {"apart": 5}}, good=False),
    Example("not at once", ("four", "four", "eight"), wishes={"repeats": {"apart": 1}}, good=False),
)


def state(problem: Problem, network: Network) -> Stated:
    """One demand for ``most``, one for ``apart``, each only when asked for."""
    wish, demands = problem.brief.wishes.repeats, []
    table = network.table
    arcs = table.by_figure
    if wish.most is not None:
        rows = tuple(
            Row(Weights(own), most=wish.most)
            for identity, own in arcs.items()
            if problem.length_ticks // problem.catalogue.figures[identity].length_ticks > wish.most
        )
        where = said(problem, "wishes", "repeats", "most")
        demands.append(Demand(MOST, f"No figure comes more than {times(wish.most)}", where, rows=rows))
    if wish.apart:
        rows = tuple(
            Row(weights, most=1)
            for identity, own in arcs.items()
            for weights in _returns(own, table.start[own], problem.catalogue.figures[identity].length_ticks, wish.apart)
        )
        where = said(problem, "wishes", "repeats", "apart")
        demands.append(Demand(APART, _apart_sentence(wish.apart), where, rows=rows))
    return Stated(demands=tuple(demands))


def breaches(problem: Problem, routine: Routine) -> list[Breach]:
    """One breach per figure that comes too often, and per return that comes too soon."""
    wish, found = problem.brief.wishes.repeats, []
    number: dict[str, int] = {}
    ended: dict[str, int] = {}
    for placed in routine.figures:
        name, count = call(problem, placed.figure), count_of(placed.start_tick)
        number[placed.figure] = number.get(placed.figure, 0) + 1
        if wish.most is not None and number[placed.figure] == wish.most + 1:
            where = said(problem, "wishes", "repeats", "most")
            found.append(Breach(MOST, f"{name} comes more than {times(wish.most)}", count, where))
        if wish.apart and placed.figure in ended:
            gap = (placed.start_tick - ended[placed.figure]) // TICKS_PER_BEAT
            if gap < wish.apart:
                where = said(problem, "wishes", "repeats", "apart")
                message = f"{name} comes back after {gap} counts; {wish.apart} are wanted"
                found.append(Breach(APART, message, count, where))
        ended[placed.figure] = placed.end_tick
    return found


def softer(problem: Problem, key: str) -> list[Change]:
    """More repeats, or sooner ones."""
    wish = problem.brief.wishes.repeats
    if key == MOST and wish.most is not None:
        path, most = ("wishes", "repeats", "most"), wish.most
        found = [Change(key, f"let figures come up to {times(most + n)}", path, most + n, 1 + n) for n in (1, 2, 4)]
        return [*found, Change(key, "let figures come as often as they like", path, None, 6)]
    if key == APART:
        return [
            Change(key, _apart_change(apart), ("wishes", "repeats", "apart"), apart, 2 if apart else 4)
            for apart in sorted({wish.apart // 2, 0}, reverse=True)
        ]
    return []


def _apart_change(apart: int) -> str:
    return f"let a figure come back after {apart} counts" if apart else "let a figure be repeated at once"


def points(problem: Problem, routine: Routine) -> Iterable[Points]:
    """No score."""
    return ()


def _apart_sentence(apart: int) -> str:
    if apart == 1:
        return "No figure is repeated at once"
    return f"At least {apart} counts of other figures lie between two of the same"


def _returns(own: Numbers, starts: Numbers, length: int, apart: int) -> Iterator[Weights]:
    """Stretches in which a figure may begin once: its own length and the counts that lie between."""
    return stretches(own, starts, length + apart * TICKS_PER_BEAT, length)
