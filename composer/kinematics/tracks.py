"""Both charts walked through with the lengths still unknown: every place is an affine form of the unknowns.

A place is a (2, N + 1) array: forward and right in millimetres as weights of the N unknowns, the constant last.
All facings are known from the charts, which is what makes the places affine.

The body centre stands over the foot that carries it (less half a hip width). On a step it moves by an unknown
stride along the sector of the action (:mod:`composer.kinematics.directions`) and an unknown deviation across it,
both relative to the body mid-way of the turn made on the step; ``replace`` brings it back over a foot that lies
still (not quite over it where the couple has turned meanwhile); whoever taps, holds or swivels stays over the standing
foot.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Final

from composer.charts import Foot, Step
from composer.kinematics.directions import (
    CROSSED_FOOT_MM,
    FREE_FOOT_MM,
    HIP_HALF_WIDTH_MM,
    SECTORS,
    side_sign,
    stride_range,
)
from composer.units import TICKS_PER_BEAT

if TYPE_CHECKING:
    from composer.kinematics.bounded import Matrix

STRIDE_PULL: Final = 0.15
DEVIATION_PULL: Final = 0.30
SLACK_PULL: Final = 0.35
SLACK_PER_SIXTEENTH_MM: Final = 15.0
"""A body that turns while its feet close is not quite over one foot: more room the more it turns."""
LAST_OF_TURN16: Final = 4
"""Half of a turn up to a quarter is made before the step travels; what goes beyond is a pivot before it."""


@dataclass
class Unknowns:
    """Bounds, natural values and pulls (weights of the residual towards the natural value)."""

    least: list[float] = field(default_factory=list)
    natural: list[float] = field(default_factory=list)
    most: list[float] = field(default_factory=list)
    pull: list[float] = field(default_factory=list)

    def add(self, least: float, natural: float, most: float, pull: float) -> int:
        """Number of the new unknown."""
        self.least.append(least)
        self.natural.append(natural)
        self.most.append(most)
        self.pull.append(pull)
        return len(self.least) - 1


@dataclass(frozen=True)
class Pace:
    """How far a dancer steps: stature, and the fastest tempo of the dance in beats a minute when it is known."""

    stature_mm: int
    tempo: float | None = None


@dataclass(frozen=True)
class Footing:
    """A foot: its place, where it points, whether it stands flat."""

    place: Matrix
    points16: int
    flat: bool = True


@dataclass(frozen=True)
class Standing:
    """One dancer after a step. ``offset`` is the standing foot (forward, right) of the body centre, in mm."""

    centre: Matrix
    facing16: int
    points16: int
    weight: Foot
    left: Footing
    right: Footing
    offset: tuple[float, float]

    def foot(self, foot: Foot) -> Footing:
        """The footing of one foot."""
        return self.left if foot == "L" else self.right

    def with_foot(self, foot: Foot, footing: Footing) -> Standing:
        """The same dancer with one foot moved."""
        return replace(self, left=footing) if foot == "L" else replace(self, right=footing)


def other(foot: Foot) -> Foot:
    """The other foot."""
    return "R" if foot == "L" else "L"


def turned(forward: float, right: float, facing16: float) -> tuple[float, float]:
    """(forward, right) of a dancer facing ``facing16`` as (forward, right) of the figure's frame."""
    angle = facing16 * math.pi / 8
    cos, sin = math.cos(angle), math.sin(angle)
    return forward * cos - right * sin, forward * sin + right * cos


def moved(place: Matrix, forward: float, right: float, facing16: float, sign: float = 1.0) -> Matrix:
    """A place shifted by a known amount in a dancer's own directions."""
    result = place.copy()
    along, across = turned(forward, right, facing16)
    result[0, -1] += sign * along
    result[1, -1] += sign * across
    return result


def start(forward: float, right: float, facing16: int, free: Foot, size: int) -> Standing:
    """A dancer with closed feet before the first step; ``size`` is the number of unknowns to come."""
    import numpy as np

    centre = np.zeros((2, size + 1))
    centre[:, -1] = forward, right
    hip = HIP_HALF_WIDTH_MM
    feet = {f: Footing(moved(centre, 0, side_sign(f) * hip, facing16), facing16) for f in ("L", "R")}
    weight = other(free)
    return Standing(centre, facing16, facing16, weight, feet["L"], feet["R"], (0.0, side_sign(weight) * hip))


def unknowns_needed(steps: Sequence[Step]) -> int:
    """How many unknowns a chart brings."""
    return sum(2 for step in steps if SECTORS[step.do].way != "none")


def walk(steps: Sequence[Step], first: Standing, pace: Pace, unknowns: Unknowns, length_ticks: int) -> list[Standing]:
    """The dancer after every step of the chart, in order."""
    result, here = [], first
    for index, step in enumerate(steps):
        before = steps[index - 1].tick if index else step.tick - TICKS_PER_BEAT
        after = steps[index + 1].tick if index + 1 < len(steps) else length_ticks
        beats = (after - before) / 2 / TICKS_PER_BEAT
        here = _after(step, here, pace, unknowns, beats)
        result.append(here)
    return result


def _after(step: Step, here: Standing, pace: Pace, unknowns: Unknowns, beats: float) -> Standing:
    facing, points = here.facing16 + step.body16, here.points16 + step.turn
    way = SECTORS[step.do].way
    if way == "none":
        return _stays(step, here, facing, points)
    foot, sign, hip = step.foot, side_sign(step.foot), float(HIP_HALF_WIDTH_MM)
    offset = (0.0, sign * hip)
    if way == "return":
        lying = here.foot(foot)
        centre = moved(lying.place, *offset, facing, -1)
        _give(centre, unknowns, SECTORS[step.do].slack_mm, facing)
        landed = Footing(lying.place, points)
    else:
        mid = facing - math.copysign(min(abs(step.body16), LAST_OF_TURN16) / 2, step.body16)
        if way == "near":
            centre = _near(step, here, facing, unknowns, mid)
        else:
            centre = _stride(step, here, pace, unknowns, beats, mid)
        if step.do in CROSSED_FOOT_MM:
            ahead, halves = CROSSED_FOOT_MM[step.do]
            offset = (ahead / 2, sign * hip * halves)
        landed = Footing(moved(centre, *offset, facing), points)
    result = replace(here, centre=centre, facing16=facing, points16=points, weight=foot, offset=offset)
    return result.with_foot(foot, landed)


def _stays(step: Step, here: Standing, facing: int, points: int) -> Standing:
    """Turns on the standing foot (if at all); the free foot may touch the floor or swing."""
    standing = here.foot(here.weight)
    centre = here.centre if facing == here.facing16 else moved(standing.place, *here.offset, facing, -1)
    result = replace(here, centre=centre, facing16=facing, points16=points)
    result = result.with_foot(here.weight, replace(standing, points16=standing.points16 + step.turn))
    if step.do in FREE_FOOT_MM and step.foot != here.weight:
        ahead, halves = FREE_FOOT_MM[step.do]
        place = moved(centre, ahead, side_sign(step.foot) * HIP_HALF_WIDTH_MM * halves, facing)
        result = result.with_foot(step.foot, Footing(place, points, flat=False))
    return result


def _near(step: Step, here: Standing, facing: int, unknowns: Unknowns, mid: float) -> Matrix:
    """Lands beside (close) or under (in place): known but for a little slack both ways."""
    if step.do == "close":
        beside = (0.0, side_sign(here.weight) * float(HIP_HALF_WIDTH_MM))
        centre = moved(here.foot(here.weight).place, *beside, facing, -1)
    else:
        centre = here.centre.copy()
    _give(centre, unknowns, SECTORS[step.do].slack_mm + SLACK_PER_SIXTEENTH_MM * abs(step.body16), mid)
    return centre


def _give(centre: Matrix, unknowns: Unknowns, slack_mm: float, facing16: float) -> None:
    """Let a centre deviate by a little, both ways, in a dancer's own directions."""
    for forward, right in ((1.0, 0.0), (0.0, 1.0)):
        number = unknowns.add(-slack_mm, 0.0, slack_mm, SLACK_PULL)
        centre[:, number] += turned(forward, right, facing16)


def _stride(step: Step, here: Standing, pace: Pace, unknowns: Unknowns, beats: float, mid: float) -> Matrix:
    """An unknown stride along the sector and an unknown deviation across it.

    The direction may swing through the part of the turn that is made before or after the step, so the more a
    step turns the wider its sector.
    """
    sector = SECTORS[step.do]
    least, natural, most = stride_range(step.do, step.size, pace.stature_mm, beats, pace.tempo, step.body16)
    along = mid + side_sign(step.foot) * sector.degrees / 22.5
    half = min(75.0, sector.spread + abs(step.body16) * 22.5 / 4)
    across = natural * math.tan(math.radians(half))
    centre = here.centre.copy()
    number = unknowns.add(least, natural, most, STRIDE_PULL)
    centre[:, number] += turned(1.0, 0.0, along)
    number = unknowns.add(-across, 0.0, across, DEVIATION_PULL)
    centre[:, number] += turned(0.0, 1.0, along)
    return centre
