"""Where both dancers are, moment by moment, in the room: figures' motions placed as the routine says.

A figure's moments are in the frame of the leader's first facing; here they are turned and moved to the place where
the routine puts them. Without a room the figures are chained from (0, 0).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from composer.catalogue.model import Figure
from composer.floor.placing import placed, travel_of
from composer.kinematics.motion import FootMark, Pose
from composer.report.model import FootSpot, Spot, Still
from composer.routine import Routine
from composer.timeline.model import Timeline


def starts_of(routine: Routine, figures: Mapping[str, Figure]) -> tuple[tuple[int, int], ...]:
    """(x, y) of the leader's centre at the start of every figure, mm."""
    result: list[tuple[int, int]] = []
    x, y = 0, 0
    for item in routine.figures:
        if item.x_mm is not None and item.y_mm is not None:
            x, y = item.x_mm, item.y_mm
        result.append((x, y))
        dx, dy = travel_of(figures[item.figure].motion, item.faces)
        x, y = x + dx, y + dy
    return tuple(result)


def stills_of(routine: Routine, figures: Mapping[str, Figure], timeline: Timeline) -> tuple[tuple[Still, ...], ...]:
    """The moments of every figure in room coordinates, one tuple per figure, facings unwrapped over the routine."""
    result: list[tuple[Still, ...]] = []
    whole = {"leader": 0, "follower": 0}
    last: Still | None = None
    for index, (item, start) in enumerate(zip(routine.figures, starts_of(routine, figures), strict=True)):
        moments = figures[item.figure].motion.moments
        first = moments[0]
        for role, pose in (("leader", first.leader), ("follower", first.follower)):
            facing = pose.facing16 + 2 * item.faces
            before = facing if last is None else (last.leader if role == "leader" else last.follower).facing16
            whole[role] = 16 * round((before - facing) / 16)
        stills = tuple(
            Still(
                item.start_tick + moment.tick,
                round(timeline.seconds_at(item.start_tick + moment.tick), 4),
                index,
                _spot(moment.leader, item.faces, start, whole["leader"]),
                _spot(moment.follower, item.faces, start, whole["follower"]),
                None if moment.at_tick is None else item.start_tick + moment.at_tick,
            )
            for moment in moments
        )
        result.append(stills)
        last = stills[-1]
    return tuple(result)


def joined(stills: tuple[tuple[Still, ...], ...]) -> tuple[Still, ...]:
    """One run of moments over the whole routine. Where two figures meet, the later one begins, and keeps the tick
    of the step that led there."""
    result: list[Still] = []
    for run in stills:
        first = run[0]
        while result and result[-1].tick >= first.tick:
            dropped = result.pop()
            if first.at_tick is None:
                first = replace(first, at_tick=dropped.at_tick)
        result += [first, *run[1:]]
    return tuple(result)


def _spot(pose: Pose, faces: int, start: tuple[int, int], whole16: int) -> Spot:
    dx, dy = placed(pose.forward_mm, pose.right_mm, faces)
    return Spot(
        start[0] + dx,
        start[1] + dy,
        pose.facing16 + 2 * faces + whole16,
        _foot(pose.left, faces, start, pose.weight == "L", whole16),
        _foot(pose.right, faces, start, pose.weight == "R", whole16),
    )


def _foot(mark: FootMark, faces: int, start: tuple[int, int], weight: bool, whole16: int) -> FootSpot:
    dx, dy = placed(mark.forward_mm, mark.right_mm, faces)
    return FootSpot(start[0] + dx, start[1] + dy, mark.points16 + 2 * faces + whole16, weight)
