"""The same music in harder sound: 32 kbit/s MP3, a room with noise. One room for scoring, others for fitting."""

from __future__ import annotations

import subprocess
import tempfile
import zlib
from collections.abc import Callable
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
    chance = np.random.default_rng(7)
    time = np.arange(int(0.5 * RATE)) / RATE
    answer = chance.normal(size=len(time)) * np.exp(-time * 6.9 / 0.5) * 0.05
    answer[0] = 1.0
    wet = _heard_through(samples, answer)
    return np.asarray(wet + chance.normal(size=len(samples)) * wet.std() * 0.1, np.float32)


def in_some_room(samples: np.ndarray, name: str) -> np.ndarray:
    """A room of fitting, drawn by the track's name.

    Tails of 0.3 to 0.9 s with a quarter to four times the energy of the sound itself, up to six early echoes, in some
    rooms a muffled high end; noise 14 to 30 dB below the music: white, pink, a hum, or like a crowd.
    """
    chance = np.random.default_rng([zlib.crc32(name.encode()), 2])
    wet = _heard_through(samples, _answer(chance))
    if chance.random() < 0.4:
        wet = _shaped(wet, _low_pass(chance.uniform(2500, 9000)))
    noise = _noise(chance, len(samples))
    return np.asarray(wet + noise * wet.std() / noise.std() * 10 ** (-chance.uniform(14, 30) / 20), np.float32)


def _answer(chance: np.random.Generator) -> np.ndarray:
    """What a room makes of a click: the click, early echoes within 50 ms, a tail whose high notes may die sooner."""
    length_s = chance.uniform(0.3, 0.9)
    time = np.arange(int(length_s * RATE)) / RATE
    tail = chance.normal(size=len(time)) * np.exp(-time * 6.9 / (length_s * chance.uniform(0.5, 1.0)))
    tail += _shaped(chance.normal(size=len(time)), _low_pass(2000)) * np.exp(-time * 6.9 / length_s)
    answer: np.ndarray = tail * np.sqrt(10 ** (chance.uniform(-6, 6) / 10) / (tail**2).sum())
    answer[0] = 1.0
    for _ in range(chance.integers(0, 7)):
        answer[int(chance.uniform(0.005, 0.05) * RATE)] += chance.choice([-1, 1]) * chance.uniform(0.1, 0.5)
    return answer


def _noise(chance: np.random.Generator, count: int) -> np.ndarray:
    white = chance.normal(size=count)
    kind = chance.choice(["white", "pink", "hum", "crowd"])
    if kind == "white":
        return white
    if kind == "pink":
        return _shaped(white, lambda hertz: 1 / np.sqrt(np.maximum(hertz, 30)))
    if kind == "hum":
        time, base = np.arange(count) / RATE, chance.choice([50.0, 60.0])
        hum = sum(np.sin(2 * np.pi * base * k * time + chance.uniform(0, 6.3)) / k for k in range(1, 8))
        return np.asarray(hum + white)
    voices = _shaped(white, lambda hertz: np.exp(-0.5 * (np.log2(np.maximum(hertz, 20) / 600) / 1.2) ** 2))
    louder = np.abs(np.interp(np.arange(count) / RATE * 4, np.arange(count * 4 // RATE + 2),
                              chance.normal(size=count * 4 // RATE + 2)))  # fmt: skip
    return np.asarray(voices * (0.3 + louder))


def _low_pass(edge: float) -> Callable[[np.ndarray], np.ndarray]:
    return lambda hertz: 1 / (1 + (hertz / edge) ** 4)


def _shaped(samples: np.ndarray, shape: Callable[[np.ndarray], np.ndarray]) -> np.ndarray:
    """Samples with every frequency at another strength."""
    size = 1 << int(np.ceil(np.log2(len(samples))))
    weights = shape(np.fft.rfftfreq(size, 1 / RATE))
    return np.asarray(np.fft.irfft(np.fft.rfft(samples, size) * weights, size)[: len(samples)])


def _heard_through(samples: np.ndarray, answer: np.ndarray) -> np.ndarray:
    size = 1 << int(np.ceil(np.log2(len(samples) + len(answer))))
    return np.asarray(np.fft.irfft(np.fft.rfft(samples, size) * np.fft.rfft(answer, size), size)[: len(samples)])


def treated(samples: np.ndarray, treatment: str, name: str) -> np.ndarray:
    """Samples as a track of the tuning half is heard when fitting."""
    if treatment == "mp3":
        return as_mp3(samples)
    return in_some_room(samples, name) if treatment == "room" else samples
