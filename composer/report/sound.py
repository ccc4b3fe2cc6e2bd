"""Practice audio: a click with accented bar starts, spoken counts, calls one bar ahead; alone or over the track.

Clicks and words are laid on the exact times of the sheet, at any tempo; only a recording is stretched. Without a
speech program the calls are three rising notes and the counts stay silent. The first call needs a bar before the
music: when the music begins sooner, a bar is counted in, and everything moves by ``lead_in_s``.
"""

from __future__ import annotations

import io
import wave
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final, Literal

from composer.report.captions import captions_vtt
from composer.report.model import Sheet
from composer.report.moves import said_counts
from composer.report.speech import RATE, Voice, speech_program
from composer.textfiles import write_bytes, write_text

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Samples = NDArray[np.float32]

Kind = Literal["wav", "ogg"]
CLICK_S: Final = 0.045
TAIL_S: Final = 1.0
TRACK_LEVEL: Final = 0.55
ACCENT_HZ, CLICK_HZ = 1760.0, 1100.0
CALL_HZ: Final = (523.25, 659.25, 783.99)


@dataclass(frozen=True)
class Practice:
    """Rendered audio: samples (float32, one channel, ``RATE`` a second), its speed, seconds before the music, and
    whether words are spoken."""

    samples: Samples
    speed: float
    lead_in_s: float
    spoken: bool


@dataclass
class _Desk:
    """Samples being mixed; places are seconds of the practice audio."""

    samples: Samples

    def add(self, sound: Samples, at_s: float, level: float = 1.0) -> None:
        start = round(at_s * RATE)
        if start < 0:
            sound, start = sound[-start:], 0
        end = min(start + len(sound), len(self.samples))
        if end > start:
            self.samples[start:end] += level * sound[: end - start]


def practice_audio(
    sheet: Sheet,
    *,
    speed: float = 1.0,
    track: Path | None = None,
    click: bool = True,
    counts: bool = True,
    calls: bool = True,
    program: str | None = None,
) -> Practice:
    """Render practice audio.

    Parameters
    ----------
    speed : 0.4 to 2 times the tempo of the music.
    track : a recording whose first second is second 0 of the sheet; mixed under click and words.
    program : the speech program; looked for when left out, none when empty.

    Raises
    ------
    ValueError
        For a speed outside its range.
    BadInput
        For a recording that cannot be read.
    """
    import numpy as np

    if not 0.4 <= speed <= 2:
        raise ValueError("speed must be between 0.4 and 2 times")
    found = speech_program() if program is None else program or None
    voice = Voice(found) if found and (counts or calls) else None
    beat_s = (sheet.beats_s[1] - sheet.beats_s[0]) / speed
    bar_s = sheet.beats_per_bar * beat_s
    lead_in = max(0.0, bar_s - sheet.beats_s[0] / speed)
    length_s = lead_in + sheet.beats_s[-1] / speed + TAIL_S
    desk = _Desk(np.zeros(round(length_s * RATE), dtype=np.float32))
    if track is not None:
        desk.add(_track(track, speed), lead_in, TRACK_LEVEL)
    times = [lead_in + s / speed for s in sheet.beats_s[:-1]]
    before = [times[0] - k * beat_s for k in range(sheet.beats_per_bar, 0, -1)]
    if click:
        _clicks(desk, sheet, times, before)
    busy = _calls(desk, sheet, speed, lead_in, bar_s, voice) if calls else []
    if counts and voice is not None:
        for said, at_s in zip(said_counts(sheet), times, strict=False):
            if not any(a - 0.05 <= at_s < b for a, b in busy):
                desk.add(voice.say(said, within_s=beat_s), at_s, 0.8)
    peak = float(np.max(np.abs(desk.samples), initial=0))
    mixed = desk.samples * (0.92 / peak) if peak > 0.92 else desk.samples
    return Practice(mixed, speed, lead_in, voice is not None)


def _tone(hertz: float, seconds: float, decay: float) -> Samples:
    """A plucked tone that is loud from its first sample, so that its place is exact."""
    import numpy as np

    t = np.arange(round(seconds * RATE)) / RATE
    return (np.cos(2 * np.pi * hertz * t) * np.exp(-t * decay)).astype(np.float32)


def _clicks(desk: _Desk, sheet: Sheet, times: list[float], before: list[float]) -> None:
    accent, plain = _tone(ACCENT_HZ, CLICK_S, 90), _tone(CLICK_HZ, CLICK_S, 110)
    for index, at_s in enumerate(before):
        if at_s >= -1e-9:
            desk.add(accent if index == 0 else plain, max(at_s, 0.0), 0.45)
    for at_s, place in zip(times, sheet.beats_in_bar, strict=False):
        desk.add(accent if place == 1 else plain, at_s, 0.75 if place == 1 else 0.5)


def _calls(
    desk: _Desk, sheet: Sheet, speed: float, lead_in: float, bar_s: float, voice: Voice | None
) -> list[tuple[float, float]]:
    """Lay down the calls; returns when they sound, so that counts make way."""
    busy: list[tuple[float, float]] = []
    for call in sheet.calls:
        at_s = lead_in + call.at_s / speed
        if voice is None:
            for index, hertz in enumerate(CALL_HZ):
                desk.add(_tone(hertz, 0.16, 18), at_s + 0.12 * index, 0.3)
            continue
        said = voice.say(call.words, within_s=min(bar_s, (call.figure_s - call.at_s) / speed or bar_s))
        # Just after the click of its beat, which stays audible.
        desk.add(said, at_s + CLICK_S, 0.9)
        busy.append((at_s, at_s + CLICK_S + len(said) / RATE))
    return busy


def _track(track: Path, speed: float) -> Samples:
    from composer.listening.audio import load
    from composer.report.stretch import stretched

    return stretched(load(track).samples, speed)


def sound_bytes(practice: Practice, kind: Kind = "wav") -> bytes:
    """The audio as a WAV (16 bit) or Ogg Vorbis file."""
    import numpy as np

    buffer = io.BytesIO()
    if kind == "ogg":
        import soundfile

        soundfile.write(buffer, practice.samples, RATE, format="OGG", subtype="VORBIS")
        return buffer.getvalue()
    whole = np.clip(np.round(practice.samples * 32767), -32768, 32767).astype("<i2")
    with wave.open(buffer, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE)
        file.writeframes(whole.tobytes())
    return buffer.getvalue()


def write_practice_audio(
    sheet: Sheet,
    out: Path,
    *,
    speeds: Iterable[float] = (1.0, 0.8),
    kind: Kind = "wav",
    track: Path | None = None,
    program: str | None = None,
) -> list[Path]:
    """Write ``practice-100.wav`` and so on (per cent of the tempo) with captions beside; returns the files.

    Raises
    ------
    BadInput
        When the folder cannot be written or the recording cannot be read.
    """
    written: list[Path] = []
    for speed in speeds:
        practice = practice_audio(sheet, speed=speed, track=track, program=program)
        name = f"practice-{round(100 * speed)}"
        write_bytes(out / f"{name}.{kind}", sound_bytes(practice, kind))
        write_text(out / f"{name}.vtt", captions_vtt(sheet, rate=speed, lead_in_s=practice.lead_in_s))
        written += [out / f"{name}.{kind}", out / f"{name}.vtt"]
    return written
