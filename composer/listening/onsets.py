"""Where exactly beats lie, once a steady path is found: at the onsets near them, where the sounds begin.

Each beat moves to the onset near it, smoothed over its neighbours; then all of them together, where slow attacks,
echoes or noise make the onsets seem late.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from composer.listening.features import FRAMES_PER_S, Heard

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

SNAP_S: Final = 0.045
EARLY_S: Final = 0.06
BEGINS_S: Final = 0.16
BEGINS_PART: Final = 0.3
SOFT: Final = 0.4
"""Of soft sound the beats may be moved by so many seconds and so much of a beat. Soft: at its mean moment the onsets
are more than this part of what they are at the best place. Of pieces of the tune half that would be moved, those with
sharp attacks reach 0.26, which would be wrong; soft ones begin at 0.48."""
RISE_BACK: Final = 16
RISE_NEAR: Final = 5
RISEN: Final = 0.3
AFTER_RISE_S: Final = 0.0198
LATE_LEAST_S: Final = 0.015
LATE_MOST_S: Final = 0.08
"""The mean onset is looked at from so many frames before the beats to so many after. It has begun to rise at this
part of its height; beats lie so long after (the middle of 446 hearings of the ``tune`` half). They are late from so
many seconds on, and moved by so many at most; very sharp attacks seem late by 0.013."""


def snapped(beats: Array, heard: Heard) -> Array:
    """Move beats to the onset near them; how far is smoothed over five beats, weighted by the onset's strength."""
    import numpy as np

    strength = np.asarray(heard.full + 0.6 * heard.low, np.float64)
    reach = int(SNAP_S * FRAMES_PER_S)
    window = np.arange(-reach, reach + 1)
    near = np.round(beats * FRAMES_PER_S).astype(int)
    index = np.clip(near[:, None] + window[None, :], 0, len(strength) - 1)
    values = strength[index] * (1 - 0.5 * np.abs(window) / (reach + 1))[None, :]
    peak = values.argmax(axis=1)
    moved = near + window[peak]
    left, mid, right = (strength[np.clip(moved + d, 0, len(strength) - 1)] for d in (-1, 0, 1))
    curve = left - 2 * mid + right
    fine = np.where(curve < -1e-6, np.clip(0.5 * (left - right) / np.minimum(curve, -1e-6), -0.5, 0.5), 0)
    shift = (moved + fine) / FRAMES_PER_S - beats
    weight = values.max(axis=1) ** 2 + 1e-4
    kernel = np.array([0.3, 0.7, 1.0, 0.7, 0.3])
    smooth = np.convolve(shift * weight, kernel, "same") / np.convolve(weight, kernel, "same")
    result = beats + smooth
    return np.maximum.accumulate(result + np.arange(len(result)) * 1e-9)


def where_sounds_begin(beats: Array, heard: Heard) -> Array:
    """Of soft sound, the beats at the place near them where most begins.

    Organ pipes and strings take a tenth of a second to speak: low attacks and changes of harmony come late, and with
    them the beats. The very beginning of the sound shows in what rises within two frames, over all beats together.
    """
    import numpy as np

    if len(beats) < 12:
        return beats
    offsets, mean, usual = _begun_near(beats, heard)
    best = int(np.where(np.abs(offsets) <= 3, 0.0, mean).argmax())
    here = float(mean[np.abs(offsets) <= 2].max())
    if mean[best] <= here or usual < SOFT * float(mean[best]):
        return beats
    moved = beats + offsets[best] / FRAMES_PER_S
    inside = (moved > -EARLY_S) & (moved < len(heard.bands) / FRAMES_PER_S)
    return snapped(moved[inside], heard)


def on_the_rise(beats: Array, heard: Heard) -> Array:
    """Late beats, all moved alike, to :data:`AFTER_RISE_S` after the mean onset at the beats has begun to rise.

    Slow attacks, early echoes and noise put the strongest onset late, by up to a tenth of a second; when it begins to
    rise stays the same.
    """
    begun_s = rise_begins(beats, heard)
    if begun_s is None or -begun_s - AFTER_RISE_S < LATE_LEAST_S:
        return beats
    moved: Array = beats - min(-begun_s - AFTER_RISE_S, LATE_MOST_S)
    return moved[moved > -EARLY_S]


def rise_begins(beats: Array, heard: Heard) -> float | None:
    """Seconds from the beats to where the mean onset near them begins to rise (below 0: before them)."""
    import numpy as np

    if len(beats) < 12:
        return None
    offsets = np.arange(-RISE_BACK, RISE_NEAR + 1)
    index = np.round(beats * FRAMES_PER_S).astype(int)[:, None] + offsets[None, :]
    mean = heard.onsets[np.clip(index, 0, len(heard.onsets) - 1)].mean(axis=0)
    top = int(np.where(offsets >= -RISE_NEAR, mean, -1.0).argmax())
    least = float(np.percentile(mean, 10))
    enough = least + RISEN * (float(mean[top]) - least)
    below = np.flatnonzero(mean[:top] <= enough)
    if not len(below) or mean[top] <= least:
        return None
    last = int(below[-1])
    part = (enough - float(mean[last])) / max(1e-9, float(mean[last + 1] - mean[last]))
    return (float(offsets[last]) + part) / FRAMES_PER_S


def softness(beats: Array, heard: Heard) -> float:
    """How much begins at a mean moment, in parts of what begins at the beats' best place (0..1)."""
    if len(beats) < 12:
        return 0.0
    _, mean, usual = _begun_near(beats, heard)
    return min(1.0, usual / max(1e-9, float(mean.max())))


def _begun_near(beats: Array, heard: Heard) -> tuple[NDArray[np.int64], Array, float]:
    """Offsets in frames, how much begins there on the mean of all beats, and at all moments."""
    import numpy as np

    onsets = heard.onsets
    reach = int(min(BEGINS_S, BEGINS_PART * float(np.median(np.diff(beats)))) * FRAMES_PER_S)
    offsets = np.arange(-reach, reach + 1)
    index = np.round(beats * FRAMES_PER_S).astype(int)[:, None] + offsets[None, :]
    mean: Array = onsets[np.clip(index, 0, len(onsets) - 1)].mean(axis=0)
    return offsets, mean, float(onsets.mean())
