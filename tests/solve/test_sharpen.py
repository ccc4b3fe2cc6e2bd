"""Better prices and fewer arcs lose nothing: what they leave holds every routine of the points asked for."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from composer.problem import Problem
from composer.solve import lookahead, walking
from composer.solve.linear import Linear
from composer.solve.longest import SCALE, Levels, Priced, priced, whole_multipliers
from composer.solve.lookahead import Lookahead
from composer.solve.mixtures import overpaid
from composer.solve.relax import Relaxed, relaxed
from composer.solve.sharpen import Sharp, narrowed, sharpened
from composer.solve.thin import thinned
from composer.solve.walking import walked
from tests.benchmarks.instances import Case
from tests.builders import a_figure, a_problem, a_timeline, tiny_problems
from tests.solve.test_cuts import priced_unknowns, scored, tied_problems
from tests.solve.test_walks import LIMITS, STEPS, any_prices, check_proved, linear_of

Way = Callable[[Linear, Priced, int], Sharp]
WAYS: tuple[Way, ...] = (
    narrowed,
    sharpened,
    lambda linear, proofs, least: thinned(linear, proofs, least, STEPS),
)


def check_nothing_is_lost(linear: Linear, proofs: Priced, scores: dict[tuple[int, ...], int]) -> None:
    """Every routine of the points asked for is over the arcs left, and under the bound."""
    for least in set(scores.values()):
        for way in WAYS:
            left = way(linear, proofs, least)
            for path, score in scores.items():
                if score >= least:
                    assert left.linear.usable[list(path)].all()
                    assert score <= left.bound


def check_any_prices(problem: Problem, number: int, states: int) -> None:
    """With prices drawn from a number."""
    linear = linear_of(problem)
    proofs = any_prices(linear, number)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(lookahead, "MOST_STATES", states)
        check_nothing_is_lost(linear, proofs, scored(linear))


def check_priced_unknowns(problem: Problem, number: int, states: int, width: int) -> None:
    """With bonuses, ties and cuts priced."""
    linear, proofs = priced_unknowns(problem, number)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(lookahead, "MOST_STATES", states)
        patch.setattr("composer.solve.thin.WIDTHS", (width, width))
        check_nothing_is_lost(linear, proofs, scored(linear))


ANY = (tiny_problems(most_figures=6, most_beats=20, rooms=False), st.integers(0, 1000), st.sampled_from([1, 4, 256]))
TIED = (tied_problems(), st.integers(0, 1000), st.sampled_from([1, 4, 256]), st.sampled_from([1, 500]))


@given(*ANY)
@settings(max_examples=25)
def test_no_routine_is_lost(problem: Problem, number: int, states: int) -> None:
    check_any_prices(problem, number, states)


@given(*TIED)
@settings(max_examples=25)
def test_no_routine_is_lost_where_unknowns_are_priced(problem: Problem, number: int, states: int, width: int) -> None:
    check_priced_unknowns(problem, number, states, width)


@pytest.mark.slow
@given(*ANY)
@settings(max_examples=500)
def test_no_routine_of_many_is_lost(problem: Problem, number: int, states: int) -> None:
    check_any_prices(problem, number, states)


@pytest.mark.slow
@given(*TIED)
@settings(max_examples=500)
def test_no_routine_of_many_is_lost_where_unknowns_are_priced(
    problem: Problem, number: int, states: int, width: int
) -> None:
    check_priced_unknowns(problem, number, states, width)


@given(tiny_problems(most_figures=6, most_beats=20), st.integers(0, 1000), st.booleans())
@settings(max_examples=40)
def test_what_an_arc_can_bring_at_most(problem: Problem, number: int, proving: bool) -> None:
    """The best through every arc: no routine that dances it has more, and the best of all is the bound."""
    linear = linear_of(problem)
    proofs, ids = any_prices(linear, number), np.flatnonzero(linear.usable)
    ahead = Lookahead(linear, proofs, ids, overpaid=proving, proving=proving)
    through = dict(zip(ids.tolist(), ahead.through().tolist(), strict=True))
    for path, score in scored(linear).items():
        assert all(through[arc] >= score * SCALE for arc in path)
    if ahead.bound_scaled > lookahead.NEVER // 2:
        assert max(through.values()) == ahead.bound_scaled


@pytest.mark.parametrize("few", [0, 1_500])
@given(tiny_problems(most_figures=8, most_beats=28), st.integers(0, 1000))
@settings(max_examples=25)
def test_what_walking_proves_where_all_is_tried(few: int, problem: Problem, number: int) -> None:
    """With no steps at first, everything comes to the second effort; with none for walks, CP-SAT gets the arcs left."""
    linear = linear_of(problem)
    proofs = any_prices(linear, number)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(walking, "EFFORTS", ((10, 2, 0), (1_000, 50, 10_000_000)))
        patch.setattr(walking, "FEW", few)
        if few:
            patch.setattr(walking, "MOST_SMALLER", (0, 0))
        check_proved(linear, walked(linear, proofs, LIMITS))


def advised(linear: Linear) -> tuple[Relaxed, Priced]:
    """The relaxation's advice and the bounds it proves."""
    advice = relaxed(linear)
    assert advice is not None
    proofs = priced(linear, Levels(linear), whole_multipliers(linear, advice.multipliers))
    assert proofs is not None
    return advice, proofs


def test_what_a_mixture_earns() -> None:
    """Half of one routine that dances ``a`` twice and half of one that dances ``b`` twice: each bonus is paid once, and
    earned by half.
    """
    figures = [a_figure("a", beats=4), a_figure("b", beats=4)]
    linear = linear_of(a_problem(figures, {}, timeline=a_timeline(2, 4, 2)))
    used = {name: column for column, name in enumerate(linear.names) if name.startswith("variety:used")}
    assert len(used) == 2, linear.names
    advice, _ = advised(linear)
    arcs = np.zeros(len(linear.points))
    values = np.zeros(len(linear.names))
    values[list(used.values())] = 1.0
    for column in used.values():
        row = next(row for row in range(len(linear.least)) if linear.on_unknowns[row].indices.tolist() == [column])
        arcs[linear.on_arcs[row].indices] = 0.5
    arcs[linear.usable & (linear.head == linear.sink)] = 1.0
    mixed = Relaxed(advice.multipliers, arcs, values, 0.0)
    # the walk goes on from the middle with either figure, so it meets each of them in three of four cases
    assert sorted(overpaid(linear, mixed)) == sorted(used)
    once = Relaxed(advice.multipliers, arcs, values * 0.75, 0.0)
    assert overpaid(linear, once) == ()


def test_what_is_overpaid_brings_the_bound_down() -> None:
    """192 counts of 300 figures: remembering it, fewer arcs are left than without; better prices leave fewer still."""
    linear = linear_of(Case(192, 300, False, 0).problem())
    advice, plain = advised(linear)
    knows = replace(plain, overpaid=overpaid(linear, advice))
    least = plain.bound - 12
    without, narrow, sharp = (
        narrowed(linear, plain, least),
        narrowed(linear, knows, least),
        sharpened(linear, knows, least),
    )
    numbers = [int(part.linear.usable.sum()) for part in (without, narrow, sharp)]
    assert numbers[0] > numbers[1] > numbers[2]
    assert without.bound >= narrow.bound >= sharp.bound
