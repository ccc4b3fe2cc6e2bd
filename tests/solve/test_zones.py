"""Zones are exact: along an axis by trying every place, and in walks round small rooms by trying every path.

Closed laps, strides and first places left open are where walks were wrong or silent before there were zones.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from composer.catalogue.model import Figure
from composer.problem import Problem
from composer.solve.ground import FAR_MM, ground_of
from composer.solve.linear import Linear
from composer.solve.merged import left_by
from composer.solve.stepping import Stepping
from composer.solve.walking import ANYTHING, walked
from composer.solve.walks import Walks
from composer.solve.zones import Zones, anywhere, keep_apart, move, possible, stand_within
from tests.builders import a_figure, a_problem, a_timeline
from tests.solve.test_walks import LIMITS, MOST_PATHS, STEPS, any_prices, linear_of, paths, score_of, unpriced

PLACES = range(-4, 5)
bounds = st.tuples(st.integers(-4, 4), st.integers(-4, 4)).map(sorted)
steps = st.lists(st.tuples(bounds, st.tuples(st.integers(-3, 3), st.integers(0, 2)), bounds), min_size=1, max_size=5)


def on_both_axes(pair: list[int]) -> Any:
    return np.array([[pair, pair]], dtype=np.int32)


@given(steps, st.none() | bounds)
def test_six_numbers_say_all_there_is_to_know(danced: list[Any], closing: list[int] | None) -> None:
    zones = anywhere()
    pairs = {(first, first) for first in range(-40, 41)}
    for begins, (ground, more), ends in danced:
        taken = range(ground, ground + more + 1)
        pairs = {(first, here) for first, here in pairs if begins[0] <= here <= begins[1]}
        pairs = {(first, here + step) for first, here in pairs for step in taken}
        pairs = {(first, here) for first, here in pairs if ends[0] <= here <= ends[1]}
        stand_within(zones, on_both_axes(begins))
        assume(possible(zones).all() or not pairs)
        move(zones, on_both_axes([ground, ground + more]))
        stand_within(zones, on_both_axes(ends))
    if closing is not None:
        pairs = {(first, here) for first, here in pairs if closing[0] <= here - first <= closing[1]}
        keep_apart(zones, on_both_axes(closing))
    assert possible(zones).all() == bool(pairs)
    if pairs:
        told = [[f for f, _ in pairs], [h for _, h in pairs], [h - f for f, h in pairs]]
        assert zones[0, 0].tolist() == zones[0, 1].tolist() == [[min(part), max(part)] for part in told]


def giving(figure: Figure, least: float, most: float) -> Figure:
    return replace(figure, motion=replace(figure.motion, shortest_scale=least, longest_scale=most))


@st.composite
def lap_problems(draw: st.DrawFn) -> Problem:
    """A lap or a part of one in a small hall: strides, lanes, corners, a start, a finish, a closed end, all at random.

    Nothing else is asked, so that every row speaks of places, corners or how the couple stands.
    """
    figures = [giving(a_figure("side", 4, travel=(draw(st.sampled_from([1500, 2400, 3000])), 0), turn=-2), 0.8, 1.3)]
    for name in "abc"[: draw(st.integers(0, 3))]:
        travel = draw(st.sampled_from([0, 300, 1000, -500])), draw(st.sampled_from([0, 0, 250]))
        feet, after = draw(st.sampled_from([("LR", "LR"), ("LR", "RL"), ("RL", "LR")]))
        turn = draw(st.sampled_from([0, 0, -2, 2, 4]))
        own = a_figure(name, 4, travel=travel, turn=turn, feet=feet, feet_after=after)
        figures.append(giving(own, draw(st.sampled_from([0.9, 1.0])), draw(st.sampled_from([1.0, 1.05, 1.2]))))
    stride = {"least": draw(st.sampled_from([1.0, 0.9, 0.8])), "most": draw(st.sampled_from([1.0, 1.1]))}
    room: dict[str, Any] = {"style": "travelling", "width": draw(st.sampled_from([4, 5])), "depth": 4, "stride": stride}
    room |= {"lane": draw(st.sampled_from([1, 1.5])), "closed": draw(st.booleans())}
    if draw(st.booleans()):
        room["laps"] = 1
    if draw(st.integers(0, 3)) == 0:
        room["start"] = {"x": 1, "y": 1}
    if not room["closed"] and draw(st.booleans()):
        room["finish"] = {"x": draw(st.sampled_from([1, 2.5])), "y": 1, "within": "60 cm"}
    silent = {"protect": "nothing", "hits": "ignore"}
    return a_problem(figures, silent, room, timeline=a_timeline(draw(st.integers(2, 5))))


def every_path(linear: Linear) -> list[tuple[int, ...]]:
    assume(linear.feasible_path)
    every = []
    for path in paths(linear):
        every.append(path)
        assume(len(every) <= MOST_PATHS)
    return every


@given(lap_problems())
def test_round_small_halls_just_the_routines_come_through(problem: Problem) -> None:
    linear = linear_of(problem)
    every = every_path(linear)
    found = Walks(linear, unpriced(linear), ground_of(linear), linear.usable).run(None, ANYTHING, STEPS)
    assert found.whole
    assert set(found.walks) == {path for path in every if score_of(linear, path) is not None}


@given(lap_problems(), st.integers(0, 1000))
def test_the_best_lap_is_proved_so(problem: Problem, number: int) -> None:
    linear = linear_of(problem)
    proofs = any_prices(linear, number)
    scores = [score for path in every_path(linear) if (score := score_of(linear, path)) is not None]
    result = walked(linear, proofs, LIMITS)
    assert not scores or max(scores) <= result.ceiling
    if result.best is not None:  # a few walks may miss what there is
        assert result.best.score <= max(scores)


@given(lap_problems(), st.integers(0, 1000), st.sampled_from([1, 3, 1000]))
def test_merged_walks_and_parts_of_the_floor_lose_nothing(problem: Problem, number: int, width: int) -> None:
    linear = linear_of(problem)
    proofs, ground = any_prices(linear, number), ground_of(linear)
    scores = {path: score for path in every_path(linear) if (score := score_of(linear, path)) is not None}
    assert ground is not None
    parts: list[Zones | None] = [*ground.parts(linear)] or [None]
    runs = [Stepping(linear, proofs, ground, linear.usable, part).run(None, ANYTHING, STEPS) for part in parts]
    assert {path for run in runs for path in run.walks} == set(scores)
    for least in {ANYTHING, *scores.values()}:
        left = left_by(Stepping(linear, proofs, ground, linear.usable), width, least, STEPS)
        assert left is not None
        good = {path for path, score in scores.items() if score >= least}
        assert not good or max(scores[path] for path in good) <= left.ceiling
        assert all(left.arcs[list(path)].all() for path in good)


def a_lap(width_mm: int, **room: Any) -> Linear:
    """Four sides of 3 m, the couple turned to the next by each."""
    figures = [giving(a_figure("side", 4, travel=(3000, 0), turn=-2, faces=[0]), 0.9, 1.1)]
    hall = {"style": "travelling", "width": width_mm / 1000, "depth": 5, "lane": 1.5, "laps": 1, **room}
    return linear_of(a_problem(figures, {"protect": "nothing"}, hall, timeline=a_timeline(4)))


def test_a_figure_takes_ground_within_strides_along_its_side_only() -> None:
    linear = a_lap(5000, stride={"least": 0.95, "most": 1.1})
    ground = ground_of(linear)
    assert ground is not None
    taken = {
        tuple(map(tuple, ground.taken[:, :, arc].tolist()))
        for arc in np.flatnonzero(linear.usable & (linear.head != linear.sink))
    }
    forth, back = (2850, 3300), (-3300, -2850)
    assert taken == {(forth, (0, 0)), ((0, 0), forth), (back, (0, 0)), ((0, 0), back)}


@pytest.mark.parametrize(("lane_mm", "fits"), [(1050, True), (1049, False)])
def test_a_side_reaches_from_lane_to_lane_with_the_longest_strides(lane_mm: int, fits: bool) -> None:
    """Of 6 m bodies leave 5.4 m; from lane to lane along the north side are 5.4 m less two lanes, 3.3 m are danced."""
    linear = a_lap(6000, lane=lane_mm / 1000, stride={"least": 1, "most": 1.1})
    found = Walks(linear, unpriced(linear), ground_of(linear), linear.usable).run(None, ANYTHING, STEPS)
    assert bool(found.walks) is fits


def test_where_nothing_closes_the_end_may_be_anywhere() -> None:
    for closed in (False, True):
        ground = ground_of(a_lap(5000, closed=closed))
        assert ground is not None
        near = np.abs(ground.apart) < FAR_MM // 2
        assert near.any() == closed
        assert set(np.abs(ground.apart[near]).tolist()) == ({35} if closed else set())
