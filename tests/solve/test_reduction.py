"""The reduction is safe: bands and merged facings give the answer of the whole model, and every bound is valid."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from composer.network import build
from composer.problem import Problem
from composer.rules import state_all
from composer.solve import decide as deciding
from composer.solve.collapse import collapse
from composer.solve.cpsat import Built, Limits
from composer.solve.decide import decide
from composer.solve.linear import OPEN, Linear, linear_from
from composer.solve.longest import SCALE, Levels, priced, whole_multipliers
from composer.solve.relax import relaxed
from tests.builders import tiny_problems

LIMITS = Limits(work=60, wall_s=240)


def whole_model(linear: Linear) -> tuple[str, int]:
    if not linear.feasible_path:
        return "none", 0
    answer = Built(linear).solve(LIMITS)
    assert answer.verdict in ("best", "none")
    return answer.verdict, answer.score


def check_same(problem: Problem) -> None:
    network = build(problem)
    linear = linear_from(network, state_all(problem, network))
    wanted = whole_model(linear)
    for given_network in (network, None):
        answer = decide(linear, LIMITS, network=given_network)
        assert (answer.verdict, answer.score) == wanted
        if answer.verdict == "best":
            assert answer.bound == answer.score


@given(tiny_problems(most_figures=8, most_beats=32))
def test_reduced_and_whole_agree(problem: Problem) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(deciding, "SMALL", 0)
        patch.setattr(deciding, "FIRST_BAND", 2)
        patch.setattr(deciding, "GROWTH", 2)
        patch.setattr(deciding, "POLISH_ARCS", 3)
        check_same(problem)


@pytest.mark.slow
@given(tiny_problems(most_figures=8, most_beats=28))
@settings(max_examples=500)
def test_reduced_and_whole_agree_on_many(problem: Problem) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(deciding, "SMALL", 0)
        patch.setattr(deciding, "FIRST_BAND", 2)
        patch.setattr(deciding, "GROWTH", 2)
        patch.setattr(deciding, "POLISH_ARCS", 3)
        check_same(problem)


@given(tiny_problems(), st.integers(0, 2**32 - 1))
def test_any_multipliers_bound_the_best_and_every_arc(problem: Problem, number: int) -> None:
    network = build(problem)
    linear = linear_from(network, state_all(problem, network))
    if whole_model(linear)[0] == "none":
        return
    rng = np.random.default_rng(number)
    proofs = priced(linear, Levels(linear), whole_multipliers(linear, rng.normal(0, 5, len(linear.least))))
    assert proofs is not None
    best = Built(linear).solve(LIMITS)
    assert proofs.bound >= best.score
    assert all(proofs.through_scaled[arc] >= best.score * SCALE for arc in best.arcs)
    assert proofs.through_scaled.max() == proofs.bound_scaled
    arc = int(rng.choice(np.flatnonzero(linear.usable)))
    via = linear.narrowed(np.ones(len(linear.points), dtype=np.bool_))
    built = Built(via)
    built.model.row([built.arc[arc]], [1], 1, 1)
    through = built.solve(LIMITS)
    if through.verdict == "best":
        assert proofs.through_scaled[arc] >= through.score * SCALE


@given(tiny_problems(most_beats=20))
def test_multipliers_of_the_relaxation_come_close_to_its_value(problem: Problem) -> None:
    network = build(problem)
    linear = linear_from(network, state_all(problem, network))
    advice = relaxed(linear)
    if advice is None:
        return
    proofs = priced(linear, Levels(linear), whole_multipliers(linear, advice.multipliers))
    assert proofs is not None
    assert abs(proofs.bound_scaled / SCALE - advice.value) <= 1 + 0.01 * abs(advice.value)


@given(tiny_problems())
def test_merging_facings_never_loses_a_routine(problem: Problem) -> None:
    network = build(problem)
    linear = linear_from(network, state_all(problem, network))
    merged = collapse(network, linear)
    if merged is None:
        return
    full, small = whole_model(linear), whole_model(merged.small)
    if full[0] == "best":
        assert small[0] == "best"
        assert small[1] >= full[1]


def test_open_sides_take_no_multiplier() -> None:
    from tests.builders import a_figure, a_problem, a_timeline

    problem = a_problem([a_figure("a", beats=4)], {"repeats": {"most": 1}}, timeline=a_timeline(2))
    network = build(problem)
    linear = linear_from(network, state_all(problem, network))
    up, down = np.full(len(linear.least), 1.0), np.full(len(linear.least), -1.0)
    assert not whole_multipliers(linear, up)[linear.most == OPEN].any()
    assert not whole_multipliers(linear, down)[linear.least == -OPEN].any()


@given(tiny_problems(most_figures=8, most_beats=32), st.sampled_from([1e-6, 1e-4, 1e-3, 3e-3, 1e-2]))
def test_little_time_never_makes_a_false_proof(problem: Problem, work: float) -> None:
    network = build(problem)
    linear = linear_from(network, state_all(problem, network))
    wanted = whole_model(linear)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(deciding, "SMALL", 0)
        patch.setattr(deciding, "FIRST_BAND", 2)
        patch.setattr(deciding, "GROWTH", 2)
        patch.setattr(deciding, "POLISH_ARCS", 3)
        answer = decide(linear, Limits(work=work, wall_s=60), network=network)
    if answer.verdict in ("best", "none"):
        assert (answer.verdict, answer.score) == wanted
    if answer.verdict == "good":
        assert wanted[0] == "best"
        assert answer.score <= wanted[1]
    if answer.bound is not None and wanted[0] == "best":
        assert answer.bound >= wanted[1]
