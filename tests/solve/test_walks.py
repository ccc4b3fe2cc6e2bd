"""Walks lose nothing: every routine of the points asked for is among them, and none brings more than it promised."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from composer.network import build
from composer.problem import Problem
from composer.rules import state_all
from composer.solve import lookahead, walking
from composer.solve.collapse import collapse
from composer.solve.cpsat import Built, Limits
from composer.solve.ground import ground_of
from composer.solve.linear import Linear, linear_from
from composer.solve.longest import Levels, Priced, priced, whole_multipliers
from composer.solve.lookahead import Lookahead
from composer.solve.walking import ANYTHING, Smaller, Walked, walked
from composer.solve.walks import Walks
from tests.builders import a_figure, a_problem, a_timeline, tiny_problems

LIMITS = Limits(work=60, wall_s=240)
MOST_PATHS = 80
STEPS = 10**9


def linear_of(problem: Problem) -> Linear:
    network = build(problem)
    return linear_from(network, state_all(problem, network))


def paths(linear: Linear) -> Iterator[tuple[int, ...]]:
    """All paths of usable arcs, one after another."""
    out: dict[int, list[int]] = {}
    for arc in np.flatnonzero(linear.usable).tolist():
        out.setdefault(int(linear.tail[arc]), []).append(arc)

    def onward(node: int, path: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
        if node == linear.sink:
            yield path
        for arc in out.get(node, ()):
            yield from onward(int(linear.head[arc]), (*path, arc))

    yield from onward(0, ())


def score_of(linear: Linear, path: tuple[int, ...]) -> int | None:
    """Points of a path by CP-SAT, which is given nothing else; None when it breaks a row."""
    only = np.zeros(len(linear.points), dtype=np.bool_)
    only[list(path)] = True
    answer = Built(linear.narrowed(only)).solve(LIMITS)
    return answer.score if answer.verdict == "best" else None


def unpriced(linear: Linear) -> Priced:
    """Bounds without any multipliers."""
    proofs = priced(linear, Levels(linear), np.zeros(len(linear.least), dtype=np.int64))
    assert proofs is not None
    return proofs


def any_prices(linear: Linear, number: int) -> Priced:
    """Bounds by multipliers drawn from a number: valid ones, not good ones. Problems without a path are passed over."""
    assume(linear.feasible_path)
    rng = np.random.default_rng(number)
    prices = rng.normal(0, 3, len(linear.least)) * (rng.random(len(linear.least)) < 0.5)
    proofs = priced(linear, Levels(linear), whole_multipliers(linear, prices))
    assume(proofs is not None)
    assert proofs is not None
    return proofs


@given(tiny_problems(most_figures=6, most_beats=20), st.integers(0, 1000))
def test_no_routine_of_the_points_asked_for_is_lost(problem: Problem, number: int) -> None:
    linear = linear_of(problem)
    proofs = any_prices(linear, number)
    every = []
    for path in paths(linear):
        every.append(path)
        assume(len(every) <= MOST_PATHS)
    scores = {path: score for path in every if (score := score_of(linear, path)) is not None}
    ground = ground_of(linear)
    for least in {ANYTHING, *scores.values()}:
        walks = Walks(linear, proofs, ground, linear.usable)
        found = walks.run(None, least, STEPS)
        assert found.whole
        promised = dict(zip(found.walks, found.points, strict=True))
        for path, score in scores.items():
            assert walks.ahead.bound >= score
            if score >= least:
                assert promised[path] >= score


def check_proved(linear: Linear, result: Walked) -> None:
    """What walking says against CP-SAT on everything; where it found nothing it claims nothing."""
    if result.best is None:
        return
    whole = Built(linear).solve(LIMITS)
    assert whole.verdict == "best"
    assert result.best.score <= whole.score <= result.ceiling
    assert score_of(linear, result.best.arcs) == result.best.score


@given(tiny_problems(most_figures=8, most_beats=28), st.integers(0, 1000))
def test_what_walking_proves_is_so(problem: Problem, number: int) -> None:
    linear = linear_of(problem)
    proofs = any_prices(linear, number)
    check_proved(linear, walked(linear, proofs, LIMITS))


@given(tiny_problems(most_figures=8, most_beats=28), st.integers(0, 1000))
def test_what_walking_proves_with_the_smaller_problem_is_so(problem: Problem, number: int) -> None:
    network = build(problem)
    linear = linear_from(network, state_all(problem, network))
    assume(linear.feasible_path)
    collapsed = collapse(network, linear)
    assume(collapsed is not None)
    assert collapsed is not None
    small = any_prices(collapsed.small, number)
    proofs = priced(linear, Levels(linear), collapsed.multipliers(linear, small.multipliers))
    assume(proofs is not None)
    assert proofs is not None
    result = walked(linear, proofs, LIMITS, smaller=Smaller(collapsed.small, small, collapsed.arc_of))
    check_proved(linear, result)


def test_a_limit_is_free_again_when_nothing_later_asks_for_it() -> None:
    """Two rows that are never open together share a bit: one begun before must not count for the other."""
    figures = [a_figure("four", beats=4), a_figure("side", beats=4), a_figure("twelve", beats=12)]
    problem = a_problem(figures, {"repeats": {"apart": 4}}, timeline=a_timeline(8, 4, 2))
    linear = linear_of(problem)
    proofs = unpriced(linear)
    found = Walks(linear, proofs, None, linear.usable).run(None, ANYTHING, STEPS)
    wanted = {path for path in paths(linear) if score_of(linear, path) is not None}
    assert set(found.walks) == wanted
    assert wanted


@pytest.mark.parametrize(("width_mm", "fits"), [(4980, True), (4979, False)])
def test_walls_to_the_millimetre(width_mm: int, fits: bool) -> None:
    """Four metres eastwards, the follower 38 cm ahead, and 30 cm for a body at both ends: 4000 + 380 + 600 mm."""
    figures = [a_figure("walk", beats=4, travel=(1000, 0))]
    room = {"style": "spot", "width": width_mm / 1000, "depth": 4}
    problem = a_problem(figures, {}, room, timeline=a_timeline(4, 4, 2))
    linear = linear_of(problem)
    ground = ground_of(linear)
    assert ground is not None
    proofs = unpriced(linear)
    found = Walks(linear, proofs, ground, linear.usable).run(None, ANYTHING, STEPS)
    east = {path for path in found.walks if (ground.taken[0, :, path[0]] == 1000).all()}
    assert bool(east) is fits
    assert all(score_of(linear, path) is not None for path in found.walks)


def test_too_many_walks_are_no_proof() -> None:
    figures = [a_figure(name, beats=4) for name in "abcdef"]
    linear = linear_of(a_problem(figures, {}, timeline=a_timeline(8, 4, 2)))
    proofs = unpriced(linear)
    walks = Walks(linear, proofs, None, linear.usable)
    assert not walks.run(None, ANYTHING, 100).whole
    assert not walks.run(2, ANYTHING, STEPS).whole
    assert walks.run(2, ANYTHING, STEPS).walks


def test_work_is_kept_to(monkeypatch: pytest.MonkeyPatch) -> None:
    figures = [a_figure(name, beats=4) for name in "abcdef"]
    linear = linear_of(a_problem(figures, {"repeats": {"most": 2}}, timeline=a_timeline(8, 4, 2)))
    proofs = unpriced(linear)
    monkeypatch.setattr(walking, "STEPS_PER_WORK", 1.0)
    result = walked(linear, proofs, replace(LIMITS, work=1e-3))
    assert result.best is None
    assert result.ceiling == proofs.bound


@given(tiny_problems(), st.integers(0, 1000))
def test_large_and_small_numbers_promise_the_same(problem: Problem, number: int) -> None:
    linear = linear_of(problem)
    assume(linear.feasible_path)
    proofs, ids = any_prices(linear, number), np.flatnonzero(linear.usable)
    small = Lookahead(linear, proofs, ids)
    assume(small.promise.dtype == np.int32)  # random prices of walls are large
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(lookahead, "NEVER_SMALL", -1)
        large = Lookahead(linear, proofs, ids)
    assert large.promise.dtype == np.int64
    assert (small.bound, small.kept) == (large.bound, large.kept)
    ways = large.promise > large.lost
    assert ((small.promise > small.lost) == ways).all()
    assert (small.promise[ways] == large.promise[ways]).all()
