"""Roles change where hands and feet allow: stances read from the other side, hands crossed over, feet checked."""

from __future__ import annotations

import pytest

from composer.catalogue.roles import swapped_holds, swapped_stance
from composer.revise.roles import role_changes
from tests.builders import a_catalogue, a_figure, a_problem, a_routine, a_timeline, the_holds


@pytest.mark.parametrize("name", sorted(the_holds().stances))
def test_changing_twice_is_where_we_were(name: str) -> None:
    stance = the_holds().stances[name]
    facing, forward, right = swapped_stance(stance)
    back = swapped_stance(stance.model_copy(update={"facing": facing, "forward": forward, "right": right}))
    assert back[0] == stance.facing % 16
    assert abs(back[1] - stance.forward) <= 1
    assert abs(back[2] - stance.right) <= 1


def test_hands_and_sides_are_read_the_other_way_round() -> None:
    catalogue = a_catalogue([a_figure("a")])
    assert swapped_holds(catalogue, "two-hands")[0] == "two-hands"
    assert "right-to-left" in swapped_holds(catalogue, "left-to-right")
    assert "left-to-right" not in swapped_holds(catalogue, "left-to-right")
    assert swapped_holds(catalogue, "closed") == [], "a frame is left first"
    assert swapped_holds(catalogue, "wrapped") == []
    ahead = swapped_stance(catalogue.stances["follower-ahead"])
    assert (ahead[1], ahead[2]) == (-750, 0), "who was ahead is behind"


def test_feet_that_fit_at_once_and_feet_that_do_not() -> None:
    left = a_figure("left", 4, "two-hands", feet="LR")
    right = a_figure("right", 4, "two-hands", feet="RL")
    problem = a_problem([left, right], timeline=a_timeline(2))
    both = role_changes(problem, a_routine(problem, ["left", "left"]))
    assert [(c.count, c.hold, c.figures, c.feet_ready) for c in both] == [(5, "two-hands", ("test/right",), True)]
    alone = a_problem([left], timeline=a_timeline(2))
    found = role_changes(alone, a_routine(alone, ["left", "left"]))
    assert [(c.figures, c.feet_ready) for c in found] == [(("test/left",), False)]


def test_no_change_from_a_frame_or_to_what_is_not_learned() -> None:
    closed = a_problem([a_figure("a", 4)], timeline=a_timeline(2))
    assert role_changes(closed, a_routine(closed, ["a", "a"])) == []
    hard = a_figure("hard", 4, "two-hands", level=3)
    problem = a_problem([hard], None, None, {"leader": {"level": 3}, "follower": {"level": 1}}, a_timeline(2))
    assert role_changes(problem, a_routine(problem, ["hard", "hard"])) == []
