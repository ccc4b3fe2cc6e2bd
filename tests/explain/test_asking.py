"""Whether wishes can hold: every engine gives brute force's answer, with rooms and without."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, assume, given, settings

from composer.explain import asking
from composer.explain.oracle import Budget, Oracle, restated
from composer.explain.stock import Stock
from composer.network import build
from composer.problem import Problem
from composer.rules import FAMILIES, state_all
from composer.solve.cpsat import Built, Limits
from composer.solve.linear import linear_from
from tests.benchmarks.instances import Case, problem_of
from tests.builders import tiny_problems
from tests.solve.brute import TooMany, best_score

QUICKLY = settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


def judged(problem: Problem) -> bool:
    try:
        return best_score(problem) is not None
    except TooMany:
        assume(False)
        return False


@given(tiny_problems())
@QUICKLY
def test_the_oracle_says_what_brute_force_says(problem: Problem) -> None:
    wanted = judged(problem)
    oracle = Oracle.of(problem, Budget.of(30))
    assert oracle.possible(oracle.wishes) is wanted
    if wanted:
        assert oracle.kept[-1] >= frozenset(oracle.wishes)


@given(tiny_problems())
@QUICKLY
def test_the_relaxation_never_excludes_what_brute_force_finds(problem: Problem) -> None:
    wanted = judged(problem)
    network = build(problem)
    stock = Stock(network, state_all(problem, network))
    linear = stock.linear(stock.wishes)
    if linear.feasible_path and len(linear.least):
        advice = asking._advice(linear, Limits(10, 10))
        assert advice is None or not (advice.impossible and wanted)


@pytest.mark.slow
@given(tiny_problems())
@QUICKLY
def test_without_the_short_cut_for_small_ones_the_answer_is_the_same(
    monkeypatch_context: pytest.MonkeyPatch, problem: Problem
) -> None:
    wanted = judged(problem)
    network = build(problem)
    stock = Stock(network, state_all(problem, network))
    with monkeypatch_context.context() as patch:
        for name, value in (("FEW", 0), ("QUICK_ARCS", 0), ("BAND", 6)):
            patch.setattr(asking, name, value)
        said = asking.ask(network, stock.linear(stock.wishes), Limits(30, 30))
    assert said.possible is wanted


@pytest.fixture
def monkeypatch_context(monkeypatch: pytest.MonkeyPatch) -> pytest.MonkeyPatch:
    return monkeypatch


@given(tiny_problems())
@QUICKLY
def test_leaving_out_unknowns_nobody_looks_at_changes_nothing(problem: Problem) -> None:
    """Laws and every other wish: the arrays of the stock against those the solver itself uses."""
    network = build(problem)
    stated = state_all(problem, network)
    stock = Stock(network, stated)
    some = stock.wishes[::2]
    own, plain = stock.linear(some), linear_from(network, stated, some)
    assert (own.usable == plain.usable).all()
    if not own.feasible_path:
        return
    limits = Limits(30, 30)
    assert Built(own, objective=False).solve(limits).verdict == Built(plain, objective=False).solve(limits).verdict


@given(tiny_problems())
@QUICKLY
def test_stating_families_anew_is_stating_everything_anew(problem: Problem) -> None:
    network = build(problem)
    stock = Stock(network, state_all(problem, network))
    again = restated(stock, problem, network, {family.NAME for family in FAMILIES})
    assert set(again.wishes) == set(stock.wishes)
    one, other = stock.linear(stock.wishes), again.linear(stock.wishes)
    assert (one.usable == other.usable).all()
    assert len(one.least) == len(other.least)
    assert one.names == other.names


def test_the_relaxation_prints_nothing(capfd: pytest.CaptureFixture[str]) -> None:
    problem = problem_of(Case(96, 60, room=False))
    network = build(problem)
    assert asking._relaxation(linear_from(network, state_all(problem, network)), 30.0) is not None
    assert capfd.readouterr() == ("", "")
