"""Arms led through small figures: the order within a count, handing over, who passes under, and what is refused."""

from __future__ import annotations

from typing import Any

import pytest

from tests.kinematics.builders import codes, danced, figure_data, ran, underarm_turn

STILL = ["L in-place", "R in-place", "L in-place", "R in-place"]
STILL_TOO = ["R in-place", "L in-place", "R in-place", "L in-place"]


def event(at: int | str, do: str, pair: str) -> dict[str, Any]:
    return {"at": at, "do": do, "pair": pair}


def turning(turn: float, *hands: dict[str, Any], hold: str = "left-to-right", **more: Any) -> dict[str, Any]:
    """Four counts; the follower turns by so many eighths up to count 2 and again up to count 3."""
    follower = ["R in-place", f"L in-place turn={turn:g}", f"R in-place turn={turn:g}", "L in-place"]
    return figure_data(STILL, follower, beats=4, hold=hold, hands=list(hands), **more)


@pytest.mark.parametrize("turn", [-4, 4])
def test_lifting_on_the_count_of_the_turn_is_in_time(turn: int) -> None:
    motion = danced(turning(turn, event(2, "lift", "LR"), event(3, "lower", "LR")))
    assert motion.under == ("follower",)
    assert [h.follower_arm for m in motion.moments for h in m.hands] == [
        "open",
        "open",
        "raised",
        "open",
        "open",
        "open",
    ]


def test_lifting_after_the_turn_is_too_late() -> None:
    assert "FIG04" in "".join(codes(turning(4, event(4, "lift", "LR"))))


def test_turn_without_lifting_leaves_the_arm_round_her() -> None:
    told = [str(f) for f in ran(turning(-4))[1]]
    assert any("FIG043" in text and "behind the back" in text for text in told)
    assert any("FIG044" in text and "behind-the-back" in text for text in told)


def test_dropping_frees_the_turn_on_the_same_count_and_joining_comes_after_it() -> None:
    motion = danced(turning(4, event(2, "drop", "LR"), event(3, "join", "LR")))
    assert [len(m.hands) for m in motion.moments] == [1, 1, 0, 1, 1, 1]
    assert motion.under == ()


def test_hand_given_from_hand_to_hand() -> None:
    data = figure_data(STILL, STILL_TOO, beats=4, hold="left-to-right", to="handshake")
    motion = danced({**data, "hands": [event(2, "join", "RR"), event(3, "drop", "LR")]})
    assert [m.hands[0].pair for m in motion.moments] == ["LR", "LR", "RR", "RR", "RR", "RR"]
    assert codes({**data, "hands": [event(1, "join", "RR"), event(4, "drop", "LR")]}) == ["FIG040", "FIG041"]


def test_leader_turning_under_is_named() -> None:
    data = figure_data(
        ["L in-place", "R in-place turn=-4", "L in-place turn=-4", "R in-place"], STILL_TOO, beats=4,
        hold="left-to-right", hands=[event(1, "lift", "LR"), event(4, "lower", "LR")],
    )  # fmt: skip
    assert danced(data).under == ("leader",)


def test_quarter_turn_does_not_pass_under() -> None:
    motion = danced(
        figure_data(
            STILL, ["R in-place", "L in-place turn=1", "R in-place turn=-1", "L in-place"], beats=4,
            hold="left-to-right", hands=[event(1, "lift", "LR"), event(4, "lower", "LR")],
        )
    )  # fmt: skip
    assert motion.under == ()


def test_both_low_hands_and_a_whole_turn_is_a_knot() -> None:
    assert "FIG042" in codes(turning(4, hold="two-hands"))


def test_crossed_hands_need_the_right_way_round() -> None:
    lifts = [event(1, "lift", "RR"), event(1, "lift", "LL"), event(4, "lower", "RR"), event(4, "lower", "LL")]
    right = turning(4, *lifts, hold="crossed-right-on-top", to="crossed-left-on-top")
    wrong = turning(-4, *lifts, hold="crossed-right-on-top", to="crossed-left-on-top")
    assert codes(right) == []
    assert codes(wrong) == ["FIG042"]
    same = [str(f) for f in ran(turning(4, *lifts, hold="crossed-right-on-top"))[1]]
    assert any("the leader's left on top" in text and "crossed-left-on-top" in text for text in same)


def test_diagnostic_names_the_hold_that_would_fit() -> None:
    told = [str(f) for f in ran(turning(0, event(2, "join", "RL")))[1]]
    assert any("FIG040" in text and "these would fit: two-hands" in text for text in told)


def test_arm_round_a_body_does_not_reach_as_far() -> None:
    """Her left arm goes behind her back in a whole turn: possible beside each other, not at arm's length apart."""
    hands = [event(1, "lift", "LR"), event(4, "lower", "LR")]
    follower = ["R in-place", "L back turn=4 size=large", "R in-place turn=4", "L forward size=large"]
    far = figure_data(STILL, follower, beats=4, hold="two-hands", hands=hands, cautions=["behind-the-back"])
    assert "FIG033" in codes(far)


@pytest.mark.parametrize("turn", [8, -8])
def test_underarm_turns_of_the_builders(turn: int) -> None:
    assert danced(underarm_turn(turn)).follower_turn16 == 2 * turn
