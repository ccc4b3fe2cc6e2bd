"""Slower and faster at the same pitch: waveform-similarity overlap-add (WSOLA).

Method: W. Verhelst and M. Roelands, "An overlap-add technique based on waveform similarity for high quality
time-scale modification of speech", ICASSP 1993. Short overlapping pieces of the sound are laid down at another
spacing; each is moved a little so that its waveform continues the one before.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Samples = NDArray[np.float32]

FRAME: Final = 1024
HOP: Final = FRAME // 2
SEARCH: Final = 220
"""How far a piece may be moved (samples; 10 ms at 22 050 a second)."""


def stretched(samples: Samples, rate: float) -> Samples:
    """The sound at ``rate`` times its speed (0.4 to 2), pitch unchanged; one channel.

    Raises
    ------
    ValueError
        For a rate outside 0.4 to 2.
    """
    import numpy as np

    if not 0.4 <= rate <= 2:
        raise ValueError("speed must be between 0.4 and 2 times")
    if rate == 1 or len(samples) < 2 * FRAME:
        return samples
    window = np.hanning(FRAME + 1)[:FRAME].astype(np.float32)
    padded = np.concatenate([np.zeros(SEARCH, np.float32), samples, np.zeros(2 * FRAME + 2 * SEARCH, np.float32)])
    count = int(len(samples) / rate / HOP) + 1
    result = np.zeros((count + 1) * HOP + FRAME, dtype=np.float32)
    previous = SEARCH
    result[:FRAME] += padded[previous : previous + FRAME] * window
    for index in range(1, count):
        wanted = SEARCH + round(index * HOP * rate)
        if wanted + FRAME + SEARCH > len(padded):
            break
        natural = padded[previous + HOP : previous + HOP + FRAME]
        around = padded[wanted - SEARCH : wanted + SEARCH + FRAME]
        if len(natural) < FRAME:
            break
        previous = wanted - SEARCH + _best_shift(around, natural)
        place = index * HOP
        result[place : place + FRAME] += padded[previous : previous + FRAME] * window
    return result[: round(len(samples) / rate)]


def _best_shift(around: Samples, natural: Samples) -> int:
    """Where in ``around`` the piece lies that is most like ``natural`` (cross-correlation by FFT)."""
    import numpy as np

    size = 2048
    spectrum = np.fft.rfft(around, size) * np.conj(np.fft.rfft(natural, size))
    likeness = np.fft.irfft(spectrum, size)[: len(around) - FRAME + 1]
    return int(np.argmax(likeness))
