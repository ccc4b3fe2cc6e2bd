"""The arms: what teachers know about turns under joined hands (common practice, no source), and that turning undoes.

Turns are in sixteenths (16 is once round), to the right positive; bearings in degrees.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import reduce

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from composer.kinematics import arms as lie
from composer.kinematics.armholds import arms_at, head_clearance_mm, stance_bearings
from composer.kinematics.arms import Arms, Tangle, Unable
from tests.kinematics.builders import the_holds


def held(name: str) -> Arms:
    return arms_at(the_holds(), name)


def lift(arms: Arms, *pairs: str) -> Arms:
    return reduce(lie.lifted, pairs, arms)  # type: ignore[arg-type]


def lower(arms: Arms, *pairs: str) -> Arms:
    return reduce(lie.lowered, pairs, arms)  # type: ignore[arg-type]


def differs(arms: Arms, hold: str) -> list[str]:
    return lie.fits_hold(arms, held(hold))


def to_place(arms: Arms, hold: str) -> Arms:
    """Walk to where a hold stands without turning, the short way."""
    leader, _ = stance_bearings(the_holds().stances[the_holds().holds[hold].stance])
    return lie.moved(arms, 0, 0, (leader - arms.leader + 180) % 360 - 180)


@pytest.mark.parametrize("name", sorted(the_holds().holds))
def test_every_hold_of_the_catalogue_is_one_arms_can_lie_in(name: str) -> None:
    arms = held(name)
    assert differs(arms, name) == []
    for winding in arms.pairs:
        assert winding.leader
        assert winding.follower
    assert bool(arms.twist16) == (len(arms.pairs) == 2)


@pytest.mark.parametrize("turn", [-16, 16])
def test_underarm_turn_leaves_one_hand_free(turn: int) -> None:
    arms = lower(lie.moved(lift(held("left-to-right"), "LR"), 0, turn), "LR")
    assert differs(arms, "left-to-right") == []


@pytest.mark.parametrize("turn", [-16, 16])
def test_leaders_turn_under_the_hand_too(turn: int) -> None:
    arms = lower(lie.moved(lift(held("left-to-right"), "LR"), turn, 0), "LR")
    assert differs(arms, "left-to-right") == []


def test_half_a_turn_in_under_one_hand_wraps_the_other_in_front() -> None:
    """To the left under her lifted right hand: her left arm crosses in front of her, the leader's right behind."""
    arms = to_place(lie.moved(lift(held("two-hands"), "LR"), 0, -8), "wrapped")
    assert differs(lower(arms, "LR"), "wrapped") == []


def test_wrap_on_the_other_side_is_its_mirror() -> None:
    arms = to_place(lie.moved(lift(held("two-hands"), "RL"), 0, 8), "wrapped-left")
    assert differs(lower(arms, "RL"), "wrapped-left") == []


def test_turn_out_under_one_hand_leads_the_other_behind_the_back() -> None:
    arms = to_place(lie.moved(lift(held("two-hands"), "LR"), 0, 16), "arm-behind-left")
    arms = lower(arms, "LR")
    assert differs(arms, "arm-behind-left") == []
    assert any("behind the back" in text for text in lie.fits_hold(arms, replace(held("two-hands"))))


@pytest.mark.parametrize(("hold", "turn", "end"), [("crossed-right-on-top", 16, "crossed-left-on-top"),
                                                   ("crossed-left-on-top", -16, "crossed-right-on-top")])  # fmt: skip
def test_turn_under_crossed_hands_changes_which_is_on_top(hold: str, turn: int, end: str) -> None:
    arms = lift(held(hold), "RR", "LL")
    there = lower(lie.moved(arms, 0, turn), "RR", "LL")
    assert differs(there, end) == []
    assert differs(there, hold) != []
    back = lower(lie.moved(lift(there, "RR", "LL"), 0, -turn), "RR", "LL")
    assert differs(back, hold) == []


@pytest.mark.parametrize(("hold", "turn"), [("crossed-right-on-top", -16), ("crossed-left-on-top", 16)])
def test_turning_the_wrong_way_under_crossed_hands_locks_them(hold: str, turn: int) -> None:
    with pytest.raises(Tangle, match="twisted"):
        lie.moved(lift(held(hold), "RR", "LL"), 0, turn)


@pytest.mark.parametrize(("turn", "top"), [(16, "left"), (-16, "right")])
def test_full_turn_under_both_hands_crosses_them(turn: int, top: str) -> None:
    arms = lower(lie.moved(lift(held("two-hands"), "LR", "RL"), 0, turn), "LR", "RL")
    assert differs(arms, "two-hands") == [f"the arms are crossed, the leader's {top} on top"]


def test_half_turn_from_crossed_hands_is_the_sweetheart() -> None:
    arms = lie.moved(lift(held("crossed-right-on-top"), "RR"), 0, 8)
    assert differs(to_place(arms, "sweetheart"), "sweetheart") == []


def test_low_arm_goes_so_far_and_no_farther() -> None:
    """Right arm, low, nobody walking: across the front and behind the back at the limit and a sixteenth past it."""
    arms = held("left-to-right")
    front, behind = int(-lie.FRONT_LIMIT / 22.5), int(lie.BEHIND_LIMIT / 22.5)
    lie.moved(arms, 0, front)
    with pytest.raises(Tangle, match="across the front"):
        lie.moved(arms, 0, front + 1)
    lie.moved(arms, 0, -behind)
    with pytest.raises(Tangle, match="behind the back"):
        lie.moved(arms, 0, -behind - 1)


def test_arm_never_comes_down_behind_the_back() -> None:
    arms = lower(lie.moved(lift(held("left-to-right"), "LR"), 0, -16), "LR")
    winding = arms.winding("LR")
    assert winding is not None
    assert reached(arms, winding, "follower") == {0}


def test_hands_that_cannot() -> None:
    arms = held("left-to-right")
    for act, pair in [(lie.lifted, "RL"), (lie.dropped, "RR"), (lie.lowered, "LR"), (lie.joined, "RR"),
                      (lie.joined, "LL"), (lie.lowered, "RL")]:  # fmt: skip
        with pytest.raises(Unable):
            act(arms, pair)  # type: ignore[operator]
    with pytest.raises(Unable):
        lie.lifted(lie.lifted(arms, "LR"), "LR")


def test_letting_go_forgets_the_twist() -> None:
    arms = lie.dropped(lie.moved(lift(held("two-hands"), "LR", "RL"), 0, 16), "RL")
    assert lie.joined(lower(arms, "LR"), "RL").twist16 == {0}


def reached(arms: Arms, winding: lie.Winding, role: lie.Role) -> set[float]:
    """Degrees round to the own side that the arm may lie at."""
    hand = lie.hand_of(winding.pair, role)
    return {round(lie.round_own_side(arms.bearing(role), k, hand), 3) for k in winding.of(role)}


TURNS = st.lists(
    st.tuples(st.integers(-6, 6), st.integers(-6, 6), st.sampled_from([-60.0, 0.0, 45.0])), min_size=1, max_size=6
)
HOLDS = st.sampled_from(sorted(name for name, hold in the_holds().holds.items() if hold.hands))


@given(HOLDS, TURNS)
def test_turning_back_restores_the_arms(hold: str, turns: list[tuple[int, int, float]]) -> None:
    first = arms = held(hold)
    try:
        for leader, follower, circle in turns:
            arms = lie.moved(arms, leader, follower, circle)
    except Tangle:
        assume(False)
    for leader, follower, circle in reversed(turns):
        arms = lie.moved(arms, -leader, -follower, -circle)
    assert abs(math.remainder(arms.leader - first.leader, 360)) < 1e-6
    for before, after in zip(first.pairs, arms.pairs, strict=True):
        # What was open may have been narrowed on the way, never widened or emptied.
        for role in lie.ROLES:
            now, then = reached(arms, after, role), reached(first, before, role)
            assert now
            assert now <= then
    assert bool(arms.twist16) == bool(first.twist16)
    assert arms.twist16 <= first.twist16
    assert lie.fits_hold(arms, first) == []


@given(HOLDS, st.integers(-20, 20), st.integers(-20, 20))
def test_couple_that_turns_as_one_changes_nothing(hold: str, sixteenths: int, circle: int) -> None:
    first = held(hold)
    arms = lie.moved(first, sixteenths, sixteenths, 22.5 * sixteenths)
    assert arms.twist16 == first.twist16
    for now, then in zip(arms.pairs, first.pairs, strict=True):
        assert all(reached(arms, now, role) == reached(first, then, role) for role in lie.ROLES if not now.high)


@given(st.integers(-24, 24))
def test_mirror_image(turn: int) -> None:
    """What her right arm does in a right turn her left arm does in a left turn."""
    outcomes: list[set[float]] = []
    for hold, sign in (("left-to-right", 1), ("right-to-left", -1)):
        try:
            arms = lie.moved(held(hold), 0, sign * turn)
            outcomes.append(reached(arms, arms.pairs[0], "follower"))
        except Tangle:
            outcomes.append(set())
    assert outcomes[0] == outcomes[1]


def test_head_clearance() -> None:
    """Middle statures: the leader just fits under the follower's hand, with room the other way round."""
    assert 0 < head_clearance_mm(1759, 1618) < 150
    assert head_clearance_mm(1618, 1759) > 300
    assert head_clearance_mm(1900, 1550) < 0
