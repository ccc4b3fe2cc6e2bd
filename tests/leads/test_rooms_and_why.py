"""The least floor of a routine with a change of roles, and other figures on its counts."""

from __future__ import annotations

from dataclasses import replace

from composer.explain.here import exchanged, fillings
from composer.roomsize import room_of_size, smallest
from composer.verify import verify
from tests.builders import a_figure, a_problem, a_routine, a_timeline


def test_the_least_floor_holds_both_bodies_and_no_millimetre_less_will_do() -> None:
    """Two hands: leader and follower 90 cm apart; the new leader walks 1 m and pushes the other one back."""
    figures = [a_figure("step", 4, "two-hands", feet_after="RL"), a_figure("walk", 4, "two-hands", travel=(1000, 0))]
    problem = a_problem(figures, None, None, {"both_lead": {"at_a_time": 4}}, a_timeline(2))
    found = smallest(problem, a_routine(problem, ["step", "~walk"]))
    # along the couple: 900 apart, 1000 walked, 300 for a body at each end
    assert sorted((found.width_mm, found.depth_mm)) == [600, 900 + 1000 + 600]
    room = room_of_size(problem, found)
    laws = [b for b in verify(replace(problem, room=room), found.routine) if b.law]
    assert laws == []
    tight = replace(room, width_mm=room.width_mm - 10)
    assert [b for b in verify(replace(problem, room=tight), found.routine) if "room" in b.key]


def test_other_figures_on_the_counts_where_roles_change() -> None:
    figures = [
        a_figure("step", 4, "two-hands", feet_after="RL"),
        a_figure("stay", 4, "two-hands"),
        a_figure("other", 4, "two-hands", turn=2),
        a_figure("closed", 4),
        a_figure("wrong", 4, "two-hands", feet="RL"),
    ]
    problem = a_problem(figures, None, None, {"both_lead": {"at_a_time": 4}}, a_timeline(3))
    routine = a_routine(problem, ["step", "~stay", "~stay"], faces=1)
    assert verify(problem, routine) == []
    assert set(fillings(problem, routine, 1)) == {("test/step",), ("test/other",)}
    new = exchanged(problem, routine, 1, ("test/other",))
    assert [p.swapped for p in new.figures] == [False, True, True]
    assert [p.faces for p in new.figures] == [1, 5, 7]
    assert [b for b in verify(problem, new) if b.law] == []
