"""One explanation of every kind, as told: for the reading test and for the browser."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from composer.cli.heretell import told_here
from composer.cli.whytell import told_brief, told_figure
from composer.explain.elsewhere import Undecided
from composer.explain.figure import AtAPrice, Impossible, Unknown, why_figure
from composer.explain.here import why_here
from composer.explain.why import Open, why
from composer.outcome import Found, NoRoutine
from composer.problem import Problem
from composer.report.whypage import Told
from composer.solve import solve
from tests.builders import a_figure, a_problem, a_routine, a_timeline


def three_clashes() -> Problem:
    """A figure too often, a figure on a count it cannot begin on, a figure that is asked for and ruled out."""
    figures = [
        a_figure("four", beats=4), a_figure("side", beats=4), a_figure("eight", beats=8), a_figure("dip", beats=4),
    ]  # fmt: skip
    wishes = {
        "must": [{"figure": "four", "times": 4}, {"figure": "eight", "at": 15}, "dip"],
        "never": ["dip"],
        "repeats": {"most": 3},
        "protect": "sections",
    }
    music = a_timeline(12, sections=[(4, "A", None), (8, "B", None)])
    return a_problem(figures, wishes, None, None, music)


def a_good_one(**more: object) -> Problem:
    """A brief with routines; one figure nobody likes, one nobody has learned, one for the second half of a bar."""
    figures = [
        a_figure("Basic", beats=4),
        a_figure("Side basic", beats=4),
        a_figure("Grapevine", beats=8),
        a_figure("Late tap", beats=4, starts_on=(3,)),
        a_figure("Hard spin", beats=4, level=3),
    ]
    wishes = {"prefer": {"test/Side basic": 10, "test/Grapevine": -20}, **more}
    return a_problem(figures, wishes, None, {"leader": {"level": 2}, "follower": {"level": 2}}, a_timeline(4))


def _figures() -> dict[str, Told]:
    problem = a_good_one()
    dear = why_figure(problem, "test/Grapevine")
    assert isinstance(dear, AtAPrice)
    there = why_figure(problem, "test/Grapevine", at=5)
    assert isinstance(there, AtAPrice)
    hard = why_figure(problem, "test/Hard spin")
    assert isinstance(hard, Impossible)
    late = why_figure(problem, "test/Late tap", at=5)
    assert isinstance(late, Impossible)
    return {
        "figure-price": told_figure(problem, "test/Grapevine", None, dear),
        "figure-price-at": told_figure(problem, "test/Grapevine", 5, there),
        "figure-impossible": told_figure(problem, "test/Hard spin", None, hard),
        "figure-impossible-at": told_figure(problem, "test/Late tap", 5, late),
        "figure-undecided": told_figure(problem, "test/Grapevine", None, Unknown("the best routine with it", 20.0)),
    }


def _counts() -> dict[str, Told]:
    problem = a_good_one()
    outcome = solve(problem)
    assert isinstance(outcome, Found)
    best = why_here(problem, outcome.routine, 5)
    asked = a_good_one(must=[{"figure": "Grapevine", "at": 5}])
    routine = a_routine(asked, ["Basic", "Grapevine", "Side basic"])
    fixed = why_here(asked, routine, 6)
    worse = why_here(problem, a_routine(problem, ["Basic", "Grapevine", "Basic"]), 6)
    return {
        "count": told_here(problem, outcome.routine, 5, best),
        "count-asked-for": told_here(asked, routine, 6, fixed),
        "count-better": told_here(problem, routine, 6, worse),
        "count-undecided": told_here(problem, outcome.routine, 5, replace(best, free=Undecided(20.0), kept=None)),
    }


@cache
def the_pages() -> dict[str, Told]:
    """Name and explanation."""
    clashing = three_clashes()
    several = why(clashing)
    assert isinstance(several, NoRoutine)
    open_one = a_good_one(at_least_different=2, must=["test/Basic"])
    undecided = why(open_one, time_limit_s=0.0)
    assert isinstance(undecided, Open)
    return {
        "several": told_brief(clashing, several),
        "undecided": told_brief(open_one, undecided),
        **_figures(),
        **_counts(),
    }
