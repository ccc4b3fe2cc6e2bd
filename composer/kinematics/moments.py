"""From the fitted places to poses in whole millimetres, one moment after another.

When one step carries the couple far round its common centre (a pivot), a straight line between two moments would
lead the bodies through each other; a moment between, turned half the way, is put in.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from composer.charts import Foot
from composer.kinematics.motion import FootMark, Moment, Pose
from composer.kinematics.tracks import Footing, Standing
from composer.units import TICKS_PER_BEAT

if TYPE_CHECKING:
    from composer.kinematics.bounded import Matrix, Vector

SHRINKS: Final = 0.6
"""A straight way that brings the bodies nearer than this part of both ends is turned instead."""
AMBIGUOUS_DEGREES: Final = 100


def settled_ticks(ticks: Sequence[int], length_ticks: int) -> list[int]:
    """When the body is over each event's feet: half-way to the next event, at most one beat later."""
    result: list[int] = []
    for tick, following in zip(ticks, [*ticks[1:], length_ticks], strict=True):
        result.append(max(tick + min((following - tick) // 2, TICKS_PER_BEAT), (result or [0])[-1] + 1))
    return result


def pose_at(standing: Standing, values: Vector) -> Pose:
    """A dancer with the unknown strides filled in."""
    left, right = (_mark(standing.foot(foot), foot, values) for foot in ("L", "R"))
    return Pose(*_at(standing.centre, values), standing.facing16, standing.weight, left, right)


def _at(place: Matrix, values: Vector) -> tuple[int, int]:
    forward, right = place[:, :-1] @ values + place[:, -1]
    return round(float(forward)), round(float(right))


def _mark(footing: Footing, foot: Foot, values: Vector) -> FootMark:
    return FootMark(foot, *_at(footing.place, values), footing.points16, footing.flat)


def line_of(moment: Moment) -> tuple[float, float]:
    """From the leader's body centre to the follower's."""
    leader, follower = moment.leader, moment.follower
    return float(follower.forward_mm - leader.forward_mm), float(follower.right_mm - leader.right_mm)


def swing_degrees(one: tuple[float, float], two: tuple[float, float], leader16: int, follower16: int) -> float:
    """How far the line from leader to follower turns (clockwise positive) while they turn by so many sixteenths.

    It turns the short way, but when it goes far it turns with the bodies, as a couple in a pivot does.
    """
    swing = math.degrees(math.remainder(math.atan2(two[1], two[0]) - math.atan2(one[1], one[0]), 2 * math.pi))
    if abs(swing) < AMBIGUOUS_DEGREES:
        return swing
    long_way = swing - math.copysign(360, swing)

    def against(way: float) -> float:
        return abs(way - 22.5 * leader16) + abs(way - 22.5 * follower16)

    return min(swing, long_way, key=against)


def with_pivots(moments: Sequence[Moment]) -> tuple[Moment, ...]:
    """The moments with one put between wherever the straight way leads the bodies together."""
    result = [moments[0]]
    for before, after in pairwise(moments):
        one, two = line_of(before), line_of(after)
        nearest = min(math.hypot(*one), math.hypot(*two))
        if math.hypot(one[0] + two[0], one[1] + two[1]) / 2 < SHRINKS * nearest and after.tick - before.tick >= 2:
            result.append(_half_way(before, after))
        result.append(after)
    return tuple(result)


def _half_way(before: Moment, after: Moment) -> Moment:
    one, two = line_of(before), line_of(after)
    angle = math.atan2(one[1], one[0]) + math.radians(_swing(before, after)) / 2
    reach = (math.hypot(*one) + math.hypot(*two)) / 4
    offset = reach * math.cos(angle), reach * math.sin(angle)
    poses = (before.leader, before.follower, after.leader, after.follower)
    middle = sum(p.forward_mm for p in poses) / 4, sum(p.right_mm for p in poses) / 4
    leader = _between(before.leader, after.leader, middle[0] - offset[0], middle[1] - offset[1])
    follower = _between(before.follower, after.follower, middle[0] + offset[0], middle[1] + offset[1])
    hold = before.hold if before.hold == after.hold else None
    return Moment((before.tick + after.tick) // 2, leader, follower, hold, None, before.hands)


def _swing(before: Moment, after: Moment) -> float:
    turns = [b.facing16 - a.facing16 for a, b in ((before.leader, after.leader), (before.follower, after.follower))]
    return swing_degrees(line_of(before), line_of(after), turns[0], turns[1])


def _between(a: Pose, b: Pose, forward: float, right: float) -> Pose:
    left, right_foot = (
        FootMark(
            m.foot, (m.forward_mm + n.forward_mm) // 2, (m.right_mm + n.right_mm) // 2, (m.points16 + n.points16) // 2,
            m == n and m.flat,
        )
        for m, n in ((a.left, b.left), (a.right, b.right))
    )  # fmt: skip
    return Pose(round(forward), round(right), (a.facing16 + b.facing16) // 2, a.weight, left, right_foot)
