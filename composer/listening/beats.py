"""Finds the beats: a path through (period, phase) that fits the activation, then the onsets near it.

In windows of some seconds the activation's Fourier coefficients at the first four harmonics of every candidate
period tell how well a comb of beats fits at every phase. A Viterbi search over (period, phase) from window to
window, with a price on changing either, gives a steady path; a second pass in shorter windows follows a tempo
that wanders; then the beats go to where the sounds begin (onsets.py), and strayed ones back to the line of the others
where the tempo is one (steady.py).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from composer.listening.features import FRAMES_PER_S, Heard
from composer.listening.onsets import EARLY_S, on_the_rise, snapped, where_sounds_begin
from composer.listening.steady import on_one_line

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

HARMONICS: Final = (1.0, 0.6, 0.3, 0.6)
PHASES: Final = 48
STEP_S: Final = 1.0
WIDE_S: Final = 10.0
NARROW_S: Final = 5.0
GRID: Final = 1.012
"""Ratio between neighbouring candidate periods."""
CHANGE_COST: Final = 60.0
SLIP_COST: Final = 400.0
AROUND_COST: Final = 20.0
SWING_QUIET: Final = 0.5
OTHER: Final = 0.06
"""From this part of it on a tempo is another one."""
FREE_RANGE: Final = (55.0, 215.0)
USUAL: Final = (112.0, 0.75)
"""Without a dance: tempi near 112 are likelier; the spread is in octaves."""


@dataclass(frozen=True)
class Track:
    """Beats in seconds over the whole track, and how well they fit (0..1)."""

    beats: Array
    fit: float


def find_beats(heard: Heard, tempo_range: tuple[float, float] | None, other_than: float | None = None) -> Track:
    """Beats of a track.

    Parameters
    ----------
    tempo_range : least and most beats per minute, when the dance is known.
    other_than : beats per minute that were found before; the best at another tempo is wanted.
    """
    import numpy as np

    activation = _centred(heard.activation)
    least, most = tempo_range or FREE_RANGE
    count = max(3, round(np.log(most / least) / np.log(GRID)) + 1)
    tempi = np.geomspace(least, most, count)
    prior = np.zeros(count) if tempo_range else -0.5 * (np.log2(tempi / USUAL[0]) / USUAL[1]) ** 2 * 0.15
    if other_than is not None:
        prior = np.where(np.abs(np.log(tempi / other_than)) < np.log1p(OTHER), -1e6, prior)
    periods, phases = _path(activation, 60 / tempi, WIDE_S, prior)
    usual = float(np.median(periods))
    near = usual * np.geomspace(1 / 1.06, 1.06, 41)
    near = near[(near > 60 / most * 0.97) & (near < 60 / least * 1.03)]
    if other_than is not None:
        near = near[np.abs(np.log(60 / near / other_than)) > 0.8 * np.log1p(OTHER)]
    periods, phases = _path(activation, near, NARROW_S, np.zeros(len(near)), around=periods)
    beats = _beats(periods, phases, len(activation) / FRAMES_PER_S)
    beats = on_the_rise(where_sounds_begin(snapped(_on_the_swing(beats, heard), heard), heard), heard)
    beats = on_one_line(beats, activation)
    fit = _fit(activation, beats)
    return Track(beats, fit)


def other_tempo(tempo_range: tuple[float, float], than: float) -> bool:
    """Whether a range holds another tempo than one."""
    return tempo_range[0] < than / (1 + OTHER) or tempo_range[1] > than * (1 + OTHER)


def pulse(heard: Heard) -> tuple[float, float]:
    """(strongest repeat of the activation at 0.25 to 12 s, onsets a second): what tells music from noise."""
    import numpy as np

    activation = _centred(heard.activation)
    size = 2 * len(activation)
    likeness = np.fft.irfft(np.abs(np.fft.rfft(activation, size)) ** 2, size)
    least, most = int(0.25 * FRAMES_PER_S), int(12 * FRAMES_PER_S)
    repeat = float(likeness[least:most].max() / max(1e-12, float(likeness[0])))
    full = np.asarray(heard.full)
    peaks = (full[1:-1] > 0.3) & (full[1:-1] >= full[:-2]) & (full[1:-1] > full[2:])
    return repeat, float(peaks.sum()) / (len(full) / FRAMES_PER_S)


def _centred(activation: Any) -> Array:
    import numpy as np
    from scipy.ndimage import uniform_filter1d

    values = np.asarray(activation, np.float64)
    width = int(4 * FRAMES_PER_S)
    mean = uniform_filter1d(values, width)
    spread = np.sqrt(np.maximum(uniform_filter1d(values**2, width) - mean**2, 0))
    centred: Array = (values - mean) / np.maximum(spread, 0.1 * max(1e-6, float(spread.mean())) + 1e-3)
    return centred


def _scores(activation: Array, periods: Array, centres: Array, window_s: float) -> Array:
    """Fit of a comb of beats: (windows, periods, phases). Phase = how far the beat before the centre lies back."""
    import numpy as np

    half = int(window_s * FRAMES_PER_S / 2)
    padded = np.concatenate([np.zeros(half), activation, np.zeros(half + 1)])
    offsets = np.arange(-half, half + 1)
    shape = np.hanning(2 * half + 3)[1:-1]
    middles = np.round(centres * FRAMES_PER_S).astype(int)
    slack = centres * FRAMES_PER_S - middles
    pieces = np.stack([padded[m : m + 2 * half + 1] for m in middles]) * (shape / shape.sum())
    phases = np.arange(PHASES) / PHASES
    result = np.zeros((len(centres), len(periods), PHASES))
    for k, weight in enumerate(HARMONICS, start=1):
        turn = 2j * np.pi * k / (periods * FRAMES_PER_S)
        waves = np.exp(-offsets[:, None] * turn[None, :])
        coefficients = (pieces @ waves) * np.exp(slack[:, None] * turn[None, :])
        # a beat lies at offset -phase * period: cos(2 pi k (offset / period + phase))
        rotated = np.exp(2j * np.pi * k * -phases)
        result += weight * np.real(coefficients[:, :, None] * rotated[None, None, :])
    return result


def _path(
    activation: Array, periods: Array, window_s: float, prior: Array, around: Array | None = None
) -> tuple[Array, Array]:
    """Best (period, phase) per window. ``around`` (a period per window) draws the path to itself."""
    import numpy as np

    centres = _centres(len(activation))
    scores = _scores(activation, periods, centres, window_s) + prior[None, :, None] / 10
    if around is not None:
        scores -= AROUND_COST * (np.log(periods[None, :] / around[:, None]) ** 2)[:, :, None]
    came, price = _steps(periods)
    best = scores[0]
    back = np.zeros((len(centres), *best.shape), np.int32)
    for w in range(1, len(centres)):
        values = best.reshape(-1)[came] - price
        chosen = values.argmax(axis=0)[None]
        back[w] = np.take_along_axis(came, chosen, axis=0)[0]
        best = np.take_along_axis(values, chosen, axis=0)[0] + scores[w]
    state = int(np.argmax(best))
    states = [state]
    for w in range(len(centres) - 1, 0, -1):
        state = int(back[w].reshape(-1)[state])
        states.append(state)
    path = np.array(states[::-1])
    return periods[path // PHASES], (path % PHASES) / PHASES


def _steps(periods: Array) -> tuple[NDArray[np.int64], Array]:
    """Ways from one window to the next: (ways, periods, phases) states they come from, and what each costs.

    A state is a period's number times :data:`PHASES` plus the phase; ways that leave the periods cost infinitely much.
    """
    import numpy as np

    count, phase = len(periods), np.arange(PHASES)
    came, price = [], []
    for move in range(-2, 3):
        source = np.clip(np.arange(count) - move, 0, count - 1)
        valid = source == np.arange(count) - move
        ahead = STEP_S / ((periods[source] + periods) / 2) * PHASES
        jump = np.log(periods / periods[source]) ** 2 * 400 * CHANGE_COST / 10
        for slip in range(-1, 2):
            before = np.round(phase[None, :] - ahead[:, None] + slip).astype(int) % PHASES
            rest = (before + ahead[:, None] - phase[None, :] + PHASES / 2) % PHASES - PHASES / 2
            came.append(source[:, None] * PHASES + before)
            price.append(np.where(valid[:, None], jump[:, None] + SLIP_COST * (rest / PHASES) ** 2, np.inf))
    return np.array(came), np.array(price)


def _centres(frames: int) -> Array:
    import numpy as np

    return np.arange(0, frames / FRAMES_PER_S, STEP_S)


def _beats(periods: Array, phases: Array, length_s: float) -> Array:
    """Beat times from period and phase at each window: whole numbers of a smooth running count."""
    import numpy as np

    centres = np.arange(len(periods)) * STEP_S
    count = np.zeros(len(periods))
    count[0] = phases[0]
    for w in range(1, len(periods)):
        expected = count[w - 1] + STEP_S * 2 / (periods[w - 1] + periods[w])
        whole = np.round(expected - phases[w])
        count[w] = max(whole + phases[w], count[w - 1] + 0.2)
    ends = np.array([-2.0, length_s + 2.0])
    before = count[0] + (ends[0] - centres[0]) / periods[0]
    after = count[-1] + (ends[1] - centres[-1]) / periods[-1]
    times = np.concatenate([[ends[0]], centres, [ends[1]]])
    counts = np.concatenate([[before], count, [after]])
    wanted = np.arange(np.ceil(before), np.floor(after) + 1)
    beats = np.interp(wanted, counts, times)
    inside: Array = beats[(beats > -EARLY_S) & (beats < length_s)]  # a first beat at 0 s may be read a little early
    return inside


def _on_the_swing(beats: Array, heard: Heard) -> Array:
    """Where the beats lie on the short notes of a swing, move them a third on, to the long ones.

    Swung music sounds at 0 and 2/3 of a beat and is quiet at 1/3 and 1/2. Beats that sit on the 2/3 see the sound
    at their own 1/3 instead. Judged over 24 beats at a time.
    """
    import numpy as np
    from scipy.ndimage import maximum_filter1d, uniform_filter1d

    if len(beats) < 24:
        return beats
    strength = maximum_filter1d(np.asarray(heard.full + 0.6 * heard.low, np.float64), 5)
    gap = np.diff(beats, append=beats[-1] + (beats[-1] - beats[-2]))

    def sound(part: float) -> Array:
        index = np.clip(np.round((beats + part * gap) * FRAMES_PER_S).astype(int), 0, len(strength) - 1)
        mean: Array = uniform_filter1d(strength[index], 24)
        return mean

    here, third, half, late = sound(0), sound(1 / 3), sound(0.5), sound(2 / 3)
    misplaced = (third > 0.5 * here) & (np.maximum(half, late) < SWING_QUIET * np.minimum(third, here))
    moved = beats + np.where(misplaced, gap / 3, 0)
    keep = np.concatenate([[True], np.diff(moved) > 0.6 * float(np.median(gap))])
    kept: Array = moved[keep]
    return kept


def _fit(activation: Array, beats: Array) -> float:
    """Mean standardised activation at the beats, less that half-way between them, squeezed to 0..1."""
    import numpy as np
    from scipy.ndimage import maximum_filter1d

    if len(beats) < 4:
        return 0.0
    widened = maximum_filter1d(activation, 5)
    between = (beats[1:] + beats[:-1]) / 2
    quarter = np.concatenate([beats[:-1] + (beats[1:] - beats[:-1]) * f for f in (0.25, 0.75)])
    on, half, other = (
        widened[np.clip(np.round(t * FRAMES_PER_S).astype(int), 0, len(widened) - 1)].mean()
        for t in (beats, between, quarter)
    )
    return float(1 / (1 + np.exp(-(on - 0.5 * half - 0.5 * other))))
