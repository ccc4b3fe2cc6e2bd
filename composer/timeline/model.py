"""Music as data: beats in seconds with their place in the bar, bars, phrases, sections, accents.

Everything downstream counts *beats of this timeline* from 0; where a beat lies in seconds is looked up only
for people (clock times) and sound. Beats are what dancers count: in 6/8 the dotted quarter, in 2/2 the half.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from composer.units import TICKS_PER_BEAT

Origin = Literal["score", "midi", "beats", "tempo", "audio"]


@dataclass(frozen=True)
class Beat:
    """One beat: seconds from the start of the music, and its place in the bar (from 1)."""

    at_s: float
    in_bar: int


@dataclass(frozen=True)
class Phrase:
    """A run of whole beats: ``start`` is a beat index, ``beats`` its length, ``bars`` whole bars in it."""

    start: int
    beats: int
    label: str = ""


@dataclass(frozen=True)
class Section:
    """Phrases that belong together; equal labels mean equal or repeated music. ``energy`` is 1..5 when known."""

    start: int
    beats: int
    label: str = ""
    energy: int | None = None


@dataclass(frozen=True)
class Accent:
    """A hit in the music: ticks from beat 0, strength 1..3, and what kind it is."""

    tick: int
    strength: int = 2
    kind: Literal["hit", "break", "end"] = "hit"


@dataclass(frozen=True)
class Timeline:
    """The music. ``usable`` is the half-open range of beat indices to be danced.

    Invariants: beats rise in time; phrases and sections tile ``usable`` without gaps; ``end_s`` is not before
    the last beat. ``confidence`` (0..1) is given per kind for estimated timelines only.
    """

    title: str
    origin: Origin
    beats_per_bar: int
    beats: tuple[Beat, ...]
    end_s: float
    usable: tuple[int, int]
    phrases: tuple[Phrase, ...]
    sections: tuple[Section, ...]
    accents: tuple[Accent, ...] = ()
    confidence: dict[str, float] = field(default_factory=dict)
    notes: tuple[str, ...] = ()

    @property
    def length_beats(self) -> int:
        """Beats to be danced."""
        return self.usable[1] - self.usable[0]

    @property
    def length_ticks(self) -> int:
        """Ticks to be danced."""
        return self.length_beats * TICKS_PER_BEAT

    def beat_in_bar(self, tick: int) -> int:
        """Place in the bar of the beat at ``tick`` of the routine (0 = first usable beat)."""
        return self.beats[self.usable[0] + tick // TICKS_PER_BEAT].in_bar

    def seconds_at(self, tick: int) -> float:
        """Seconds from the start of the music at ``tick`` of the routine; straight between beats."""
        whole, rest = divmod(tick, TICKS_PER_BEAT)
        index = self.usable[0] + whole
        here = self.beats[index].at_s if index < len(self.beats) else self.end_s
        following = self.beats[index + 1].at_s if index + 1 < len(self.beats) else self.end_s
        return here + (following - here) * rest / TICKS_PER_BEAT

    @property
    def beats_per_minute(self) -> float:
        """Mean tempo of the usable part."""
        seconds = self.seconds_at(self.length_ticks) - self.seconds_at(0)
        return 60 * self.length_beats / seconds if seconds > 0 else 0.0
