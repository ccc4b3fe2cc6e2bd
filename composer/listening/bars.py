"""Finds the bars: which half beats are beats, which beats are beat 1, whether the music is in three or in four.

A small convolutional network (fitted by scripts/listening/fit.py, numbers in bars.json; run here with numpy) says for
every half beat how much it sounds like a beat and like a first beat. Two of its layers reach from bar to bar, so it
is told the metre supposed. A Viterbi search over the place in the bar makes bars of that; both metres are tried when
none is known. A third output says whether beats are among these half beats at all; where it denies that, the places
half-way between them (a quarter of a beat away) are read too, and taken when they make clearer bars. Where the whole
path begins is decided together with the phrases (whole.py).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from composer.listening.features import Heard
from composer.listening.nets import networks, run
from composer.listening.onsets import softness
from composer.listening.slots import half_beats, slot_features
from composer.listening.steady import keeps_one_line
from composer.listening.whole import with_phrases

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

BEAT_LIMIT: Final = 2.0
FIRST_LIMIT: Final = 4.0
"""Log odds of one half beat count no more than this."""
JUMP_COST: Final = 75.0
HALF_JUMP_COST: Final = 200.0
"""Prices of going on at another beat of the bar, and of going over to the off-beats, in the units of summed log
odds. Chosen with the limits on the ``tune`` half of the listening set, with networks that had not heard the style."""
NEVER: Final = 1e6
"""Price of going over to the off-beats where all beats lie on one line: a tracker that slips leaves it."""
WINDOW_BARS: Final = 12
"""A reading must hold in every stretch of this many bars to be sure."""
CLEAR_LEAST: Final = -2.0
CLEAR_MOST: Final = 8.0
PER_JUMP: Final = 4.0
STEADY: Final = 0.08
PER_UNEVEN: Final = 100.0
SHARP: Final = 0.33
PER_OVERRULED: Final = 4.0
"""Where phrases overrule the bars, or the beats were moved by a quarter: as after a jump."""
PER_SOFT: Final = 40.0
"""Of soft sound the beats may be late, however clear they are: less sure (chosen on the ``tune`` half)."""


QUARTER: Final = 0.25
GRID_LIMIT: Final = 5.0
GRID_LEAD: Final = 0.2
"""Beats go a quarter of a beat back when the log odds that they are among the half beats are below 0 here and above 0
there, and the best path scores so much more per half beat there. Chosen on the ``tune`` half, read by networks that had
not heard the style: 15 of 1366 hearings are moved, one of them (a recording) wrongly."""


@dataclass(frozen=True)
class Margins:
    """Log odds per bar against the best reading that begins elsewhere: over the track, and where it is least.

    ``uneven``: by what part the length of eight beats leaves that of the middle of the track, at most.
    ``off_beats``: the least lead over readings that take the off-beats for beats. ``soft``: see onsets.softness.
    ``overruled``: the phrases spoke for other bars, the beats were moved by a quarter or found at another tempo.
    """

    whole: float
    least: float
    jumps: int
    uneven: float
    off_beats: float = 0.0
    soft: float = 0.0
    overruled: bool = False

    @property
    def clarity(self) -> float:
        """How clear the least clear stretch is, less for jumps, a tempo that leaves its middle, and soft sound."""
        return self._less(self.least)

    @property
    def beat_clarity(self) -> float:
        """The same of beats against off-beats alone, for bars that a person has said."""
        return self._less(self.off_beats)

    def _less(self, least: float) -> float:
        least = min(CLEAR_MOST, max(CLEAR_LEAST, least))
        unsteady, soft = max(0.0, self.uneven - STEADY), max(0.0, self.soft - SHARP)
        least -= PER_JUMP * min(self.jumps, 2) + PER_OVERRULED * self.overruled
        return least - PER_UNEVEN * unsteady - PER_SOFT * soft


@dataclass(frozen=True)
class Barred:
    """Beats (seconds) with the place of each in its bar (from 1), the metre, and how clear bars and metre were."""

    beats: Array
    in_bar: tuple[int, ...]
    metre: int
    margins: Margins
    metre_margin: float
    per_slot: float
    moved: bool
    grid: float
    """``per_slot``: log likelihood per half beat. ``moved``: some beats lie between those given. ``grid``: log
    odds that beats are among the half beats."""


@dataclass(frozen=True)
class Reading:
    """(slots, places) log likelihoods, the best path and its score; log odds that beats are among the slots."""

    gain: Array
    path: Array
    score: float
    grid: float

    @property
    def per_slot(self) -> float:
        return self.score / len(self.path)


def read_from(odds: Array, metre: int, steady: bool = False, held: Callable[[Array], None] = lambda _: None) -> Reading:
    """The best path through the networks' odds.

    Parameters
    ----------
    steady : the beats lie on one line. held : may change the log likelihoods before.
    """
    import numpy as np

    gain = gains(odds, metre)
    held(gain)
    return Reading(gain, *decoded(gain, steady), float(np.clip(odds[:, 2], -GRID_LIMIT, GRID_LIMIT).mean()))


def quarter_back(beats: Array) -> Array:
    """Beats a quarter of a beat earlier."""
    import numpy as np

    moved: Array = beats - QUARTER * np.diff(beats, append=2 * beats[-1] - beats[-2])
    return moved


def lie_there(here: Reading | Barred, there: Reading | Barred, lead: float = GRID_LEAD) -> bool:
    """Whether the beats are not among the half beats of ``here``, but among those of ``there``."""
    return here.grid < 0 < there.grid and there.per_slot > here.per_slot + lead


def slot_odds(heard: Heard, slots: Array, metre: int) -> Array:
    """(slots, 3) log odds of a beat, of a first beat, and of beats being among the slots; the networks' mean."""
    import numpy as np

    features = slot_features(heard, slots, metre)
    mean: Array = np.mean([run(layers, features, metre) for layers in networks("bars")], axis=0)
    return mean


def find_bars(
    heard: Heard, beats: Array, metre: int | None = None, fixed: dict[int, int] | None = None, *, on_beats: bool = False
) -> Barred:
    """Beats and bars.

    Parameters
    ----------
    beats : seconds, as a tracker found them; they may lie half a beat off.
    metre : beats per bar when known; otherwise 3 and 4 are compared.
    fixed : beats (index) whose place in the bar is known, from a correction.
    on_beats : the beats given are the beats.
    """
    import numpy as np

    slots = half_beats(beats)
    candidates = [metre] if metre else [3, 4]
    certain = on_beats or bool(fixed)
    steady = not certain and keeps_one_line(beats)

    def held(gain: Array) -> None:
        if certain:
            gain[::2, 1::2] -= 1e6
            gain[1::2, ::2] -= 1e6
        for beat, place in (fixed or {}).items():
            if 0 <= beat < len(beats):
                gain[2 * beat] -= 1e6
                gain[2 * beat, 2 * ((place - 1) % (gain.shape[1] // 2))] += 1e6

    def readings(at: Array) -> dict[int, Reading]:
        return {each: read_from(slot_odds(heard, at, each), each, steady, held) for each in candidates}

    def best_of(read: dict[int, Reading]) -> int:
        return max(read, key=lambda each: read[each].score)

    read, quarter = readings(slots), False
    best = best_of(read)
    if not certain and read[best].grid < 0:
        earlier = quarter_back(beats)
        other = readings(half_beats(earlier))
        if lie_there(read[best], other[best_of(other)]):
            read, best, beats, slots, quarter = other, best_of(other), earlier, half_beats(earlier), True
    gain, heard_alone, score = read[best].gain, read[best].path, read[best].score
    path = with_phrases(heard, slots, gain, heard_alone, best, prices(2 * best, steady))
    others = [read[each].score for each in read if each != best]
    bars = max(1.0, len(beats) / best)
    metre_margin = (score - max(others)) / bars if others else 9.0
    chosen = np.flatnonzero(path % 2 == 0)
    times = slots[chosen]
    keep = np.concatenate([[True], np.diff(times) > 0.7 * float(np.median(np.diff(beats)))])
    chosen, times = chosen[keep], times[keep]
    places = tuple(int(p) // 2 + 1 for p in path[chosen])
    moved = quarter or bool((chosen % 2).any())
    margins = margins_of(np.maximum(gain, -100.0), path, times)
    overruled = quarter or not np.array_equal(path, heard_alone)
    margins = replace(margins, soft=softness(beats, heard), overruled=overruled)
    return Barred(times, places, best, margins, metre_margin, score / len(slots), moved, read[best].grid)


def gains(odds: Array, metre: int) -> Array:
    """(slots, 2 * metre) log likelihood of each half-beat place in the bar; even places are beats."""
    import numpy as np

    beat = np.clip(odds[:, 0], -BEAT_LIMIT, BEAT_LIMIT)
    first = np.clip(odds[:, 1], -FIRST_LIMIT, FIRST_LIMIT)
    gain = np.empty((len(odds), 2 * metre))
    gain[:, ::2] = -np.logaddexp(0, -beat)[:, None]
    gain[:, 1::2] = -np.logaddexp(0, beat)[:, None]
    gain -= np.logaddexp(0, first)[:, None]
    gain[:, 0] += first
    return gain


def decoded(gain: Array, steady: bool = False) -> tuple[Array, float]:
    """(place per slot, score) of the best path that goes on by one place a slot, with a price on jumps."""
    import numpy as np

    count, places = gain.shape
    number = np.arange(places)
    price = prices(places, steady)
    best = gain[0].copy()
    back = np.zeros((count, places), int)
    for i in range(1, count):
        value = best[:, None] - price
        back[i] = value.argmax(axis=0)
        best = value[back[i], number] + gain[i]
    place = int(best.argmax())
    path = [place]
    for i in range(count - 1, 0, -1):
        place = int(back[i, place])
        path.append(place)
    return np.array(path[::-1]), float(best.max())


def prices(places: int, steady: bool = False) -> Array:
    """(places, places) price of going on from a place to another; nothing to the next."""
    import numpy as np

    number = np.arange(places)
    price: Array = np.where((number[:, None] + 1 - number[None, :]) % 2, NEVER if steady else HALF_JUMP_COST, JUMP_COST)
    price[number, (number + 1) % places] = 0.0
    return price


def margins_of(gain: Array, path: Array, beats: Array) -> Margins:
    """How much better the path is than itself begun elsewhere in the bar; off-beats count as elsewhere."""
    import numpy as np

    count, places = gain.shape
    index = np.arange(count)
    own = gain[index, path]
    leads = np.stack([own - gain[index, (path + turn) % places] for turn in range(1, places)])
    sums = np.concatenate([np.zeros((places - 1, 1)), np.cumsum(leads, axis=1)], axis=1)
    width = min(count, WINDOW_BARS * places)
    windows = (sums[:, width:] - sums[:, :-width]) / (width / places)
    whole = float(sums[:, -1].min()) / (count / places)
    jumps = int(np.count_nonzero((np.diff(path) - 1) % places))
    return Margins(whole, float(windows.min()), jumps, _uneven(beats), float(windows[::2].min()))


def _uneven(beats: Array) -> float:
    import numpy as np

    if len(beats) < 10:
        return 0.0
    eight = beats[8:] - beats[:-8]
    return float(np.abs(eight / np.median(eight) - 1).max())
