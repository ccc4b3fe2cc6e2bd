"""The same music in harder sound: 32 kbit/s MP3, a room with noise. One room for scoring, others for fitting."""

from __future__ import annotations

import subprocess
import tempfile
import zlib
from pathlib import Path

import numpy as np
import soundfile

from composer.listening.audio import RATE, load

TREATMENTS = ("plain", "mp3", "room")


def as_mp3(samples: np.ndarray) -> np.ndarray:
    """What is left after 32 kbit/s MP3 (ffmpeg)."""
    with tempfile.TemporaryDirectory() as folder:
        wav, mp3 = Path(folder) / "a.wav", Path(folder) / "a.mp3"
        soundfile.write(wav, samples, RATE)
        subprocess.run(["ffmpeg", "-v", "error", "-i", str(wav), "-b:a", "32k", str(mp3)], check=True)
        return load(mp3).samples


def in_a_room(samples: np.ndarray) -> np.ndarray:
    """With a reverberation of 0.5 s and noise 20 dB below the music: the room of scoring."""
    return _roomy(samples, np.random.default_rng(7), 0.5, 0.05, 0.1)


def in_some_room(samples: np.ndarray, name: str) -> np.ndarray:
    """A room of fitting, by the track's name: 0.3 to 0.7 s, noise 16 to 30 dB below the music."""
    chance = np.random.default_rng([zlib.crc32(name.encode()), 1])
    length_s, echo, noise_db = chance.uniform(0.3, 0.7), chance.uniform(0.02, 0.06), chance.uniform(16, 30)
    return _roomy(samples, chance, length_s, echo, 10 ** (-noise_db / 20))


def _roomy(samples: np.ndarray, chance: np.random.Generator, length_s: float, echo: float, noise: float) -> np.ndarray:
    time = np.arange(int(length_s * RATE)) / RATE
    answer = chance.normal(size=len(time)) * np.exp(-time * 6.9 / length_s) * echo
    answer[0] = 1.0
    size = 1 << int(np.ceil(np.log2(len(samples) + len(answer))))
    wet = np.fft.irfft(np.fft.rfft(samples, size) * np.fft.rfft(answer, size), size)[: len(samples)]
    hiss = chance.normal(size=len(samples)) * wet.std() * noise
    return np.asarray(wet + hiss, np.float32)


def treated(samples: np.ndarray, treatment: str, name: str) -> np.ndarray:
    """Samples as a track of the tuning half is heard when fitting."""
    if treatment == "mp3":
        return as_mp3(samples)
    return in_some_room(samples, name) if treatment == "room" else samples
