"""What a step chart and a stance are in words: the part of the sheet that a figure shown alone needs as well."""

from __future__ import annotations

from dataclasses import dataclass

from composer.charts import Foot


@dataclass(frozen=True)
class StepLine:
    """One line of a step chart, in both voices. Empty text means: nothing to say."""

    count: str
    tick: int
    foot: Foot
    foot_words: str
    what: str
    turn: str
    ends: str
    footwork: str
    footwork_words: str
    rise: str
    sway: str
    note: str
    takes_weight: bool
    plain: str


@dataclass(frozen=True)
class NoteLine:
    """Something said at a count: a lead, a tip, something done with the hands."""

    count: str
    text: str


@dataclass(frozen=True)
class Station:
    """How the couple stands where two figures meet."""

    hold: str
    hold_about: str
    hands: str
    leader_faces: str
    follower_faces: str
    leader_free: str
    follower_free: str
    plain: str
