"""Where a figure takes the couple in a room: whole millimetres, one rounding, the same for everybody.

World frame: x to the east, y to the north. A figure begun at ``faces`` (eighths clockwise from east) moves the
leader's centre by :func:`travel_of`; :func:`extent_of` bounds both body centres along the whole figure.
"""

from __future__ import annotations

from composer.kinematics.motion import Motion
from composer.units import world_from_local


def placed(forward_mm: int, right_mm: int, faces: int) -> tuple[int, int]:
    """(dx, dy) in whole mm of a point of the leader's starting frame when the leader faces ``faces``."""
    x, y = world_from_local(forward_mm, right_mm, 2 * faces)
    return round(x), round(y)


def travel_of(motion: Motion, faces: int) -> tuple[int, int]:
    """(dx, dy) of the leader's centre over the whole figure."""
    return placed(motion.travel_forward_mm, motion.travel_right_mm, faces)


def extent_of(motion: Motion, faces: int) -> tuple[int, int, int, int]:
    """(least dx, least dy, most dx, most dy) of both body centres from the leader's starting point."""
    points = [
        placed(pose.forward_mm, pose.right_mm, faces)
        for moment in motion.moments
        for pose in (moment.leader, moment.follower)
    ]
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs), min(ys), max(xs), max(ys)
