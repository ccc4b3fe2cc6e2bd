"""A tiny band for the tests: bass on the first beat, chords on the others, a tune, phrases that differ in sound."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import soundfile

RATE = 22_050
CHORDS = {"C": (0, 4, 7), "F": (5, 9, 12), "G": (7, 11, 14), "Am": (9, 12, 16), "Dm": (2, 5, 9), "Em": (4, 7, 11)}
PARTS = {
    "A": ("C Am F G C Am G C", 0), "B": ("F C F C Dm Am G G", 5), "C": ("Am Em Am Em F C G G", -4),
}  # fmt: skip


@dataclass(frozen=True)
class Played:
    """Samples with the times of beats, the place of each in its bar, and the phrases' first beats."""

    samples: np.ndarray
    beats: np.ndarray
    in_bar: np.ndarray
    phrases: np.ndarray


def tone(hz: float, length_s: float, fall: float, strength: float) -> np.ndarray:
    time = np.arange(int(length_s * RATE)) / RATE
    rise = np.minimum(1, time / 0.004)
    wave = sum(np.sin(2 * np.pi * hz * k * time) / k**1.5 for k in (1, 2, 3))
    return np.asarray(strength * rise * np.exp(-fall * time) * wave)


def hz(semitone: int) -> float:
    return float(130.81 * 2 ** (semitone / 12))


@cache
def band(
    tempo: float = 88,
    metre: int = 3,
    form: str = "AABA",
    lead_s: float = 0.7,
    seed: int = 1,
    silent_bar: int | None = None,
) -> Played:
    """Play ``form`` (eight bars a letter). ``silent_bar`` (from 0) is left out but for its last beat's return."""
    chance = np.random.default_rng(seed)
    beat_s = 60 / tempo
    bars = 8 * len(form)
    count = bars * metre
    samples = np.zeros(int((lead_s + (count + 2) * beat_s + 1.5) * RATE))
    tunes = {letter: chance.integers(0, 3, size=(8, metre)) for letter in "ABC"}

    def put(at_s: float, sound: np.ndarray) -> None:
        start = round(at_s * RATE)
        samples[start : start + len(sound)] += sound[: len(samples) - start]

    for bar in range(bars):
        letter = form[bar // 8]
        chords, lift = PARTS[letter]
        chord = CHORDS[chords.split()[bar % 8]]
        for beat in range(metre):
            at = lead_s + (bar * metre + beat) * beat_s
            if bar == silent_bar:
                continue
            if beat == 0:
                put(at, tone(hz(chord[0] - 24), 0.9 * beat_s, 4, 0.9))
                if bar % 8 == 0:
                    put(at, 0.25 * chance.normal(size=int(0.5 * RATE)) * np.exp(-np.arange(int(0.5 * RATE)) / 4000))
            else:
                for note in chord:
                    put(at, tone(hz(note), 0.5 * beat_s, 9, 0.2))
            note = chord[tunes[letter][bar % 8][beat]] + 12 + (lift if beat else 0)
            put(at, tone(hz(note), 0.8 * beat_s, 3, 0.22))
    for note in CHORDS["C"]:
        put(lead_s + count * beat_s, tone(hz(note - 12), 1.2, 2, 0.4))
    samples += 1e-4 * chance.normal(size=len(samples))
    beats = lead_s + np.arange(count) * beat_s
    return Played(
        (0.7 * samples / np.abs(samples).max()).astype(np.float32),
        beats,
        np.arange(count) % metre + 1,
        beats[:: 8 * metre],
    )


def save(folder: Path, samples: np.ndarray, name: str = "track.wav", rate: int = RATE) -> Path:
    path = folder / name
    soundfile.write(path, samples, rate)
    return path
