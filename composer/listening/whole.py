"""Bars and phrases decided together: the same bars begun elsewhere, where phrases speak for it.

Music without a backbeat tells beat 1 badly bar by bar, but its phrases often begin at one place only. So the best path
through the bars competes with itself begun elsewhere and with steady paths over the same beats: what the bars say of
each, plus :data:`PHRASE_WEIGHT` times what its best phrases score.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from composer.listening.features import Heard
from composer.listening.phrases import bar_features, bar_odds, best_score

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Steps = NDArray[Any]

PHRASE_WEIGHT: Final = 10.0
"""Chosen on the ``tune`` half, with networks that had not heard the style."""
MOST_PER_BAR: Final = 0.65
MOST_AT_ENDS: Final = 10.0
"""More than the phrases of a track can score: for each bar, and once. Readings that cannot win are not looked at."""
LEAST_BARS: Final = 16


def begun_elsewhere(path: Steps, metre: int) -> list[Steps]:
    """The path, the path a number of beats on, and steady paths over the same beats.

    What is a beat and what an off-beat is left to the bars: letting phrases speak there gained nothing on the ``tune``
    half, and cost recordings beats where a tracker changes to the off-beats.
    """
    import numpy as np

    places = 2 * metre
    shifted = [(path + 2 * k) % places for k in range(metre)]
    steady = [(np.arange(len(path)) + k) % places for k in range(places)]
    same = [one for one in steady if ((one - path) % 2 == 0).all()]
    return shifted + [one for one in same if not any(np.array_equal(one, other) for other in shifted)]


def with_phrases(heard: Heard, slots: Array, gain: Array, path: Steps, metre: int, prices: Array) -> Steps:
    """The path that bars and phrases together speak for.

    Parameters
    ----------
    gain : (slots, places) log likelihoods. path : the best by these alone.
    prices : (places, places) price of each step from place to place.
    """
    import numpy as np

    def score(one: Steps) -> float:
        return float(gain[np.arange(len(one)), one].sum() - prices[one[:-1], one[1:]].sum())

    bars = len(path) / (2 * metre)
    if bars < LEAST_BARS:
        return path
    own, *others = [(score(one), one) for one in begun_elsewhere(path, metre)]
    best, chosen = own[0] + PHRASE_WEIGHT * _phrases(heard, slots[path == 0]), path
    most = PHRASE_WEIGHT * (MOST_PER_BAR * bars + MOST_AT_ENDS)
    for value, one in others:
        if value + most > best:
            value += PHRASE_WEIGHT * _phrases(heard, slots[one == 0])
            if value > best:
                best, chosen = value, one
    return chosen


def _phrases(heard: Heard, firsts: Array) -> float:
    """What the best phrases score over bars that begin at ``firsts`` (seconds)."""
    import numpy as np

    if len(firsts) < LEAST_BARS // 2:
        return -1e9
    edges = np.append(firsts, firsts[-1] + np.median(np.diff(firsts)))
    return best_score(bar_odds(bar_features(heard, edges), 1))
