"""What else could be danced on a count: brute force over every sequence says the same, whether priced or impossible."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from composer.cli.heretell import here_data, told_here
from composer.explain.elsewhere import NextBest, Nothing, Undecided, elsewhere, spans
from composer.explain.here import why_here
from composer.outcome import Found
from composer.problem import Problem
from composer.routine import Placed, Routine
from composer.rules import breaches_of, points_of
from composer.solve import solve
from composer.units import TICKS_PER_BEAT
from composer.verify import verify
from tests.builders import a_figure, a_problem, a_routine, a_timeline, tiny_problems
from tests.explain.brute import clashes_from, smallest
from tests.solve.brute import TooMany, sequences, with_places

QUICKLY = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


def at_tick(figures: tuple[Placed, ...], tick: int) -> str:
    return next(p.figure for p in figures if p.start_tick <= tick < p.end_tick)


def judged(problem: Problem, chosen: list[tuple[Placed, ...]]) -> tuple[int | None, set[frozenset[str]]]:
    """The best score among these sequences, and what each of them breaks."""
    best: int | None = None
    broken: set[frozenset[str]] = set()
    for placed in chosen:
        routine = Routine("brute", problem.brief.dances, problem.length_ticks, with_places(problem, placed))
        breaches = breaches_of(problem, routine)
        if not breaches:
            score = sum(points.total for points in points_of(problem, routine))
            best = score if best is None else max(best, score)
        if not any(breach.law for breach in breaches):
            broken.add(frozenset(breach.key for breach in breaches))
    return best, smallest(broken)


def stays(one: tuple[Placed, ...], other: tuple[Placed, ...], position: int) -> bool:
    kept = {(p.figure, p.start_tick) for i, p in enumerate(one) if i != position}
    here = one[position]
    return all(
        (p.figure, p.start_tick) in kept or (here.start_tick <= p.start_tick and p.end_tick <= here.end_tick)
        for p in other
    )


def agrees(found: object, score: int, best: int | None, broken: set[frozenset[str]]) -> None:
    if best is not None:
        assert isinstance(found, NextBest)
        assert found.exact
        assert found.lost == score - best
        return
    assert isinstance(found, Nothing)
    assert found.ever is bool(broken)
    every = clashes_from(broken) if broken else set()
    mine = {frozenset(member.key for member in clash.members) for clash in found.clashes}
    assert mine <= every
    assert bool(mine) is bool(every)
    assert all(clash.minimal for clash in found.clashes)


@given(tiny_problems(), st.integers(0, 100))
@QUICKLY
def test_brute_force_agrees_with_the_rest_free_and_with_the_rest_kept(problem: Problem, at: int) -> None:
    assume(problem.room is None or problem.room.style != "travelling")
    outcome = solve(problem)
    assume(isinstance(outcome, Found))
    assert isinstance(outcome, Found)
    routine = outcome.routine
    count = at % (problem.length_ticks // TICKS_PER_BEAT)
    tick = count * TICKS_PER_BEAT
    position = next(i for i, p in enumerate(routine.figures) if p.start_tick <= tick < p.end_tick)
    figure = routine.figures[position].figure
    try:
        every = [placed for placed in sequences(problem, 3000) if at_tick(placed, tick) != figure]
    except TooMany:
        assume(False)
    free, kept = elsewhere(problem, routine, position, tick)
    agrees(free, routine.score, *judged(problem, every))
    agrees(kept, routine.score, *judged(problem, [one for one in every if stays(routine.figures, one, position)]))
    for found in (free, kept):
        if isinstance(found, NextBest):
            assert verify(problem, found.routine) == []
            assert at_tick(found.routine.figures, tick) != figure
            assert sum(number for _, number in found.by_term) == found.lost


def four_bars(**wishes: object) -> Problem:
    figures = [
        a_figure("four", beats=4),
        a_figure("side", beats=4),
        a_figure("eight", beats=8),
        a_figure("six", beats=6),
    ]
    return a_problem(figures, wishes, None, None, a_timeline(4))


def test_a_figure_asked_for_on_its_count_leaves_nothing_else() -> None:
    problem = four_bars(must=[{"figure": "test/side", "at": 5}])
    routine = a_routine(problem, ["four", "side", "eight"])
    here = why_here(problem, routine, 6)
    assert isinstance(here.free, Nothing)
    ((member,),) = (clash.members for clash in here.free.clashes)
    assert member.key == "must_never:must-test/side@5"
    told = told_here(problem, routine, 6, here)
    assert "Nothing else can be danced on count 6, because of what is wished; this is proved." in told.answer
    assert "asked for" in told.answer
    assert here_data(here)["without"]["status"] == "nothing"


def test_only_the_figures_around_leave_nothing_else() -> None:
    problem = four_bars(must=["test/six"])
    routine = a_routine(problem, ["six", "six", "four"])
    here = why_here(problem, routine, 2)
    assert isinstance(here.free, NextBest)
    assert here.kept == Nothing((), ever=False)
    told = told_here(problem, routine, 2, here)
    assert any("No other figure, and no other figures together" in line.text for p in told.parts for line in p.lines)


def test_a_better_routine_is_said_to_be_better() -> None:
    problem = four_bars(prefer={"test/eight": 10})
    routine = a_routine(problem, ["four", "four", "four", "four"])
    here = why_here(problem, routine, 1)
    assert isinstance(here.free, NextBest)
    assert here.free.lost < 0
    assert here.free.exact
    assert "A better routine has something else on count 1" in told_here(problem, routine, 1, here).answer
    assert here_data(here)["without"]["exact"] is True


def test_without_time_nothing_is_claimed() -> None:
    problem = four_bars(must=["test/six"], at_least_different=3)
    routine = a_routine(problem, ["six", "six", "four"])
    free, kept = elsewhere(problem, routine, 0, 0, time_limit_s=0.0)
    for found in (free, kept):
        assert not isinstance(found, NextBest) or found.least_lost is None or found.least_lost <= found.lost
    here = why_here(problem, routine, 1)
    for open_one in (Undecided(3.0), NextBest(routine, 4, 1, (), ()), NextBest(routine, 4, None, (), ())):
        object.__setattr__(here, "free", open_one)
        text = told_here(problem, routine, 1, here).answer
        assert "this is proved" not in text
        assert "ndecided" in text or "not settled" in text or "none loses fewer than 1 point." in text


def test_spans_are_as_short_as_they_can_be() -> None:
    problem = four_bars()
    one = a_routine(problem, ["four", "side", "eight"]).figures
    other = a_routine(problem, ["four", "six", "six"]).figures
    assert [(s.first, s.last, s.before, s.after) for s in spans(one, other)] == [
        (5, 16, ("test/side", "test/eight"), ("test/six", "test/six"))
    ]
    third = a_routine(problem, ["side", "side", "eight"]).figures
    assert [(s.first, s.last) for s in spans(one, third)] == [(1, 4)]
    assert spans(one, one) == ()


@pytest.mark.parametrize("count", [1, 9])
def test_the_exchange_named_best_is_no_worse_than_any_example(count: int) -> None:
    problem = four_bars(prefer={"test/side": 3}, repeats={"most": 2})
    outcome = solve(problem)
    assert isinstance(outcome, Found)
    here = why_here(problem, outcome.routine, count)
    if here.possible:
        assert isinstance(here.kept, NextBest)
        assert isinstance(here.free, NextBest)
        assert here.free.lost <= here.kept.lost <= here.possible[0].lost
