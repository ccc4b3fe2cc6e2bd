"""Music as data: beats in seconds with their place in the bar, bars, phrases, sections, accents.

Everything downstream counts *beats of this timeline* from 0, the first danced beat, so a tick of the music is a
tick of the routine; music before it (a pickup, an introduction that is not danced) stands in ``before``. Where a
beat lies in seconds is looked up only for people (clock times) and sound. Beats are what dancers count: in 6/8
the dotted quarter, in 2/2 the half.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from itertools import pairwise
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
    """The music. ``usable`` is the half-open range of beat indices to be danced; it begins at 0.

    Invariants (see :func:`faults`): beats rise in time; phrases and sections tile ``usable`` without gaps;
    ``end_s`` is not before the last beat. ``first_bar`` is the number of the first danced bar in the music.
    ``confidence`` (0..1) is given per kind for estimated timelines only; ``doubts`` are the questions that stay
    open there, each with the correction that would answer it.
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
    before: tuple[Beat, ...] = ()
    first_bar: int = 1
    doubts: tuple[str, ...] = ()

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


def faults(timeline: Timeline) -> list[str]:
    """Every broken invariant of a timeline in words; empty when it is sound."""
    found: list[str] = []
    times = [beat.at_s for beat in (*timeline.before, *timeline.beats)]
    if not timeline.beats:
        return ["there are no beats"]
    if any(later <= earlier for earlier, later in pairwise(times)):
        found.append("the beats do not rise in time")
    if not all(math.isfinite(time) for time in (*times, timeline.end_s)):
        found.append("a time is not a finite number")
    elif timeline.end_s < times[-1]:
        found.append("the music ends before its last beat")
    if not 0 == timeline.usable[0] < timeline.usable[1] <= len(timeline.beats):
        found.append("the danced range must begin at beat 0 and lie inside the beats")
    for word, parts in (("phrases", timeline.phrases), ("sections", timeline.sections)):
        at = timeline.usable[0]
        for part in parts:
            if part.start != at or part.beats < 1:
                break
            at += part.beats
        if at != timeline.usable[1] or sum(part.beats for part in parts) != timeline.length_beats:
            found.append(f"the {word} do not tile the danced range")
    if any(not 0 <= accent.tick < timeline.length_ticks for accent in timeline.accents):
        found.append("an accent lies outside the danced range")
    return found
