"""The arms of the named holds, how they look to a person, and the room under raised hands."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from composer.charts import HoldsFile, StanceFile
from composer.kinematics import arms as lie
from composer.kinematics.arms import Arms, Role
from composer.kinematics.motion import HandPair

ARM_SHARE: Final = 0.386
SHOULDER_SHARE: Final = 0.818
"""Shoulder height, and shoulder to grip, in statures (body segment tables, from memory)."""
REACHES_ACROSS_MM: Final = 350
"""How far from the turning partner the other one stands when the hands are above the head."""


def head_clearance_mm(turning_stature_mm: int, other_stature_mm: int) -> int:
    """Room between the raised hands of one partner and the head of the other who turns under them."""
    arm = ARM_SHARE * other_stature_mm
    height = SHOULDER_SHARE * other_stature_mm + math.sqrt(max(arm**2 - REACHES_ACROSS_MM**2, 0.0))
    return round(height - turning_stature_mm)


def stance_bearings(stance: StanceFile) -> tuple[float, float]:
    """Where leader and follower see each other, degrees clockwise from straight ahead, above -180 up to 180."""
    leader = math.degrees(math.atan2(stance.right, stance.forward))
    follower = math.remainder(leader + 180 - 22.5 * stance.facing, 360)
    return leader, 180.0 if follower <= -179.999 else follower


def arms_at(holds: HoldsFile, hold: str) -> Arms:
    """The arms in a named hold, standing as its stance says."""
    return lie.arms_in(holds, hold, *stance_bearings(holds.stances[holds.holds[hold].stance]))


def seen(arms: Arms, winding: lie.Winding) -> HandPair:
    """One joined pair as a person sees it."""
    return HandPair(winding.pair, winding.high, _way(arms, winding, "leader"), _way(arms, winding, "follower"))


def arms_of(hand: HandPair) -> tuple[str, str]:
    """How both arms of a pair lie, the leader's first."""
    return hand.leader_arm, hand.follower_arm


def _way(arms: Arms, winding: lie.Winding, role: Role) -> str:
    if winding.high:
        return "raised"
    hand = lie.hand_of(winding.pair, role)
    reached = min((lie.round_own_side(arms.bearing(role), k, hand) for k in winding.of(role)), key=abs)
    return "front" if reached < lie.OPEN[0] else "behind" if reached > lie.OPEN[1] else "open"


def hands_text(hands: Sequence[HandPair]) -> str:
    """``LR raised, RL behind`` for a person."""
    return ", ".join(f"{h.pair} {h.follower_arm}" for h in hands) or "none"
