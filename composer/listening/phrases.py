"""Finds phrases over bars: where harmony and sound change or begin to repeat, weighed against usual lengths.

Every bar line gets log odds of being the start of a phrase from small networks (fitted by scripts/listening/fit.py,
numbers in phrases.json; the second output was also shown bars begun at wrong places, where nothing starts). Dynamic
programming then chooses starts: eight bars free, four or twelve dearer, odd lengths dearest, up to twelve bars of
introduction before the first (common practice).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from composer.listening.features import TONE_EVERY, Heard
from composer.listening.nets import networks, run
from composer.listening.slots import alike_before, means, peak, unit

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

SLOTS: Final = 6
"""Parts a bar is cut into for comparing harmony: thirds and halves both fit."""
LAGS: Final = (1, 2, 4, 8, 16)
LONGEST: Final = 20
INTRO_MOST: Final = 12
USUAL_ODDS: Final = -1.95
"""Log odds of a bar being first of eight, before anything is heard."""
LENGTH_COST: Final = {8: 0.0, 4: 3.0, 12: 3.0, 16: 4.0, 6: 7.0, 10: 7.0, 2: 9.0}
INTRO_COST: Final = {0: 0.0, 2: 0.3, 4: 0.3, 8: 0.3}
LIMITS: Final = (8.0, 5.0)
"""Log odds of a bar, of the first and of the second output, count no more than this."""
ODD_COST: Final = 11.0
EVEN_COST: Final = 8.0


@dataclass(frozen=True)
class Phrased:
    """First bars of the phrases (rising), and log odds per phrase against the best reading shifted by 1-7 bars."""

    starts: tuple[int, ...]
    margin: float


def bar_vectors(heard: Heard, edges: Array) -> tuple[Array, Array]:
    """Harmony (bars, SLOTS * 24) and sound (bars, bands) of each bar, the track's mean taken away, length one."""
    import numpy as np

    bars = len(edges) - 1
    fine = np.interp(np.arange(bars * SLOTS + 1) / SLOTS, np.arange(bars + 1), edges)
    tones = np.concatenate([unit(means(t, fine, TONE_EVERY)) for t in (heard.chroma, heard.bass)], axis=1)
    harmony = (tones - tones.mean(axis=0)).reshape(bars, -1)
    bands = means(heard.bands, edges, 1)
    return unit(harmony), bands - bands.mean(axis=0)


def bar_features(heard: Heard, edges: Array) -> Array:
    """(bars, features): how much each bar looks like the first of a phrase; standardised over the track."""
    import numpy as np

    harmony, sound = bar_vectors(heard, edges)
    bars = len(harmony)
    alike = harmony @ harmony.T
    columns = []
    for width in (2, 4, 8):
        columns += [_novelty(harmony, width), _novelty(sound, width)]
    for lag in (8, 16):
        columns += _repeating(alike, lag)
    columns += list(_best_repeat(alike))
    loud = means(heard.loud_db[:, None], edges, 1)[:, 0]
    columns.append(np.diff(loud, prepend=loud[:1]))
    density = means((heard.full[:, None] > 0.25).astype(np.float32), edges, 1)[:, 0]
    before = np.concatenate([density[:1], density[:-1]])
    usual = np.array([np.median(density[max(0, i - 6) : max(1, i - 1)]) for i in range(bars)])
    columns.append(before - usual)
    shift = np.linalg.norm(np.diff(sound, axis=0, prepend=sound[:1]), axis=1)
    columns.append(np.concatenate([shift[:1], shift[:-1]]))
    columns.append(shift)
    columns.append(peak(heard.full, edges[:-1], 0.06))
    for rows in (harmony, unit(sound)):
        columns += [alike_before(rows, lag) for lag in LAGS]
    own = np.stack(columns, axis=1)
    own = (own - own.mean(axis=0)) / np.maximum(own.std(axis=0), 1e-6)
    limited: Array = np.clip(own, -3, 3)
    return limited


def _novelty(rows: Array, width: int) -> Array:
    import numpy as np

    sums = np.concatenate([np.zeros((1, rows.shape[1])), np.cumsum(rows, axis=0)])
    count = len(rows)
    at = np.arange(count)
    low, high = np.maximum(0, at - width), np.minimum(count, at + width)
    before = (sums[at] - sums[low]) / np.maximum(1, at - low)[:, None]
    after = (sums[high] - sums[at]) / np.maximum(1, high - at)[:, None]
    value = np.linalg.norm(before - after, axis=1)
    value[at < 1] = value.mean() if count else 0
    return value  # type: ignore[no-any-return]


def _repeating(alike: Array, lag: int) -> list[Array]:
    """How alike bars are to those ``lag`` before, after less before each bar line, and the same forwards."""
    import numpy as np

    count = len(alike)
    line = np.zeros(count)
    if count > lag:
        line[lag:] = np.diag(alike, -lag)
    back = _step(line)
    ahead = np.zeros(count)
    if count > lag:
        ahead[: count - lag] = np.diag(alike, lag)
    return [back, _step(ahead)]


def _step(line: Array, width: int = 4) -> Array:
    import numpy as np

    sums = np.concatenate([[0.0], np.cumsum(line)])
    at = np.arange(len(line))
    low, high = np.maximum(0, at - width), np.minimum(len(line), at + width)
    return (sums[high] - sums[at]) / width - (sums[at] - sums[low]) / width  # type: ignore[no-any-return]


def _best_repeat(alike: Array) -> tuple[Array, Array]:
    """Over all lags of at least four bars: the strongest beginning of a repeat, earlier or later in the track."""
    import numpy as np

    count = len(alike)
    back, ahead = np.zeros(count), np.zeros(count)
    for lag in range(4, count):
        line = np.zeros(count)
        line[lag:] = np.diag(alike, -lag)
        back = np.maximum(back, _step(line))
        line = np.zeros(count)
        line[: count - lag] = np.diag(alike, lag)
        ahead = np.maximum(ahead, _step(line))
    return back, ahead


def phrase_odds(heard: Heard, edges: Array) -> Array:
    """How much the sound speaks for each bar as the first of a phrase: log odds less those of any bar."""
    return bar_odds(bar_features(heard, edges), 0)


def bar_odds(features: Array, output: int) -> Array:
    """The mean of the networks. ``output``: 0 when the bars are right, 1 when it is asked whether they are."""
    import numpy as np

    raw = np.mean([run(layers, features, 1)[:, output] for layers in networks("phrases")], axis=0) - USUAL_ODDS
    limited: Array = np.clip(raw, -LIMITS[output], LIMITS[output])
    return limited


def best_score(odds: Array) -> float:
    """Log odds of the best phrases, the prices of their lengths taken away."""
    return _choose(odds, frozenset(), None, frozenset())[0]


def find_phrases(odds: Array, fixed: frozenset[int] = frozenset(), length: int | None = None) -> Phrased:
    """Choose phrase starts.

    Parameters
    ----------
    fixed : bars that must begin a phrase. length : the usual length, when it is known.
    """
    import numpy as np

    count = len(odds)
    best_score, starts = _choose(odds, fixed, length, frozenset())
    if count < 8:
        return Phrased(tuple(starts), 0.0)
    taken = frozenset(starts) - fixed
    rivals = []
    for shift in range(1, 8):
        banned = frozenset(s for s in taken if s % 8 != (starts[0] + shift) % 8) if len(starts) else frozenset()
        if banned:
            rivals.append(_choose(odds, fixed, length, banned)[0])
    margin = (best_score - max(rivals)) / max(1, len(starts)) if rivals else 0.0
    return Phrased(tuple(starts), float(np.clip(margin, 0, 99)))


def _choose(odds: Array, fixed: frozenset[int], length: int | None, banned: frozenset[int]) -> tuple[float, list[int]]:
    """Dynamic programming over bar lines; -inf for a start that is banned or steps over a fixed one."""
    import numpy as np

    count = len(odds)
    best = np.full(count + 1, -np.inf)
    back = np.full(count + 1, -1)
    first_fixed = min(fixed, default=count)
    for bar in range(min(INTRO_MOST, first_fixed, count - 1) + 1):
        if bar not in banned:
            best[bar] = (odds[bar] if bar else 0.0) - INTRO_COST.get(bar, 3.0)
    for bar in range(1, count + 1):
        for size in range(1, min(LONGEST, bar) + 1):
            start = bar - size
            if best[start] == -np.inf or any(start < f < bar for f in fixed):
                continue
            cost = tail_cost(size) if bar == count else length_cost(size, length)
            value = best[start] - cost + (odds[bar] if bar < count else 0.0)
            if bar in banned:
                continue
            if value > best[bar]:
                best[bar], back[bar] = value, start
    starts: list[int] = []
    at = int(back[count])
    while at >= 0:
        starts.append(at)
        at = int(back[at])
    return float(best[count]), starts[::-1]


def length_cost(size: int, length: int | None) -> float:
    if length is not None:
        return 0.0 if size == length else 3.0 + abs(size - length)
    return LENGTH_COST.get(size, ODD_COST if size % 2 else EVEN_COST)


def tail_cost(size: int) -> float:
    """The last stretch may be a short ending, or a whole phrase with a closing chord."""
    if size <= 8:
        return 0.0 if size in (1, 2, 4, 8) else 1.0
    return min(3.0, length_cost(size, None), length_cost(size - 1, None))
