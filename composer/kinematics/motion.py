"""What a simulated figure is: where both partners are, count by count, and what follows from it.

Frame: the leader's body centre at the start is the origin, x is *forward* of the leader's facing at the start,
y is to the *right* (all millimetres); ``facing16`` is sixteenths clockwise from the leader's first facing.
"""

from __future__ import annotations

from dataclasses import dataclass

from composer.charts import Foot


@dataclass(frozen=True)
class FootMark:
    """A foot on the floor: centre of the foot in mm and where it points (sixteenths)."""

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
class Moment:
    """Both dancers at a tick of the figure; ``hold`` is the hold at that moment (None while it changes)."""

    tick: int
    leader: Pose
    follower: Pose
    hold: str | None


@dataclass(frozen=True)
class Motion:
    """A simulated figure.

    ``moments`` has one entry at tick 0 and one for every tick at which either partner steps or turns, and one
    at the end. Turns are signed net sixteenths. ``travel_*`` is the leader's centre at the end.
    ``residual_mm`` is the largest distance by which the fit missed the hold's standing place.
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
