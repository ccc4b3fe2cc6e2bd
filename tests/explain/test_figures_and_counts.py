"""Why a figure is not there, and why one stands where it does."""

from __future__ import annotations

from composer.cli.heretell import told_here
from composer.cli.whytell import told_figure
from composer.explain.figure import Already, AtAPrice, Impossible, NoRoutineAnyway, why_figure
from composer.explain.here import exchanged, why_here
from composer.outcome import Found
from composer.problem import Problem
from composer.rules import points_of
from composer.solve import solve
from composer.verify import verify
from tests.builders import a_figure, a_problem, a_routine, a_timeline
from tests.solve.brute import best_score


def a_small_one(**more: object) -> Problem:
    figures = [
        a_figure("four", beats=4),
        a_figure("side", beats=4),
        a_figure("eight", beats=8),
        a_figure("late", beats=4, starts_on=(3,)),
        a_figure("hard", beats=4, level=3),
    ]
    wishes = {"prefer": {"test/side": 10, "test/eight": -20}, **more}
    return a_problem(figures, wishes, None, {"leader": {"level": 2}, "follower": {"level": 2}}, a_timeline(4))


def test_a_figure_in_the_routine_is_said_to_be_there() -> None:
    problem = a_small_one()
    found = why_figure(problem, "test/side")
    assert isinstance(found, Already)
    assert found.counts
    assert "It is" in told_figure(problem, "test/side", None, found).answer


def test_a_figure_left_out_has_the_price_brute_force_gives() -> None:
    problem = a_small_one()
    found = why_figure(problem, "test/eight")
    assert isinstance(found, AtAPrice)
    assert found.exact
    without, with_it = best_score(problem), best_score(a_small_one(must=["test/eight"]))
    assert without is not None
    assert with_it is not None
    assert found.lost == without - with_it > 0
    assert sum(number for _, number in found.by_term) == found.lost
    assert ("test/eight", 1) in found.comes
    assert verify(a_small_one(must=["test/eight"]), found.with_it) == []
    told = told_figure(problem, "test/eight", None, found)
    assert f"{found.lost} points less" in told.answer


def test_a_count_says_what_stands_there() -> None:
    problem = a_small_one()
    found = why_figure(problem, "test/eight", at=5)
    assert isinstance(found, AtAPrice)
    assert found.counts == (5,)
    assert found.stands_there is not None


def test_a_figure_that_cannot_be_comes_with_its_clash_and_what_would_help() -> None:
    problem = a_small_one()
    found = why_figure(problem, "test/hard")
    assert isinstance(found, Impossible)
    keys = {member.key for clash in found.why.clashes for member in clash.members}
    assert "must_never:must-test/hard" in keys
    assert keys & {"learned:leader-level", "learned:follower-level"}
    assert all("without hard" not in remedy.sentence.lower() for remedy in found.why.remedies)
    assert any("earn hard" in remedy.sentence for remedy in found.why.remedies)


def test_a_count_that_cannot_be_names_the_nearest_that_can() -> None:
    found = why_figure(a_small_one(), "test/late", at=5)
    assert isinstance(found, Impossible)
    reasons = [reason for clash in found.why.clashes for reason in clash.reasons]
    assert any("count 5 is beat 1 of the bar" in reason for reason in reasons)


def test_a_brief_without_a_routine_is_told_as_such() -> None:
    found = why_figure(a_small_one(never=["test/four"], must=["test/four"]), "test/side")
    assert isinstance(found, NoRoutineAnyway)


def test_alternatives_cost_what_the_checker_counts() -> None:
    problem = a_small_one()
    outcome = solve(problem)
    assert isinstance(outcome, Found)
    routine = outcome.routine
    here = why_here(problem, routine, 5)
    assert here.sound
    assert here.placed.start_tick <= 48 < here.placed.end_tick
    score = sum(points.total for points in points_of(problem, routine))
    assert score == routine.score
    assert here.possible
    assert all(one.lost >= 0 for one in here.possible)  # the routine is the best there is
    for one in here.possible:
        other = exchanged(problem, routine, here.position, one.figures)
        assert verify(problem, other) == []
        assert score - sum(points.total for points in points_of(problem, other)) == one.lost
    hard = [one for one in here.impossible if "test/hard" in one.figures]
    assert hard
    assert all(one.breach is not None and "level 3" in one.breach.message for one in hard)
    assert told_here(problem, routine, 5, here).answer


def test_a_figure_that_is_asked_for_says_so() -> None:
    problem = a_small_one(must=["test/eight"])
    routine = a_routine(problem, ["side", "eight", "four"])
    here = why_here(problem, routine, 7)
    assert here.placed.figure == "test/eight"
    assert [breach.key for breach in here.asked_for] == ["must_never:must-test/eight"]
    assert not any(breach.key in str(here.possible) for breach in here.asked_for)
    assert "asked for" in told_here(problem, routine, 7, here).answer
