"""``routine.musicxml``: a one-line rhythm staff with the leader's steps, counts, calls, figures and phrase marks.

Format: MusicXML 4.0 partwise (https://www.w3.org/2021/06/musicxml40/), written directly so that any reader,
music21 among them, can check it. One division is one tick; a beat is written as a quarter note.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from composer.report.model import Sheet
from composer.units import TICKS_PER_BEAT, count_at, count_text

_HEAD: Final = (
    '<?xml version="1.0" encoding="UTF-8"?>\n<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 '
    'Partwise//EN" "http://www.musicxml.org/dtds/partwise.dtd">\n'
)
# ticks: (note type, dots, in a triplet)
_VALUES: Final = {
    48: ("whole", 0, False),
    36: ("half", 1, False),
    24: ("half", 0, False),
    12: ("quarter", 0, False),
    9: ("eighth", 1, False),
    8: ("quarter", 0, True),
    6: ("eighth", 0, False),
    4: ("eighth", 0, True),
    3: ("16th", 0, False),
    2: ("16th", 0, True),
    1: ("32nd", 0, True),
}


@dataclass(frozen=True)
class Bar:
    """A bar of the score: first tick, end tick, how many beats a full bar has here."""

    start: int
    end: int
    beats: int


def bars_of(sheet: Sheet) -> tuple[Bar, ...]:
    """Bars of the danced part; the first may be a part of a bar."""
    starts = [0, *(i for i, place in enumerate(sheet.beats_in_bar) if place == 1 and i > 0)]
    total = sheet.length_ticks // TICKS_PER_BEAT
    starts = [s for s in starts if s < total]
    return tuple(
        Bar(s * TICKS_PER_BEAT, e * TICKS_PER_BEAT, sheet.beats_per_bar if s == 0 or e == total else e - s)
        for s, e in zip(starts, [*starts[1:], total], strict=True)
    )


def pieces(start: int, end: int) -> list[int]:
    """Note lengths that fill [start, end) (ticks in the bar) without crossing a beat except by whole beats."""
    found: list[int] = []
    while start < end:
        inside = start % TICKS_PER_BEAT
        most = end - start if inside == 0 else min(end - start, TICKS_PER_BEAT - inside)
        length = max(v for v in _VALUES if v <= most and (v <= TICKS_PER_BEAT or inside == 0))
        found.append(length)
        start += length
    return found


def routine_musicxml(sheet: Sheet) -> str:
    """The score as text (byte-stable, no dates)."""
    root = ET.Element("score-partwise", version="4.0")
    ET.SubElement(ET.SubElement(root, "work"), "work-title").text = sheet.title
    encoding = ET.SubElement(ET.SubElement(root, "identification"), "encoding")
    ET.SubElement(encoding, "software").text = "routine-composer"
    part = ET.SubElement(ET.SubElement(root, "part-list"), "score-part", id="P1")
    ET.SubElement(part, "part-name").text = "Leader's steps"
    staff = ET.SubElement(root, "part", id="P1")
    steps = _steps(sheet)
    beats, number = 0, 0 if sheet.beats_in_bar and sheet.beats_in_bar[0] != 1 else 1
    for index, bar in enumerate(bars_of(sheet)):
        measure = ET.SubElement(staff, "measure", number=str(number))
        if bar.end - bar.start < bar.beats * TICKS_PER_BEAT and index == 0:
            measure.set("implicit", "yes")
        if index == 0 or bar.beats != beats:
            beats = bar.beats
            _attributes(measure, beats, first=index == 0)
        _directions(measure, sheet, bar, first=index == 0)
        _notes(measure, bar, steps, sheet.length_ticks)
        number += 1
    ET.SubElement(ET.SubElement(measure, "barline", location="right"), "bar-style").text = "light-heavy"
    ET.indent(root)
    return _HEAD + ET.tostring(root, encoding="unicode") + "\n"


def _steps(sheet: Sheet) -> dict[int, str]:
    """The leader's weight changes: tick and the count that is said (``3``, ``&``)."""
    found: dict[int, str] = {}
    for figure in sheet.figures:
        for step in figure.leader:
            if step.takes_weight and step.tick < sheet.length_ticks:
                phrase = next((p for p in sheet.phrases if p.start_tick <= step.tick < p.end_tick), None)
                count = count_text(count_at(step.tick - (phrase.start_tick if phrase else 0)))
                found[step.tick] = count if count.isdigit() or " " in count else count[-1]
    return found


def _attributes(measure: ET.Element, beats: int, *, first: bool) -> None:
    values = ET.SubElement(measure, "attributes")
    if first:
        ET.SubElement(values, "divisions").text = str(TICKS_PER_BEAT)
    time = ET.SubElement(values, "time")
    ET.SubElement(time, "beats").text = str(beats)
    ET.SubElement(time, "beat-type").text = "4"
    if first:
        ET.SubElement(ET.SubElement(values, "clef"), "sign").text = "percussion"
        ET.SubElement(ET.SubElement(values, "staff-details"), "staff-lines").text = "1"


def _directions(measure: ET.Element, sheet: Sheet, bar: Bar, *, first: bool) -> None:
    if first:
        bpm = 60 * (len(sheet.beats_s) - 1) / (sheet.beats_s[-1] - sheet.beats_s[0])
        direction = ET.SubElement(measure, "direction", placement="above")
        mark = ET.SubElement(ET.SubElement(direction, "direction-type"), "metronome")
        ET.SubElement(mark, "beat-unit").text = "quarter"
        ET.SubElement(mark, "per-minute").text = f"{bpm:.1f}".removesuffix(".0")
        ET.SubElement(direction, "sound", tempo=f"{bpm:.3f}")
    for phrase in sheet.phrases:
        if bar.start <= phrase.start_tick < bar.end:
            _words(measure, "rehearsal", f"Phrase {phrase.number}", phrase.start_tick - bar.start, "above")
    for figure in sheet.figures:
        if bar.start <= figure.start_tick < bar.end:
            name = f"{figure.number}. {figure.name}" + (f" ({figure.leads})" if figure.change else "")
            _words(measure, "words", name, figure.start_tick - bar.start, "above")
    for call in sheet.calls:
        if bar.start <= call.tick < bar.end and call.tick < call.figure_tick:
            _words(measure, "words", f"call: {call.words}", call.tick - bar.start, "below")


def _words(measure: ET.Element, kind: str, text: str, offset: int, placement: str) -> None:
    direction = ET.SubElement(measure, "direction", placement=placement)
    ET.SubElement(ET.SubElement(direction, "direction-type"), kind).text = text
    if offset:
        ET.SubElement(direction, "offset").text = str(offset)


def _notes(measure: ET.Element, bar: Bar, steps: dict[int, str], total: int) -> None:
    """A step lasts until the next one; over a bar line it is tied. Before the first step there are rests."""
    ticks = [t for t in sorted(steps) if bar.start <= t < bar.end]
    sounding = any(t < bar.start for t in steps)
    edges = [bar.start, *(t for t in ticks if t > bar.start), bar.end]
    for begin, end in pairwise(edges):
        stepped = begin in steps
        lengths = pieces(begin - bar.start, end - bar.start)
        for index, length in enumerate(lengths):
            tie_in = (index > 0 and (stepped or sounding)) or (index == 0 and not stepped and sounding)
            more = index + 1 < len(lengths) or (end == bar.end and end not in steps and end < total)
            text = steps[begin] if stepped and index == 0 else ""
            _note(measure, length, rest=not (stepped or sounding), tie_in=tie_in, tie_out=more, text=text)
        sounding = sounding or stepped


def _note(measure: ET.Element, length: int, *, rest: bool, tie_in: bool, tie_out: bool, text: str) -> None:
    note = ET.SubElement(measure, "note")
    kind, dots, triplet = _VALUES[length]
    if rest:
        ET.SubElement(note, "rest")
    else:
        place = ET.SubElement(note, "unpitched")
        ET.SubElement(place, "display-step").text = "E"
        ET.SubElement(place, "display-octave").text = "4"
    ET.SubElement(note, "duration").text = str(length)
    ties = [] if rest else [name for name, on in (("stop", tie_in), ("start", tie_out)) if on]
    for tie in ties:
        ET.SubElement(note, "tie", type=tie)
    ET.SubElement(note, "type").text = kind
    for _ in range(dots):
        ET.SubElement(note, "dot")
    if triplet:
        change = ET.SubElement(note, "time-modification")
        ET.SubElement(change, "actual-notes").text = "3"
        ET.SubElement(change, "normal-notes").text = "2"
    if ties:
        notations = ET.SubElement(note, "notations")
        for tie in ties:
            ET.SubElement(notations, "tied", type=tie)
    if text:
        lyric = ET.SubElement(note, "lyric", number="1")
        ET.SubElement(lyric, "syllabic").text = "single"
        ET.SubElement(lyric, "text").text = text
