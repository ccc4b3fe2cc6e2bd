"""What a caller of ``solve`` sees: outcomes, progress, stopping, the same answer twice."""

from __future__ import annotations

import pytest
from hypothesis import given, settings

from composer.outcome import Found, NoRoutine, Undecided
from composer.problem import Problem
from composer.solve import solve
from tests.benchmarks.instances import Case, problem_of
from tests.builders import a_figure, a_problem, a_timeline, tiny_problems

FOUR = a_figure("four", beats=4)
SIX = a_figure("six", beats=6)
ROOM = {"style": "spot", "width": 4, "depth": 4}


def test_found_with_a_score_card_that_adds_up() -> None:
    outcome = solve(a_problem([FOUR, SIX], timeline=a_timeline(4)))
    assert isinstance(outcome, Found)
    assert outcome.proven_best
    assert outcome.routine.status == "best"
    assert outcome.routine.score == outcome.bound == sum(line.points for line in outcome.routine.score_card)
    assert [p.end_tick for p in outcome.routine.figures][-1] == 16 * 12
    assert all(p.x_mm is None for p in outcome.routine.figures)


def test_no_figure_fits() -> None:
    assert isinstance(solve(a_problem([SIX], timeline=a_timeline(2))), NoRoutine)


def test_wishes_that_clash() -> None:
    wishes = {"must": [{"figure": "test/four", "times": 3}], "repeats": {"most": 2}}
    assert isinstance(solve(a_problem([FOUR, SIX], wishes, timeline=a_timeline(6))), NoRoutine)
    wishes["repeats"] = {"most": 3}
    assert isinstance(solve(a_problem([FOUR, SIX], wishes, timeline=a_timeline(6))), Found)


def test_no_time_is_undecided_not_impossible() -> None:
    outcome = solve(problem_of(Case(96, 30, room=False)), time_limit_s=1e-6)
    assert isinstance(outcome, Undecided)
    assert outcome.best_so_far is None


def test_a_free_start_is_in_the_middle_of_what_fits() -> None:
    outcome = solve(a_problem([a_figure("walk", beats=4, travel=(800, 0))], timeline=a_timeline(1), room=ROOM))
    assert isinstance(outcome, Found)
    (first,) = outcome.routine.figures
    assert first.x_mm is not None
    assert 1000 < first.x_mm < 3000


def test_too_long_a_walk_for_the_room_and_one_that_just_fits() -> None:
    wide = {"style": "spot", "width": 3, "depth": 3}
    walk = a_figure("walk", beats=4, travel=(1000, 0))
    assert isinstance(solve(a_problem([walk], timeline=a_timeline(2), room=wide)), Found)
    assert isinstance(solve(a_problem([walk], timeline=a_timeline(4), room=wide)), NoRoutine)


def test_facings_are_added_up_where_the_network_does_not_keep_them() -> None:
    outcome = solve(a_problem([a_figure("turn", beats=4, turn=3)], timeline=a_timeline(3)))
    assert isinstance(outcome, Found)
    assert [p.faces for p in outcome.routine.figures] == [0, 3, 6]


def test_progress_hears_of_scores_and_bounds() -> None:
    heard: list[tuple[int | None, int | None]] = []
    outcome = solve(problem_of(Case(96, 30, room=False)), progress=lambda best, bound: heard.append((best, bound)))
    assert isinstance(outcome, Found)
    assert heard[0] == (None, None)
    scores = [best for best, _ in heard if best is not None]
    assert scores[-1] == outcome.routine.score
    assert all(bound is None or bound >= outcome.routine.score for _, bound in heard)


def test_what_progress_raises_stops_the_work_and_is_passed_on() -> None:
    class Enough(Exception):
        pass

    def stop(best: int | None, bound: int | None) -> None:
        if best is not None:
            raise Enough

    with pytest.raises(Enough):
        solve(problem_of(Case(96, 30, room=False)), progress=stop)


@given(tiny_problems(most_figures=4, most_beats=16))
@settings(max_examples=20)
def test_the_same_answer_twice(problem: Problem) -> None:
    first, second = solve(problem, seed=3), solve(problem, seed=3)
    if isinstance(first, Found):
        assert isinstance(second, Found)
        assert first.routine == second.routine
    else:
        assert type(first) is type(second)


def test_the_same_answer_twice_with_a_room_and_bands() -> None:
    problem = problem_of(Case(64, 60, room=True))
    first, second = solve(problem), solve(problem)
    assert isinstance(first, Found)
    assert first == second


def test_nothing_is_printed(capfd: pytest.CaptureFixture[str]) -> None:
    solve(problem_of(Case(96, 30, room=False)))
    assert capfd.readouterr() == ("", "")
