"""Bars and phrases together; beats of soft sound; how the networks are kept."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from composer.listening import whole
from composer.listening.bars import PER_OVERRULED, PER_SOFT, SHARP, Margins, decoded, gains, prices
from composer.listening.features import hear
from composer.listening.nets import packed, unpacked
from composer.listening.phrases import LENGTH_COST, best_score
from composer.listening.slots import half_beats
from composer.listening.whole import MOST_AT_ENDS, MOST_PER_BAR, PHRASE_WEIGHT, begun_elsewhere, with_phrases
from tests.listening.sounds import band


def odds_of(path: np.ndarray, first: float) -> np.ndarray:
    return np.stack([np.where(path % 2 == 0, 3.0, -3.0), np.where(path == 0, first, -first)], axis=1)


@pytest.mark.parametrize("late", [1, 2, 3])
def test_phrases_say_where_beat_1_is_when_the_bars_hardly_do(late: int, monkeypatch: pytest.MonkeyPatch):
    played = band(120, 4, "ABAC")
    heard, slots = hear(played.samples), half_beats(played.beats)
    right = (np.arange(len(slots)) + 2 * (played.in_bar[0] - 1)) % 8
    wrong = (right - 2 * late) % 8
    true = played.beats[played.in_bar == 1]
    # the networks never heard so plain a band: here the phrases know
    monkeypatch.setattr(whole, "_phrases", lambda _, firsts: 9.0 * (np.abs(true - firsts[3]).min() < 0.01))
    for strength, kept in ((0.02, False), (4.0, True)):
        gain = gains(odds_of(wrong, strength), 4)
        path, _ = decoded(gain)
        assert np.array_equal(path, wrong)
        together = with_phrases(heard, slots, gain, path, 4, prices(8))
        assert np.array_equal(together, wrong if kept else right)


def test_overruled_or_soft_is_less_sure():
    clear = Margins(8.0, 8.0, 0, 0.0)
    assert clear.clarity == 8.0
    assert replace(clear, soft=SHARP).clarity == 8.0
    assert replace(clear, soft=SHARP + 0.1).clarity == pytest.approx(8.0 - 0.1 * PER_SOFT)
    assert replace(clear, overruled=True).clarity == pytest.approx(8.0 - PER_OVERRULED)
    assert replace(clear, overruled=True, jumps=1).clarity < replace(clear, jumps=1).clarity < 8.0


def test_every_other_beginning_is_looked_at_once():
    steady = np.arange(64) % 8
    jump = np.concatenate([steady[:32], (steady[32:] + 2) % 8])
    assert len(begun_elsewhere(steady, 4)) == 4
    others = begun_elsewhere(jump, 4)
    assert len(others) == 8
    assert np.array_equal(others[0], jump)
    off_beats = np.concatenate([steady[:32], (steady[32:] + 1) % 8])
    assert len(begun_elsewhere(off_beats, 4)) == 4
    for path in (steady, jump, off_beats):
        assert all(((other - path) % 2 == 0).all() for other in begun_elsewhere(path, 4))


@settings(max_examples=60)
@given(st.lists(st.floats(-5, 5), min_size=16, max_size=120))
def test_phrases_never_speak_for_more_than_is_allowed_for(odds: list[float]):
    for each in (np.array(odds), np.full(len(odds), 5.0)):
        assert best_score(each) <= MOST_PER_BAR * len(odds) + MOST_AT_ENDS
    assert LENGTH_COST[8] == 0.0 < PHRASE_WEIGHT


@settings(max_examples=40)
@given(st.lists(st.floats(-9, 9, allow_nan=False), min_size=1, max_size=30))
def test_numbers_are_kept_to_two_bytes(values: list[float]):
    array = np.array(values).reshape(1, -1)
    again = unpacked(packed(array))
    assert again.shape == array.shape
    assert np.abs(again - array).max() <= max(1e-9, float(np.abs(array).max())) / 60_000
