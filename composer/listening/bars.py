"""Finds the bars: which beats are beat 1, and whether the music is in three or in four.

A small logistic model (fitted by scripts/listening/fit.py on generated music, weights in weights.json) says for
every beat how much it sounds like a first beat; a Viterbi search over the place in the bar makes bars of them.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from composer.listening.features import FRAMES_PER_S, TONE_EVERY, Heard

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

CONTEXT: Final = (-3, -2, -1, 0, 1, 2, 3)
JUMP_COST: Final = 14.0
"""Price of a bar with a beat more or less, in the units of the summed log odds."""


@dataclass(frozen=True)
class Barred:
    """The place of each beat in its bar (from 1), the metre, and log odds per bar against the next best reading."""

    in_bar: tuple[int, ...]
    metre: int
    margin: float
    metre_margin: float


@cache
def weights() -> dict[str, Any]:
    """Fitted numbers of the listening models."""
    loaded: dict[str, Any] = json.loads((Path(__file__).with_name("weights.json")).read_text(encoding="utf-8"))
    return loaded


def beat_features(heard: Heard, beats: Array) -> Array:
    """(beats, features), each column standardised over the track, each beat beside its neighbours."""
    import numpy as np

    own = _own(heard, beats)
    own = (own - own.mean(axis=0)) / np.maximum(own.std(axis=0), 1e-6)
    own = np.clip(own, -3, 3)
    padded = np.pad(own, ((3, 3), (0, 0)))
    return np.concatenate([padded[3 + c : 3 + c + len(own)] for c in CONTEXT], axis=1)


def _own(heard: Heard, beats: Array) -> Array:
    import numpy as np

    gap = np.diff(beats, append=beats[-1] + np.median(np.diff(beats)))
    half = beats + gap / 2
    columns = [_peak(values, times, 0.05) for values in (heard.full, heard.low) for times in (beats, half)]
    for tones in (heard.chroma, heard.bass):
        slots = _means(tones, np.append(beats, beats[-1] + gap[-1]), TONE_EVERY)
        columns += [_turn(slots, 1), _turn(slots, 2)]
    bands = _means(heard.bands, np.append(beats, beats[-1] + gap[-1]), 1)
    columns.append(np.linalg.norm(np.diff(bands, axis=0, prepend=bands[:1]), axis=1))
    loud = _means(heard.loud_db[:, None], np.append(beats, beats[-1] + gap[-1]), 1)[:, 0]
    columns.append(np.diff(loud, prepend=loud[:1]))
    lows = bands[:, : bands.shape[1] // 4].mean(axis=1)
    columns.append(lows)
    columns.append(bands[:, bands.shape[1] // 2 :].mean(axis=1))
    return np.stack(columns, axis=1)


def _peak(values: Any, times: Array, reach_s: float) -> Array:
    import numpy as np
    from scipy.ndimage import maximum_filter1d

    widened = maximum_filter1d(values, 2 * int(reach_s * FRAMES_PER_S) + 1)
    index = np.clip(np.round(times * FRAMES_PER_S).astype(int), 0, len(values) - 1)
    return widened[index].astype(np.float64)  # type: ignore[no-any-return]


def _means(rows: Any, edges: Array, every: int) -> Array:
    """Mean of rows between neighbouring edges (seconds)."""
    import numpy as np

    sums = np.concatenate([np.zeros((1, rows.shape[1])), np.cumsum(rows, axis=0, dtype=np.float64)])
    at = np.clip(np.round(edges * FRAMES_PER_S / every).astype(int), 0, len(rows))
    width = np.maximum(1, np.diff(at))
    result: Array = (sums[np.minimum(at[:-1] + width, len(rows))] - sums[at[:-1]]) / width[:, None]
    return result


def _turn(slots: Array, reach: int) -> Array:
    """1 - cosine between the mean of ``reach`` beats before and after the beginning of each beat."""
    import numpy as np

    sums = np.concatenate([np.zeros((1, slots.shape[1])), np.cumsum(slots, axis=0)])
    index = np.arange(len(slots))
    before = sums[index] - sums[np.maximum(0, index - reach)]
    after = sums[np.minimum(len(slots), index + reach)] - sums[index]
    length = np.linalg.norm(before, axis=1) * np.linalg.norm(after, axis=1)
    return np.where(length > 1e-9, 1 - (before * after).sum(axis=1) / np.maximum(length, 1e-9), 0.0)


def first_beat_odds(heard: Heard, beats: Array) -> Array:
    """Log odds that each beat is the first of a bar, limited to +-4."""
    import numpy as np

    model = weights()["first_beat"]
    raw = beat_features(heard, beats) @ np.array(model["weights"]) + model["bias"]
    limited: Array = np.clip(raw, -4, 4)
    return limited


def find_bars(odds: Array, metre: int | None = None, fixed: dict[int, int] | None = None) -> Barred:
    """Place of each beat in its bar.

    Parameters
    ----------
    odds : see :func:`first_beat_odds`.
    metre : beats per bar when known; otherwise 3 and 4 are compared.
    fixed : beats (index) whose place in the bar is known, from a correction.
    """
    candidates = [metre] if metre else [3, 4]
    read = {m: _decode(odds, m, fixed or {}) for m in candidates}
    best = max(read, key=lambda m: read[m][1])
    places, score, runner_up = read[best]
    bars = max(1.0, len(odds) / best)
    others = [read[m][1] for m in read if m != best]
    metre_margin = (score - max(others)) / bars if others else 9.0
    return Barred(tuple(int(p) + 1 for p in places), best, (score - runner_up) / bars, metre_margin)


def _decode(odds: Array, metre: int, fixed: dict[int, int]) -> tuple[Array, float, float]:
    """(place per beat from 0, score, score of the best steady reading with another beat 1)."""
    import numpy as np

    count = len(odds)
    gain = np.full((count, metre), 0.0)
    gain[:, 0] = odds
    gain -= np.log1p(np.exp(odds))[:, None]
    for beat, place in fixed.items():
        if 0 <= beat < count:
            gain[beat] -= 1e6
            gain[beat, (place - 1) % metre] += 1e6
    best = gain[0].copy()
    back = np.zeros((count, metre), int)
    for i in range(1, count):
        steady = np.roll(best, 1)
        jump = best.max() - JUMP_COST
        take = jump > steady
        back[i] = np.where(take, int(best.argmax()), (np.arange(metre) - 1) % metre)
        best = np.where(take, jump, steady) + gain[i]
    place = int(best.argmax())
    places = [place]
    for i in range(count - 1, 0, -1):
        place = int(back[i, place])
        places.append(place)
    path = np.array(places[::-1])
    numbers = np.arange(count)
    steady_scores = [float(gain[numbers, (numbers + s) % metre].sum()) for s in range(metre)]
    chosen = int(np.bincount((path - numbers) % metre, minlength=metre).argmax())
    rivals = [score for s, score in enumerate(steady_scores) if s != chosen]
    return path, float(best.max()), max(rivals) if rivals else -1e9
