"""Where beats lie when sounds begin slowly or late, and at which tempo, on features made for it."""

from __future__ import annotations

from dataclasses import replace
from importlib import import_module
from pathlib import Path

import numpy as np
import pytest

from composer.listening.audio import load
from composer.listening.bars import find_bars
from composer.listening.beats import OTHER, find_beats, other_tempo
from composer.listening.features import FRAMES_PER_S, Heard, hear
from composer.listening.onsets import LATE_MOST_S, SOFT, on_the_rise, softness, where_sounds_begin
from tests.listening.sounds import band, save


def made_of(rises: list[tuple[np.ndarray, float]], noise: float, seconds: float = 40.0) -> Heard:
    """Features with nothing but bands: noise, and rises (frames, size) that fade within 0.3 s."""
    frames = int(seconds * FRAMES_PER_S)
    chance = np.random.default_rng(5)
    bands = noise * chance.normal(size=(frames, 12))
    for at, size in rises:
        for frame in at:
            bands[frame : frame + 30] += size * np.linspace(1, 0, len(bands[frame : frame + 30]))[:, None]
    one = np.zeros(frames, np.float32)
    none = np.zeros((frames, 12), np.float32)
    strength = np.maximum(0, np.diff(bands.mean(axis=1), prepend=0)).astype(np.float32)
    return Heard(strength, one, one, one, none, none, bands.astype(np.float32))


def test_beats_of_soft_sound_go_to_where_it_begins_and_others_stay():
    true = 1.0 + 0.6 * np.arange(60)
    begins = np.round(true * FRAMES_PER_S).astype(int)
    late = true + 0.1
    soft = made_of([(begins, 1.0)], noise=1.0)
    assert np.abs(where_sounds_begin(late, soft) - true).max() < 0.04
    assert np.abs(where_sounds_begin(true, soft) - true).max() < 0.04
    between = np.round((true + 0.12) * FRAMES_PER_S).astype(int)
    sharp = made_of([(begins, 1.0), (between, 1.3)], noise=0.02)  # as a louder note between the beats
    assert np.array_equal(where_sounds_begin(true, sharp), true)
    assert softness(true, sharp) < 0.5 * SOFT < SOFT < softness(true, soft)
    few = true[:8]
    assert where_sounds_begin(few, soft) is few


def rising(true: np.ndarray, over_frames: int) -> Heard:
    """Sounds that grow evenly over a number of frames from each moment on, then fade."""
    bands = np.zeros((int((true[-1] + 2) * FRAMES_PER_S), 12), np.float32)
    shape = np.concatenate([np.linspace(0, 1, over_frames + 1) ** 2, np.linspace(1, 0, 30)])[:, None]
    for frame in np.round(true * FRAMES_PER_S).astype(int):
        bands[frame : frame + len(shape)] = np.maximum(bands[frame : frame + len(shape)], shape)
    one, none = np.zeros(len(bands), np.float32), np.zeros((len(bands), 12), np.float32)
    return Heard(one, one, one, one, none, none, bands)


def test_late_beats_go_back_to_where_the_sounds_rise_and_others_stay():
    true = 1.0 + 0.6 * np.arange(60)
    sounds, slow = rising(true, 1), rising(true, 9)
    late = true + 0.05
    moved = on_the_rise(late, sounds)
    assert np.ptp(late - moved) < 1e-9  # all alike
    assert np.abs(moved - true).max() < 0.025
    slowly = on_the_rise(true + 0.09, slow)
    assert 0.03 < np.mean(true + 0.09 - slowly) <= LATE_MOST_S
    for at in (true, true + 0.01):
        assert on_the_rise(at, sounds) is at
    few = late[:8]
    assert on_the_rise(few, sounds) is few
    flat = replace(sounds, bands=0 * sounds.bands)
    assert on_the_rise(true, flat) is true


def test_a_range_holds_another_tempo_or_not():
    assert not other_tempo((100, 106), 103)
    assert not other_tempo((100 / (1 + OTHER) + 0.01, 100 * (1 + OTHER) - 0.01), 100)
    assert other_tempo((100 / (1 + OTHER) - 0.01, 100), 100)
    assert other_tempo((100, 100 * (1 + OTHER) + 0.01), 100)


def test_beats_at_another_tempo_are_another_tempo(tmp_path: Path):
    heard = hear(load(save(tmp_path, band(100, 4).samples)).samples)
    own = 60 / float(np.median(np.diff(find_beats(heard, (80, 125)).beats)))
    assert own == pytest.approx(100, rel=0.01)
    other = 60 / float(np.median(np.diff(find_beats(heard, (80, 125), own).beats)))
    assert abs(np.log(other / own)) > 0.04
    assert 77 < other < 129


@pytest.mark.parametrize("denied", [True, False])
def test_where_the_beats_are_denied_another_tempo_is_read(tmp_path: Path, monkeypatch, denied: bool):
    """Beats at a wrong tempo; whether the networks deny them is set, the bars are read as always."""
    module = import_module("composer.listening.listen")  # here: the package has a function of that name
    path = save(tmp_path, band(100, 4).samples)
    sound = load(path)
    heard = hear(sound.samples)
    wrong = find_beats(heard, (80, 125), 100.0)

    def read(heard: Heard, beats: np.ndarray, *rest, **named):
        found = find_bars(heard, beats, *rest, **named)
        right = abs(60 / np.median(np.diff(beats)) - 100) < 2
        return replace(found, grid=1.0 if right or not denied else -1.0)

    monkeypatch.setattr(module, "find_bars", read)
    timeline = module.timeline_of(heard, sound, module.Asked((80, 125), 4), path, wrong)
    times = np.array([beat.at_s for beat in timeline.beats])
    tempo = 60 / float(np.median(np.diff(times)))
    assert (abs(tempo - 100) < 2) == denied
    assert timeline.confidence["bars"] < 0.98
