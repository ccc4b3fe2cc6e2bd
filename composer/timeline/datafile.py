"""Timelines as JSON (format ``timeline/1``): written for other tools and for ``listen``, read back as a score is.

Times are seconds rounded to a tenth of a millisecond, positions are whole beats or ticks (twelfths of a beat).
"""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field

from composer.charts import Strict
from composer.errors import BadInput, Diagnostic
from composer.textfiles import Document, read_yaml, validated
from composer.timeline.model import Accent, Beat, Origin, Phrase, Section, Timeline, faults

FORMAT = "timeline/1"
Seconds = Annotated[float, Field(ge=0, le=7200, allow_inf_nan=False)]
Text = Annotated[str, Field(max_length=400)]


class BeatGiven(Strict):
    """One beat."""

    at_s: Seconds
    in_bar: int = Field(ge=1, le=64)


class PhraseGiven(Strict):
    """A phrase: first beat and number of beats."""

    start: int = Field(ge=0)
    beats: int = Field(ge=1)
    label: Text = ""


class SectionInFile(PhraseGiven):
    """A section; energy is 1 (calm) to 5."""

    energy: int | None = Field(None, ge=1, le=5)


class AccentGiven(Strict):
    """A hit, a break or the end: ticks (twelfths of a beat) from the first danced beat."""

    tick: int = Field(ge=0)
    strength: int = Field(2, ge=1, le=3)
    kind: Literal["hit", "break", "end"] = "hit"


class TimelineFile(Strict):
    """Music as data: beats in seconds, phrases, sections and hits (format ``timeline/1``)."""

    format: Literal["timeline/1"]
    title: Text = ""
    origin: Origin
    beats_per_bar: int = Field(ge=1, le=64)
    beats: tuple[BeatGiven, ...] = Field(min_length=1, max_length=40_000)
    end_s: Seconds
    usable: tuple[int, int]
    phrases: tuple[PhraseGiven, ...]
    sections: tuple[SectionInFile, ...]
    accents: tuple[AccentGiven, ...] = ()
    confidence: dict[str, Annotated[float, Field(ge=0, le=1)]] = {}
    notes: tuple[Text, ...] = ()
    before: tuple[BeatGiven, ...] = ()
    first_bar: int = Field(1, ge=1)
    doubts: tuple[Text, ...] = ()


def as_data(timeline: Timeline) -> dict[str, Any]:
    """Plain data of a timeline (format ``timeline/1``)."""
    data = {"format": FORMAT, **asdict(timeline)}
    for name in ("beats", "before"):
        data[name] = [{"at_s": round(beat["at_s"], 4), "in_bar": beat["in_bar"]} for beat in data[name]]
    data["end_s"] = round(data["end_s"], 4)
    return {key: list(value) if isinstance(value, tuple) else value for key, value in data.items()}


def from_data(document: Document) -> Timeline:
    """A timeline from plain data.

    Raises
    ------
    BadInput
        TML001-003 for keys and values, TML049 for data that contradicts itself.
    """
    given = validated(TimelineFile, document, code="TML")
    timeline = Timeline(
        title=given.title,
        origin=given.origin,
        beats_per_bar=given.beats_per_bar,
        beats=tuple(Beat(b.at_s, b.in_bar) for b in given.beats),
        end_s=given.end_s,
        usable=given.usable,
        phrases=tuple(Phrase(p.start, p.beats, p.label) for p in given.phrases),
        sections=tuple(Section(s.start, s.beats, s.label, s.energy) for s in given.sections),
        accents=tuple(Accent(a.tick, a.strength, a.kind) for a in given.accents),
        confidence=dict(given.confidence),
        notes=given.notes,
        before=tuple(Beat(b.at_s, b.in_bar) for b in given.before),
        first_bar=given.first_bar,
        doubts=given.doubts,
    )
    broken = faults(timeline)
    if broken:
        raise BadInput([Diagnostic("TML049", f"{fault}.", document.where()) for fault in broken])
    return timeline


def read_timeline(path: Path) -> Timeline:
    """Read a ``timeline/1`` file (JSON is YAML)."""
    return from_data(read_yaml(path))
