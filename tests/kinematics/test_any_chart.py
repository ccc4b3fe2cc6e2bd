"""Whatever a file says, simulating it ends in a motion or in diagnostics that name a place, never in a traceback."""

from __future__ import annotations

import math
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from composer.charts import WEIGHT_TAKING
from composer.kinematics.directions import SECTORS
from composer.kinematics.motiondata import motion_data, motion_from
from tests.kinematics.builders import ran, the_holds

COUNTS = st.sampled_from(["1", "1&", "2", "2a", "3", "3 1/3", "4", "5", "6", "9"])
TURNS = st.sampled_from([0, 0, 0, 1, -1, 2, -2, 0.5, 3, -4, 8, -13])
FEET = st.sampled_from(["L", "R"])
PAIRS = st.sampled_from(["LR", "RL", "RR", "LL"])
HOLDS = st.sampled_from([*sorted(the_holds().holds), "no such hold"])
STEPS = st.lists(
    st.fixed_dictionaries(
        {"at": COUNTS, "foot": FEET, "do": st.sampled_from(sorted(SECTORS)), "turn": TURNS,
         "size": st.sampled_from(["tiny", "small", "normal", "large"])},
        optional={"body": TURNS},
    ),
    min_size=1, max_size=7,
)  # fmt: skip
HANDS = st.lists(
    st.fixed_dictionaries({"at": COUNTS, "do": st.sampled_from(["join", "drop", "lift", "lower"]), "pair": PAIRS}),
    max_size=5,
)
VIA = st.lists(st.fixed_dictionaries({"at": COUNTS, "hold": HOLDS}), max_size=2)


def ordered(items: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Mostly in order and without repeats, so that more than the counts gets looked at."""
    kept = {item["at"]: item for item in items}
    return sorted(kept.values(), key=lambda item: item["at"])


def alternating(steps: list[dict[str, Any]], foot: str) -> list[dict[str, Any]]:
    result = []
    for step in steps:
        result.append({**step, "foot": foot})
        if step["do"] in WEIGHT_TAKING:
            foot = "R" if foot == "L" else "L"
    return result


@given(STEPS, STEPS, HANDS, VIA, HOLDS, HOLDS, FEET, FEET, st.booleans())
def test_never_a_traceback(
    leader: list[dict[str, Any]], follower: list[dict[str, Any]], hands: list[dict[str, Any]],
    via: list[dict[str, Any]], hold: str, to: str, foot: str, foot2: str, careful: bool,
) -> None:  # fmt: skip
    if careful:
        leader, follower = alternating(ordered(leader), foot), alternating(ordered(follower), foot2)
        hands, via = ordered(hands), ordered(via)
    entry = {"hold": hold, "leader_free": foot, "follower_free": foot2}
    exit_ = {"hold": to, "leader_free": foot, "follower_free": foot2}
    motion, faults = ran(
        {
            "format": "figure/1", "name": "any", "dance": "test", "level": 1, "beats": 6, "about": "any",
            "entry": entry, "exit": exit_, "leader": leader, "follower": follower, "hands": hands, "via": via,
        }
    )  # fmt: skip
    assert motion is not None or faults
    assert all(f.where.file and f.where.key and f.message for f in faults)
    if motion is not None:
        assert motion_from(motion_data(motion)) == motion
        for moment in motion.moments:
            for pose in (moment.leader, moment.follower):
                assert math.hypot(pose.forward_mm, pose.right_mm) < 60_000
    if not faults:
        assert motion is not None
        assert motion.least_gap_mm >= 200
