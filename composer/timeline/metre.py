"""What dancers count: the beat of a time signature.

Compound metres (6/8, 9/8, 12/8, 6/4 ...) are counted in dotted notes, 2/2 and 3/2 in halves, x/4 in quarters;
x/8 that is not compound (3/8, 5/8, 7/8) in eighths. Common practice, no source. The user may count otherwise
(``beats_per_bar``): 6 in a slow 6/8, 2 in a fast 4/4.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True)
class Metre:
    """A time signature and how it is counted: ``beats`` of ``beat`` quarter notes each."""

    top: int
    bottom: int
    beats: int
    beat: Fraction

    @property
    def bar(self) -> Fraction:
        """Length of a bar in quarter notes."""
        return self.beats * self.beat


def metre_of(top: int, bottom: int, beats_per_bar: int | None = None) -> Metre:
    """The metre of a time signature.

    Raises
    ------
    ValueError
        If the signature is none, or cannot be counted in ``beats_per_bar`` plain or dotted notes.
    """
    if not 1 <= top <= 32 or bottom not in (1, 2, 4, 8, 16, 32):
        raise ValueError(f"{top}/{bottom} is not a time signature that can be danced")
    bar = Fraction(4 * top, bottom)
    if beats_per_bar is not None:
        beat = bar / beats_per_bar
        if beat.numerator not in (1, 2, 3, 4) or beat.denominator not in (1, 2, 4, 8):
            raise ValueError(f"a bar of {top}/{bottom} cannot be counted in {beats_per_bar}")
        return Metre(top, bottom, beats_per_bar, beat)
    if top % 3 == 0 and top > 3 and bottom >= 4:
        return Metre(top, bottom, top // 3, Fraction(12, bottom))
    return Metre(top, bottom, top, Fraction(4, bottom))
