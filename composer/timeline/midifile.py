"""MIDI files as bars: ticks, metre and tempo changes are exact; music played freely is refused.

A MIDI file made by a notation or sequencing program has its notes on the beats of its own grid. A recording of
somebody's hands has not: its ticks say nothing about beats, so it must be listened to like a recording.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any, Final

from composer.errors import BadInput, Diagnostic, Where
from composer.timeline.assemble import Bars
from composer.timeline.metre import Metre, metre_of
from composer.timeline.written import MAX_BEATS, Written, perform

NEAR: Final = Fraction(1, 32)
"""How far (quarters) a note may lie from the grid and still count as on it: 16 ms at 120 beats per minute."""
ON_GRID_SHARE: Final = 0.7
"""Least share of onsets on the grid of sixteenths and eighth triplets. Onsets without any grid reach about 0.37
(six grid points per quarter, each 1/16 wide), step-entered files 1.0, lightly humanised ones 0.8 and more."""


@dataclass
class _Events:
    """What matters of a MIDI file, positions in quarter notes."""

    onsets: list[tuple[Fraction, int]] = field(default_factory=list)
    end: Fraction = Fraction(0)
    tempos: dict[Fraction, Fraction] = field(default_factory=dict)
    metres: dict[Fraction, tuple[int, int]] = field(default_factory=dict)
    marks: dict[Fraction, str] = field(default_factory=dict)
    title: str = ""


def read_midi(raw: bytes, file: str, *, tempo: float | None = None, beats_per_bar: int | None = None) -> Bars:
    """Bars of a MIDI file.

    Raises
    ------
    BadInput
        TML024 not MIDI, TML025 no notes, TML027 no time signature, TML028 too long, TML029 uncountable metre,
        TML030 undanceable, TML031 played freely.
    """
    where = Where(file)
    events = _events(raw, where)
    if not events.onsets:
        raise BadInput(Diagnostic("TML025", "has no notes.", where))
    share = on_grid_share([at for at, _ in events.onsets])
    if share < ON_GRID_SHARE:
        raise BadInput(
            Diagnostic("TML031", f"was played freely: only {share:.0%} of its notes lie on its own beats.", where,
                       "Make a sound file of it and give that as 'track', or write a beat file for it.")
        )  # fmt: skip
    if not events.metres and beats_per_bar is None:
        raise BadInput(
            Diagnostic("TML027", "has no time signature.", where, "Say how it is counted with music.beats_per_bar.")
        )
    measures = _measures(events, beats_per_bar, where)
    notes = _remarks(measures)
    try:
        return perform(measures, range(len(measures)), title=events.title, origin="midi", tempo=tempo, notes=notes)
    except ValueError as problem:
        raise BadInput(Diagnostic("TML030", f"{problem}.", where)) from None


def on_grid_share(onsets: list[Fraction]) -> float:
    """Share of different onsets within :data:`NEAR` of a sixteenth or an eighth triplet."""
    grid = [Fraction(i, 4) for i in range(5)] + [Fraction(i, 3) for i in (1, 2)]
    different = sorted(set(onsets))
    near = sum(any(abs(at % 1 - point) <= NEAR for point in grid) for at in different)
    return near / len(different)


def _events(raw: bytes, where: Where) -> _Events:
    from music21 import midi

    if not raw.startswith(b"MThd"):
        reason = "it does not begin as every MIDI file does, with 'MThd'"
        raise BadInput(Diagnostic("TML024", f"cannot be read as MIDI: {reason}.", where))
    file = midi.MidiFile()
    try:
        file.readstr(raw)
        per_quarter = file.ticksPerQuarterNote
        if not file.tracks or not isinstance(per_quarter, int) or not 1 <= per_quarter < 0x8000:
            raise ValueError("it has no tracks counted in quarter notes")
        result = _Events()
        for track in file.tracks:
            _read_track(track, per_quarter, result)
    except BadInput:
        raise
    except Exception as problem:  # music21 raises errors of every kind on damaged input
        reason = " ".join(str(problem).split())[:120] or type(problem).__name__
        raise BadInput(Diagnostic("TML024", f"cannot be read as MIDI: {reason}.", where)) from None
    if result.end > MAX_BEATS:
        raise BadInput(Diagnostic("TML028", f"is longer than {MAX_BEATS} quarter notes.", where))
    return result


def _read_track(track: Any, per_quarter: int, result: _Events) -> None:
    tick = 0
    for event in track.events:
        if event.isDeltaTime():
            tick += event.time
            continue
        kind = getattr(event.type, "name", "")
        at = Fraction(tick, per_quarter)
        data = event.data if isinstance(event.data, bytes) else b""
        if kind == "NOTE_ON" and event.velocity:
            result.onsets.append((at, event.pitch if event.channel != 10 else 128 + event.pitch))
            result.end = max(result.end, at + Fraction(1, 8))
        elif kind in {"NOTE_OFF", "NOTE_ON"}:
            result.end = max(result.end, at)
        elif kind == "SET_TEMPO" and len(data) == 3 and int.from_bytes(data, "big"):
            result.tempos[at] = Fraction(60_000_000, int.from_bytes(data, "big"))
        elif kind == "TIME_SIGNATURE" and len(data) >= 2 and data[0] and data[1] <= 5:
            result.metres[at] = (data[0], 2 ** data[1])
        elif kind == "MARKER":
            result.marks[at] = data.decode("utf-8", "replace").strip()[:40]
        elif kind == "SEQUENCE_TRACK_NAME" and not result.title:
            result.title = " ".join(data.decode("utf-8", "replace").split())[:200]


def _measures(events: _Events, beats_per_bar: int | None, where: Where) -> list[Written]:
    """Cut the notes into measures. The end is where the last note ends, filled to a whole bar."""
    starts: list[tuple[Fraction, Metre]] = []
    at, metre = Fraction(0), _metre(events, Fraction(0), beats_per_bar, where)
    while at < events.end and len(starts) <= MAX_BEATS:
        metre = _metre(events, at, beats_per_bar, where)
        starts.append((at, metre))
        at += metre.bar
    edges = [start for start, _ in starts]
    content: dict[int, list[tuple[Fraction, int]]] = defaultdict(list)
    for onset, pitch in events.onsets:
        bar = bisect_right(edges, onset) - 1
        content[bar].append((round((onset - edges[bar]) * 12) / Fraction(12), pitch))
    last = max(content)
    marks = {bisect_right(edges, at) - 1: text for at, text in events.marks.items() if text}
    tempos: dict[int, list[tuple[Fraction, Fraction]]] = defaultdict(list)
    for at, rate in sorted(events.tempos.items()):
        bar = bisect_right(edges, at) - 1
        tempos[bar].append((at - edges[bar], rate))
    return [
        Written(metre.bar, metre, mark=marks.get(i, ""), content=tuple(sorted(content[i])), tempos=tuple(tempos[i]))
        for i, (_, metre) in enumerate(starts[: last + 1])
    ]


def _metre(events: _Events, at: Fraction, beats_per_bar: int | None, where: Where) -> Metre:
    """Metre in force at a place; a signature that comes late holds from the beginning."""
    places = sorted(events.metres)
    try:
        if not places:
            return metre_of(beats_per_bar or 4, 4)
        index = max(0, bisect_right(places, at) - 1)
        return metre_of(*events.metres[places[index]], beats_per_bar)
    except ValueError as problem:
        raise BadInput(Diagnostic("TML029", f"{problem}.", where)) from None


def _remarks(measures: list[Written]) -> list[str]:
    silent = next((i for i, measure in enumerate(measures) if measure.content), 0)
    if not silent:
        return []
    word = "bar is" if silent == 1 else f"{silent} bars are"
    return [f"The first {word} silent; to dance from the first sound say first_bar: {silent + 1}."]
