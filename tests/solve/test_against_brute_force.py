"""On tiny problems the solver's answer is brute force's: feasible or not, and the best score."""

from __future__ import annotations

import pytest
from hypothesis import assume, given, settings

from composer.outcome import Found, NoRoutine
from composer.problem import Problem
from composer.rules import breaches_of, points_of
from composer.solve import solve
from tests.builders import tiny_problems
from tests.solve.brute import TooMany, best_score


@given(tiny_problems())
@settings(max_examples=50)
def test_same_answer_as_brute_force(problem: Problem) -> None:
    check(problem)


@given(tiny_problems(both_lead=True, most_beats=16))
@settings(max_examples=100)
def test_same_answer_where_both_lead(problem: Problem) -> None:
    check(problem)


@pytest.mark.slow
@given(tiny_problems(both_lead=True))
@settings(max_examples=350)
def test_same_answer_where_both_lead_on_many(problem: Problem) -> None:
    check(problem)


@pytest.mark.slow
@given(tiny_problems())
@settings(max_examples=350)
def test_same_answer_as_brute_force_on_many(problem: Problem) -> None:
    check(problem)


def check(problem: Problem) -> None:
    """The solver's verdict and score are those of trying every sequence of figures."""
    try:
        wanted = best_score(problem)
    except TooMany:
        assume(False)
        return
    outcome = solve(problem)
    if wanted is None:
        assert isinstance(outcome, NoRoutine)
        return
    assert isinstance(outcome, Found)
    assert outcome.proven_best
    assert outcome.routine.score == outcome.bound == wanted
    assert breaches_of(problem, outcome.routine) == []
    assert sum(p.total for p in points_of(problem, outcome.routine)) == wanted
