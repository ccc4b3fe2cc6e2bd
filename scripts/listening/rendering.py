"""From MIDI to sound files with the truth beside them; which half of the listening set a name belongs to."""

from __future__ import annotations

import json
import subprocess
import zlib
from pathlib import Path

import midi_events

FONT = Path("/usr/share/sounds/sf2/TimGM6mb.sf2")


def split_of(name: str) -> str:
    """``tune`` or ``score``, by name alone."""
    return "tune" if zlib.crc32(name.encode()) % 2 else "score"


def render(midi: Path, sound: Path) -> None:
    """MIDI to a 44.1 kHz file."""
    subprocess.run(
        ["fluidsynth", "-ni", "-q", "-r", "44100", "-F", str(sound), str(FONT), str(midi)],
        check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip


def squeeze(wav: Path, rate: int = 44100) -> Path:
    """WAV to FLAC, to keep the set small."""
    flac = wav.with_suffix(".flac")
    subprocess.run(["ffmpeg", "-v", "error", "-y", "-i", str(wav), "-ac", "1", "-ar", str(rate), str(flac)], check=True)
    wav.unlink()
    return flac


def finish(folder: Path, name: str, midi: midi_events.Midi, truth: dict[str, object], rate: int = 44100) -> None:
    metre = int(truth["metre"])  # type: ignore[call-overload]
    beats = int(truth["bars"]) * metre  # type: ignore[call-overload]
    unit = midi.per_quarter * float(truth.get("quarters", 1.0))  # type: ignore[arg-type]
    seconds = midi.seconds([i * unit for i in range(beats)])
    truth |= {"beats": seconds, "in_bar": [i % metre + 1 for i in range(beats)]}
    wav = folder / f"{name}.wav"
    midi_events.write_steady(folder / f"{name}.mid", midi)
    render(folder / f"{name}.mid", wav)
    truth["file"] = squeeze(wav, rate).name
    (folder / f"{name}.json").write_text(json.dumps(truth))
