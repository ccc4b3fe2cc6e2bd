"""Good routines early: a stretch of time composed anew while the rest is held, again and again.

:func:`improved` starts from a routine. :func:`repaired` starts from a path that breaks some rows (the best one that
forgets the walls, say) and composes stretches so that they are broken less, until none is. Outside the stretch the
same figures stay at the same times, but may take any facing, so that a stretch may end in another. Each step is a
small CP-SAT run with a deterministic limit; nothing here proves anything.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from composer.solve.cpsat import Answer, Built, Limits
from composer.solve.linear import Flags, Ints, Linear

SHARES: Final = (6, 4, 3)
"""Stretches are so small a part of the music, smallest first."""
STEP_WORK: Final = 0.3
"""Most deterministic seconds for one stretch."""
SIZE_PER_WORK: Final = 50_000.0
"""So many variables and rows are posted in a second: of small steps that is most of the work."""
MOST_STEPS: Final = 400
PATIENCE: Final = 60
"""A repair gives up after so many steps without progress."""
MOST_ARCS: Final = 1500
"""Stretches with more arcs than this are too much for one step."""


@dataclass(frozen=True)
class Searched:
    """The best answer found (None if none) and the deterministic time it took."""

    answer: Answer | None
    work: float


def improved(
    linear: Linear,
    best: Answer,
    same: Ints,
    ceiling: int,
    limits: Limits,
    heard: Callable[[int, int], None] | None,
) -> Searched:
    """A routine with more points, by stretches.

    Parameters
    ----------
    linear : where to look (a band).
    same : per arc the number of its figure and time; arcs outside the stretch are held up to facing.
    ceiling : stop there.
    """
    left = limits.work
    for inside in _stretches(linear):
        if best.score >= ceiling or left <= 0:
            break
        few = linear.narrowed(_held(linear, best, same, inside))
        if few.feasible_path:
            built = Built(few, floor=best.score + 1, ceiling=ceiling)
            answer = built.solve(replace(limits, work=min(left, STEP_WORK)), heard)
            left -= answer.deterministic_time + built.size / SIZE_PER_WORK
            best = answer if answer.verdict in ("best", "good") else best
    return Searched(best, limits.work - left)


def repaired(linear: Linear, start: Answer, same: Ints, soft: Flags, floor: int, limits: Limits) -> Searched:
    """A routine near a path that keeps all rows but the ``soft`` ones, with at least ``floor`` points.

    Stretches are drawn at random (from the seed); steps sideways are taken, so that a dead end is left again.
    """
    rng = random.Random(limits.seed)
    opens, ends = linear.tick[linear.tail], linear.tick[linear.head]
    length = int(linear.tick[-1])
    current, left, quiet = replace(start, missed=1 << 40), limits.work, 0
    for step in range(MOST_STEPS):
        if current.missed == 0 or left <= 0 or quiet >= PATIENCE:
            break
        quiet += 1
        width = max(1, length // rng.choice((8, 6, 5, 4)))
        opening = rng.randrange(-width // 2, length - width // 2)
        few = linear.narrowed(_held(linear, current, same, (opens < opening + width) & (ends > opening)))
        if not 0 < int(few.usable.sum()) <= MOST_ARCS:
            continue
        built = Built(few, floor=floor, soft=soft)
        answer = built.solve(replace(limits, work=min(left, STEP_WORK), seed=limits.seed + step))
        left -= answer.deterministic_time + built.size / SIZE_PER_WORK
        if answer.verdict in ("best", "good") and answer.missed <= current.missed:
            quiet = 0 if answer.missed < current.missed else quiet
            current = answer
    return Searched(replace(current, verdict="good") if current.missed == 0 else None, limits.work - left)


def _stretches(linear: Linear) -> Iterator[Flags]:
    """Arcs that touch each stretch: sliding by half their length, small ones first."""
    start, end = linear.tick[linear.tail], linear.tick[linear.head]
    length = int(linear.tick[-1])
    for share in SHARES:
        width = max(1, length // share)
        for opening in range(-width // 2, length, max(1, width // 2)):
            yield (start < opening + width) & (end > opening)


def _held(linear: Linear, best: Answer, same: Ints, inside: Flags) -> Flags:
    held = np.zeros(int(same.max()) + 1, dtype=np.bool_)
    held[same[np.array(best.arcs, dtype=np.int64)]] = True
    keep: Flags = linear.usable & (inside | held[same])
    return keep
