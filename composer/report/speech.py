"""Spoken words as samples, through the speech program espeak-ng when the machine has it.

The text goes in through standard input, never as an argument, so no name can be taken for an option.
"""

from __future__ import annotations

import shutil
import subprocess
import tempfile
import wave
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Samples = NDArray[np.float32]

RATE: Final = 22_050
SPEEDS: Final = (165, 210, 260, 320)
"""Words a minute, from comfortable to as fast as can be followed."""
_QUIET: Final = 0.02
_PATIENCE_S: Final = 20


def speech_program() -> str | None:
    """Path of the speech program, None when there is none."""
    return shutil.which("espeak-ng")


@dataclass
class Voice:
    """Says words; keeps what it has said."""

    program: str
    kept: dict[tuple[str, int], Samples] = field(default_factory=dict)

    def say(self, words: str, *, within_s: float) -> Samples:
        """Samples of the words, begun without silence, spoken faster when they would not fit the time."""
        spoken = self._spoken(words, SPEEDS[0])
        for speed in SPEEDS[1:]:
            if len(spoken) <= within_s * RATE:
                break
            spoken = self._spoken(words, speed)
        return spoken

    def _spoken(self, words: str, speed: int) -> Samples:
        key = (words, speed)
        if key not in self.kept:
            self.kept[key] = _synthesised(self.program, words, speed)
        return self.kept[key]


def _synthesised(program: str, words: str, speed: int) -> Samples:
    import numpy as np

    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "said.wav"
        try:
            subprocess.run(
                [program, "-v", "en", "-s", str(speed), "-w", str(file), "--stdin"],
                input=words.encode("utf-8"),
                check=True,
                capture_output=True,
                timeout=_PATIENCE_S,
            )
            with wave.open(str(file), "rb") as sound:
                rate, raw = sound.getframerate(), sound.readframes(sound.getnframes())
        except (OSError, subprocess.SubprocessError, wave.Error, EOFError):
            return np.zeros(0, dtype=np.float32)
    samples: Samples = np.frombuffer(raw, dtype="<i2").astype(np.float32) / np.float32(32768)
    if rate != RATE and len(samples):
        places = np.arange(0, len(samples) - 1, rate / RATE)
        samples = np.interp(places, np.arange(len(samples)), samples).astype(np.float32)
    loud = np.flatnonzero(np.abs(samples) > _QUIET)
    if not len(loud):
        return np.zeros(0, dtype=np.float32)
    trimmed: Samples = samples[loud[0] : loud[-1] + 1]
    return trimmed
