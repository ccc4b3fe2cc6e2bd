"""Beats that strayed go back to the line of the others; beats at another tempo stay."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from composer.listening.features import FRAMES_PER_S
from composer.listening.steady import MOST, SOME, on_one_line

PERIOD = 0.5


def clicks(*at: np.ndarray, seconds: float = 90.0) -> np.ndarray:
    """An activation with an onset at each moment, and noise; standardised."""
    values = 0.1 * np.abs(np.random.default_rng(3).normal(size=int(seconds * FRAMES_PER_S)))
    for moments in at:
        values[np.round(moments * FRAMES_PER_S).astype(int)] += 1.0
    return (values - values.mean()) / values.std()


def strayed(line: np.ndarray, share: float, part: float = 0.25) -> np.ndarray:
    """The first beats of a line a part of a beat late."""
    late = np.arange(len(line)) < round(share * len(line))
    return line + part * PERIOD * late


def test_strayed_beats_go_back_where_the_music_is_thin():
    line = 0.3 + PERIOD * np.arange(170)
    quiet = clicks(line[40:])
    assert np.abs(on_one_line(strayed(line, 40 / 170), quiet) - line).max() < 0.005


def test_heard_beats_near_the_line_stay_as_they_were_heard():
    line = 0.3 + PERIOD * np.arange(170)
    heard = line + 0.01 * np.sin(np.arange(170))
    assert on_one_line(heard, clicks(line)) is heard
    put = on_one_line(strayed(heard, 0.2), clicks(line[34:]))
    assert np.array_equal(put[34:], heard[34:])
    assert np.abs(put - line).max() < 0.012


@pytest.mark.parametrize("share", [0.2, 0.45])
def test_of_two_sounding_lines_the_one_of_most_beats_is_taken(share: float):
    line = 0.3 + PERIOD * np.arange(170)
    beats = strayed(line, share, 0.5)
    both = clicks(line, line[:80] + PERIOD / 2)
    assert np.abs(on_one_line(beats, both) - line).max() < 0.005
    if share > 1 - MOST:
        assert on_one_line(beats, clicks(beats)) is beats


@pytest.mark.parametrize("share", [0.2, 0.4])
@pytest.mark.parametrize("faster", [1.04, 0.96, 1.3])
def test_a_part_at_another_tempo_keeps_its_beats(share: float, faster: float):
    first = round((1 - share) * 170)
    steps = np.where(np.arange(169) < first, PERIOD, PERIOD / faster)
    beats = 0.3 + np.concatenate([[0], np.cumsum(steps)])
    assert on_one_line(beats, clicks(beats, seconds=beats[-1] + 2)) is beats


def test_a_wandering_tempo_has_no_line():
    beats = 0.3 + np.cumsum(PERIOD * (1 + 0.04 * np.sin(np.arange(170) / 15)))
    assert on_one_line(beats, clicks(beats, seconds=beats[-1] + 2)) is beats


def test_below_the_least_share_and_of_few_beats_nothing_is_moved():
    line = 0.3 + PERIOD * np.arange(170)
    thirds = line + PERIOD * np.where(np.arange(170) < 60, 0, np.where(np.arange(170) < 115, 0.25, 0.5))
    assert SOME > 60 / 170
    assert on_one_line(thirds, clicks(line)) is thirds
    few = strayed(line[:24], 0.2)
    assert on_one_line(few, clicks(line)) is few


@settings(deadline=None, max_examples=40)
@given(
    gaps=st.lists(st.floats(0.15, 1.2), min_size=1, max_size=120),
    straight=st.integers(0, 120),
    start=st.floats(-0.05, 3.0),
    seed=st.integers(0, 99),
)
def test_whatever_the_beats_they_stay_in_order_and_in_the_sound(
    gaps: list[float], straight: int, start: float, seed: int
):
    beats = start + np.cumsum([0.0, *gaps, *[PERIOD] * straight])
    noise = np.random.default_rng(seed).normal(size=int((beats[-1] + 1) * FRAMES_PER_S))
    put = on_one_line(beats, noise)
    assert (np.diff(put) > 0).all()
    assert put[0] > -0.06
    assert beats[0] - PERIOD <= put[0] <= put[-1] <= beats[-1] + 1.2
