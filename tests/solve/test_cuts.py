"""Cuts: rows that every routine keeps, and mixtures of routines do not."""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from composer.problem import Problem
from composer.solve import decide as deciding
from composer.solve import lookahead
from composer.solve.cpsat import Built
from composer.solve.cuts import with_cuts
from composer.solve.decide import decide
from composer.solve.linear import OPEN, Linear
from composer.solve.longest import SCALE, Levels, Priced, priced, whole_multipliers
from composer.solve.relax import relaxed
from composer.solve.ties import rows_below_arcs
from composer.solve.walking import ANYTHING
from composer.solve.walks import Walks
from tests.benchmarks.instances import Case
from tests.builders import a_figure, a_problem, a_timeline
from tests.solve.test_reduction import check_same
from tests.solve.test_ties import scored, tied_problems
from tests.solve.test_walks import LIMITS, STEPS, linear_of, paths


def slack(plain: Linear, cut: Linear, path: tuple[int, ...]) -> np.ndarray:
    """What a path leaves of every cut, every unknown as large as the rows that keep it below arcs let it be."""
    danced, most = np.zeros(len(plain.points), dtype=np.int64), np.ones(len(plain.names), dtype=np.int64)
    danced[list(path)] = 1
    for column, rows in rows_below_arcs(plain).items():
        most[column] = min(1, *(int((plain.on_arcs[row] @ danced)[0]) for row in rows))
    added = slice(len(plain.least), len(cut.least))
    left: np.ndarray = cut.on_arcs[added] @ danced + cut.on_unknowns[added] @ most - cut.least[added]
    return left


@given(tied_problems())
def test_every_way_to_dance_keeps_every_cut(problem: Problem) -> None:
    linear = linear_of(problem)
    cut = with_cuts(linear)
    for path in itertools.islice(paths(linear), 60):
        assert (slack(linear, cut, path) >= 0).all()


@given(tied_problems())
def test_the_same_routines_have_the_same_points(problem: Problem) -> None:
    linear = linear_of(problem)
    assert scored(with_cuts(linear)) == scored(linear)


def returning(labels: int = 2) -> Problem:
    """Two figures of half a bar; the same music comes again and again, and so may what is danced."""
    figures = [a_figure("a", beats=2, starts_on=(1, 3)), a_figure("b", beats=2, starts_on=(1, 3))]
    music = a_timeline(labels, 4, 1, sections=[(1, "A", None)] * labels)
    wishes = {"varied": 50, "weights": {"memory": 1, "variety": 3}}
    return a_problem(figures, wishes, timeline=music)


@pytest.mark.parametrize("labels", [2, 3])
def test_the_cut_is_as_sharp_as_it_may_be(labels: int) -> None:
    """Some routine just keeps each cut: asking for one more costs points. A chain of ties closes no ring."""
    linear = linear_of(returning(labels))
    cut = with_cuts(linear)
    assert len(cut.least) > len(linear.least)
    least = np.min([slack(linear, cut, path) for path in paths(linear)], axis=0)
    assert (least == 0).all()
    rows = np.arange(len(cut.least)) >= len(linear.least)
    sharper = replace(cut, least=cut.least + rows)
    best, less = (Built(one).solve(LIMITS) for one in (linear, sharper))
    assert less.verdict == "none" or less.score < best.score


def test_nothing_is_added_where_nothing_returns() -> None:
    linear = linear_of(a_problem([a_figure("a", beats=4)], {"weights": {"variety": 2}}))
    assert with_cuts(linear) is linear


def test_a_ceiling_comes_down() -> None:
    """96 counts, 100 figures, all rules, no room, the first of the benchmarks; HiGHS finds 803 in 20 s too."""
    linear = linear_of(Case(96, 100, False, rules="all").problem())
    bounds = []
    for one in (linear, with_cuts(linear)):
        advice = relaxed(one)
        assert advice is not None
        proofs = priced(one, Levels(one), whole_multipliers(one, advice.multipliers))
        assert proofs is not None
        bounds.append(proofs.bound)
    assert bounds == [832, 819]
    answer = decide(linear, LIMITS)
    assert (answer.verdict, answer.score) == ("best", 803)


def priced_unknowns(problem: Problem, number: int) -> tuple[Linear, Priced]:
    """A problem with its cuts, and bounds by prices of every bonus, tie and cut drawn from a number."""
    linear = with_cuts(linear_of(problem))
    assume(linear.feasible_path)
    rng = np.random.default_rng(number)
    of_unknowns = (np.diff(linear.on_unknowns.indptr) > 0) & (linear.least == 0) & (linear.most == OPEN)
    prices = np.where(of_unknowns, -rng.integers(0, 6 * SCALE, len(linear.least)), 0)
    proofs = priced(linear, Levels(linear), prices)
    assert proofs is not None
    return linear, proofs


@given(tied_problems(), st.integers(0, 1000))
def test_priced_cuts_take_nothing_back_that_is_earned(problem: Problem, number: int) -> None:
    """Every bonus, tie and cut priced: all walks promise what their routine has at least, and none is lost."""
    linear, proofs = priced_unknowns(problem, number)
    scores = scored(linear)
    for states in (1, 256):
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(lookahead, "MOST_STATES", states)
            for least in {ANYTHING, *scores.values()}:
                found = Walks(linear, proofs, None, linear.usable).run(None, least, STEPS)
                promised = dict(zip(found.walks, found.points, strict=True))
                assert all(promised[path] >= score for path, score in scores.items() if score >= least)


@given(tied_problems())
def test_what_returns_is_decided_as_by_the_whole_model(problem: Problem) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(deciding, "SMALL", 0)
        check_same(problem)


@pytest.mark.slow
@given(tied_problems())
@settings(max_examples=500)
def test_what_returns_is_decided_as_by_the_whole_model_on_many(problem: Problem) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(deciding, "SMALL", 0)
        check_same(problem)
