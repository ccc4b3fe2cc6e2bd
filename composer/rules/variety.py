"""How many different figures a routine has: not too few, not more than can be learned, and points for each.

Asks: at least ``at_least_different`` and at most ``at_most_different`` different figures.
Score ``variety``: 5 points times the weight ``variety`` for every different figure, given where it first comes.
Source: the user's own wishes; variety is what judges and audiences look for (common practice, no source).

Unknown ``variety:used:<figure>`` is 1 when the figure occurs. It can only be 1 when the figure does; the other
direction (an arc makes it 1) is stated only where ``at_most_different`` needs it, in stretches as long as the figure,
in which it can begin once at most. Without it a score pulls the unknown up by itself.
"""

from __future__ import annotations

from collections.abc import Iterable

from composer.network.model import Network
from composer.problem import Problem
from composer.routine import Routine
from composer.rules.base import Breach, Change, Demand, Example, Points, Row, Stated, Term, Unknown
from composer.rules.look import begins, said
from composer.rules.weights import Weights

NAME = "variety"
TERM = "variety"
LEAST, MOST = f"{NAME}:at-least", f"{NAME}:at-most"
POINTS = 5

EXAMPLES = (
    Example("three are at least three", ("four", "side", "eight"), wishes={"at_least_different": 3}),
    Example("two are not", ("four", "four", "eight"), wishes={"at_least_different": 3}, good=False),
    Example("two are at most two", ("four", "four", "eight"), wishes={"at_most_different": 2}),
    Example("three are not", ("four", "side", "eight"), wishes={"at_most_different": 2}, good=False),
)


def state(problem: Problem, network: Network) -> Stated:
    """The two demands when asked for, and the term ``variety``."""
    wishes = problem.brief.wishes
    least, most, worth = wishes.at_least_different, wishes.at_most_different, POINTS * wishes.weights.variety
    if least is None and most is None and not worth:
        return Stated()
    unknowns, ties, names = [], [], []
    for identity, own in network.table.by_figure.items():
        name = f"{NAME}:used:{identity}"
        names.append(name)
        unknowns.append(Unknown(name, 0, 1))
        ties.append(Row(Weights(own, 1, {name: -1}), least=0))
        if most is not None:
            ties += begins(name, network.table, own, problem.catalogue.figures[identity].length_ticks)
    demands = []
    if least is not None:
        where = said(problem, "wishes", "at_least_different")
        rows = (Row(dict.fromkeys(names, 1), least=least),)
        demands.append(Demand(LEAST, f"The routine has at least {_figures(least)}", where, rows=rows))
    if most is not None:
        where = said(problem, "wishes", "at_most_different")
        rows = (Row(dict.fromkeys(names, 1), most=most),)
        demands.append(Demand(MOST, f"The routine has at most {_figures(most)}", where, rows=rows))
    terms = (Term(TERM, "Variety: different figures", dict.fromkeys(names, worth)),) if worth else ()
    return Stated(tuple(demands), tuple(unknowns), tuple(ties), terms)


def breaches(problem: Problem, routine: Routine) -> list[Breach]:
    """Too few or too many different figures."""
    wishes, found = problem.brief.wishes, []
    number = len({placed.figure for placed in routine.figures})
    if wishes.at_least_different is not None and number < wishes.at_least_different:
        where = said(problem, "wishes", "at_least_different")
        message = f"there are {number} different figures; at least {wishes.at_least_different} are wanted"
        found.append(Breach(LEAST, message, where=where))
    if wishes.at_most_different is not None and number > wishes.at_most_different:
        where = said(problem, "wishes", "at_most_different")
        message = f"there are {number} different figures; at most {wishes.at_most_different} are wanted"
        found.append(Breach(MOST, message, where=where))
    return found


def softer(problem: Problem, key: str) -> list[Change]:
    """One, two or four figures fewer or more, or any number."""
    wishes, path = problem.brief.wishes, ("wishes", "at_least_different" if key == LEAST else "at_most_different")
    found = [Change(key, "let the routine have any number of different figures", path, None, 7)]
    for step in (1, 2, 4):
        if key == LEAST and wishes.at_least_different is not None and wishes.at_least_different > step:
            number = wishes.at_least_different - step
            found.append(Change(key, f"be content with {_figures(number)}", path, number, step))
        if key == MOST and wishes.at_most_different is not None:
            number = wishes.at_most_different + step
            found.append(Change(key, f"learn up to {number} different figures", path, number, 1 + step))
    return found


def points(problem: Problem, routine: Routine) -> Iterable[Points]:
    """The term ``variety``, given to the first occurrence of each figure."""
    worth = POINTS * problem.brief.wishes.weights.variety
    if not worth:
        return ()
    seen: set[str] = set()
    given = []
    for placed in routine.figures:
        given.append(worth if placed.figure not in seen else 0)
        seen.add(placed.figure)
    return (Points(TERM, sum(given), tuple(given)),)


def _figures(number: int) -> str:
    return "1 figure" if number == 1 else f"{number} different figures"
