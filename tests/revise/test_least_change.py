"""The least change is brute force's on tiny problems and a MIP's on the scenarios; equal changes go to the score."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from composer.brief import load_problem
from composer.network import build
from composer.outcome import Found, NoRoutine
from composer.problem import Problem
from composer.revise.difference import difference
from composer.revise.kept import (
    PRACTISED,
    Piece,
    changed_counts,
    distance,
    keeping,
    kept_term,
    kept_worth,
    stretches,
)
from composer.revise.leastchange import Least, keep_demand, least_change
from composer.revise.scored import scored
from composer.routine import Placed, Routine
from composer.rules import breaches_of, points_of, state_all
from composer.solve import solve
from composer.solve.linear import linear_from
from composer.solve.relax import program
from tests.builders import a_figure, a_problem, a_routine, a_timeline, tiny_problems
from tests.solve.brute import TooMany, is_broken, sequences, with_places


def the_routine(problem: Problem, placed: tuple[Placed, ...]) -> Routine:
    return Routine("old", problem.brief.dances, problem.length_ticks, placed)


@given(tiny_problems(most_beats=16), st.randoms(use_true_random=False), st.booleans())
@settings(max_examples=settings.default.max_examples)
def test_keeps_as_much_as_any_routine_can_and_is_best_among_those(problem: Problem, random, practised: bool) -> None:
    try:
        everything = list(sequences(problem, 3000))
    except TooMany:
        assume(False)
        return
    assume(everything)
    old = the_routine(problem, random.choice(everything))
    kept = keeping(old, problem.length_ticks, (), [(3, 6)] if practised else [])
    best: tuple[int, int] | None = None
    fewest = problem.length_ticks
    for placed in everything:
        routine = the_routine(problem, with_places(problem, placed))
        if not is_broken(problem, routine):
            fewest = min(fewest, len(changed_counts(old, routine)))
            mark = kept_worth(kept, routine)[0], sum(p.total for p in points_of(problem, routine))
            best = mark if best is None else max(best, mark)
    found = least_change(problem, kept)
    if best is None:
        assert isinstance(found, NoRoutine)
        return
    assert isinstance(found, Least)
    assert (found.kept, found.routine.score) == best
    if not practised:
        assert len(changed_counts(old, found.routine)) == fewest
    assert found.least_proven
    assert found.best_proven
    assert breaches_of(problem, found.routine) == []


def test_practised_counts_are_changed_last() -> None:
    """One of two figures must go; the one that was practised stays although it is shorter."""
    figures = [a_figure("four", 4), a_figure("eight", 8), a_figure("other", 4), a_figure("long", 8)]
    never = {"repeats": {"most": 3}, "at_least_different": 3}
    problem = a_problem(figures, never, timeline=a_timeline(4))
    old = a_routine(problem, ["four", "four", "eight"])
    plain = least_change(problem, keeping(old, problem.length_ticks))
    learned = least_change(problem, keeping(old, problem.length_ticks, (), [(1, 8)]))
    assert isinstance(plain, Least)
    assert isinstance(learned, Least)
    assert [p.figure for p in plain.routine.figures].count("test/eight") == 1
    assert plain.kept == 12
    assert learned.kept == 4 * PRACTISED + 8


def test_the_network_is_narrowed_to_paths_that_keep_enough() -> None:
    problem = a_problem([a_figure("four", 4), a_figure("other", 4)], timeline=a_timeline(4))
    network = build(problem)
    kept = keeping(a_routine(problem, ["four", "other", "four", "other"]), problem.length_ticks)
    everything = keep_demand(network, kept, 16)
    one_less = keep_demand(network, kept, 12)
    assert len([a for a in network.arcs if a.figure and a.id not in everything.forbids]) == 4
    assert len([a for a in network.arcs if a.figure and a.id not in one_less.forbids]) == 8


def test_counts_change_where_the_figure_or_its_part_differs() -> None:
    problem = a_problem([a_figure("four", 4), a_figure("six", 6), a_figure("two", 2)], timeline=a_timeline(3))
    old = a_routine(problem, ["four", "six", "two"])
    same_figures_later = a_routine(problem, ["six", "four", "two"])
    assert changed_counts(old, old) == ()
    assert changed_counts(old, same_figures_later) == tuple(range(1, 11))
    assert distance(old, same_figures_later) == (10, 12)
    assert stretches((1, 2, 3, 7, 9, 10)) == ((1, 3), (7, 7), (9, 10))


def test_before_and_after_say_what_goes_on_and_what_became_of_the_points() -> None:
    problem = a_problem([a_figure("four", 4), a_figure("six", 6), a_figure("two", 2)], timeline=a_timeline(3))
    old, new = (
        scored(problem, a_routine(problem, names)) for names in (["four", "six", "two"], ["six", "four", "two"])
    )
    told = difference(problem, old, new)
    lines = [(x.count, x.before, x.before_goes_on, x.after, x.after_goes_on, x.same) for x in told.lines]
    assert lines == [
        (1, "four", False, "six", False, False),
        (5, "six", False, "six", True, False),
        (7, "six", True, "four", False, False),
        (11, "two", False, "two", False, True),
    ]
    assert sum(term.after - term.before for term in told.terms) == new.score - old.score
    assert all(term.after != term.before for term in told.terms)
    assert difference(problem, old, old).terms == ()


def test_moved_stretches_count_as_kept() -> None:
    problem = a_problem([a_figure("four", 4)], timeline=a_timeline(4))
    old = a_routine(problem, ["four"] * 4)
    shorter = a_problem([a_figure("four", 4)], timeline=a_timeline(3))
    new = a_routine(shorter, ["four"] * 3)
    pieces = (Piece(0, 0, 48), Piece(96, 48, 96))
    kept = keeping(old, shorter.length_ticks, pieces)
    assert kept.most == 12
    assert kept_worth(kept, new) == (12, (4, 4, 4))
    assert changed_counts(old, new, pieces) == ()
    across = keeping(old, shorter.length_ticks, (Piece(0, 0, 36), Piece(96, 48, 96)))
    assert across.most == 8, "a figure that is cut through does not stay"


def test_in_the_room_seen_from_the_other_side_every_figure_stays() -> None:
    """The audience moves to the opposite side: the same figures, the couple turned round as a whole."""
    figures = [a_figure("walk", 4, travel=(500, 0)), a_figure("turn", 4, turn=2), a_figure("other", 4, turn=-2)]
    rooms = [{"style": "show", "width": 8, "depth": 8, "audience": side} for side in ("south", "north")]
    wishes = {"closing": {"faces": "audience"}, "opening": {"faces": "audience"}, "at_least_different": 3}
    south, north = (a_problem(figures, wishes, room, timeline=a_timeline(4)) for room in rooms)
    outcome = solve(south)
    assert isinstance(outcome, Found)
    old = outcome.routine
    assert breaches_of(north, old)
    found = least_change(north, keeping(old, north.length_ticks))
    assert isinstance(found, Least)
    assert found.least_proven
    assert changed_counts(old, found.routine) == ()
    turned = [(new.faces - was.faces) % 8 for was, new in zip(old.figures, found.routine.figures, strict=True)]
    assert turned == [4] * 4


@pytest.mark.slow
@pytest.mark.parametrize("name", ["travelling", "first-dance"])
def test_a_mip_finds_no_smaller_change(name: str) -> None:
    """The same network and rows in HiGHS, an engine that shares no search with the one that decides."""
    import highspy

    problem = load_problem(name)
    outcome = solve(problem)
    assert isinstance(outcome, Found)
    old = outcome.routine
    kept = keeping(old, problem.length_ticks)
    for figure in sorted({placed.figure for placed in old.figures})[:4]:
        wishes = problem.brief.wishes
        closing = wishes.closing.figure == figure or wishes.opening.figure == figure
        if closing or any(must.figure == figure for must in wishes.must):
            continue
        brief = problem.brief.model_copy(
            update={"wishes": wishes.model_copy(update={"never": (*wishes.never, figure)})}
        )
        changed = replace(problem, brief=brief)
        network = build(changed)
        stated = replace(state_all(changed, network), terms=(kept_term(kept, network),))
        model, _, _ = program(linear_from(network, stated), integer=True)
        solver = highspy.Highs()
        for option, value in (("output_flag", False), ("threads", 1)):
            solver.setOptionValue(option, value)
        solver.passModel(model)
        solver.run()
        found = least_change(changed, kept)
        if solver.getModelStatus() == highspy.HighsModelStatus.kInfeasible:
            assert isinstance(found, NoRoutine)
            continue
        assert solver.getModelStatus() == highspy.HighsModelStatus.kOptimal
        assert isinstance(found, Least)
        assert found.least_proven
        assert found.kept == round(-solver.getInfo().objective_function_value)
