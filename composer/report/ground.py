"""Where both dancers are, moment by moment, in the room: figures' motions placed as the routine says.

A figure's moments are in the frame of the leader's first facing; here they are turned and moved to the place where
the routine puts them. Without a room the figures are chained from (0, 0). In a still ``leader`` and ``follower`` are
the two persons by what the brief calls them, so that each keeps one track where roles change.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from composer.catalogue.model import Figure
from composer.floor.placing import moved, placed
from composer.kinematics.motion import FootMark, Moment, Pose
from composer.report.model import FootSpot, Spot, Still
from composer.routine import Placed, Routine
from composer.timeline.model import Timeline


def starts_of(routine: Routine, figures: Mapping[str, Figure]) -> tuple[tuple[int, int], ...]:
    """(x, y) of the leader's centre at the start of every figure, mm."""
    result: list[tuple[int, int]] = []
    place = (0, 0)
    for index, item in enumerate(routine.figures):
        if index and item.swapped != routine.figures[index - 1].swapped:
            place = _follower_after(routine.figures[index - 1], figures, result[-1])
        if item.x_mm is not None and item.y_mm is not None:
            place = (item.x_mm, item.y_mm)
        result.append(place)
        place = moved(place, figures[item.figure].motion, item.faces, (item.more_x_mm, item.more_y_mm))
    return tuple(result)


def _follower_after(item: Placed, figures: Mapping[str, Figure], start: tuple[int, int]) -> tuple[int, int]:
    """Where the follower of a figure stands at its end: who leads next when roles change."""
    end = figures[item.figure].motion.moments[-1].follower
    dx, dy = placed(end.forward_mm, end.right_mm, item.faces)
    return start[0] + dx + item.more_x_mm, start[1] + dy + item.more_y_mm


def stills_of(routine: Routine, figures: Mapping[str, Figure], timeline: Timeline) -> tuple[tuple[Still, ...], ...]:
    """The moments of every figure in room coordinates, one tuple per figure, facings unwrapped over the routine.

    Ground taken beyond a figure's natural travel is spread evenly over it; a foot that stands stays where it landed.
    """
    result: list[tuple[Still, ...]] = []
    whole = {"leader": 0, "follower": 0}
    last: Still | None = None
    for index, (item, start) in enumerate(zip(routine.figures, starts_of(routine, figures), strict=True)):
        motion = figures[item.figure].motion
        first = motion.moments[0]
        for role in whole:
            facing = _pose(first, role, item).facing16 + 2 * item.faces
            before = facing if last is None else (last.leader if role == "leader" else last.follower).facing16
            whole[role] = 16 * round((before - facing) / 16)
        places = _Places(item, start, motion.length_ticks)
        stills = tuple(
            Still(
                item.start_tick + moment.tick,
                round(timeline.seconds_at(item.start_tick + moment.tick), 4),
                index,
                places.spot("leader", _pose(moment, "leader", item), moment.tick, whole["leader"]),
                places.spot("follower", _pose(moment, "follower", item), moment.tick, whole["follower"]),
                None if moment.at_tick is None else item.start_tick + moment.at_tick,
            )
            for moment in motion.moments
        )
        result.append(stills)
        last = stills[-1]
    return tuple(result)


def _pose(moment: Moment, partner: str, item: Placed) -> Pose:
    """The pose of a person: where roles are changed the brief's leader dances the follower's part."""
    return moment.leader if (partner == "leader") != item.swapped else moment.follower


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


class _Places:
    """Turns and moves the poses of one placed figure, in the order of its moments."""

    def __init__(self, item: Placed, start: tuple[int, int], length_ticks: int) -> None:
        self.item, self.start, self.length = item, start, length_ticks
        self.stood: dict[tuple[str, str], tuple[FootMark, tuple[int, int]]] = {}

    def spot(self, role: str, pose: Pose, tick: int, whole16: int) -> Spot:
        """Where a dancer is at a tick of the figure."""
        more = (self.item.more_x_mm * tick, self.item.more_y_mm * tick)
        shift = round(more[0] / self.length), round(more[1] / self.length)
        x, y = self._at(pose.forward_mm, pose.right_mm, shift)
        return Spot(
            x,
            y,
            pose.facing16 + 2 * self.item.faces + whole16,
            self._foot(role, pose.left, shift, pose.weight == "L", whole16),
            self._foot(role, pose.right, shift, pose.weight == "R", whole16),
        )

    def _foot(self, role: str, mark: FootMark, shift: tuple[int, int], weight: bool, whole16: int) -> FootSpot:
        before = self.stood.get((role, mark.foot))
        if before is not None and before[0] == mark:
            shift = before[1]
        self.stood[role, mark.foot] = (mark, shift)
        x, y = self._at(mark.forward_mm, mark.right_mm, shift)
        return FootSpot(x, y, mark.points16 + 2 * self.item.faces + whole16, weight)

    def _at(self, forward_mm: int, right_mm: int, shift: tuple[int, int]) -> tuple[int, int]:
        dx, dy = placed(forward_mm, right_mm, self.item.faces)
        return self.start[0] + dx + shift[0], self.start[1] + dy + shift[1]
