"""What the words of a chart mean on the floor: a direction sector and a range of lengths for every action.

Directions are relative to the dancer's *body*, about mid-way of the turn made on the step; degrees clockwise
from straight ahead for the right foot, mirrored for the left. Lengths are fractions of stature: a walking step
is 0.41-0.45 of it (explainer pages on step length), dancing steps are as small as a shift of weight and at most
what competitors stride; the division into four sizes is common practice, no source. Statures are the middle of
published tables (Huston 2009: 1.759 m and 1.618 m).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from composer.charts import Action, Foot, Size

LEADER_STATURE_MM: Final = 1759
FOLLOWER_STATURE_MM: Final = 1618
HIP_HALF_WIDTH_MM: Final = 90
"""From the body centre to the foot under the same hip."""

MOST_MM_PER_S: Final = 2100
"""Speed of finalists as couples in the fastest waltz (Prosen et al. 2013)."""
EASY_SPEED: Final = 0.75
"""Part of it that people take when nothing forces them."""
OUTER_SPEED: Final = 1.35
"""On the outside of a turn one partner is faster than the couple (by the turning of the line between them)."""

Way = Literal["walk", "near", "return", "none"]


@dataclass(frozen=True)
class Sector:
    """Where an action leads. ``way``: *walk* has a stride along ``degrees`` (right foot) give or take
    ``spread``; *near* lands beside the standing foot give or take ``slack_mm``; *return* goes back onto a foot
    where it lies; *none* leaves the body over the standing foot.
    """

    way: Way
    degrees: float = 0.0
    spread: float = 20.0
    stretch: float = 1.0
    slack_mm: float = 0.0


SECTORS: Final[dict[Action, Sector]] = {
    "forward": Sector("walk", 0, 22),
    "back": Sector("walk", 180, 22),
    "side": Sector("walk", 90, 28),
    "diagonal-forward": Sector("walk", 45, 25),
    "diagonal-back": Sector("walk", 135, 25),
    "forward-and-side": Sector("walk", 35, 25),
    "side-and-forward": Sector("walk", 68, 25),
    "side-and-back": Sector("walk", 112, 25),
    "back-and-side": Sector("walk", 145, 25),
    # The foot passes the standing one, so the track leans to the standing side.
    "forward-across": Sector("walk", -25, 32),
    "back-across": Sector("walk", -155, 32),
    "cross-in-front": Sector("walk", -60, 60, 0.3),
    "cross-behind": Sector("walk", -120, 60, 0.3),
    "close": Sector("near", slack_mm=150),
    "in-place": Sector("near", slack_mm=120),
    "replace": Sector("return", slack_mm=100),
    "tap": Sector("none"), "point": Sector("none"), "brush": Sector("none"), "kick": Sector("none"),
    "flick": Sector("none"), "hold": Sector("none"), "swivel": Sector("none"), "sweep": Sector("none"),
    "pose": Sector("none"),
}  # fmt: skip

SIZES: Final[dict[Size, tuple[float, float, float]]] = {
    "tiny": (0.0, 0.06, 0.14),
    "small": (0.02, 0.17, 0.34),
    "normal": (0.06, 0.36, 0.58),
    "large": (0.25, 0.48, 0.68),
}
"""Least, natural and most stride per size, in statures."""
STRAIGHT_LEAST: Final[dict[Size, float]] = {"tiny": 0.0, "small": 0.08, "normal": 0.28, "large": 0.40}
"""Least stride of a step that does not turn; on the inside of a turn people step as small as they must."""
TURNING_FREELY16: Final = 3

FREE_FOOT_MM: Final[dict[str, tuple[float, float]]] = {
    "tap": (0, 1.0), "point": (60, 3.2), "brush": (40, 0.9), "kick": (320, 0.6), "flick": (-220, 0.8),
    "sweep": (120, 3.0),
}  # fmt: skip
"""Where a foot that takes no weight goes: mm ahead of the body, and hip half-widths to its own side."""

CROSSED_FOOT_MM: Final[dict[str, tuple[float, float]]] = {
    "cross-in-front": (110, -0.6),
    "cross-behind": (-110, -0.6),
}


def side_sign(foot: Foot) -> int:
    """+1 for the right foot, -1 for the left."""
    return 1 if foot == "R" else -1


def stride_range(
    action: Action, size: Size, stature_mm: int, beats: float, tempo: float | None = None, turn16: int = 0
) -> tuple[float, float, float]:
    """Least, natural and most length in mm of a walking action that has ``beats`` of time.

    Within half a beat (the middle of a triple step) people step about six tenths as far. ``tempo`` (the fastest of
    the dance, beats a minute) bounds them by the speed people reach.
    """
    least, natural, most = SIZES[size]
    least += (STRAIGHT_LEAST[size] - least) * max(0.0, 1 - abs(turn16) / TURNING_FREELY16)
    least, natural, most = (part * stature_mm * SECTORS[action].stretch for part in (least, natural, most))
    hurry = min(1.0, 0.2 + 0.8 * max(beats, 0.5))
    least, natural, most = least * hurry, natural * hurry, most * (0.5 + 0.5 * hurry)
    if tempo is not None:
        reached = MOST_MM_PER_S * beats * 60 / tempo
        natural, most = min(natural, EASY_SPEED * reached), min(most, OUTER_SPEED * reached)
    return min(least, natural), natural, most
