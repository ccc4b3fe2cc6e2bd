"""What the phrase networks learn from, held to every way to part a short song (needs jax, as fitting does)."""

from __future__ import annotations

import sys
from itertools import pairwise, product
from pathlib import Path

import numpy as np
import pytest

from composer.listening.phrases import INTRO_COST, INTRO_MOST, LONGEST, USUAL_ODDS, length_cost, tail_cost

SCRIPTS = Path(__file__).parents[2] / "scripts" / "listening"


def weight(odds: np.ndarray, starts: tuple[int, ...]) -> float:
    """Log weight of one way to part the bars, by the words of composer.listening.phrases."""
    total = sum(float(odds[start]) for start in starts if start) - INTRO_COST.get(starts[0], 3.0)
    total -= sum(length_cost(b - a, None) for a, b in pairwise(starts))
    return total - tail_cost(len(odds) - starts[-1])


@pytest.mark.parametrize("bars", [9, 13])
def test_the_share_of_the_true_phrases_is_that_among_all(bars: int, monkeypatch: pytest.MonkeyPatch):
    pytest.importorskip("jax")
    monkeypatch.syspath_prepend(str(SCRIPTS))
    import segments

    assert bars <= min(INTRO_MOST + 1, LONGEST)
    chance = np.random.default_rng(bars)
    padded = np.concatenate([chance.normal(0, 3, bars), np.full(6, 9.0)])
    odds = padded[:bars] - USUAL_ODDS
    ways = [tuple(np.flatnonzero(marks)) for marks in product((0, 1), repeat=bars) if any(marks)]
    everything = np.logaddexp.reduce([weight(odds, way) for way in ways])
    for true in ((0, 8), (1, 5), (4, 6, 8)):
        starts = np.zeros(len(padded))
        starts[list(true)] = 1
        loss, possible = segments.unlikeliness(padded, starts, bars)
        assert possible
        assert float(loss) == pytest.approx(everything - weight(odds, true), abs=1e-3)
    sys.modules.pop("segments", None)


def test_a_song_that_cannot_be_parted_so_says_nothing(monkeypatch: pytest.MonkeyPatch):
    pytest.importorskip("jax")
    monkeypatch.syspath_prepend(str(SCRIPTS))
    import segments

    for true, bars in (((15, 23), 30), ((0, 25), 30), ((0, 8), 40), ((0,), 12)):
        starts = np.zeros(64)
        starts[list(true)] = 1
        loss, possible = segments.unlikeliness(np.zeros(64), starts, bars)
        assert not possible
        assert float(loss) == 0.0
    sys.modules.pop("segments", None)
