"""A walk's routine keeps every row, and the search with walks agrees with the search without them."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from composer.network import build
from composer.outcome import Found, NoRoutine
from composer.problem import Problem
from composer.rules import state_all
from composer.solve import rounds, solve
from composer.solve.cpsat import Limits
from composer.solve.linear import linear_from
from composer.solve.solve import solve as plain
from composer.verify import verify
from tests.builders import a_figure, a_problem, a_timeline


@st.composite
def laps(draw: st.DrawFn) -> Problem:
    """Three figures round a hall, possible or not."""
    figures = [
        a_figure("walk", 4, travel=(draw(st.sampled_from([1500, 2500, 3000])), 0)),
        a_figure("turn", 4, travel=(1000, -500), turn=draw(st.sampled_from([-2, -2, 2])), energy=4),
        a_figure("still", draw(st.sampled_from([2, 4])), turn=draw(st.sampled_from([0, -2]))),
    ]
    room: dict[str, Any] = {"style": "travelling", "width": 5, "depth": draw(st.sampled_from([4, 5])), "lane": 1.8}
    room |= {"laps": draw(st.sampled_from([0.5, 1])), "closed": False, "stride": {"least": 0.9}}
    room["closed"] = room["laps"] == 1 and draw(st.booleans())
    wishes = {"protect": "nothing", "repeats": {"most": draw(st.sampled_from([2, 4, 9]))}}
    return a_problem(figures, wishes, room, timeline=a_timeline(draw(st.integers(2, 4))))


@pytest.mark.slow
@settings(deadline=None, max_examples=6, suppress_health_check=[HealthCheck.too_slow])
@given(laps())
def test_with_and_without_walks_the_outcome_is_the_same(problem: Problem) -> None:
    ours, other = solve(problem, time_limit_s=2), plain(problem, time_limit_s=2)
    if isinstance(ours, NoRoutine) or isinstance(other, NoRoutine):
        assert not isinstance(ours, Found)
        assert not isinstance(other, Found)
    if isinstance(ours, Found) and isinstance(other, Found):
        assert ours.routine.score <= other.bound
        assert other.routine.score <= ours.bound
        assert ours.routine.score >= other.routine.score or not other.proven_best
        assert verify(problem, ours.routine) == []


@settings(deadline=None, max_examples=6, suppress_health_check=[HealthCheck.too_slow])
@given(laps())
def test_a_walk_is_found_only_where_a_routine_exists(problem: Problem) -> None:
    network = build(problem)
    linear = linear_from(network, state_all(problem, network))
    assert problem.room is not None
    found = rounds.walked(problem, problem.room, network, linear, Limits(work=10, wall_s=20, seed=0))
    if found is not None:
        assert not isinstance(plain(problem, time_limit_s=2), NoRoutine)
