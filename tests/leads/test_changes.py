"""Where roles change in composed routines: only where hands, stance, feet, beat and facing allow it (laws)."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings

from composer.catalogue.model import Figure, Stand
from composer.network.build import build
from composer.outcome import Found, NoRoutine
from composer.problem import Problem
from composer.routine import Routine
from composer.solve import solve
from composer.verify import verify
from tests.builders import a_catalogue, a_figure, a_problem, a_routine, a_timeline, tiny_problems

BOTH = {"both_lead": {"at_a_time": 4}}


def composed(problem: Problem) -> Routine:
    """The routine of a problem that has one."""
    outcome = solve(problem)
    assert isinstance(outcome, Found)
    assert verify(problem, outcome.routine) == []
    return outcome.routine


def feet_back_and_forth(hold: str = "two-hands", **more: Any) -> list[Figure]:
    """A figure that keeps both feet, and one after which the other foot of each is free."""
    return [a_figure("stay", 4, hold, **more), a_figure("step", 4, hold, feet_after="RL", **more)]


def test_roles_change_where_the_other_feet_are_free() -> None:
    problem = a_problem(feet_back_and_forth(), None, None, BOTH, a_timeline(4))
    routine = composed(problem)
    changes = [(a, b) for a, b in pairwise(routine.figures) if a.swapped != b.swapped]
    assert changes
    assert {before.figure for before, _ in changes} == {"test/step"}
    assert not routine.figures[0].swapped, "whom the brief calls leader leads first"


@pytest.mark.parametrize("hold", ["closed", "promenade", "wrapped", "crossed-right-on-top", "sweetheart", "fan"])
def test_never_from_a_hold_that_is_not_the_same_from_the_other_side(hold: str) -> None:
    problem = a_problem(feet_back_and_forth(hold), None, None, {**BOTH, "accept": []}, a_timeline(4))
    network = build(problem)
    assert not any(network.changes_lead(arc) for arc in network.arcs)
    assert isinstance(solve(problem), NoRoutine)


def test_never_on_the_wrong_feet() -> None:
    problem = a_problem([a_figure("stay", 4, "two-hands")], None, None, BOTH, a_timeline(4))
    assert isinstance(solve(problem), NoRoutine)


def test_never_on_a_beat_the_next_figure_does_not_begin_on() -> None:
    figures = [a_figure("step", 2, "two-hands", feet_after="RL"), a_figure("stay", 2, "two-hands", starts_on=(1,))]
    problem = a_problem([*figures, a_figure("four", 4, "two-hands")], None, None, BOTH, a_timeline(4))
    assert not [a for a in build(problem).arcs if a.figure == "test/stay" and a.start % 48]


@pytest.mark.parametrize(("faces", "possible"), [((0, 4), True), ((0,), False)])
def test_alignment_is_measured_from_the_new_leader(faces: tuple[int, ...], possible: bool) -> None:
    """In two hands the new leader looks the other way: against line of dance where the old one looked along it."""
    figures = feet_back_and_forth(faces=faces)
    problem = a_problem(figures, None, None, BOTH, a_timeline(4))
    outcome = solve(problem)
    assert isinstance(outcome, Found if possible else NoRoutine)
    if isinstance(outcome, Found):
        first = outcome.routine.figures[0].faces
        assert {(p.swapped, (p.faces - first) % 8) for p in outcome.routine.figures} == {(False, 0), (True, 4)}


def test_side_by_side_the_new_leader_stands_on_the_other_side() -> None:
    """With inside hands nobody turns; the leader's place is 62 cm to the right, where the follower stood."""
    figures = [
        a_figure("step", 4, "inside-hands", feet_after="RL"),
        a_figure("on", 4, "inside-hands-left", feet_after="RL"),
        a_figure("back", 4, "inside-hands", feet="RL"),
    ]
    room = {"style": "spot", "width": 4, "depth": 4, "start": {"x": 2, "y": 2}}
    wishes = {"opening": {"faces": "LOD"}}
    couple = {"both_lead": {"at_a_time": 4, "changes": 1}}
    routine = composed(a_problem(figures, wishes, room, couple, a_timeline(2)))
    first, second = routine.figures
    assert (first.figure, second.figure, second.swapped) == ("test/step", "test/on", True)
    assert (second.x_mm, second.y_mm, second.faces) == (2000, 2000 - 620, 0)


def test_walls_are_kept_by_whoever_leads() -> None:
    """Across 90 cm the new leader walks 1 m the other way: the room is just deep enough, and a millimetre less is not.

    The couple faces north and south; leader at y, follower at y + 900. The new leader (there) walks 1 m south.
    """
    figures = [
        a_figure("step", 4, "two-hands", feet_after="RL"),
        a_figure("walk", 4, "two-hands", travel=(1000, 0)),
    ]
    couple = {"both_lead": {"at_a_time": 4}}
    wishes = {"must": [{"figure": "test/walk", "at": 5}], "opening": {"faces": "C"}}

    def problem(y: float) -> Problem:
        room = {"style": "spot", "width": 4, "depth": 4, "start": {"x": 2, "y": y}}
        return a_problem(figures, wishes, room, couple, a_timeline(2))

    # the old leader is pushed back to y - 1000, and a body keeps 300 mm from the wall
    routine = composed(problem(1.3))
    assert (routine.figures[1].y_mm, routine.figures[1].faces) == (1300 + 900, 2)
    assert isinstance(solve(problem(1.299)), NoRoutine)


@pytest.mark.parametrize("figure", ["closed", "wrong-feet"])
def test_verify_refuses_a_change_written_in_by_hand(figure: str) -> None:
    figures = [
        *feet_back_and_forth(),
        a_figure("closed", 4),
        a_figure("wrong-feet", 4, "two-hands", feet="RL"),
    ]
    problem = a_problem(figures, None, None, BOTH, a_timeline(4))
    legal = a_routine(problem, ["stay", "step", "~stay", "~stay"])
    assert verify(problem, legal) == []
    edited = a_routine(problem, ["stay", "step", f"~{figure}", "~stay"])
    found = verify(problem, edited)
    assert any(breach.law for breach in found)
    assert {breach.count for breach in found if breach.law} >= {9}


def test_verify_refuses_a_lead_flipped_by_hand() -> None:
    """One word changed in the record: feet, facing and place no longer follow."""
    room = {"style": "spot", "width": 4, "depth": 4}
    problem = a_problem(feet_back_and_forth(), None, room, BOTH, a_timeline(4))
    routine = composed(problem)
    last = len(routine.figures) - 1
    flipped = replace(
        routine, figures=tuple(replace(p, swapped=p.swapped != (i == last)) for i, p in enumerate(routine.figures))
    )
    subjects = {breach.key.split(":")[1] for breach in verify(problem, flipped) if breach.law}
    assert {"leader-foot", "facing"} <= subjects
    assert "place" in subjects or "room" in subjects


def test_verify_refuses_another_leader_where_the_brief_has_one() -> None:
    problem = a_problem(feet_back_and_forth(), None, None, None, a_timeline(4))
    found = verify(problem, a_routine(problem, ["stay", "step", "~stay", "~stay"]))
    assert [(b.key, b.count) for b in found] == [("continuity:lead", 9)]


def test_at_a_time_exactly_and_one_count_more() -> None:
    figures = feet_back_and_forth()
    for counts, possible in ((8, True), (9, False)):
        problem = a_problem(figures, None, None, {"both_lead": {"at_a_time": counts}}, a_timeline(4))
        assert isinstance(solve(problem), Found if possible else NoRoutine)


def test_as_many_changes_as_fit_and_one_more() -> None:
    """Sixteen counts, four at a time: three changes."""
    for changes, possible in ((3, True), (4, False)):
        couple = {"both_lead": {"at_a_time": 4, "changes": changes}}
        problem = a_problem(feet_back_and_forth(), None, None, couple, a_timeline(4))
        outcome = solve(problem)
        assert isinstance(outcome, Found if possible else NoRoutine)
        if isinstance(outcome, Found):
            figures = outcome.routine.figures
            assert sum(a.swapped != b.swapped for a, b in pairwise(figures)) == changes


def test_learned_in_the_role_in_which_it_is_danced() -> None:
    """``hard`` may be led by the follower, who has learned to lead it, and not by the leader."""
    figures = [*feet_back_and_forth(), a_figure("hard", 4, "two-hands", level=3)]
    couple: dict[str, Any] = {
        "leader": {"level": 1, "other_role": {"level": 3}},
        "follower": {"level": 1, "other_role": {"level": 1, "knows": ["test/hard"]}},
        **BOTH,
    }
    problem = a_problem(figures, {"must": ["test/hard"]}, None, couple, a_timeline(4))
    routine = composed(problem)
    assert {p.swapped for p in routine.figures if p.figure == "test/hard"} == {True}
    couple["follower"] = {"level": 1, "other_role": {"level": 1}}
    assert isinstance(solve(a_problem(figures, {"must": ["test/hard"]}, None, couple, a_timeline(4))), NoRoutine)


def test_what_one_partner_avoids_in_one_role() -> None:
    figures = [*feet_back_and_forth(), a_figure("dip", 4, "two-hands", cautions=("dip",))]
    couple = {"follower": {"avoid": ["dip"], "other_role": {"level": 1}}, "accept": ["dip"], **BOTH}
    routine = composed(a_problem(figures, {"must": ["test/dip"]}, None, couple, a_timeline(4)))
    assert {p.swapped for p in routine.figures if p.figure == "test/dip"} == {True}, "only while she leads"


def test_turns_are_counted_by_person() -> None:
    """A leader who spins right, then follows and is turned: the person's turns add up, not the role's."""
    figures = [
        *feet_back_and_forth(),
        a_figure("spin", 4, "two-hands", turn=8, feet_after="RL"),
        a_figure("spun", 4, "two-hands", turn=8),
    ]
    wishes = {"must": [{"figure": "test/spin", "at": 1}, {"figure": "test/spun", "at": 5}]}
    couple = {"both_lead": {"at_a_time": 4, "changes": 1}}
    limits = {"spinning": {"turns": 2, "within": 8}}
    routine = composed(a_problem(figures, {**wishes, **limits}, None, couple, a_timeline(2)))
    assert [p.swapped for p in routine.figures] == [False, True]
    tight = {"spinning": {"turns": 1, "within": 8}}
    assert isinstance(solve(a_problem(figures, {**wishes, **tight}, None, couple, a_timeline(2))), NoRoutine)


@given(tiny_problems(both_lead=True, most_beats=16))
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_both_judges_pass_what_is_composed(problem: Problem) -> None:
    """The rules' checkers and the replay of bodies, hands and places, which is written apart from them."""
    outcome = solve(problem)
    if isinstance(outcome, Found):
        assert verify(problem, outcome.routine) == []


def test_changing_twice_is_standing_as_before() -> None:
    """Roles given and taken back leave hands, facing and feet as they were, in every hold that allows it."""
    catalogue = a_catalogue([a_figure("a")])
    able = 0
    for hold in catalogue.holds:
        stand = Stand(hold, 3, "L", "R")
        for once in catalogue.handed_over(stand):
            able += 1
            hands = len(catalogue.holds[once.hold].hands)
            if hands == len(catalogue.holds[hold].hands) and once.hold in {
                w.hold for w in catalogue.handed_over(stand)
            }:
                again = {replace(twice) for twice in catalogue.handed_over(once)}
                assert stand in again or catalogue.holds[hold].stance != catalogue.holds[once.hold].stance
    assert able >= 15
