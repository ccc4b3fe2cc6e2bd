"""What is heard at each hundredth of a second: onsets, low onsets, changes of harmony.

Arrays run over frames of :data:`HOP` samples; frame ``i`` stands for ``i * HOP / RATE`` seconds.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any, Final

from composer.listening.audio import RATE

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float32]

HOP: Final = 220
FRAMES_PER_S: Final = RATE / HOP
ONSET_WINDOW: Final = 1024
TONE_WINDOW: Final = 4096
TONE_EVERY: Final = 4
"""Harmony is looked at in every fourth frame."""
RUNNING_MAX_S: Final = 8.0
RISE_FRAMES: Final = 4


@dataclass(frozen=True)
class Heard:
    """Features of a track, one value (or row) per frame.

    Attributes
    ----------
    full, low : onset strength over all bands and over 30-160 Hz, each divided by its 8 s running maximum.
    change : change of harmony, 0.4 s before against after (0..2: middle plus bass).
    loud_db : loudness in dB. chroma : (frames, 12) middle register; bass : (frames, 12).
    bands : (frames, bands) log-compressed bands, for comparing bars.
    """

    full: Array
    low: Array
    change: Array
    loud_db: Array
    chroma: Array
    bass: Array
    bands: Array

    @property
    def activation(self) -> Array:
        """How much a beat is to be expected at each frame.

        The rise of every band over :data:`RISE_FRAMES` counts in parts of its own spread: echo and noise then do not
        drown the bands in which attacks are clear (chosen on the ``tune`` half of the listening set).
        """
        result: Array = _normal(self.rises(RISE_FRAMES)) + 0.6 * self.low + 0.5 * self.change
        return result

    @cached_property
    def onsets(self) -> Array:
        """The rises over two frames, which show where soft sounds begin."""
        return self.rises(2)

    def rises(self, reach: int) -> Array:
        """The mean rise over ``reach`` frames of all bands, each in parts of its own spread."""
        import numpy as np

        rises = np.zeros(len(self.bands), np.float32)
        for band in range(self.bands.shape[1]):  # one at a time: a long track would need much memory
            rise = np.maximum(0, self.bands[reach:, band] - self.bands[:-reach, band])
            rises[reach:] += rise / max(1e-3, float(rise.std()) if len(rise) else 0.0)
        result: Array = rises / self.bands.shape[1]
        return result


def hear(samples: Array) -> Heard:
    """Compute the features of a track (one channel at :data:`RATE`)."""
    import numpy as np

    frames = len(samples) // HOP + 1
    full = np.zeros(frames, np.float32)
    low = np.zeros(frames, np.float32)
    power = np.zeros(frames, np.float32)
    bank = _bank(ONSET_WINDOW, 60.0, 10_000.0, 6)
    bands = np.zeros((frames, bank.shape[1]), np.float32)
    lows = np.zeros(frames, np.float32)
    bins = np.fft.rfftfreq(ONSET_WINDOW, 1 / RATE)
    is_low = (bins >= 30) & (bins <= 160)
    for start, spectrum in _spectra(samples, frames, ONSET_WINDOW, 1):
        stop = start + len(spectrum)
        bands[start:stop] = np.log1p(100 * (spectrum @ bank))
        lows[start:stop] = np.log1p(100 * spectrum[:, is_low].mean(axis=1))
        power[start:stop] = (spectrum**2).sum(axis=1)
    full[2:] = np.maximum(0, bands[2:] - bands[:-2]).mean(axis=1)
    low[3:] = np.maximum(0, lows[3:] - lows[:-3])
    chroma, bass = _chroma(samples, frames)
    change = (_normal(_changes(chroma)) + _normal(_changes(bass)))[:frames]
    loud = 10 * np.log10(_smooth(power, 40) + 1e-9)
    return Heard(_normal(full), _normal(low), change, loud.astype(np.float32), chroma, bass, bands)


def _spectra(samples: Array, frames: int, window: int, every: int) -> Any:
    """(first row, magnitudes) in chunks of rows; rows are centred on their frame."""
    import numpy as np

    shape = np.hanning(window).astype(np.float32)
    padded = np.concatenate([np.zeros(window // 2, np.float32), samples, np.zeros(window, np.float32)])
    rows = np.lib.stride_tricks.sliding_window_view(padded, window)[:: HOP * every]
    count = (frames + every - 1) // every
    for start in range(0, count, 2000):
        chunk = rows[start : min(start + 2000, count)] * shape
        yield start, np.abs(np.fft.rfft(chunk, axis=1)).astype(np.float32) * (2 / window)


def _bank(window: int, lowest: float, highest: float, per_octave: int) -> Array:
    """Triangular bands of equal width in octaves, each summing to one: (bins, bands); empty bands are left out."""
    import numpy as np

    bins = np.fft.rfftfreq(window, 1 / RATE)
    edges = lowest * 2.0 ** (np.arange(int(np.log2(highest / lowest) * per_octave) + 2) / per_octave)
    columns = []
    for left, centre, right in zip(edges, edges[1:], edges[2:], strict=False):
        column = np.clip(np.minimum((bins - left) / (centre - left), (right - bins) / (right - centre)), 0, None)
        if column.sum() > 0:
            columns.append(column / column.sum())
    return np.array(columns, np.float32).T


def _chroma(samples: Array, frames: int) -> tuple[Array, Array]:
    """Pitch classes of the middle (190-2000 Hz) and bass (40-190 Hz) registers, per frame."""
    import numpy as np

    bins = np.fft.rfftfreq(TONE_WINDOW, 1 / RATE)
    maps = []
    for least, most in ((190.0, 2000.0), (40.0, 190.0)):
        classes = np.zeros((len(bins), 12), np.float32)
        inside = np.flatnonzero((bins >= least) & (bins <= most))
        pitch = np.round(12 * np.log2(bins[inside] / 440.0)).astype(int) % 12
        classes[inside, pitch] = 1.0
        maps.append(classes)
    both = np.concatenate(maps, axis=1)
    rows = np.zeros(((frames + TONE_EVERY - 1) // TONE_EVERY, 24), np.float32)
    for start, spectrum in _spectra(samples, frames, TONE_WINDOW, TONE_EVERY):
        rows[start : start + len(spectrum)] = np.log1p(100 * spectrum) @ both
    return rows[:, :12], rows[:, 12:]


def _changes(tones: Array) -> Array:
    """1 - cosine of the mean 0.4 s before and after, at every frame."""
    import numpy as np

    width = round(0.4 * FRAMES_PER_S / TONE_EVERY)
    sums = np.concatenate([np.zeros((1, 12)), np.cumsum(tones, axis=0, dtype=np.float64)])
    count = len(tones)
    index = np.arange(count)
    before = sums[index] - sums[np.maximum(0, index - width)]
    after = sums[np.minimum(count, index + width)] - sums[index]
    length = np.linalg.norm(before, axis=1) * np.linalg.norm(after, axis=1)
    change = np.where(length > 1e-6, 1 - (before * after).sum(axis=1) / np.maximum(length, 1e-6), 0)
    return np.interp(np.arange(count * TONE_EVERY) / TONE_EVERY, index, change).astype(np.float32)


def _normal(values: Array) -> Array:
    """Divide by the running maximum over 8 s (with a floor, so that silence stays silent)."""
    import numpy as np
    from scipy.ndimage import maximum_filter1d

    most = maximum_filter1d(values, int(RUNNING_MAX_S * FRAMES_PER_S))
    result: Array = (values / np.maximum(most, 1e-3 + 0.02 * float(values.max()))).astype(np.float32)
    return result


def _smooth(values: Array, width: int) -> Array:
    from scipy.ndimage import uniform_filter1d

    return uniform_filter1d(values, width)  # type: ignore[no-any-return]
