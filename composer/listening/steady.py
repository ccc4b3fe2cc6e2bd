"""Puts strayed beats back on the straight line that the others keep.

Most recorded music keeps one tempo from beginning to end, while a tracker may stray by a part of a beat where the
music is thin or its accents lie elsewhere. Where most beats lie on one straight line, those that do not are put on it
too, unless what sounds there speaks against it: a part at another tempo has its own beats well marked and sounds at
random on the line.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from composer.listening.features import FRAMES_PER_S
from composer.listening.onsets import EARLY_S

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

NEAR_S: Final = 0.025
"""A beat so near the line lies on it."""
LEFT_S: Final = 0.04
"""A beat so near the line is left where it was heard."""
STRAYED: Final = 0.15
"""From this part of a beat on it has strayed far enough for what sounds there to say which is right."""
MOST: Final = 0.7
SOME: Final = 0.45
"""Least shares of the beats on the line: with little asked of the sound, and with more."""
THIN: Final = 0.35
CLEAR: Final = 0.6
"""How strong the onsets are where strayed beats would go, or where they lie, against those of the beats on the line.
All chosen on the ``tune`` half of the listening set (scripts/listening/README.md)."""
ALL: Final = 0.9
"""From this share of the beats on the line a tempo counts as one. On the ``tune`` half, read by single networks that
had not heard the style, 11 readings of such beats went over to the off-beats: 8 wrongly, 3 were wrong either way."""
FEWEST: Final = 32
BEYOND: Final = 0.6
"""So many beats before the first beat found and after the last the line may reach."""
WITHIN: Final = 0.015
DRIFT_S: Final = 0.012
BIN_S: Final = 0.01
"""The period is looked for within this part of the middle one, in steps that move the last beat by so much; beats
count together that lie within three such parts of a period."""


def on_one_line(beats: Array, activation: Array) -> Array:
    """Beats (seconds), the strayed ones put on the line of the others where there is one.

    Parameters
    ----------
    activation : onsets per frame, standardised.
    """
    import numpy as np
    from scipy.ndimage import maximum_filter1d

    found = _line(beats)
    if found is None:
        return beats
    first, period = found
    off = _off(beats, first, period)
    on = off < NEAR_S
    share = float(on.mean())
    if share < SOME or (off < LEFT_S).all():
        return beats
    begin, end = (beats[[0, -1]] - first) / period + (-BEYOND, BEYOND)
    line = first + period * np.arange(np.ceil(begin), np.floor(end) + 1)
    line = line[line > -EARLY_S]
    nearest = beats[np.abs(line[:, None] - beats[None]).argmin(axis=1)]
    away = np.abs(line - nearest)
    widened = maximum_filter1d(np.asarray(activation, np.float64), 5)

    def strength(at: Array) -> float:
        index = np.clip(np.round(at * FRAMES_PER_S).astype(int), 0, len(widened) - 1)
        return float(widened[index].mean()) if len(at) else 0.0

    usual, there = strength(beats[on]), strength(line[away > STRAYED * period])
    here = strength(beats[off > STRAYED * period])
    borne_out = there >= CLEAR * usual
    if share >= MOST:
        borne_out = there >= THIN * usual or here <= CLEAR * usual
    put: Array = np.where(away < LEFT_S, nearest, line)
    return put if borne_out else beats


def keeps_one_line(beats: Array) -> bool:
    """Whether nearly all beats (seconds) lie on one straight line."""
    found = _line(beats)
    return found is not None and bool((_off(beats, *found) < NEAR_S).mean() >= ALL)


def _off(beats: Array, first: float, period: float) -> Array:
    """How far beats lie from a line, in seconds."""
    import numpy as np

    off: Array = np.abs(beats - first - period * np.round((beats - first) / period))
    return off


def _line(beats: Array) -> tuple[float, float] | None:
    """(first beat, period) of the straight line with the most beats near it; None of few beats."""
    import numpy as np

    if len(beats) < FEWEST:
        return None
    usual = float(np.median(beats[8:] - beats[:-8])) / 8
    step = DRIFT_S / (beats[-1] - beats[0]) * usual
    best, first, period = 0, 0.0, usual
    for each in np.arange(usual * (1 - WITHIN), usual * (1 + WITHIN), step):
        count = max(8, int(each / BIN_S))
        held = np.bincount((np.mod(beats, each) / each * count).astype(int) % count, minlength=count)
        held = held + np.roll(held, 1) + np.roll(held, -1)
        if held.max() > best:
            best, first, period = int(held.max()), (int(held.argmax()) + 0.5) * each / count, float(each)
    for _ in range(4):
        number, on = np.round((beats - first) / period), _off(beats, first, period) < NEAR_S
        if np.count_nonzero(on) < FEWEST // 2:
            return None
        period, first = (float(v) for v in np.polyfit(number[on], beats[on], 1))
    return first, period
