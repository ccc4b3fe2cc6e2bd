"""Ties between stretches, as walks follow them: nothing is lost, and in the end the promise is the truth."""

from __future__ import annotations

from typing import Any

import numpy as np
from hypothesis import assume, given
from hypothesis import strategies as st

from composer.problem import Problem
from composer.solve.cpsat import Built
from composer.solve.cuts import with_cuts
from composer.solve.fitted import fitted
from composer.solve.linear import Linear
from composer.solve.longest import SCALE, Levels, Priced, priced
from composer.solve.ties import Ties, tied, tied_columns
from composer.solve.walking import ANYTHING, walked
from composer.solve.walks import Walks
from tests.builders import a_figure, a_problem, a_timeline
from tests.solve.test_walks import LIMITS, MOST_PATHS, STEPS, any_prices, linear_of, paths, score_of

LABELS = (("A", "A"), ("A", "B", "A"), ("A", "A", "A"), ("A", "B", "A", "B"))


@st.composite
def tied_problems(draw: st.DrawFn) -> Problem:
    """Few figures of two and four counts, sections of one or two bars that return, wishes for them to be alike."""
    labels = draw(st.sampled_from(LABELS))
    bars = draw(st.sampled_from([1, 2])) if len(labels) == 2 else 1
    lengths = draw(st.lists(st.sampled_from([2, 2, 4, 6]), min_size=2, max_size=3))
    figures = [a_figure(f"f{index}", beats=beats, starts_on=(1, 3)) for index, beats in enumerate(lengths)]
    wishes: dict[str, Any] = {
        "varied": draw(st.sampled_from([None, 25, 50, 75, 100])),
        "protect": draw(st.sampled_from(["nothing", "phrases"])),
        "prefer": {figures[0].id: draw(st.integers(-5, 15))},
        "weights": {"memory": draw(st.integers(0, 3)), "variety": draw(st.integers(0, 2))},
    }
    if draw(st.booleans()):
        wishes["repeats"] = {"most": draw(st.integers(1, 3))}
    music = a_timeline(bars * len(labels), 4, 1, sections=[(bars, label, None) for label in labels])
    return a_problem(figures, wishes, None, None, music)


def scored(linear: Linear) -> dict[tuple[int, ...], int]:
    """All routines and their points."""
    every = []
    for path in paths(linear):
        every.append(path)
        assume(len(every) <= MOST_PATHS)
    return {path: score for path in every if (score := score_of(linear, path)) is not None}


@given(tied_problems(), st.integers(0, 1000), st.booleans())
def test_no_routine_is_lost_whatever_is_given_up(problem: Problem, number: int, cut: bool) -> None:
    linear = with_cuts(linear_of(problem)) if cut else linear_of(problem)
    proofs = any_prices(linear, number)
    scores = scored(linear)
    for least in {ANYTHING, *scores.values()}:
        few, fit = fitted(linear, proofs, linear.usable, None if least == ANYTHING else least)
        walks = Walks(few, fit, None, few.usable)
        found = walks.run(None, least, STEPS)
        promised = dict(zip(found.walks, found.points, strict=True))
        for path, score in scores.items():
            if score >= least:
                assert walks.ahead.bound >= score
                assert promised[path] >= score


@given(tied_problems(), st.integers(0, 1000), st.booleans())
def test_what_walking_proves_about_ties_is_so(problem: Problem, number: int, cut: bool) -> None:
    linear = with_cuts(linear_of(problem)) if cut else linear_of(problem)
    whole = Built(linear).solve(LIMITS)
    result = walked(linear, any_prices(linear, number), LIMITS)
    if result.best is not None:
        assert whole.verdict == "best"
        assert result.best.score <= whole.score <= result.ceiling


@given(tied_problems(), st.integers(0, 1000))
def test_at_the_end_the_promise_is_the_truth(problem: Problem, number: int) -> None:
    """With multipliers on the rows of ties only, a finished walk has exactly the points it is said to have."""
    linear = linear_of(problem)
    columns = set(tied_columns(linear).tolist())
    proofs = any_prices(linear, number)
    of_ties = np.array(
        [set(linear.on_unknowns[row].indices.tolist()) <= columns for row in range(len(linear.least))], dtype=bool
    )
    only = of_ties & (np.diff(linear.on_unknowns.indptr) > 0)
    proofs = priced_by(linear, np.where(only, proofs.multipliers, 0).astype(np.int64))
    ids = np.flatnonzero(linear.usable)
    followed = {column for tie in tied(linear, proofs, ids) for column in tie.columns}
    few, fit = fitted(linear, proofs, linear.usable)
    left = {name for name, high in zip(few.names, few.high.tolist(), strict=True) if high == 1}
    assume({linear.names[column] for column in followed} == left & {linear.names[column] for column in columns})
    found = Walks(few, fit, None, few.usable).run(None, ANYTHING, STEPS)
    assume(len(found.walks) <= MOST_PATHS)
    for path, points in zip(found.walks, found.points, strict=True):
        score = score_of(linear, path)
        if score is not None:
            assert points == score


def priced_by(linear: Linear, multipliers: Any) -> Priced:
    proofs = priced(linear, Levels(linear), multipliers)
    assert proofs is not None
    return proofs


def test_a_walk_is_dropped_when_too_little_can_be_alike() -> None:
    """Two sections of a bar, all of it alike: of 16 ways to dance four halves with two figures four are left."""
    figures = [a_figure("a", beats=2, starts_on=(1, 3)), a_figure("b", beats=2, starts_on=(1, 3))]
    music = a_timeline(2, 4, 1, sections=[(1, "A", None), (1, "A", None)])
    linear = linear_of(a_problem(figures, {"varied": 100}, timeline=music))
    proofs = priced_by(linear, np.zeros(len(linear.least), dtype=np.int64))
    found = Walks(linear, proofs, None, linear.usable).run(None, ANYTHING, STEPS)
    kept = {path for path in paths(linear) if score_of(linear, path) is not None}
    assert set(found.walks) == kept
    assert 0 < len(kept) < len(list(paths(linear)))


def test_an_arc_too_long_for_its_second_is_taken_back_at_once() -> None:
    """A figure that lasts until after the tick at which it should come again cannot be danced again there."""
    figures = [a_figure("two", beats=2, starts_on=(1, 3)), a_figure("six", beats=6, starts_on=(1, 3))]
    music = a_timeline(4, 4, 1, sections=[(1, "A", None)] * 4)
    linear = linear_of(a_problem(figures, {"varied": 25, "protect": "nothing"}, timeline=music))
    proofs = priced_by(linear, np.where(np.diff(linear.on_unknowns.indptr) == 1, -SCALE, 0))
    ids = np.flatnonzero(linear.usable)
    begins, ends = linear.tick[linear.tail[ids]], linear.tick[linear.head[ids]]
    ties = Ties(linear, proofs, ids, begins, ends)
    assert ties.too_long.any()
    assert set((ends - np.maximum(begins, 0))[ties.too_long].tolist()) == {6 * 12}
