"""The sheet: every number and every word that the outputs show, decided once. Renderers only lay it out.

Positions are millimetres in the room (x to the east, y to the north, the south-west corner is 0, 0); without a
room they are free coordinates that begin at 0, 0. Facings are sixteenths clockwise from east and are *unwrapped*:
a full turn right adds 16, so that a picture or a page can move a dancer the way the turn really goes.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from composer.report.lines import NoteLine, Station, StepLine
from composer.report.words import Lengths, Role

if TYPE_CHECKING:  # a single figure is shown without them
    from composer.report.footdata import FootChart
    from composer.report.planning import LearningPlan
    from composer.routine import Routine


@dataclass(frozen=True)
class FootSpot:
    """One foot on the floor; ``weight`` when it carries the dancer."""

    x_mm: int
    y_mm: int
    points16: int
    weight: bool


@dataclass(frozen=True)
class Spot:
    """One dancer at one moment: centre of the body, facing, both feet."""

    x_mm: int
    y_mm: int
    facing16: int
    left: FootSpot
    right: FootSpot


@dataclass(frozen=True)
class Still:
    """Both dancers at a tick of the routine; ``leader`` is whom the brief calls so, whoever leads.

    ``figure`` is the position (from 0) in the routine; ``at_tick`` the tick of the step that led here (a foot lands on
    its count, the body is over it later), None when no step did.
    """

    tick: int
    at_s: float
    figure: int
    leader: Spot
    follower: Spot
    at_tick: int | None = None


@dataclass(frozen=True)
class FootKey:
    """Where a foot is at a tick; between two keys it moves straight. ``weight``: it carries the dancer from here on."""

    tick: int
    x_mm: int
    y_mm: int
    points16: int
    weight: bool


@dataclass(frozen=True)
class FootTracks:
    """The four feet over the whole routine."""

    leader_left: tuple[FootKey, ...]
    leader_right: tuple[FootKey, ...]
    follower_left: tuple[FootKey, ...]
    follower_right: tuple[FootKey, ...]


@dataclass(frozen=True)
class Call:
    """A figure called one bar ahead. ``tick`` (of the call) may be negative: before the first danced beat.

    ``at_s`` and ``figure_s`` are seconds of the music; ``at_s`` may be negative when the music starts at once.
    """

    tick: int
    at_s: float
    figure: int
    figure_tick: int
    figure_s: float
    words: str


@dataclass(frozen=True)
class FigureLine:
    """One figure of the routine as people read it. ``number`` counts from 1; ``same_as`` is the number of the
    first occurrence when this one repeats it (same figure, same direction words, same leader).

    ``leader`` and ``follower`` are the two roles. ``swapped``: the partner whom the brief calls follower leads.
    ``leads`` and ``follows`` name both where both lead ("Kim leads"), ``change`` says so where roles change."""

    number: int
    id: str
    name: str
    dance: str
    level: str
    about: str
    start_tick: int
    end_tick: int
    counts: str
    phrase_counts: str
    bars: str
    clock: str
    start_s: float
    end_s: float
    entry: Station
    exit: Station
    hands: tuple[NoteLine, ...]
    leader: tuple[StepLine, ...]
    follower: tuple[StepLine, ...]
    lead: tuple[NoteLine, ...]
    follow: tuple[NoteLine, ...]
    sums_up: str
    energy: int
    energy_words: str
    peak: str
    peak_tick: int | None
    on_hit: bool
    cautions: tuple[str, ...]
    points: int
    same_as: int | None
    runs_on: str
    stills: tuple[Still, ...]
    feet: FootChart
    swapped: bool = False
    leads: str = ""
    follows: str = ""
    change: str = ""

    def steps_of(self, partner: Role) -> tuple[StepLine, ...]:
        """The steps of a person, by what the brief calls them."""
        return self.leader if (partner == "leader") != self.swapped else self.follower

    def part_of(self, partner: Role) -> str:
        """``Kim leads`` or ``Robin follows``; empty where the brief's leader leads throughout."""
        return self.leads if (partner == "leader") != self.swapped else self.follows


@dataclass(frozen=True)
class AccentMark:
    """A hit of the music: tick of the routine, words, and the number of the figure whose peak meets it."""

    tick: int
    count: str
    clock: str
    strength: int
    kind: str
    words: str
    met_by: int | None


@dataclass(frozen=True)
class PhraseLine:
    """One phrase with the figures that begin in it (numbers, from 1)."""

    number: int
    label: str
    section: str
    start_tick: int
    end_tick: int
    counts: str
    bars: str
    clock: str
    energy: int | None
    figures: tuple[int, ...]
    accents: tuple[AccentMark, ...]
    carried: str


@dataclass(frozen=True)
class SectionMark:
    """A section of the music over the routine."""

    label: str
    start_tick: int
    end_tick: int
    energy: int | None


@dataclass(frozen=True)
class Fact:
    """A labelled line of the overview."""

    label: str
    text: str


@dataclass(frozen=True)
class ScoreRow:
    """One term of the score card; ``by_figure`` follows the order of the routine (may be empty)."""

    term: str
    sentence: str
    points: int
    by_figure: tuple[int, ...]


@dataclass(frozen=True)
class ObstacleMark:
    """Something on the floor: a convex outline, or a circle round its only corner. ``words`` for people."""

    name: str
    corners: tuple[tuple[int, int], ...]
    radius_mm: int


@dataclass(frozen=True)
class DoorMark:
    """A door in a wall."""

    name: str
    ends: tuple[tuple[int, int], tuple[int, int]]


@dataclass(frozen=True)
class RoomMark:
    """The room as drawn: corners of the floor, and of the floor less its margin (empty when there is none)."""

    width_mm: int
    depth_mm: int
    outer: tuple[tuple[int, int], ...]
    inset: tuple[tuple[int, int], ...]
    obstacles: tuple[ObstacleMark, ...]
    doors: tuple[DoorMark, ...]
    audience: str | None
    style: str
    words: str


@dataclass(frozen=True)
class Sheet:
    """The whole sheet.

    ``beats_s`` has one entry more than there are beats: the end of the last beat. ``track`` is the path of the
    recording the brief names, empty when there is none. ``partners`` are what both persons are called, the brief's
    leader first: by their roles, or by name where ``both_lead``.
    """

    title: str
    leader_name: str
    follower_name: str
    dances: str
    facts: tuple[Fact, ...]
    proof: str
    proof_short: str
    cautions: tuple[str, ...]
    score: int
    score_rows: tuple[ScoreRow, ...]
    figures: tuple[FigureLine, ...]
    phrases: tuple[PhraseLine, ...]
    sections: tuple[SectionMark, ...]
    accents: tuple[AccentMark, ...]
    stills: tuple[Still, ...]
    tracks: FootTracks
    calls: tuple[Call, ...]
    track: str
    learning: LearningPlan
    beats_s: tuple[float, ...]
    beats_in_bar: tuple[int, ...]
    beats_per_bar: int
    length_ticks: int
    end_s: float
    room: RoomMark | None
    direction_note: str
    begin_with: Literal["words", "charts"]
    lengths: Lengths
    routine: Routine
    digest_note: str = ""
    partners: tuple[str, str] = ("Leader", "Follower")
    both_lead: bool = False
    notes: tuple[str, ...] = field(default=())
