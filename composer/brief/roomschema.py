"""What a brief may say about the floor: its outline, what stands on it, and how it is danced on.

Lengths are metres unless a unit is written (``16 ft``, ``30 cm``). Places are measured from the south-west corner:
``[x to the east, y to the north]``; south is the bottom of the plan.
"""

from __future__ import annotations

from pydantic import ConfigDict, Field, model_validator

from composer.charts import Length, Strict, Style
from composer.floor.model import Side

Point = tuple[Length, Length]


class StartPlace(Strict):
    """Where the leader stands at the start (body centre), from the south-west corner."""

    x: Length
    y: Length


class FinishPlace(StartPlace):
    """Where the leader is to stand at the end, give or take ``within`` each way."""

    within: Length = Field(default="25 cm", validate_default=True)


class ObstacleGiven(Strict):
    """Something to keep off: a circle (``x``, ``y``, ``radius``), a ``box`` by two corners, or ``corners``."""

    name: str = Field("obstacle", min_length=1, max_length=60)
    x: Length | None = None
    y: Length | None = None
    radius: Length | None = None
    box: tuple[Point, Point] | None = Field(None, description="two opposite corners")
    corners: tuple[Point, ...] | None = Field(None, min_length=3, max_length=40)

    @model_validator(mode="after")
    def _one_shape(self) -> ObstacleGiven:
        circle = [self.x, self.y, self.radius]
        shapes = [any(v is not None for v in circle), self.box is not None, self.corners is not None]
        if sum(shapes) != 1 or (shapes[0] and None in circle):
            raise ValueError("give x, y and radius (a circle), or box, or corners")
        if self.radius is not None and self.radius < 0:
            raise ValueError("a radius cannot be negative")
        return self


class DoorGiven(Strict):
    """A door by its two ends on a wall; ``clear`` keeps so much floor in front of it free."""

    name: str = Field("door", min_length=1, max_length=60)
    ends: tuple[Point, Point]
    clear: Length = Field(default=0, validate_default=True)


class Stride(Strict):
    """How much of a figure's natural ground may be taken, at least and at most (1 = as it comes)."""

    least: float = Field(1.0, ge=0.5, le=1.0)
    most: float = Field(1.0, ge=1.0, le=1.5)


class RoomGiven(Strict):
    """The floor. ``audience`` is the side they sit on; compass names, south is the bottom of the plan."""

    model_config = ConfigDict(
        json_schema_extra={"oneOf": [{"required": ["width", "depth"]}, {"required": ["outline"]}]}
    )  # an outline says how wide and deep the floor is

    style: Style = "spot"
    width: Length | None = None
    depth: Length | None = None
    outline: tuple[Point, ...] | None = Field(
        None, min_length=3, max_length=60, description="corners of a floor that is no rectangle, in order"
    )
    margin: Length = Field(default=0, validate_default=True)
    obstacles: tuple[ObstacleGiven, ...] = Field((), max_length=12)
    doors: tuple[DoorGiven, ...] = Field((), max_length=12)
    couples: int | None = Field(None, ge=1, le=500, description="couples on the floor at once (advice only)")
    lane: Length | None = Field(
        None,
        description="travelling: how far from the edge of the floor to keep; round a middle of its own when left out",
    )
    corner: Length | None = Field(
        None, description="travelling: how near to the end of a side the corner is turned; the lane when left out"
    )
    corner_figures: bool = Field(False, description="travelling: corners only after figures made for them")
    laps: float | None = Field(None, gt=0, le=20, multiple_of=0.25, description="travelling: how often round the room")
    begins: Side = Field("south", description="travelling: the side of the floor danced along first")
    closed: bool = Field(False, description="the end leads back to the beginning, so that it can be danced again")
    stride: Stride = Stride()
    audience: Side | None = None
    start: StartPlace | None = None
    finish: FinishPlace | None = None

    @model_validator(mode="after")
    def _sizes(self) -> RoomGiven:
        if self.outline is None and (self.width is None or self.depth is None):
            raise ValueError("give width and depth, or an outline")
        if self.outline is not None and (self.width is not None or self.depth is not None):
            raise ValueError("an outline says how wide and deep the floor is; leave out width and depth")
        for name in ("width", "depth"):
            size = getattr(self, name)
            if size is not None and not 500 <= size <= 200_000:
                raise ValueError(f"{name} must be between 0.5 m and 200 m")
        if self.margin < 0:
            raise ValueError("margin cannot be negative")
        for name in ("lane", "corner"):
            size = getattr(self, name)
            if size is not None and size < 500:
                raise ValueError(f"a {name} must be at least 0.5 m deep")
        if self.style != "travelling":
            own = {"corner": self.corner, "corner_figures": self.corner_figures, "laps": self.laps}
            own["begins"] = self.begins != "south"
            if wrong := [name for name, value in own.items() if value]:
                raise ValueError(f"{' and '.join(wrong)} only means something with style: travelling")
        return self
