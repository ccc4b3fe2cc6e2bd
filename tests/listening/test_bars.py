"""Half beats, bars and the network: what is decided once the odds are there, and beats given half a beat off."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from composer.listening import bars, weights_file
from composer.listening.bars import GRID_LEAD, JUMP_COST, decoded, find_bars, gains, lie_there, margins_of, read_from
from composer.listening.features import hear
from composer.listening.nets import networks, run
from composer.listening.slots import half_beats, slot_features
from composer.listening.steady import keeps_one_line
from tests.listening.sounds import band


def odds_of(path: np.ndarray, strength: float = 3.0) -> np.ndarray:
    beat = np.where(path % 2 == 0, strength, -strength)
    first = np.where(path == 0, strength, -strength)
    return np.stack([beat, first], axis=1)


@settings(deadline=None, max_examples=30)
@given(metre=st.sampled_from([3, 4]), start=st.integers(0, 7), seed=st.integers(0, 99))
def test_a_steady_reading_is_found_through_wrong_odds(metre: int, start: int, seed: int):
    path = (np.arange(160) + start) % (2 * metre)
    odds = odds_of(path)
    chance = np.random.default_rng(seed)
    odds[chance.random(160) < 0.25] *= -1
    found, _ = decoded(gains(odds, metre))
    assert np.array_equal(found, path)


def test_a_beat_too_many_is_followed_only_when_enough_bars_ask_for_it():
    for bars_after, followed in ((1, False), (20, True)):
        path = np.concatenate([np.arange(160) % 8, np.arange(2, 2 + 8 * bars_after) % 8])
        found, _ = decoded(gains(odds_of(path), 4))
        assert np.array_equal(found == 0, path == 0) is followed, bars_after
    one_bar = 2 * float(np.log1p(np.exp(3)) - np.log1p(np.exp(-3)))
    assert one_bar < JUMP_COST < 20 * one_bar


def test_beats_on_one_line_do_not_go_over_to_the_off_beats():
    half = np.arange(480) % 8
    torn = np.where(np.arange(480) < 180, half, (half + 1) % 8)
    gain = gains(odds_of(torn), 4)
    assert np.array_equal(decoded(gain)[0], torn)
    found, _ = decoded(gain, steady=True)
    assert np.array_equal(found, (half + 1) % 8)
    beats = 0.5 * np.arange(240)
    assert keeps_one_line(beats)
    assert not keeps_one_line(np.concatenate([beats[:180], beats[180:] + 0.25]))


def test_margins_fall_where_a_stretch_says_otherwise():
    path = np.arange(400) % 8
    steady = odds_of(path)
    whole = margins_of(gains(steady, 4), path, np.arange(200) * 0.5)
    contrary = steady.copy()
    contrary[150:270] = odds_of((path + 4) % 8)[150:270]
    torn = margins_of(gains(contrary, 4), path, np.arange(200) * 0.5)
    assert whole.least == pytest.approx(whole.whole, rel=0.05)
    assert torn.least < 0 < torn.whole < whole.whole
    assert torn.clarity < whole.clarity
    assert (whole.jumps, whole.uneven) == (0, pytest.approx(0))


def test_a_tempo_that_leaves_its_middle_is_less_sure():
    path = np.arange(400) % 8
    gain = gains(odds_of(path), 4)
    for change, less in ((1.05, False), (1.2, True)):
        beats = np.concatenate([np.arange(120) * 0.5, 60 + np.arange(80) * 0.5 * change])
        assert (margins_of(gain, path, beats).clarity < bars.CLEAR_MOST - 2) is less


@pytest.mark.parametrize(("tempo", "metre"), [(92, 3), (100, 4), (132, 4)])
def test_beats_given_half_a_beat_off_are_put_right(tempo: float, metre: int):
    played = band(tempo, metre, "AABA")
    heard = hear(played.samples)
    gap = 60 / tempo
    for given_off in (0.0, 0.5):
        found = find_bars(heard, played.beats + given_off * gap, metre)
        assert found.moved is (given_off == 0.5)
        off = np.abs(found.beats[:, None] - played.beats[None]).min(axis=1)
        assert off[:-1].max() < 0.03
    kept = find_bars(heard, played.beats + 0.5 * gap, metre, on_beats=True)
    assert np.allclose(kept.beats, played.beats + 0.5 * gap)
    fixed = find_bars(heard, played.beats, metre, {5: 1})
    assert fixed.in_bar[5] == 1


@pytest.mark.parametrize(("tempo", "metre"), [(88, 3), (100, 4), (120, 4)])
def test_beats_a_quarter_off_are_moved_where_the_odds_say_so(tempo: float, metre: int, monkeypatch: pytest.MonkeyPatch):
    """The odds are given here (the band is too plain for networks to need it): what is decided, where beats go."""
    played = band(tempo, metre, "AABA")
    heard = hear(played.samples)
    gap = 60 / tempo

    def odds(_: object, slots: np.ndarray, __: int) -> np.ndarray:
        number = np.round(2 * (slots - played.beats[0]) / gap).astype(int)
        on = float(np.abs(slots - played.beats[0] - number * gap / 2).mean()) < 0.1 * gap
        path = (number + 2 * (played.in_bar[0] - 1)) % (2 * metre)
        return np.column_stack([odds_of(path, 3.0 if on else 0.5), np.full(len(slots), 3.0 if on else -3.0)])

    monkeypatch.setattr(bars, "slot_odds", odds)
    for given_off in (0.25, -0.25):
        found = find_bars(heard, played.beats + given_off * gap, metre)
        off = np.abs(found.beats[:, None] - played.beats[None]).min(axis=1)
        assert found.moved
        assert found.margins.overruled
        assert off[1:-1].max() < 0.03
    assert not find_bars(heard, played.beats, metre).moved
    kept = find_bars(heard, played.beats + 0.25 * gap, metre, on_beats=True)
    assert np.allclose(kept.beats, played.beats + 0.25 * gap)


def test_beats_lie_between_only_where_all_three_signs_say_so():
    path = np.arange(160) % 8
    clear = np.column_stack([odds_of(path), np.full(160, 3.0)])
    blurred = np.column_stack([odds_of(path, 0.5), np.full(160, -3.0)])
    here, there = read_from(blurred, 4), read_from(clear, 4)
    assert lie_there(here, there)
    assert not lie_there(there, here)
    assert not lie_there(replace(here, grid=0.1), there)
    assert not lie_there(here, replace(there, grid=-0.1))
    assert not lie_there(here, replace(there, score=here.score + 0.9 * GRID_LEAD * 160))
    assert lie_there(here, replace(there, score=here.score + 1.1 * GRID_LEAD * 160))


def test_the_network_is_small_and_says_the_same_every_time():
    for name, outputs, columns in (("bars", 3, 53), ("phrases", 2, 27)):
        assert weights_file().with_name(f"{name}.json").stat().st_size < 500_000
        for layers in networks(name):
            assert (layers[0]["w"].shape[1], layers[-1]["w"].shape[2]) == (columns, outputs)
    played = band()
    features = slot_features(hear(played.samples), half_beats(played.beats), 3)
    assert features.shape == (2 * len(played.beats), 53)
    assert np.isfinite(features).all()
    once = run(networks("bars")[0], features, 3)
    assert np.array_equal(once, run(networks("bars")[0], features, 3))


def test_fitted_on_no_track_that_is_scored():
    fitted = json.loads((Path(bars.__file__).with_name("bars.json")).read_text(encoding="utf-8"))["fitted_on"]
    assert fitted
    assert set(fitted) <= set(json.loads(weights_file().read_text(encoding="utf-8"))["fitted_on"])
