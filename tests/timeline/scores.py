"""Small scores for the tests: ABC, MusicXML and MIDI from a few words."""

from __future__ import annotations

import struct
from collections.abc import Iterable
from pathlib import Path


def abc(
    body: str, *, metre: str | None = "4/4", tempo: str | None = "1/4=120", number: int = 1, unit: str = "1/4"
) -> str:
    head = [f"X:{number}", "T:A tune", f"L:{unit}"]
    head += [f"M:{metre}"] if metre else []
    head += [f"Q:{tempo}"] if tempo else []
    return "\n".join([*head, "K:C", body, ""])


def xml_measure(number: int, inside: str = "", notes: str | None = None, quarters: int = 4) -> str:
    note = "<note><pitch><step>C</step><octave>4</octave></pitch><duration>1</duration><type>quarter</type></note>"
    return f'<measure number="{number}">{inside}{note * quarters if notes is None else notes}</measure>'


def xml_score(measures: Iterable[str], *more_parts: Iterable[str]) -> str:
    parts = [list(measures), *(list(part) for part in more_parts)]
    listed = "".join(
        f'<score-part id="P{i}"><part-name>Part {i}</part-name></score-part>' for i in range(1, len(parts) + 1)
    )
    bodies = "".join(f'<part id="P{i}">{"".join(part)}</part>' for i, part in enumerate(parts, start=1))
    return (
        '<?xml version="1.0" encoding="UTF-8"?><score-partwise version="3.1"><work><work-title>A score</work-title>'
        f"</work><part-list>{listed}</part-list>{bodies}</score-partwise>"
    )


def attributes(beats: int = 4, beat_type: int = 4) -> str:
    return (
        f"<attributes><divisions>1</divisions><time><beats>{beats}</beats><beat-type>{beat_type}</beat-type></time>"
        "</attributes>"
    )


def words(text: str) -> str:
    return f"<direction><direction-type><words>{text}</words></direction-type></direction>"


def mark(text: str) -> str:
    return f"<direction><direction-type><rehearsal>{text}</rehearsal></direction-type></direction>"


def metronome(per_minute: int) -> str:
    return (
        "<direction><direction-type><metronome><beat-unit>quarter</beat-unit>"
        f"<per-minute>{per_minute}</per-minute></metronome></direction-type></direction>"
    )


def _delta(ticks: int) -> bytes:
    out = [ticks & 0x7F]
    while ticks := ticks >> 7:
        out.append(0x80 | (ticks & 0x7F))
    return bytes(reversed(out))


def midi(
    onsets: Iterable[float], *, metre: tuple[int, int] | None = (4, 2), tempo: int | None = 500_000, length: float = 0.9
) -> bytes:
    """A MIDI file of middle Cs; ``onsets`` in quarters, ``metre`` as (beats, power of two of the beat type)."""
    events: list[tuple[int, bytes]] = []
    if metre:
        events.append((0, bytes([0xFF, 0x58, 4, metre[0], metre[1], 24, 8])))
    if tempo:
        events.append((0, b"\xff\x51\x03" + tempo.to_bytes(3, "big")))
    for onset in onsets:
        events.append((round(onset * 480), bytes([0x90, 60, 90])))
        events.append((round((onset + length) * 480), bytes([0x80, 60, 0])))
    events.sort(key=lambda event: event[0])
    track, now = b"", 0
    for tick, data in events:
        track += _delta(tick - now) + data
        now = tick
    track += b"\x00\xff\x2f\x00"
    return b"MThd" + struct.pack(">IHHH", 6, 0, 1, 480) + b"MTrk" + struct.pack(">I", len(track)) + track


def put(folder: Path, name: str, content: str | bytes) -> Path:
    path = folder / name
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return path
