"""From bars with beat times to a :class:`Timeline`: the cut, phrases, sections and hits.

Every exact source (tempo, beat file, score, MIDI) first becomes :class:`Bars`; this module does the rest in one
way for all of them. Bars are numbered from 1 after repeats have been written out; a pickup is not a bar.

Phrases: sections are cut into phrases of ``phrase_bars`` bars, from the start of each section; what is left over
is a shorter last phrase. The default is 8 bars in every metre: 8 bars of waltz are 24 beats, 8 bars of 4/4 are 32
beats, half a 32-bar chorus of a jig or reel is 8 bars (common practice; the phrasing texts that give figures are
named in tests/facts/phrasing.csv). Where nothing marks sections the whole danced range is one section.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise
from typing import Final

from composer.errors import BadInput, Diagnostic, Where
from composer.timeline.model import Accent, Beat, Origin, Phrase, Section, Timeline, faults
from composer.units import TICKS_PER_BEAT, count_text

DEFAULT_PHRASE_BARS: Final = 8
WhereOf = Callable[..., Where]
Content = tuple[object, ...]


def nowhere(*_path: str | int) -> Where:
    """Place of a key when there is no brief."""
    return Where()


@dataclass(frozen=True)
class Bars:
    """Music as bars of beat times.

    Attributes
    ----------
    pickup : times of whole beats before bar 1.
    bars : for each bar the times of its beats, in seconds.
    marks : bar index (from 0) at which a section begins -> its label; empty when nothing marks sections.
    content : for each bar something that compares equal when the music is equal; empty when unknown.
    phrases : bar indices at which phrases were heard to begin; used unless the user gives phrases or sections.
    """

    title: str
    origin: Origin
    beats_per_bar: int
    bars: tuple[tuple[float, ...], ...]
    end_s: float
    pickup: tuple[float, ...] = ()
    marks: Mapping[int, str] = field(default_factory=dict)
    content: tuple[Content, ...] = ()
    notes: tuple[str, ...] = ()
    phrases: tuple[int, ...] = ()


@dataclass(frozen=True)
class SectionWish:
    """A section as the user gives it."""

    bars: int
    label: str = ""
    energy: int | None = None


@dataclass(frozen=True)
class HitWish:
    """A hit as the user gives it: bar from 1, count in the bar from 1."""

    bar: int
    count: Fraction = Fraction(1)
    strength: int = 2


@dataclass(frozen=True)
class Shape:
    """What the user says about the form of the music (all of it may be left out)."""

    first_bar: int = 1
    last_bar: int | None = None
    phrase_bars: int | None = None
    sections: tuple[SectionWish, ...] = ()
    hits: tuple[HitWish, ...] = ()


def assemble(music: Bars, shape: Shape | None = None, where: WhereOf = nowhere) -> Timeline:
    """Build the timeline.

    Parameters
    ----------
    where : gives the place in the brief of a key such as ``("music", "hits", 0)``.

    Raises
    ------
    BadInput
        With every fault of ``shape`` against the music (codes TML04x).
    """
    shape = shape or Shape()
    found: list[Diagnostic] = []
    last = len(music.bars) if shape.last_bar is None else shape.last_bar
    if shape.first_bar > len(music.bars) or last > len(music.bars):
        key = "first_bar" if shape.first_bar > len(music.bars) else "last_bar"
        number = max(shape.first_bar, last)
        found.append(
            Diagnostic(
                "TML040", f"bar {number} is asked for, but the music has {_bars(len(music.bars))}"
                f"{' after repeats' if music.origin == 'score' else ''}.", where("music", key),
            )
        )  # fmt: skip
        raise BadInput(found)
    first = shape.first_bar - 1
    bars = music.bars[first:last]
    starts = _starts(bars)
    sections = _sections(music, shape, first, last, starts, found, where)
    accents = _accents(shape, first, last, bars, starts, found, where)
    if found:
        raise BadInput(found)
    before = _beats_before(music, first)
    beats = tuple(Beat(at, i + 1) for bar in music.bars[first:] for i, at in enumerate(bar))
    timeline = Timeline(
        title=music.title,
        origin=music.origin,
        beats_per_bar=music.beats_per_bar,
        beats=beats,
        end_s=music.end_s,
        usable=(0, starts[-1]),
        phrases=_phrases(sections, shape.phrase_bars or DEFAULT_PHRASE_BARS, starts, _heard(music, shape, first)),
        sections=tuple(sections),
        accents=accents,
        notes=music.notes,
        before=before,
        first_bar=shape.first_bar,
    )
    broken = faults(timeline)
    if broken:
        raise BadInput(Diagnostic("TML049", f"the music cannot be used: {'; '.join(broken)}.", where("music")))
    return timeline


def _bars(number: int) -> str:
    return "1 bar" if number == 1 else f"{number} bars"


def _starts(bars: tuple[tuple[float, ...], ...]) -> list[int]:
    """Beat index at which each bar begins, and the end of the last."""
    starts = [0]
    for bar in bars:
        starts.append(starts[-1] + len(bar))
    return starts


def _beats_before(music: Bars, first: int) -> tuple[Beat, ...]:
    shift = music.beats_per_bar - len(music.pickup)
    pickup = [Beat(at, max(1, shift + i + 1)) for i, at in enumerate(music.pickup)]
    return (*pickup, *(Beat(at, i + 1) for bar in music.bars[:first] for i, at in enumerate(bar)))


def _sections(
    music: Bars, shape: Shape, first: int, last: int, starts: list[int], found: list[Diagnostic], where: WhereOf
) -> list[Section]:
    if shape.sections:
        return _given_sections(shape, last - first, starts, found, where)
    marks = dict(music.marks) or marks_from_content(
        music.content[first:last], shape.phrase_bars or DEFAULT_PHRASE_BARS, first
    )
    inside = {bar - first: label for bar, label in sorted(marks.items()) if first < bar < last}
    inside[0] = next((label for bar, label in sorted(marks.items(), reverse=True) if bar <= first), "")
    edges = [*sorted(inside), last - first]
    return [Section(starts[a], starts[b] - starts[a], inside[a]) for a, b in pairwise(edges)]


def _given_sections(
    shape: Shape, bars: int, starts: list[int], found: list[Diagnostic], where: WhereOf
) -> list[Section]:
    total = sum(section.bars for section in shape.sections)
    if total != bars:
        found.append(
            Diagnostic(
                "TML041",
                f"the sections add up to {_bars(total)}, but {_bars(bars)} are danced.",
                where("music", "sections"),
                "Change a section, or set first_bar and last_bar.",
            )
        )
        return [Section(0, starts[-1])]
    result, at = [], 0
    for section in shape.sections:
        begin, end = starts[at], starts[at + section.bars]
        result.append(Section(begin, end - begin, section.label, section.energy))
        at += section.bars
    return result


def _heard(music: Bars, shape: Shape, first: int) -> frozenset[int] | None:
    """Danced bars at which phrases were heard to begin; None when the user says how long phrases are."""
    if not music.phrases or shape.phrase_bars or shape.sections:
        return None
    return frozenset(bar - first for bar in music.phrases)


def _phrases(
    sections: list[Section], phrase_bars: int, starts: list[int], heard: frozenset[int] | None
) -> tuple[Phrase, ...]:
    """Cut each section into phrases; a phrase carries its section's label, numbered when there are several."""
    result: list[Phrase] = []
    for section in sections:
        inside = [start for start in starts if section.start <= start < section.start + section.beats]
        if heard is None:
            begins = inside[::phrase_bars]
        else:
            begins = [start for start in inside if start == section.start or starts.index(start) in heard]
        edges = [*begins, section.start + section.beats]
        for number, (begin, end) in enumerate(pairwise(edges), start=1):
            label = section.label if not section.label or len(edges) == 2 else f"{section.label}{number}"
            result.append(Phrase(begin, end - begin, label))
    return tuple(result)


def _accents(
    shape: Shape,
    first: int,
    last: int,
    bars: tuple[tuple[float, ...], ...],
    starts: list[int],
    found: list[Diagnostic],
    where: WhereOf,
) -> tuple[Accent, ...]:
    ticks: dict[int, Accent] = {}
    for index, hit in enumerate(shape.hits):
        if not first < hit.bar <= last:
            found.append(
                Diagnostic(
                    "TML042",
                    f"the hit is in bar {hit.bar}, but bars {first + 1} to {last} are danced.",
                    where("music", "hits", index, "bar"),
                )
            )
            continue
        bar = hit.bar - 1 - first
        offset = (hit.count - 1) * TICKS_PER_BEAT
        if hit.count >= len(bars[bar]) + 1:
            text = f"count {count_text(hit.count)} is outside bar {hit.bar}, which has {len(bars[bar])} beats."
            found.append(Diagnostic("TML043", text, where("music", "hits", index, "beat")))
        elif offset.denominator != 1:
            text = f"count {count_text(hit.count)} is no whole number of twelfths of a beat."
            found.append(Diagnostic("TML043", text, where("music", "hits", index, "beat")))
        else:
            tick = starts[bar] * TICKS_PER_BEAT + int(offset)
            ticks[tick] = Accent(tick, max(hit.strength, ticks[tick].strength if tick in ticks else 1))
    return tuple(ticks[tick] for tick in sorted(ticks))


def marks_from_content(content: tuple[Content, ...], phrase_bars: int, shift: int = 0) -> dict[int, str]:
    """Sections of ``phrase_bars`` bars with equal letters for equal music; empty without content."""
    if not content or len(content) < 2 * phrase_bars:
        return {}
    edges = [*range(0, len(content), phrase_bars), len(content)]
    letters = letters_for([content[a:b] for a, b in pairwise(edges)])
    return {shift + edge: letter for edge, letter in zip(edges, letters, strict=False)}


def letters_for(parts: list[tuple[Content, ...]], taken: frozenset[str] = frozenset()) -> list[str]:
    """A letter per part; parts of equal length share one when at least three bars in four are equal.

    Three in four leaves room for a first and second ending (the last one or two bars of eight).
    """
    letters: list[str] = []
    for index, part in enumerate(parts):
        same = next((i for i in range(index) if _alike(parts[i], part)), None)
        if same is None:
            letters.append(_next_letter(taken | set(letters)))
        else:
            letters.append(letters[same])
    return letters


def _alike(one: tuple[Content, ...], other: tuple[Content, ...]) -> bool:
    if len(one) != len(other) or not one:
        return False
    equal = sum(a == b for a, b in zip(one, other, strict=True))
    return 4 * equal >= 3 * len(one)


def _next_letter(taken: frozenset[str] | set[str]) -> str:
    alphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    for length in range(1, 4):
        for letter in alphabet:
            if letter * length not in taken:
                return letter * length
    return "Z" * 4
