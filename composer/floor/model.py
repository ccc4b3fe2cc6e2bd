"""The room as data: integer millimetres, x to the east, y to the north, (0, 0) the south-west corner.

The dancers' bodies must stay inside the room less its margin along the whole path, and off everything that stands in
it. The body radius is the half-width of one dancer with elbows in closed hold; a couple's swept circle (about 1.2-1.5
m across, common practice) follows from two such bodies in a hold. Lines and shapes: :mod:`composer.floor.shape`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from composer.charts import Style

Side = Literal["south", "east", "north", "west"]
SIDE_FACING: Final[dict[Side, int]] = {"east": 0, "south": 2, "west": 4, "north": 6}
BODY_RADIUS_MM: Final = 300
CLOSING_MM: Final = 35
"""Each way; 35 mm along both sides at once is 49.5 mm, so a closed lap ends within 5 cm of where it began."""

SIDES: Final[tuple[Side, ...]] = ("south", "east", "north", "west")
"""As a travelling couple comes by them."""

Place = tuple[int, int]


@dataclass(frozen=True)
class Obstacle:
    """Something to keep off: a convex outline (counter-clockwise), or a circle round its only corner."""

    name: str
    corners: tuple[Place, ...]
    radius_mm: int = 0


@dataclass(frozen=True)
class Door:
    """A door in a wall, from one end to the other; drawn only (what is to be kept clear of it is an obstacle)."""

    name: str
    ends: tuple[Place, Place]


@dataclass(frozen=True)
class Finish:
    """Where the leader is to stand at the end, give or take ``within_mm`` along each side."""

    x_mm: int
    y_mm: int
    within_mm: int


@dataclass(frozen=True)
class Room:
    """A room. ``start_*`` is None when the composer may choose where the leader begins.

    Attributes
    ----------
    outline : corners counter-clockwise, empty for a rectangle; ``width_mm`` and ``depth_mm`` then span it.
    lane_mm : how far from the outer edge of the floor a travelling couple keeps; None is round a middle of its own.
    corner_mm : at most so far before the end of a side the next corner is turned; None leaves it to the lanes.
    corner_figures : a corner is turned only after a figure made for it.
    corners : how many corners the routine turns, or one fewer (the last may be where it ends); None is free.
    closed : the routine ends as it began, ready to be danced again.
    stride : least and most percent of a figure's natural ground that may be taken; (100, 100) leaves no choice.
    couples : how many couples dance at once, for advice only.
    begins : the side a travelling couple begins along, counted from the south side counter-clockwise; so the corners of
        figures begin with this number.
    """

    style: Style
    width_mm: int
    depth_mm: int
    margin_mm: int
    audience: Side | None = None
    start_x_mm: int | None = None
    start_y_mm: int | None = None
    lane_mm: int | None = None
    outline: tuple[Place, ...] = ()
    obstacles: tuple[Obstacle, ...] = ()
    doors: tuple[Door, ...] = ()
    corner_mm: int | None = None
    corner_figures: bool = False
    corners: int | None = None
    closed: bool = False
    finish: Finish | None = None
    stride: tuple[int, int] = (100, 100)
    couples: int | None = None
    begins: int = 0

    @property
    def edge_mm(self) -> int:
        """How far from a wall a body *centre* stays."""
        return self.margin_mm + BODY_RADIUS_MM

    @property
    def outer(self) -> tuple[Place, ...]:
        """The corners of the floor, counter-clockwise, whatever its shape."""
        return self.outline or ((0, 0), (self.width_mm, 0), (self.width_mm, self.depth_mm), (0, self.depth_mm))

    @property
    def inside(self) -> tuple[int, int, int, int]:
        """(least x, least y, most x, most y) that a body *centre* may have, whatever the shape of the floor."""
        edge = self.edge_mm
        return edge, edge, self.width_mm - edge, self.depth_mm - edge

    @property
    def stretches(self) -> bool:
        """Whether a figure may take more or less ground than its natural strides give."""
        return self.stride != (100, 100)

    @property
    def lane_depth_mm(self) -> int:
        """Depth of a lane: as given, else half the shorter side: within that every couple finds a middle of its own."""
        least_x, least_y, most_x, most_y = self.inside
        return self.lane_mm if self.lane_mm is not None else max(0, min(most_x - least_x, most_y - least_y) // 2)

    def lane(self, corners: int) -> tuple[int, int, int, int]:
        """(least x, least y, most x, most y) of the lane danced along after so many corners.

        The first lane lies along the south side and is danced eastwards, then east, north, west: counter-clockwise,
        the wall on the right. Where two lanes overlap lies the corner.
        """
        return self.band(corners, self.lane_depth_mm)

    def turning_place(self, corners: int) -> tuple[int, int, int, int]:
        """Where the first figure after a corner surely may begin: in lane and near the end of the side before."""
        depth = self.lane_depth_mm
        return self.band(corners, depth if self.corner_mm is None else min(depth, self.corner_mm))

    def band(self, corners: int, depth: int) -> tuple[int, int, int, int]:
        """(least x, least y, most x, most y) within a depth of one side of a rectangle."""
        least_x, least_y, most_x, most_y = self.inside
        side = corners % 4
        return (
            max(least_x, most_x - depth) if side == 1 else least_x,
            max(least_y, most_y - depth) if side == 2 else least_y,
            min(most_x, least_x + depth) if side == 3 else most_x,
            min(most_y, least_y + depth) if side == 0 else most_y,
        )
