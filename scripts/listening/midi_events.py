"""Just enough MIDI for the listening set: read notes and tempo, write a file with another tempo curve.

Used by the scripts of this folder only; the tool itself reads MIDI with music21.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass, field
from pathlib import Path


@dataclass
class Midi:
    """All events of a file in absolute ticks, merged into one list."""

    per_quarter: int
    events: list[tuple[int, int, bytes]] = field(default_factory=list)  # tick, track, message
    tempos: list[tuple[int, int]] = field(default_factory=list)  # tick, microseconds per quarter
    metres: list[tuple[int, int, int]] = field(default_factory=list)  # tick, beats, beat type
    tracks: int = 0

    def onsets(self) -> list[int]:
        """Ticks of all note beginnings."""
        return sorted(t for t, _, m in self.events if m[0] & 0xF0 == 0x90 and m[2])

    def end(self) -> int:
        """Last tick at which a note is touched."""
        return max((t for t, _, m in self.events if m[0] & 0xF0 in (0x80, 0x90)), default=0)

    def seconds(self, ticks: list[float]) -> list[float]:
        """Seconds of rising ticks under the tempo events."""
        import numpy as np

        tempos = sorted(dict(self.tempos).items()) or [(0, 500_000)]
        if tempos[0][0] > 0:
            tempos.insert(0, (0, 500_000))
        at = np.array([t for t, _ in tempos], float)
        rate = np.array([u / 1e6 / self.per_quarter for _, u in tempos])
        base = np.concatenate([[0.0], np.cumsum(np.diff(at) * rate[:-1])])
        wanted = np.asarray(ticks, float)
        index = np.clip(np.searchsorted(at, wanted, side="right") - 1, 0, len(at) - 1)
        return [float(x) for x in base[index] + (wanted - at[index]) * rate[index]]


def _number(data: bytes, at: int) -> tuple[int, int]:
    value = 0
    while True:
        byte = data[at]
        at += 1
        value = (value << 7) | (byte & 0x7F)
        if not byte & 0x80:
            return value, at


def read(path: Path) -> Midi:
    """Read a file (format 0 or 1)."""
    data = path.read_bytes()
    at = data.index(b"MThd")
    _, tracks, division = struct.unpack(">HHH", data[at + 8 : at + 14])
    at += 8 + struct.unpack(">I", data[at + 4 : at + 8])[0]
    result = Midi(division, tracks=tracks)
    for track in range(tracks):
        if data[at : at + 4] != b"MTrk":
            break
        size = struct.unpack(">I", data[at + 4 : at + 8])[0]
        _track(data[at + 8 : at + 8 + size], track, result)
        at += 8 + size
    return result


def _track(data: bytes, track: int, result: Midi) -> None:
    at, tick, running = 0, 0, 0
    while at < len(data):
        step, at = _number(data, at)
        tick += step
        status = data[at]
        if status == 0xFF:
            kind = data[at + 1]
            size, start = _number(data, at + 2)
            body = data[start : start + size]
            at = start + size
            if kind == 0x51 and size == 3:
                result.tempos.append((tick, int.from_bytes(body, "big")))
            elif kind == 0x58 and size >= 2:
                result.metres.append((tick, body[0], 2 ** body[1]))
            elif kind == 0x2F:
                return
            continue
        if status in (0xF0, 0xF7):
            size, start = _number(data, at + 1)
            at = start + size
            continue
        if status & 0x80:
            running = status
            at += 1
        length = 1 if running & 0xF0 in (0xC0, 0xD0) else 2
        result.events.append((tick, track, bytes([running]) + data[at : at + length]))
        at += length


def write_steady(path: Path, midi: Midi) -> None:
    """Write the same sounding music at one constant tempo of half a millisecond per tick.

    Software players lose some milliseconds at every tempo change, which would make the truth wrong.
    """
    ticks = [t for t, _, _ in midi.events]
    order = sorted(range(len(ticks)), key=lambda i: ticks[i])
    seconds = midi.seconds([ticks[i] for i in order])
    body, now = [b"\x00\xff\x51\x03" + (500_000).to_bytes(3, "big")], 0
    for i, at_s in zip(order, seconds, strict=True):
        tick = max(now, round(at_s * 2000))
        body.append(_written(tick - now) + midi.events[i][2])
        now = tick
    data = b"".join(body) + b"\x00\xff\x2f\x00"
    head = b"MThd" + struct.pack(">IHHH", 6, 0, 1, 1000)
    path.write_bytes(head + b"MTrk" + struct.pack(">I", len(data)) + data)


def _written(value: int) -> bytes:
    out = [value & 0x7F]
    while value := value >> 7:
        out.append(0x80 | (value & 0x7F))
    return bytes(reversed(out))
