"""Simulated figures: the hold is kept, published turns come out, and nothing depends on where north is."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from composer.charts import HoldsFile
from composer.kinematics.motion import Motion, Pose
from tests.kinematics.builders import OPPOSITE, codes, danced, figure_data, natural_turn, ran, the_holds, underarm_turn


def seen(leader: Pose, follower: Pose) -> tuple[float, float]:
    """The follower as the leader sees her: mm ahead and to the right."""
    forward, right = follower.forward_mm - leader.forward_mm, follower.right_mm - leader.right_mm
    angle = leader.facing16 * math.pi / 8
    return forward * math.cos(angle) + right * math.sin(angle), right * math.cos(angle) - forward * math.sin(angle)


def test_natural_turn_keeps_the_hold_and_goes_along_the_line_of_dance() -> None:
    motion = danced(natural_turn())
    stance = the_holds().stances["closed"]
    for moment in motion.moments:
        ahead, beside = seen(moment.leader, moment.follower)
        assert math.hypot(ahead - stance.forward, beside - stance.right) < 10
    assert (motion.leader_turn16, motion.follower_turn16) == (12, 12)
    # It begins facing diagonally to the wall: line of dance lies an eighth to the left of where the leader faces.
    along = (motion.travel_forward_mm - motion.travel_right_mm) / math.sqrt(2)
    across = (motion.travel_forward_mm + motion.travel_right_mm) / math.sqrt(2)
    assert along > 1500
    assert abs(across) < 300


def test_side_step_with_a_quarter_turn_travels_half_turned() -> None:
    """The leader's second step: facing wall half-way, his left is the line of dance (published chart)."""
    motion = danced(natural_turn())
    one, two = motion.moments[1].leader, motion.moments[2].leader
    direction = math.degrees(math.atan2(two.right_mm - one.right_mm, two.forward_mm - one.forward_mm))
    assert abs(direction - -45) < 20


def test_outside_partner_goes_farther() -> None:
    motion = danced(natural_turn())
    before, after = motion.moments[1], motion.moments[2]

    def way(a: Pose, b: Pose) -> float:
        return math.hypot(b.forward_mm - a.forward_mm, b.right_mm - a.right_mm)

    assert way(before.leader, after.leader) > way(before.follower, after.follower) + 200


def test_moments_rise_and_meet_entry_and_exit() -> None:
    motion = danced(natural_turn())
    ticks = [m.tick for m in motion.moments]
    assert ticks[0] == 0
    assert ticks[-1] == motion.length_ticks
    assert all(a < b for a, b in pairwise(ticks))
    assert [m.at_tick for m in motion.moments] == [None, 0, 12, 24, 36, 48, 60, None]
    assert motion.entry_leader.forward_mm == motion.entry_leader.right_mm == 0
    assert motion.exit_leader == motion.moments[-2].leader


@pytest.mark.parametrize("action", ["tap", "point", "hold", "kick", "pose", "brush"])
def test_no_weight_no_way(action: str) -> None:
    motion = danced(figure_data([f"R {action}", "L hold"], [f"L {action}", "R hold"]))
    assert (motion.travel_forward_mm, motion.travel_right_mm) == (0, 0)
    assert motion.leader_free == "R"


def test_replaced_foot_does_not_move() -> None:
    motion = danced(
        figure_data(["L back size=small", "R replace", "L close"], ["R forward size=small", "L replace", "R close"])
    )
    before, rocked, replaced = motion.moments[0].leader, motion.moments[1].leader, motion.moments[2].leader
    assert rocked.forward_mm < -100
    assert (replaced.right.forward_mm, replaced.right.right_mm) == (before.right.forward_mm, before.right.right_mm)
    assert (replaced.forward_mm, replaced.right_mm) == (before.forward_mm, before.right_mm)


def test_swivel_turns_on_the_standing_foot() -> None:
    chart = ["R swivel turn=2", "R swivel turn=-2", "R hold"]
    motion = danced(figure_data(chart, ["L hold", "L hold", "L hold"], hold="apart"))
    first, turned = motion.entry_leader, motion.moments[1].leader
    assert (first.left.forward_mm, first.left.right_mm) == (turned.left.forward_mm, turned.left.right_mm)
    assert turned.left.points16 == turned.facing16 == 4
    assert 0 < math.hypot(turned.forward_mm, turned.right_mm) < 2 * 90
    assert (motion.travel_forward_mm, motion.travel_right_mm) == (0, 0)


def test_pivot_is_turned_not_walked_through() -> None:
    """Half a turn on one step (the waltz's natural spin turn): a moment between keeps the bodies apart."""
    data = figure_data(
        ["L back", "R forward turn=4", "L side-and-back turn=3"],
        ["R forward", "L back-and-side turn=4", "R diagonal-forward turn=3"],
        to="closed",
    )
    motion = danced(data)
    between = [m for m in motion.moments if m.at_tick is None and 0 < m.tick < motion.length_ticks]
    assert between
    for a, b in pairwise(motion.moments):
        middle = [
            ((a.follower.forward_mm + b.follower.forward_mm) - (a.leader.forward_mm + b.leader.forward_mm)) / 2,
            ((a.follower.right_mm + b.follower.right_mm) - (a.leader.right_mm + b.leader.right_mm)) / 2,
        ]
        assert math.hypot(*middle) > 220


def mirrored_holds() -> HoldsFile:
    """Every stance and hold seen in a mirror."""
    holds = the_holds()
    swap = {"LR": "RL", "RL": "LR", "RR": "LL", "LL": "RR"}
    return HoldsFile.model_construct(
        format="holds/1",
        stances={k: s.model_copy(update={"right": -s.right, "facing": -s.facing}) for k, s in holds.stances.items()},
        holds={
            k: h.model_copy(
                update={
                    "hands": tuple(j.model_copy(update={"pair": swap[j.pair]}) for j in h.hands),
                    "top": OPPOSITE.get(h.top or "", None),
                }
            )
            for k, h in holds.holds.items()
        },
    )


def mirrored(data: dict[str, Any]) -> dict[str, Any]:
    """A figure seen in a mirror."""
    swap = {"LR": "RL", "RL": "LR", "RR": "LL", "LL": "RR"}
    result: dict[str, Any] = {**data}
    for role in ("leader", "follower"):
        result[role] = [
            {**s, "foot": OPPOSITE[s["foot"]], **{k: -float(s[k]) for k in ("turn", "body") if k in s}}
            for s in data[role]
        ]
    for key in ("entry", "exit"):
        result[key] = {
            k: OPPOSITE[v] if k.endswith("free") else -v if k.endswith("turn") else v for k, v in data[key].items()
        }
    result["hands"] = [{**h, "pair": swap[h["pair"]]} for h in data.get("hands", ())]
    return result


def mirror_images(one: Motion, two: Motion, slack_mm: int = 1) -> bool:
    return all(
        abs(a.forward_mm - b.forward_mm) <= slack_mm
        and abs(a.right_mm + b.right_mm) <= slack_mm
        and a.facing16 - first.facing16 == -(b.facing16 - second.facing16)
        and a.weight != b.weight
        for m, n in zip(one.moments, two.moments, strict=True)
        if m.at_tick is not None
        for a, b, first, second in (
            (m.leader, n.leader, one.entry_leader, two.entry_leader),
            (m.follower, n.follower, one.entry_follower, two.entry_follower),
        )
    )


WAYS = ["forward", "back", "side", "diagonal-forward", "diagonal-back", "side-and-forward", "close", "in-place"]
FACING_WAYS = {
    "forward": "back", "back": "forward", "side": "side", "diagonal-forward": "diagonal-back",
    "diagonal-back": "diagonal-forward", "side-and-forward": "side-and-back", "close": "close", "in-place": "in-place",
}  # fmt: skip
SHORT_CHARTS = st.lists(st.tuples(st.sampled_from(WAYS), st.sampled_from([-2, -1, 0, 1, 2])), min_size=2, max_size=6)


def couple(chart: list[tuple[str, int]], **more: Any) -> dict[str, Any]:
    """Opposite feet and opposite directions, turning together."""
    leader, follower = [], []
    for index, (way, turn) in enumerate(chart):
        foot = "LR"[index % 2]
        leader.append(f"{foot} {way} turn={turn}")
        follower.append(f"{OPPOSITE[foot]} {FACING_WAYS[way]} turn={turn}")
    return figure_data(leader, follower, beats=len(chart), **more)


@given(SHORT_CHARTS)
def test_mirror_image_of_a_figure_is_danced_in_the_mirror(chart: list[tuple[str, int]]) -> None:
    data = couple(chart)
    one, faults = ran(data)
    two, mirrored_faults = ran(mirrored(data), mirrored_holds())
    assert [f.code for f in faults] == [f.code for f in mirrored_faults]
    assert one is not None
    assert two is not None
    assert mirror_images(one, two)


def test_mirrored_underarm_turn() -> None:
    data = underarm_turn()
    assert mirror_images(danced(data), danced(mirrored(data), mirrored_holds()))


@given(SHORT_CHARTS, st.integers(0, 1))
def test_what_is_reported_is_true(chart: list[tuple[str, int]], which: int) -> None:
    """Gap, residual and travel are those of the moments; feet alternate; facings are the sums of the chart."""
    hold = ("closed", "two-hands")[which]
    motion, _ = ran(couple(chart, hold=hold))
    assert motion is not None
    ends = [m for m in motion.moments if m.at_tick is not None or m.tick == 0]
    gaps = [math.hypot(*seen(m.leader, m.follower)) for m in ends]
    assert abs(min(gaps) - motion.least_gap_mm) <= 2
    assert abs(max(gaps) - motion.most_gap_mm) <= 2
    assert motion.leader_turn16 == 2 * sum(turn for _, turn in chart)
    assert (motion.travel_forward_mm, motion.travel_right_mm) == (
        motion.exit_leader.forward_mm,
        motion.exit_leader.right_mm,
    )
    stance = the_holds().stances[the_holds().holds[hold].stance]
    ahead, beside = seen(motion.exit_leader, motion.exit_follower)
    assert math.hypot(ahead - stance.forward, beside - stance.right) <= motion.residual_mm + 2


@given(SHORT_CHARTS)
def test_strides_at_either_end_of_their_range_scale_the_way(chart: list[tuple[str, int]]) -> None:
    # The promise is made for the scales that were tried; between them the way may bend round the partner's body.
    data = couple(chart)
    one, faults = ran(data)
    assert one is not None
    for scale in {one.shortest_scale, one.longest_scale} - {1.0} if not faults else ():
        two, _ = ran(data, scale=scale)
        assert two is not None
        natural = math.hypot(one.travel_forward_mm, one.travel_right_mm)
        off = math.hypot(
            two.travel_forward_mm - scale * one.travel_forward_mm, two.travel_right_mm - scale * one.travel_right_mm
        )
        assert off <= 50 + 0.05 * natural + 2


def test_size_of_steps_orders_the_way() -> None:
    ways = []
    for size in ("tiny", "small", "normal", "large"):
        chart = [f"{foot} forward size={size}" for foot in "RLR"]
        back = [f"{foot} back size={size}" for foot in "LRL"]
        ways.append(danced(figure_data(chart, back)).travel_forward_mm)
    assert ways == sorted(ways)
    assert ways[0] < 500 < 1500 < ways[-1]


def test_fast_dance_makes_shorter_strides() -> None:
    chart = figure_data([f"{foot} forward" for foot in "RLR"], [f"{foot} back" for foot in "LRL"])
    slow, fast = danced(chart), danced(chart, tempo_most=186)
    assert fast.travel_forward_mm < slow.travel_forward_mm
    assert fast.fastest_mm_per_beat * 186 / 60 <= 2100 * 1.35


def test_same_input_same_motion() -> None:
    assert danced(natural_turn()) == danced(natural_turn())


def test_partners_cannot_walk_apart_in_closed_hold() -> None:
    assert "FIG031" in codes(figure_data(["L back", "R back", "L back"], ["R back", "L back", "R back"]))


def test_distance_at_the_limit_of_a_hold_and_past_it() -> None:
    """Two small steps apart still reach; large ones do not."""
    near = figure_data(["L back size=tiny", "R replace"], ["R back size=tiny", "L replace"], hold="two-hands")
    far = figure_data(["L back size=large", "R replace"], ["R back size=large", "L replace"], hold="two-hands")
    assert codes(near) == []
    assert "FIG033" in codes(far)
