"""The room as data: integer millimetres, x to the east, y to the north, (0, 0) the south-west corner.

The dancers' bodies must stay inside the room less its margin along the whole path. The body radius is the
half-width of one dancer with elbows in closed hold; a couple's swept circle (about 1.2-1.5 m across, common
practice) follows from two such bodies in a hold.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from composer.charts import Style

Side = Literal["south", "east", "north", "west"]
SIDE_FACING: Final[dict[Side, int]] = {"east": 0, "south": 2, "west": 4, "north": 6}
BODY_RADIUS_MM: Final = 300


@dataclass(frozen=True)
class Room:
    """A rectangular room. ``start_*`` is None when the composer may choose where the leader begins.

    ``lane_mm`` is how far from the outer edge of the floor a travelling couple keeps (see :meth:`lane`).
    """

    style: Style
    width_mm: int
    depth_mm: int
    margin_mm: int
    audience: Side | None = None
    start_x_mm: int | None = None
    start_y_mm: int | None = None
    lane_mm: int | None = None

    @property
    def inside(self) -> tuple[int, int, int, int]:
        """(least x, least y, most x, most y) that a body *centre* may have."""
        edge = self.margin_mm + BODY_RADIUS_MM
        return edge, edge, self.width_mm - edge, self.depth_mm - edge

    @property
    def lane_depth_mm(self) -> int:
        """Depth of a lane: as given, else half the shorter side, so that nobody dances across the middle line."""
        least_x, least_y, most_x, most_y = self.inside
        return self.lane_mm if self.lane_mm is not None else max(0, min(most_x - least_x, most_y - least_y) // 2)

    def lane(self, corners: int) -> tuple[int, int, int, int]:
        """(least x, least y, most x, most y) of the lane danced along after so many corners.

        The first lane lies along the south side and is danced eastwards, then east, north, west: counter-clockwise,
        the wall on the right. Where two lanes overlap lies the corner.
        """
        least_x, least_y, most_x, most_y = self.inside
        depth, side = self.lane_depth_mm, corners % 4
        return (
            max(least_x, most_x - depth) if side == 1 else least_x,
            max(least_y, most_y - depth) if side == 2 else least_y,
            min(most_x, least_x + depth) if side == 3 else most_x,
            min(most_y, least_y + depth) if side == 0 else most_y,
        )
