"""One unknown for ties of the same figures: the same best, and an answer with all unknowns of the whole problem."""

from __future__ import annotations

import numpy as np
from hypothesis import given

from composer.problem import Problem
from composer.solve.cpsat import Built
from composer.solve.twins import without_twins
from tests.solve.test_cuts import returning
from tests.solve.test_ties import tied_problems
from tests.solve.test_walks import LIMITS, linear_of


@given(tied_problems())
def test_the_answer_is_one_of_the_whole_problem(problem: Problem) -> None:
    linear = linear_of(problem)
    single = without_twins(linear)
    whole, answer = Built(linear).solve(LIMITS), single.told(Built(single.linear).solve(LIMITS))
    assert (answer.verdict, answer.score) == (whole.verdict, whole.score)
    if answer.verdict != "best":
        return
    danced = np.zeros(len(linear.points), dtype=np.int64)
    danced[list(answer.arcs)] = 1
    values = np.array([answer.values[name] for name in linear.names], dtype=np.int64)
    rows = linear.on_arcs @ danced + linear.on_unknowns @ values
    assert ((linear.least <= rows) & (rows <= linear.most)).all()
    assert linear.score_of(answer.arcs, answer.values) == answer.score


def test_each_pair_of_ticks_and_figure_keeps_one() -> None:
    """Two figures may come again at either of two halves of a bar: four ties, asked for by two families."""
    linear = linear_of(returning())
    single = without_twins(linear)
    assert len(single.stands_for) == 4
    assert len(single.linear.names) == len(linear.names) - 4
    assert len(single.linear.least) == len(linear.least) - 8
    kinds = {(twin.split(":")[0], one.split(":")[0]) for twin, one in single.stands_for.items()}
    assert kinds in ({("returning", "motif")}, {("motif", "returning")})
    assert all(twin.split(":", 1)[1] == one.split(":", 1)[1] for twin, one in single.stands_for.items())


def test_nothing_changes_where_nothing_is_asked_for_twice() -> None:
    linear = linear_of(returning())
    once = without_twins(linear).linear
    assert without_twins(once).linear is once
