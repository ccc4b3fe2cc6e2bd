"""What a simulated figure is: where both partners are, count by count, and what follows from it.

Frame: the leader's body centre at the start is the origin, x is *forward* of the leader's facing at the start,
y is to the *right* (all millimetres); ``facing16`` is sixteenths clockwise from the leader's first facing (it
runs on beyond 16 or below 0 when a dancer turns right round, so that the number of turns is not lost).

Time: a foot lands *on* its count, the body is over it about half-way to the next count (as in walking). So
``moments[0]`` is at tick 0 and is how the couple stands before the first step (the exit of the figure before);
the pose after the steps of tick ``t`` has ``at_tick == t`` and is reached at ``tick``, half-way to the next step
of either partner (at most one beat later). ``moments[-1]`` is at ``length_ticks`` and is the exit. Ticks rise
strictly, the first and the last pose of neighbouring figures agree, so renderers may draw straight between.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Literal

from composer.charts import Foot, Pair

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


@dataclass(frozen=True)
class FootMark:
    """A foot on the floor: centre of the foot in mm and where it points (sixteenths).

    ``flat`` is False while the foot only touches or is in the air (tap, point, kick).
    """

    foot: Foot
    forward_mm: int
    right_mm: int
    points16: int
    flat: bool = True


@dataclass(frozen=True)
class Pose:
    """One dancer at one moment: body centre, body facing, both feet, and the foot that carries the weight."""

    forward_mm: int
    right_mm: int
    facing16: int
    weight: Foot
    left: FootMark
    right: FootMark


@dataclass(frozen=True)
class HandPair:
    """A pair of joined hands, and how each partner's arm lies: ``raised``, ``open``, ``front`` (wrapped across the
    front) or ``behind`` (led behind the back farther than a hand at the own side).
    """

    pair: Pair
    high: bool
    leader_arm: str
    follower_arm: str


@dataclass(frozen=True)
class Moment:
    """Both dancers at a tick of the figure; ``hold`` is the hold at that moment (None while it changes).

    ``at_tick`` is the tick of the step (of either partner) that led here; None for the entry, for a moment put in
    half-way through a pivot, and for the last moment when nothing steps there.
    """

    tick: int
    leader: Pose
    follower: Pose
    hold: str | None
    at_tick: int | None = None
    hands: tuple[HandPair, ...] = ()


@dataclass(frozen=True)
class Motion:
    """A simulated figure.

    ``moments`` is described in the module header. Turns are signed net sixteenths. ``travel_*`` is the leader's
    centre at the end. ``residual_mm`` is the largest distance by which the fit missed a standing place the
    hold asks for; ``gap`` is the distance between the two body centres. ``fastest_mm_per_beat`` is the fastest
    body centre. ``shortest_scale``/``longest_scale`` say how far strides may shrink or grow with the figure
    still fitting. ``under`` names who passes under raised hands (see :func:`.armholds.head_clearance_mm`).
    """

    moments: tuple[Moment, ...]
    length_ticks: int
    leader_turn16: int
    follower_turn16: int
    travel_forward_mm: int
    travel_right_mm: int
    leader_free: Foot
    follower_free: Foot
    residual_mm: int
    least_gap_mm: int
    most_gap_mm: int
    fastest_mm_per_beat: int
    shortest_scale: float = 1.0
    longest_scale: float = 1.0
    scaled_percents: tuple[int, ...] = ()
    strays_mm: tuple[int, ...] = ()
    under: tuple[Literal["leader", "follower"], ...] = ()

    @cached_property
    def bodies_mm(self) -> NDArray[np.float64]:
        """Forward and right (2) of leader and follower (2) at every moment, in this order of axes."""
        import numpy as np  # showing a figure needs none of it

        poses = ((moment.leader, moment.follower) for moment in self.moments)
        return np.array([[(p.forward_mm, p.right_mm) for p in both] for both in poses], dtype=np.float64).transpose(
            2, 1, 0
        )

    def stray_mm(self, least: int, most: int) -> int:
        """How far a body may be from its natural way with ground spread evenly, for strides of so many percent.

        Scales up to the next one tried outside the range count as well.
        """
        low = max((p for p in self.scaled_percents if p <= least), default=0)
        high = min((p for p in self.scaled_percents if p >= most), default=1000)
        found = 0
        for percent, mm in zip(self.scaled_percents, self.strays_mm, strict=True):
            asked = least < 100 if percent < 100 else most > 100
            if asked and low <= percent <= high:
                found = max(found, mm)
        return found

    @property
    def entry_leader(self) -> Pose:
        """The leader before the first step."""
        return self.moments[0].leader

    @property
    def entry_follower(self) -> Pose:
        """The follower before the first step."""
        return self.moments[0].follower

    @property
    def exit_leader(self) -> Pose:
        """The leader at the end."""
        return self.moments[-1].leader

    @property
    def exit_follower(self) -> Pose:
        """The follower at the end."""
        return self.moments[-1].follower
