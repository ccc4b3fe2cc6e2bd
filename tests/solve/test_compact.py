"""Rows and unknowns that say nothing: without them the same routines, the same points, and no worse bounds."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from hypothesis import assume, given
from hypothesis import strategies as st

from composer.problem import Problem
from composer.solve.compact import compact
from composer.solve.cuts import with_cuts
from composer.solve.linear import OPEN, Linear
from composer.solve.longest import SCALE, Levels, priced, whole_multipliers
from tests.builders import a_figure, a_problem, a_timeline, tiny_problems
from tests.solve.test_ties import scored, tied_problems
from tests.solve.test_walks import linear_of

ANY = st.one_of(tiny_problems(most_figures=5, most_beats=16), tied_problems())


def narrowed(linear: Linear, number: int) -> Linear:
    """With some of the arcs only, so that rows become empty."""
    rng = np.random.default_rng(number)
    return linear.narrowed(rng.random(len(linear.points)) < rng.choice([0.5, 0.8, 1.0]))


@given(ANY, st.integers(0, 1000))
def test_the_same_routines_have_the_same_points(problem: Problem, number: int) -> None:
    linear = narrowed(with_cuts(linear_of(problem)), number)
    assume(linear.feasible_path)
    few = compact(linear).linear
    assert scored(few) == scored(linear)


@given(ANY, st.integers(0, 1000))
def test_no_bound_gets_worse(problem: Problem, number: int) -> None:
    """With any multipliers at all, of either sign."""
    linear = narrowed(with_cuts(linear_of(problem)), number)
    assume(linear.feasible_path)
    prices = whole_multipliers(linear, np.random.default_rng(number).normal(0, 6, len(linear.least)))
    before = priced(linear, Levels(linear), prices)
    less = compact(linear)
    after = priced(less.linear, Levels(less.linear), less.multipliers(prices))
    assert before is not None
    assert after is not None
    assert after.bound_scaled <= before.bound_scaled
    assert (after.through_scaled <= before.through_scaled)[linear.usable].all()
    assert after.bound_scaled >= SCALE * max(scored(linear).values(), default=-(1 << 40))


def returns() -> Linear:
    """Two figures of half a bar in 4 bars, not again within 7 counts."""
    figures = [a_figure("a", beats=2, starts_on=(1, 3)), a_figure("b", beats=2, starts_on=(1, 3))]
    return linear_of(a_problem(figures, {"repeats": {"apart": 7}}, timeline=a_timeline(4, 4, 1)))


def test_a_row_that_stays_takes_over_the_price() -> None:
    """Only the windows that go are priced: what they proved must still be proved."""
    proved = 0
    for number in range(60):
        linear = narrowed(returns(), number)
        less = compact(linear)
        gone = less.moved != np.arange(len(linear.least))
        prices = np.where(gone, np.random.default_rng(number).integers(0, 6 * SCALE, len(gone)), 0)
        if not linear.feasible_path or not gone.any():
            continue
        before = priced(linear, Levels(linear), prices)
        after = priced(less.linear, Levels(less.linear), less.multipliers(prices))
        nothing = priced(less.linear, Levels(less.linear), np.zeros(len(less.rows), dtype=np.int64))
        assert before is not None
        assert after is not None
        assert nothing is not None
        assert after.bound_scaled <= before.bound_scaled
        assert (after.through_scaled <= before.through_scaled)[linear.usable].all()
        proved += bool((before.through_scaled < nothing.through_scaled)[linear.usable].any())
    assert proved > 5


def test_windows_that_slide_leave_the_longest() -> None:
    """With fewer places to begin, one window often says what the next one does."""
    linear = returns()
    windows = np.flatnonzero((linear.most == 1) & (np.diff(linear.on_arcs.indptr) > 1))
    own = [frozenset(linear.on_arcs[row].indices.tolist()) for row in windows.tolist()]
    left = compact(linear)
    kept = [frozenset(left.linear.on_arcs[row].indices.tolist()) for row in range(len(left.rows))]
    longest = {one for one in own if not any(one < other for other in own)}
    assert longest <= set(kept)
    some = linear.narrowed(np.isin(linear.tick[linear.tail], np.unique(linear.tick)[[0, 1, 2, 5, 6, 7, 8]]))
    assert len(compact(some).rows) < len(left.rows)


def test_spared_rows_stay() -> None:
    linear = linear_of(a_problem([a_figure("a", beats=4)], {"weights": {"variety": 2}}))
    open_row = replace(linear, most=np.full(len(linear.most), OPEN), least=np.full(len(linear.least), -OPEN))
    assert not len(compact(open_row).rows)
    assert len(compact(open_row, np.ones(len(linear.most), dtype=np.bool_)).rows) == len(linear.most)
