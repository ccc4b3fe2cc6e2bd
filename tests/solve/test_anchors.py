"""The middle a couple goes round: held while routines are looked for, in parts while bounds are proved."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from composer.problem import Problem
from composer.solve.anchors import anchors_of, held, parts
from composer.solve.cpsat import Built
from composer.solve.ground import ground_of
from composer.solve.linear import Linear
from composer.solve.walking import ANYTHING, walked
from composer.solve.walks import Walks
from tests.builders import a_figure, a_problem, a_timeline
from tests.solve.test_walks import LIMITS, any_prices, check_proved, linear_of, unpriced


@st.composite
def small_halls(draw: st.DrawFn) -> Problem:
    """A part of a lap in a hall so small that the couple soon turns a corner; no lane is given."""
    figures = [a_figure("side", 4, travel=(draw(st.sampled_from([1500, 2400])), 0), turn=-2)]
    for name in "ab"[: draw(st.integers(0, 2))]:
        travel = draw(st.sampled_from([0, 300, 1000, -500])), draw(st.sampled_from([0, 0, 250]))
        figures.append(a_figure(name, 4, travel=travel, turn=draw(st.sampled_from([0, 0, -2, 2, 4]))))
    room: dict[str, Any] = {"style": "travelling", "width": draw(st.sampled_from([3, 4, 5])), "depth": 4}
    if draw(st.booleans()):
        room["start"] = {"x": 1, "y": 1}
    silent = {"protect": "nothing", "hits": "ignore"}
    return a_problem(figures, silent, room, timeline=a_timeline(draw(st.integers(2, 5))))


def anchored(problem: Problem) -> Linear:
    """The arrays of a problem in which a middle stands in the rows."""
    linear = linear_of(problem)
    assume(linear.feasible_path)
    assume(int(linear.usable.sum()) < 1_000)
    assume(len(anchors_of(linear)) > 0)
    return linear


def in_an_l(**more: Any) -> Problem:
    """Round a floor whose lanes are strips: an unknown each for every stretch of wall and tick."""
    outline = [[0, 0], [8, 0], [8, 4], [4, 4], [4, 8], [0, 8]]
    figures = [a_figure("on", 4, travel=(1500, 0)), a_figure("side", 4, travel=(1500, 0), turn=-2)]
    return a_problem(figures, {}, {"style": "travelling", "outline": outline, **more}, timeline=a_timeline(4))


def test_only_the_middle_is_an_anchor() -> None:
    """Strips stand beside both places of their own tick, not at several ticks."""
    assert len(anchors_of(linear_of(in_an_l()))) == 2
    lanes = linear_of(in_an_l(lane=1))
    assert any("lane" in name for name in lanes.names)
    assert len(anchors_of(lanes)) == 0


@given(small_halls())
def test_the_parts_together_are_everything(problem: Problem) -> None:
    linear = anchored(problem)
    anchors = anchors_of(linear)
    assert {linear.names[column] for column in anchors} <= {"line_of_dance:middle-x", "line_of_dance:middle-y"}
    boxes = [(part.low[anchors], part.high[anchors]) for part in parts(linear)]
    sizes = [int(np.prod(high - low + 1)) for low, high in boxes]
    assert sum(sizes) == int(np.prod(linear.high[anchors] - linear.low[anchors] + 1))
    for one, (low, high) in enumerate(boxes):
        assert (linear.low[anchors] <= low).all()
        assert (high <= linear.high[anchors]).all()
        for other_low, other_high in boxes[:one]:
            assert ((high < other_low) | (other_high < low)).any()  # no middle is in two
    for one in held(linear):
        assert (one.low[anchors] == one.high[anchors]).all()
        assert (one.low >= linear.low).all()
        assert (one.high <= linear.high).all()


@given(small_halls(), st.integers(0, 1000))
def test_what_walking_round_a_middle_proves_is_so(problem: Problem, number: int) -> None:
    linear = anchored(problem)
    proofs = any_prices(linear, number)
    check_proved(linear, walked(linear, proofs, LIMITS))


@pytest.mark.slow
@given(small_halls())
def test_the_best_routine_is_among_the_walks_of_some_part(problem: Problem) -> None:
    linear = anchored(problem)
    whole = Built(linear).solve(LIMITS)
    assume(whole.verdict == "best")
    walks = Walks(linear, unpriced(linear), ground_of(linear), linear.usable)
    found: set[tuple[int, ...]] = set()
    for part in parts(linear):
        ground = ground_of(part)
        assert ground is not None
        run = walks.over(ground).run(None, ANYTHING, 3_000_000)
        assume(run.whole)
        found |= set(run.walks)
    assert whole.arcs in found
