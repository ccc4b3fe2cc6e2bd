"""Step charts, holds and dances as they stand in catalogue files (YAML), checked for form only.

Whether a chart can be danced is not decided here but in :mod:`composer.kinematics`, which simulates it.

Conventions: counts begin at 1 (see :func:`composer.units.count_from`); turns are eighths, clockwise positive,
half-eighths allowed (``1.5``); hand pairs are written leader's hand then follower's hand, so ``LR`` is the
leader's left joined with the follower's right. Vocabulary of actions and footwork: trade usage.
"""

from __future__ import annotations

from fractions import Fraction
from functools import cached_property
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, PlainSerializer, model_validator

from composer.units import ALIGNMENTS, alignment_from, count_from, count_text, millimetres, ticks_from_beats

Foot = Literal["L", "R"]
Pair = Literal["LR", "RL", "RR", "LL"]
Action = Literal[
    # weight-taking
    "forward", "back", "side", "diagonal-forward", "diagonal-back", "forward-and-side", "side-and-forward",
    "side-and-back", "back-and-side", "forward-across", "back-across", "cross-in-front", "cross-behind",
    "close", "in-place", "replace",
    # no weight taken by the named foot
    "tap", "point", "brush", "kick", "flick", "hold", "swivel", "sweep", "pose",
]  # fmt: skip
WEIGHT_TAKING = frozenset(
    {"forward", "back", "side", "diagonal-forward", "diagonal-back", "forward-and-side", "side-and-forward",
     "side-and-back", "back-and-side", "forward-across", "back-across", "cross-in-front", "cross-behind",
     "close", "in-place", "replace"}
)  # fmt: skip
Size = Literal["tiny", "small", "normal", "large"]
Style = Literal["travelling", "slot", "spot", "show"]
Caution = Literal[
    "behind-the-back", "wrap", "neck-wrap", "dip", "lift", "fast-spin", "drop", "deep-knee", "weight-sharing"
]
OPT_IN_CAUTIONS = frozenset({"behind-the-back", "neck-wrap", "dip", "lift", "fast-spin", "drop", "weight-sharing"})
ArmLie = Literal["free", "frame", "open", "crossed", "wrapped", "behind-the-back", "at-the-neck"]

Count = Annotated[
    Fraction,
    BeforeValidator(lambda v: v if isinstance(v, Fraction) else count_from(v)),
    PlainSerializer(count_text, return_type=str),
    Field(json_schema_extra={"type": ["string", "integer"], "description": "a count: 3, 3&, 3a or 3 1/3"}),
]
Length = Annotated[
    int,
    BeforeValidator(millimetres),
    PlainSerializer(lambda v: f"{v} mm", return_type=str, when_used="json"),
    Field(json_schema_extra={"type": ["string", "number"], "description": "a length: 5 m, 16 ft, 30 cm"}),
]
Alignment = Annotated[
    int,
    BeforeValidator(
        lambda v: v if isinstance(v, int) and not isinstance(v, bool) and 0 <= v < 8 else alignment_from(str(v))
    ),
    PlainSerializer(lambda v: ALIGNMENTS[v] if isinstance(v, int) else v, when_used="json"),
    Field(json_schema_extra={"type": "string", "description": "LOD, DW, W, DWA, ALOD, DCA, C, DC; backing ..."}),
]


def _sixteenths(value: Any) -> int:
    """Eighths in files (whole or half) as whole sixteenths inside."""
    if isinstance(value, bool) or not isinstance(value, (int, float, str)):
        raise ValueError("a turn is a number of eighths, such as 2, -3 or 1.5")
    try:
        doubled = Fraction(str(value).lstrip("+")) * 2
    except (ValueError, ZeroDivisionError):
        raise ValueError("a turn is a number of eighths, such as 2, -3 or 1.5") from None
    if doubled.denominator != 1 or abs(doubled) > 64:
        raise ValueError("a turn is given in whole or half eighths, at most 4 full turns")
    return int(doubled)


Turn = Annotated[
    int,
    BeforeValidator(_sixteenths),
    PlainSerializer(lambda v: v // 2 if v % 2 == 0 else v / 2, return_type=float | int, when_used="json"),
    Field(json_schema_extra={"type": "number", "description": "eighths of a turn, clockwise positive"}),
]


class Strict(BaseModel):
    """Base of everything read from files: unknown keys are refused, values are frozen."""

    model_config = ConfigDict(extra="forbid", frozen=True, str_strip_whitespace=True)


class Step(Strict):
    """One entry of a chart. ``turn`` is between the feet, ``body`` what the body turns by then (both sixteenths)."""

    at: Count
    foot: Foot
    do: Action
    turn: Turn = 0
    body: Turn | None = None
    size: Size = "normal"
    work: str | None = Field(None, description="footwork: H, T, B, HT, TH, BF, IE, flat ...")
    rise: str | None = None
    sway: Literal["L", "R", "straight"] | None = None
    note: str | None = Field(None, max_length=300)

    @property
    def takes_weight(self) -> bool:
        """Whether the named foot carries the dancer afterwards."""
        return self.do in WEIGHT_TAKING

    @property
    def body16(self) -> int:
        """Sixteenths the body turns up to this step."""
        return self.turn if self.body is None else self.body

    @cached_property
    def tick(self) -> int:
        """Ticks from the start of the figure."""
        return ticks_from_beats(self.at - 1)


class Travel(Strict):
    """How far the leader has travelled at the end, in the frame of the leader's facing at the start."""

    forward: Length = 0
    right: Length = 0


class Entry(Strict):
    """What must be so when the figure begins."""

    hold: str
    faces: tuple[Alignment, ...] | None = Field(None, description="leader's alignments; all when left out")
    leader_free: Foot
    follower_free: Foot


class Exit(Strict):
    """What the file says is so when the figure ends; compared with what the simulation derives."""

    hold: str
    leader_turn: Turn = 0
    follower_turn: Turn = 0
    leader_free: Foot
    follower_free: Foot
    travel: Travel = Travel()


class Via(Strict):
    """A hold the couple passes through at a count."""

    at: Count
    hold: str


class HandEvent(Strict):
    """Something done with a pair of hands at a count."""

    at: Count
    do: Literal["join", "drop", "lift", "lower"]
    pair: Pair


class Say(Strict):
    """A lead or a tip at a count."""

    at: Count
    say: str = Field(min_length=1, max_length=300)


class FigureFile(Strict):
    """One figure with its two charts (format ``figure/1``)."""

    format: Literal["figure/1"]
    name: str = Field(min_length=1, max_length=80)
    dance: str
    level: int = Field(ge=1, le=5)
    beats: int = Field(ge=1, le=64)
    starts_on: tuple[int, ...] = Field((1,), description="beats of the bar on which it may begin")
    suits: tuple[Style, ...] | None = Field(None, description="room styles; the dance's own when left out")
    energy: int = Field(2, ge=1, le=5)
    peak: Count | None = None
    needs: tuple[str, ...] = ()
    cautions: tuple[Caution, ...] = ()
    good_for: tuple[Literal["opening", "ending", "corner"], ...] = ()
    about: str = Field(min_length=1, max_length=400)
    entry: Entry
    exit: Exit
    via: tuple[Via, ...] = ()
    hands: tuple[HandEvent, ...] = ()
    lead: tuple[Say, ...] = ()
    follow: tuple[Say, ...] = ()
    leader: tuple[Step, ...] = Field(min_length=1)
    follower: tuple[Step, ...] = Field(min_length=1)

    @property
    def length_ticks(self) -> int:
        """Length in ticks."""
        return ticks_from_beats(self.beats)


class StanceFile(Strict):
    """How two partners stand to each other.

    ``facing`` is follower minus leader (eighths, as sixteenths inside); ``forward``/``right`` place the
    follower's centre in the leader's frame; ``least``/``most`` bound the distance between the centres.
    """

    facing: Turn
    forward: Length
    right: Length = 0
    least: Length
    most: Length
    about: str


class Joined(Strict):
    """One pair of joined hands in a hold; ``wound`` says which of the follower's arms lies round her body."""

    pair: Pair
    high: bool = False
    wound: Literal["front", "behind"] | None = None


class HoldFile(Strict):
    """A stance together with how hands and arms are joined."""

    name: str
    stance: str
    hands: tuple[Joined, ...] = ()
    frame: bool = Field(False, description="leader's right hand on the follower's back (closed-type frame)")
    lie: ArmLie = "free"
    top: Literal["L", "R"] | None = Field(None, description="crossed: the leader's hand that lies on top")
    cautions: tuple[Caution, ...] = ()
    about: str


class HoldsFile(Strict):
    """All stances and holds (format ``holds/1``)."""

    format: Literal["holds/1"]
    stances: dict[str, StanceFile]
    holds: dict[str, HoldFile]

    @model_validator(mode="after")
    def _stances_known(self) -> HoldsFile:
        for key, hold in self.holds.items():
            if hold.stance not in self.stances:
                raise ValueError(f"hold '{key}' names the unknown stance '{hold.stance}'")
        return self


class Tempo(Strict):
    """Usual tempo in beats per minute, with where it is published."""

    least: float = Field(gt=20, lt=400)
    most: float = Field(gt=20, lt=400)
    source: str


class DanceFile(Strict):
    """The page of a dance (format ``dance/1``)."""

    format: Literal["dance/1"]
    name: str
    beats_per_bar: int = Field(ge=2, le=6)
    tempo: Tempo
    rhythm: str
    style: Style
    usual_hold: str
    starts_with: tuple[str, ...] = Field(description="figures a beginner learns first")
    about: str
