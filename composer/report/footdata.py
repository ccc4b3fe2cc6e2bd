"""What a drawn foot chart shows: every step of both roles, and both dancers' feet together on the floor.

Step pictures are in the dancer's own frame: *up* is the way that dancer faced when the figure began, the middle is
the dancer's body after the step. The picture of both is in the leader's frame: up is the way the leader faced.
Millimetres: ``x`` to the right, ``y`` up; directions are sixteenths clockwise from up.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from composer.catalogue.model import Figure
from composer.charts import Foot, Step
from composer.kinematics.motion import FootMark, Moment, Pose
from composer.report.words import FOOT, Role, step_chart, turn_chart
from composer.units import count_text


@dataclass(frozen=True)
class Print:
    """One foot on the paper."""

    foot: Foot
    x_mm: int
    y_mm: int
    points16: int
    weight: bool


@dataclass(frozen=True)
class StepPicture:
    """One step: both feet after it, where the moving foot came from, how the body turned."""

    role: Role
    count: str
    foot: Foot
    foot_words: str
    what: str
    turn: str
    moved: Print
    other: Print
    came_from: Print
    faced16: int
    faces16: int
    takes_weight: bool


@dataclass(frozen=True)
class FloorPrint:
    """A footprint in the picture of both: numbered with its count; the standing feet at the start have none."""

    role: Role
    count: str
    print: Print


@dataclass(frozen=True)
class FootChart:
    """Everything a foot chart shows of one figure."""

    name: str
    about: str
    leader: tuple[StepPicture, ...]
    follower: tuple[StepPicture, ...]
    floor: tuple[FloorPrint, ...]
    leader_way: tuple[tuple[int, int], ...]
    follower_way: tuple[tuple[int, int], ...]
    leader_ends: tuple[int, int, int]
    follower_ends: tuple[int, int, int]


@dataclass(frozen=True)
class _Paper:
    """A frame on the floor: origin and the direction that is up, in the motion's own frame."""

    forward_mm: float
    right_mm: float
    up16: int

    def at(self, forward_mm: float, right_mm: float) -> tuple[int, int]:
        angle = self.up16 * math.pi / 8
        ahead, aside = forward_mm - self.forward_mm, right_mm - self.right_mm
        x = -ahead * math.sin(angle) + aside * math.cos(angle)
        y = ahead * math.cos(angle) + aside * math.sin(angle)
        return round(x), round(y)

    def print(self, mark: FootMark, weight: bool) -> Print:
        x, y = self.at(mark.forward_mm, mark.right_mm)
        return Print(mark.foot, x, y, mark.points16 - self.up16, weight)


def foot_chart(figure: Figure) -> FootChart:
    """The foot chart of a figure, from its chart and its simulated motion."""
    chart, moments = figure.chart, figure.motion.moments
    floor = _Paper(0, 0, 0)
    prints: list[FloorPrint] = []
    for role in _ROLES:
        first = _pose(moments[0], role)
        prints += [FloorPrint(role, "", floor.print(m, m.foot == first.weight)) for m in (first.left, first.right)]
        for step in chart.leader if role == "leader" else chart.follower:
            pose = _pose(_moments_of(moments, step)[1], role)
            mark = pose.left if step.foot == "L" else pose.right
            if step.do not in {"hold", "pose"}:
                prints.append(FloorPrint(role, count_text(step.at), floor.print(mark, step.takes_weight)))
    ways = {
        role: tuple(floor.at(_pose(m, role).forward_mm, _pose(m, role).right_mm) for m in moments) for role in _ROLES
    }
    ends = {role: (*ways[role][-1], _pose(moments[-1], role).facing16) for role in _ROLES}
    return FootChart(
        name=chart.name,
        about=chart.about,
        leader=_pictures(figure, "leader"),
        follower=_pictures(figure, "follower"),
        floor=tuple(prints),
        leader_way=ways["leader"],
        follower_way=ways["follower"],
        leader_ends=ends["leader"],
        follower_ends=ends["follower"],
    )


_ROLES: tuple[Role, ...] = ("leader", "follower")


def _pose(moment: Moment, role: Role) -> Pose:
    return moment.leader if role == "leader" else moment.follower


def _moments_of(moments: tuple[Moment, ...], step: Step) -> tuple[Moment, Moment]:
    """The moments before and after a step."""
    after = next((i for i, m in enumerate(moments) if m.at_tick == step.tick), None)
    if after is None:
        after = max(i for i, m in enumerate(moments) if m.tick <= step.tick)
    return moments[max(after - 1, 0)], moments[after]


def _pictures(figure: Figure, role: Role) -> tuple[StepPicture, ...]:
    chart, moments = figure.chart, figure.motion.moments
    up = _pose(moments[0], role).facing16
    drawn: list[StepPicture] = []
    for step in chart.leader if role == "leader" else chart.follower:
        before, after = (_pose(m, role) for m in _moments_of(moments, step))
        paper = _Paper(after.forward_mm, after.right_mm, up)
        moved, other = (after.left, after.right) if step.foot == "L" else (after.right, after.left)
        earlier = before.left if step.foot == "L" else before.right
        stands = step.takes_weight
        drawn.append(
            StepPicture(
                role=role,
                count=count_text(step.at),
                foot=step.foot,
                foot_words=f"{FOOT[step.foot]} foot",
                what=step_chart(step),
                turn=turn_chart(step.body16),
                moved=paper.print(moved, stands),
                other=paper.print(other, not stands),
                came_from=paper.print(earlier, False),
                faced16=before.facing16 - up,
                faces16=after.facing16 - up,
                takes_weight=stands,
            )
        )
    return tuple(drawn)
