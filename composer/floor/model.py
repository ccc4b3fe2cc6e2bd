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
    """A rectangular room. ``start_*`` is None when the composer may choose where the leader begins."""

    style: Style
    width_mm: int
    depth_mm: int
    margin_mm: int
    audience: Side | None = None
    start_x_mm: int | None = None
    start_y_mm: int | None = None

    @property
    def inside(self) -> tuple[int, int, int, int]:
        """(least x, least y, most x, most y) that a body *centre* may have."""
        edge = self.margin_mm + BODY_RADIUS_MM
        return edge, edge, self.width_mm - edge, self.depth_mm - edge
