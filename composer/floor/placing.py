"""Where a figure takes the couple in a room: whole millimetres, one rounding, the same for everybody.

World frame: x to the east, y to the north. A figure begun at ``faces`` (eighths clockwise from east) moves the
leader's centre by :func:`travel_of`; :func:`path_of` gives both body centres along the whole figure. In a room with a
choice of stride the couple may take more or less ground along the line of dance (:func:`ground_limits`), spread evenly
over the figure. Danced with longer or shorter strides the bodies are not quite there; how far off was measured when the
figure was simulated at other scales, and so much is kept clear on all sides (:func:`stray_of`).
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Final

from composer.charts import StanceFile
from composer.floor.model import Place, Room
from composer.kinematics.motion import Motion
from composer.units import world_from_local

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

WHOLE: Final = 10_000
"""A scale is counted in parts of a figure's natural ground."""


def placed(forward_mm: float, right_mm: float, faces: int) -> Place:
    """(dx, dy) in whole mm of a point of the leader's starting frame when the leader faces ``faces``."""
    x, y = world_from_local(forward_mm, right_mm, 2 * faces)
    return round(x), round(y)


def travel_of(motion: Motion, faces: int) -> Place:
    """(dx, dy) of the leader's centre over the whole figure."""
    return placed(motion.travel_forward_mm, motion.travel_right_mm, faces)


def moved(place: Place, motion: Motion, faces: int, more: Place = (0, 0)) -> Place:
    """Where the leader stands after a figure begun at a place."""
    dx, dy = travel_of(motion, faces)
    return place[0] + dx + more[0], place[1] + dy + more[1]


def handed(place: Place, stance: StanceFile, faces: int) -> Place:
    """Where the follower stands in a stance whose leader stands at ``place`` and faces ``faces``."""
    dx, dy = placed(stance.forward, stance.right, faces)
    return place[0] + dx, place[1] + dy


def path_of(motion: Motion, faces: int, *, first: bool = True, last: bool = True) -> tuple[Place, ...]:
    """(dx, dy) of both body centres at every moment, from the leader's starting point, each place once.

    With ``first`` or ``last`` false the first or the last moment is left out.
    """
    moments = bodies_of(motion, faces)[0 if first else 1 : len(motion.moments) if last else -1]
    return tuple(dict.fromkeys((x, y) for x, y in moments.reshape(-1, 2).tolist()))


def bodies_of(motion: Motion, faces: int) -> NDArray[np.int64]:
    """(moment, leader and follower, dx and dy) of both body centres from the leader's starting point."""
    import numpy as np  # showing a figure needs none of it

    forward, right = motion.bodies_mm
    along: NDArray[np.float64] = np.rint(world_from_local(forward, right, 2 * faces))
    return along.astype(np.int64).transpose(2, 1, 0)


def extent_of(motion: Motion, faces: int) -> tuple[int, int, int, int]:
    """(least dx, least dy, most dx, most dy) of both body centres from the leader's starting point."""
    points = path_of(motion, faces)
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs), min(ys), max(xs), max(ys)


def reach(path: Iterable[Place], a: int, b: int) -> int:
    """The most of ``a*x + b*y`` along a path."""
    return max(a * x + b * y for x, y in path)


def ground_limits(room: Room, motion: Motion, faces: int, corners: int) -> tuple[Place, Place]:
    """((least, most) more along x, (least, most) more along y) that a figure may take beyond its natural travel.

    Within the brief's stride and the figure's own, in parts of its travel; on a travelling floor only along the
    side being danced along, elsewhere along both, in the same part (:func:`keeps_scale`). Less than nothing is ground
    given up.
    """
    if not room.stretches:
        return (0, 0), (0, 0)
    least, most = scale_limits(room, motion)
    limits: list[Place] = []
    for axis, step in enumerate(travel_of(motion, faces)):
        if room.style == "travelling" and corners % 2 != axis:
            step = 0
        size = abs(step)
        ends = (-(-least * size // 100), most * size // 100)
        limits.append(ends if step >= 0 else (-ends[1], -ends[0]))
    return limits[0], limits[1]


def scale_limits(room: Room, motion: Motion) -> tuple[int, int]:
    """(least, most) percent of ground that a figure may take beyond its natural travel; never above, below nothing."""
    least = max(room.stride[0], round(100 * motion.shortest_scale)) - 100
    most = min(room.stride[1], round(100 * motion.longest_scale)) - 100
    return min(0, least), max(0, most)


def scales_whole(room: Room) -> bool:
    """Whether longer or shorter strides change the ground along x and y alike, in one scale for a figure.

    A travelling couple keeps its line: there only the ground along the side changes.
    """
    return room.stretches and room.style != "travelling"


def keeps_scale(room: Room, motion: Motion, faces: int, more: Place) -> bool:
    """Whether ground taken beyond a figure's travel is that of one scale, to less than a millimetre.

    A scale is a whole number of ten-thousandths, the same along x and y.
    """
    if not scales_whole(room):
        return True
    least, most = (WHOLE // 100 * percent for percent in scale_limits(room, motion))
    for extra, step in zip(more, travel_of(motion, faces), strict=True):
        if step < 0:
            extra, step = -extra, -step
        if step:
            least = max(least, -((WHOLE - 1 - WHOLE * extra) // step))
            most = min(most, (WHOLE * extra + WHOLE - 1) // step)
        elif extra:
            return False
    return least <= most


def stray_of(room: Room, motion: Motion, faces: int, corners: int) -> int:
    """How far (mm) a body may be off the way reckoned with when the couple takes more or less ground than natural."""
    if not any(any(pair) for pair in ground_limits(room, motion, faces, corners)):
        return 0
    least = max(room.stride[0], round(100 * motion.shortest_scale))
    most = min(room.stride[1], round(100 * motion.longest_scale))
    return motion.stray_mm(least, most)


def widened(limits: tuple[Place, Place], stray: int) -> tuple[Place, Place]:
    """Ground that may be taken along x and y, and what a body may stray beyond."""
    (low_x, high_x), (low_y, high_y) = limits
    return (low_x - stray, high_x + stray), (low_y - stray, high_y + stray)
