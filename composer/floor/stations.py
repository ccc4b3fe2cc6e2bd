"""Where both partners are at every station of a figure, so that its path falls into short straight pieces.

Stations lie a fixed number of ticks apart (half a beat, less where some figure needs it). Every moment of the simulated
figure at which the way bends is one of them; between moments the way is straight, and stations divide it evenly, more
of them where it takes longer. So stations follow the path itself, only their clock is a little uneven, which does not
matter beside things that stand still. From one station to the next the couple is taken to cover everything between the
four places: partners who turn about each other go round, not straight from place to place.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import pairwise
from typing import Final

from composer.floor.model import Place
from composer.floor.placing import placed
from composer.kinematics.motion import Moment, Motion, Pose

STEPS: Final = (6, 4, 3, 2, 1)
NEARLY_MM: Final = 1
Pair = tuple[Place, Place]
"""Leader's and follower's body centre."""


def step_for(motions: Iterable[Motion]) -> int:
    """Ticks between stations such that every figure's bends find stations of their own."""
    needs = [(motion.length_ticks, len(_bends(motion)) - 1) for motion in motions]
    for step in STEPS:
        if all(length % step == 0 and bends <= length // step for length, bends in needs):
            return step
    return STEPS[-1]


def stations(motion: Motion, faces: int, step: int) -> tuple[Pair, ...]:
    """Both partners from the leader's starting point, ``length_ticks / step + 1`` times; the first and the last moment
    are the first and the last station."""
    bends = _bends(motion)
    counts = [1] * (len(bends) - 1)
    lasts = [after.tick - before.tick for before, after in pairwise(bends)]
    for _ in range(motion.length_ticks // step - len(counts)):
        longest = max(range(len(counts)), key=lambda index: (lasts[index] / counts[index], -index))
        counts[longest] += 1
    found: list[Pair] = []
    for (before, after), count in zip(pairwise(bends), counts, strict=True):
        found += (_pair(before, after, number / count, faces) for number in range(count))
    return (*found, _pair(bends[-1], bends[-1], 0, faces))


def _bends(motion: Motion) -> list[Moment]:
    """The moments without those that both partners pass in a straight line (or at which they stand still)."""
    kept = [motion.moments[0]]
    for now, after in pairwise(motion.moments[1:]):
        if not _straight(kept[-1], now, after):
            kept.append(now)
    return [*kept, motion.moments[-1]]


def _straight(before: Moment, now: Moment, after: Moment) -> bool:
    """Whether nothing is lost without the middle one: both are, to the millimetre, on their way at the same share."""
    for share in ((now.tick - before.tick) / (after.tick - before.tick), 0.0, 1.0):
        if all(
            math.dist(_between(one, two, share, 0), _between(at, at, 0, 0)) <= NEARLY_MM
            for one, at, two in (
                (before.leader, now.leader, after.leader),
                (before.follower, now.follower, after.follower),
            )
        ):
            return True
    return False


def _pair(before: Moment, after: Moment, share: float, faces: int) -> Pair:
    return (
        _between(before.leader, after.leader, share, faces),
        _between(before.follower, after.follower, share, faces),
    )


def _between(one: Pose, two: Pose, share: float, faces: int) -> Place:
    return placed(
        one.forward_mm + (two.forward_mm - one.forward_mm) * share,
        one.right_mm + (two.right_mm - one.right_mm) * share,
        faces,
    )


def longest_edge(motions: Iterable[Motion], step: int) -> int:
    """The longest straight line (mm, rounded up) round what a couple covers from one station to the next."""
    longest = 0.0
    for motion in motions:
        pairs = stations(motion, 0, step)
        longest = max(longest, *(math.dist(*pair) for pair in pairs))
        for before, after in pairwise(pairs):
            longest = max(longest, *(math.dist(a, b) for a, b in zip(before, after, strict=True)))
    return math.ceil(longest)
