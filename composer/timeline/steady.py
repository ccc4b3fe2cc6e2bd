"""Music known only by its tempo and its number of bars: beats a constant time apart from 0 s."""

from __future__ import annotations

from fractions import Fraction

from composer.timeline.assemble import Bars


def steady_bars(tempo: float, bars: int, beats_per_bar: int, title: str = "") -> Bars:
    """Bars of a metronome.

    Parameters
    ----------
    tempo : beats per minute.
    """
    beat_s = Fraction(60) / Fraction(str(tempo))
    times = tuple(
        tuple(float((bar * beats_per_bar + beat) * beat_s) for beat in range(beats_per_bar)) for bar in range(bars)
    )
    return Bars(title, "tempo", beats_per_bar, times, float(bars * beats_per_bar * beat_s))
