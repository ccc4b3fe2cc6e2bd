"""What a small network hears at every half beat: attacks by register, changes of harmony, and repeats.

A *slot* is half a beat. Slots rather than beats, because a tracker may sit between the beats: the place in the bar
is then read off together with which slots are the beats (composer.listening.bars).
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Any, Final

from composer.listening.features import FRAMES_PER_S, TONE_EVERY, Heard

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

BAND_EDGES: Final = (0.0, 1 / 6, 1 / 3, 1 / 2, 2 / 3, 1.0)
"""Parts of the bands whose attacks are heard apart (bass drum and bass, snare, ..., cymbals)."""
LAGS: Final = (1, 2, 4)
BAR_LAGS: Final = (1, 2, 4)
FORM_LAGS: Final = (4, 6, 8)
"""Lags at which likeness is looked at: in slots; in bars; and, for the beginnings of repeats, in bars."""
LEAST_REPEAT: Final = 24
MOST_REPEAT: Final = 260
FORM_WIDTH: Final = 16
QUIET_DB: Final = 40.0


def half_beats(beats: Array) -> Array:
    """Beats and the middles between them, and one after the last."""
    import numpy as np

    out = np.empty(2 * len(beats))
    gap = np.diff(beats, append=2 * beats[-1] - beats[-2])
    out[::2], out[1::2] = beats, beats + gap / 2
    return out


def slot_features(heard: Heard, slots: Array, metre: int) -> Array:
    """(slots, features), each column standardised over the track and limited to 3 deviations.

    Parameters
    ----------
    metre : beats per bar supposed; likeness is looked at a bar and more apart.
    """
    import numpy as np

    gap = np.diff(slots, append=2 * slots[-1] - slots[-2])
    edges = np.append(slots, slots[-1] + gap[-1])
    columns = _attacks(heard, slots, gap)
    middle, bass = (means(tones, edges, TONE_EVERY) for tones in (heard.chroma, heard.bass))
    for tones in (middle, bass):
        columns += [turn(tones, reach) for reach in (1, 2, 4, 8)]
    bands = means(heard.bands, edges, 1)
    harmony = unit(_centred(np.concatenate([unit(middle), unit(bass)], axis=1)))
    sound = unit(_centred(bands))
    columns += [
        alike_before(rows, lag)
        for lag in (*LAGS, *(2 * metre * bars for bars in BAR_LAGS))
        for rows in (harmony, sound)
    ]
    for width in (2 * metre, 4 * metre, 8 * metre):
        columns += [_novelty(harmony, width), _novelty(sound, width)]
    columns += _repeats(np.concatenate([harmony, sound], axis=1), tuple(2 * metre * bars for bars in FORM_LAGS))
    columns.append(np.linalg.norm(np.diff(bands, axis=0, prepend=bands[:1]), axis=1))
    loud = means(heard.loud_db[:, None], edges, 1)[:, 0]
    loud = np.maximum(loud, np.percentile(loud, 90) - QUIET_DB)
    columns.append(np.diff(loud, prepend=loud[:1]))
    count = bands.shape[1]
    columns += [bands[:, : count // 4].mean(axis=1), bands[:, count // 2 :].mean(axis=1)]
    columns.append(means(heard.low[:, None], edges, 1)[:, 0])
    own: Array = np.clip(_centred(np.stack(columns, axis=1)), -1e9, 1e9)
    result: Array = np.clip(own / np.maximum(own.std(axis=0), 1e-6), -3, 3)
    return result


def _attacks(heard: Heard, slots: Array, gap: Array) -> list[Array]:
    """Strongest attack near each slot and near the middle to the next, for seven streams."""
    import numpy as np
    from scipy.ndimage import maximum_filter1d

    bands = heard.bands
    rise = np.zeros_like(bands)
    rise[2:] = np.maximum(0, bands[2:] - bands[:-2])
    at = [round(edge * bands.shape[1]) for edge in BAND_EDGES]
    streams = [heard.full, heard.low] + [rise[:, a:b].mean(axis=1) for a, b in pairwise(at)]
    columns = []
    for stream in streams:
        widened = maximum_filter1d(stream, 9)
        for part in (0.0, 0.5):
            index = np.clip(np.round((slots + part * gap) * FRAMES_PER_S).astype(int), 0, len(stream) - 1)
            columns.append(widened[index].astype(np.float64))
    return columns


def means(rows: Any, edges: Array, every: int) -> Array:
    """Mean of rows between neighbouring edges (seconds); a row stands for ``every`` frames."""
    import numpy as np

    sums = np.concatenate([np.zeros((1, rows.shape[1])), np.cumsum(rows, axis=0, dtype=np.float64)])
    at = np.clip(np.round(edges * FRAMES_PER_S / every).astype(int), 0, len(rows))
    width = np.maximum(1, np.diff(at))
    result: Array = (sums[np.minimum(at[:-1] + width, len(rows))] - sums[at[:-1]]) / width[:, None]
    return result


def peak(values: Any, times: Array, reach_s: float) -> Array:
    """Largest value within ``reach_s`` of each time (seconds)."""
    import numpy as np
    from scipy.ndimage import maximum_filter1d

    widened = maximum_filter1d(values, 2 * int(reach_s * FRAMES_PER_S) + 1)
    index = np.clip(np.round(times * FRAMES_PER_S).astype(int), 0, len(values) - 1)
    return widened[index].astype(np.float64)  # type: ignore[no-any-return]


def turn(rows: Array, reach: int) -> Array:
    """1 - cosine between the sums of ``reach`` rows before and after the beginning of each."""
    import numpy as np

    before, after = _around(rows, reach)
    length = np.linalg.norm(before, axis=1) * np.linalg.norm(after, axis=1)
    return np.where(length > 1e-9, 1 - (before * after).sum(axis=1) / np.maximum(length, 1e-9), 0.0)


def _around(rows: Array, reach: int) -> tuple[Array, Array]:
    import numpy as np

    sums = np.concatenate([np.zeros((1, rows.shape[1])), np.cumsum(rows, axis=0)])
    index = np.arange(len(rows))
    before: Array = sums[index] - sums[np.maximum(0, index - reach)]
    after: Array = sums[np.minimum(len(rows), index + reach)] - sums[index]
    return before, after


def unit(rows: Array) -> Array:
    """Each row at length 1."""
    import numpy as np

    result: Array = rows / np.maximum(np.linalg.norm(rows, axis=1, keepdims=True), 1e-9)
    return result


def _centred(rows: Array) -> Array:
    result: Array = rows - rows.mean(axis=0)
    return result


def alike_before(rows: Array, lag: int) -> Array:
    """Cosine of each row with that ``lag`` before (0 where there is none)."""
    import numpy as np

    out = np.zeros(len(rows))
    if len(rows) > lag:
        out[lag:] = (rows[lag:] * rows[:-lag]).sum(axis=1)
    return out


def _novelty(rows: Array, width: int) -> Array:
    """Distance of the means of ``width`` rows before and after."""
    import numpy as np

    before, after = _around(rows, width)
    index = np.arange(len(rows))
    before = before / np.maximum(1, np.minimum(index, width))[:, None]
    after = after / np.maximum(1, np.minimum(len(rows) - index, width))[:, None]
    out: Array = np.linalg.norm(before - after, axis=1)
    out[:1] = out.mean()
    return out


def _repeats(rows: Array, form_lags: tuple[int, ...]) -> list[Array]:
    """Where something begins that was heard before, or comes again: at each of the lags, and at any lag."""
    import numpy as np

    count = len(rows)
    columns = []
    back, ahead = np.zeros(count), np.zeros(count)
    for lag in range(LEAST_REPEAT, min(count, MOST_REPEAT)):
        likeness = (rows[lag:] * rows[:-lag]).sum(axis=1)
        earlier, later = np.zeros(count), np.zeros(count)
        earlier[lag:], later[: count - lag] = likeness, likeness
        earlier, later = _rise(earlier), _rise(later)
        if lag in form_lags:
            columns += [earlier, later]
        back, ahead = np.maximum(back, earlier), np.maximum(ahead, later)
    columns += [np.zeros(count)] * (2 * len(form_lags) - len(columns))
    return [*columns, back, ahead]


def _rise(line: Array) -> Array:
    """Mean of the next :data:`FORM_WIDTH` values less that of those before."""
    import numpy as np

    sums = np.concatenate([[0.0], np.cumsum(line)])
    at = np.arange(len(line))
    low, high = np.maximum(0, at - FORM_WIDTH), np.minimum(len(line), at + FORM_WIDTH)
    result: Array = (sums[high] - 2 * sums[at] + sums[low]) / FORM_WIDTH
    return result
