"""Leads the arms through a fitted figure: how the line between the partners turns, event by event."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from composer.charts import FigureFile, HoldsFile
from composer.errors import Diagnostic, Where
from composer.kinematics.armcheck import ArmChecker
from composer.kinematics.armholds import arms_at
from composer.kinematics.arms import ROLES, Arms, Role
from composer.kinematics.moments import swing_degrees
from composer.kinematics.motion import HandPair

if TYPE_CHECKING:
    from composer.kinematics.fit import Fitted
    from composer.kinematics.simulate import Layout

PASSES_UNDER16: Final = 8
"""Who turns half a turn or more while hands are raised passes under them."""


@dataclass
class ArmWalk:
    """What leading the arms through a figure has shown; ``hands`` has one entry per event, the entry first."""

    hands: list[tuple[HandPair, ...]] = field(default_factory=list)
    faults: list[Diagnostic] = field(default_factory=list)
    under: tuple[Role, ...] = ()
    end: Arms | None = None


def walk_arms(
    chart: FigureFile,
    holds: HoldsFile,
    layout: Layout,
    fitted: Fitted,
    where: Callable[..., Where],
    begin: Arms | None = None,
) -> ArmWalk:
    """Lead the arms through the fitted figure, from those of the entry hold unless ``begin`` says otherwise."""
    walker = ArmChecker(chart, holds, layout, where, begin or arms_at(holds, chart.entry.hold))
    walker.note()
    circles = _circles(layout, fitted, holds)
    marks = {mark.index: mark.hold for mark in layout.marks if mark.index}
    for index, tick in enumerate(layout.ticks, start=1):
        walker.events_before(tick)
        walker.step(index, circles[index - 1])
        walker.events_at(tick)
        walker.reach(index, math.hypot(*fitted.between[index]))
        if index == len(layout.ticks):
            walker.events_before(chart.length_ticks)
        if index in marks and not walker.lost:
            walker.compare(index, marks[index], last=index == len(layout.ticks))
        walker.note()
    walker.cautions()
    under = tuple(role for role in ROLES if walker.turned_under[role] >= PASSES_UNDER16)
    return ArmWalk(walker.hands, walker.faults, under, walker.arms)


def _circles(layout: Layout, fitted: Fitted, holds: HoldsFile) -> list[float]:
    """Degrees the line between the partners turns up to every event.

    In a closed-type frame neither partner ever has the other behind; there the line follows the leader's body.
    """
    framed = _framed(layout, holds)
    result = []
    seen = _seen_by_leader(layout, fitted, 0)
    for index in range(1, len(layout.leader)):
        if framed[index]:
            before, seen = seen, _seen_by_leader(layout, fitted, index)
            turn = layout.leader[index].facing16 - layout.leader[index - 1].facing16
            result.append(seen - before + 22.5 * turn)
            continue
        one, two = (tuple(map(float, fitted.between[i])) for i in (index - 1, index))
        turns = [track[index].facing16 - track[index - 1].facing16 for track in (layout.leader, layout.follower)]
        result.append(swing_degrees((one[0], one[1]), (two[0], two[1]), turns[0], turns[1]))
        seen = seen + result[-1] - 22.5 * turns[0]
    return result


def _framed(layout: Layout, holds: HoldsFile) -> list[bool]:
    """Per event (entry first): it lies between two marks that are both closed-type frames, or at the second."""
    result = [False] * len(layout.leader)
    for mark, following in pairwise(layout.marks):
        both = holds.holds[mark.hold].frame and holds.holds[following.hold].frame
        result[mark.index + 1 : following.index + 1] = [both] * (following.index - mark.index)
    return result


def _seen_by_leader(layout: Layout, fitted: Fitted, index: int) -> float:
    forward, right = (float(part) for part in fitted.between[index])
    return math.remainder(math.degrees(math.atan2(right, forward)) - 22.5 * layout.leader[index].facing16, 360)
