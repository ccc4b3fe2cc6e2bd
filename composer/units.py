"""Units shared by every room of the tool: time in ticks, lengths in millimetres, turns in eighths.

Conventions
-----------
* A *tick* is 1/12 of a beat, so halves, thirds, quarters and sixths of a beat are whole numbers.
* Counts are what dancers say and begin at 1; tick 0 is count 1.
* Lengths are integer millimetres, never floats, once they leave a file.
* Turns are clockwise-positive. Facings are eighths clockwise from line of dance (0 = LOD); inside a
  figure sixteenths are used so that half an eighth can be written.
* World frame: x to the east, y to the north, facing 0 is east. Line of dance on the first (south) side
  of the room runs east, so the wall is on the right, as everywhere in the trade (counter-clockwise laps).
"""

from __future__ import annotations

import math
import re
from fractions import Fraction
from typing import Any, Final

TICKS_PER_BEAT: Final = 12

ALIGNMENTS: Final = ("LOD", "DW", "W", "DWA", "ALOD", "DCA", "C", "DC")
ALIGNMENT_WORDS: Final = (
    "line of dance",
    "diagonal wall",
    "wall",
    "diagonal wall against",
    "against line of dance",
    "diagonal centre against",
    "centre",
    "diagonal centre",
)

_COUNT = re.compile(r"^\s*(\d+)\s*(?:(&|a|e)|\s(\d+)/(\d+))?\s*$")
_AND: Final = {"&": Fraction(1, 2), "a": Fraction(3, 4), "e": Fraction(1, 4)}
_LENGTH = re.compile(r"^\s*(-?\d+(?:\.\d+)?)\s*(mm|cm|m|ft|in)?\s*$")
_MM: Final = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "ft": Fraction(3048, 10),
    "in": Fraction(254, 10),
}


def count_from(text: str | int) -> Fraction:
    """Read a dancer's count: ``3``, ``3&`` (3 1/2), ``3a`` (3 3/4), ``3e`` (3 1/4) or ``3 1/3``.

    Raises
    ------
    ValueError
        If the text is none of these, or the count is below 1.
    """
    match = _COUNT.match(str(text))
    if match is None:
        raise ValueError(f"'{text}' is not a count; write 3, 3&, 3a or 3 1/3")
    whole, letter, top, bottom = match.groups()
    value = Fraction(int(whole))
    if letter:
        value += _AND[letter]
    elif top:
        if int(bottom) == 0 or int(top) >= int(bottom):
            raise ValueError(f"'{text}' is not a count; the part after the number must be below one beat")
        value += Fraction(int(top), int(bottom))
    if value < 1:
        raise ValueError(f"'{text}' is not a count; counts begin at 1")
    return value


def count_text(count: Fraction) -> str:
    """Write a count the way dancers say it (the inverse of :func:`count_from`)."""
    whole, rest = divmod(count, 1)
    for letter, part in _AND.items():
        if rest == part:
            return f"{whole}{letter}"
    return str(whole) if rest == 0 else f"{whole} {rest.numerator}/{rest.denominator}"


def ticks_from_beats(beats: Fraction | int) -> int:
    """Whole ticks for a number of beats.

    Raises
    ------
    ValueError
        If the beats are no whole number of ticks.
    """
    ticks, rest = divmod(beats.numerator * TICKS_PER_BEAT, beats.denominator)
    if rest:
        raise ValueError(f"{beats} beats is no whole number of twelfths of a beat")
    return ticks


def beats_from_ticks(ticks: int) -> Fraction:
    """Exact beats for ticks."""
    return Fraction(ticks, TICKS_PER_BEAT)


def count_at(ticks: int) -> Fraction:
    """The count (from 1) at a tick (from 0)."""
    return 1 + beats_from_ticks(ticks)


def millimetres(value: str | int | float) -> int:
    """Read a length: ``5 m``, ``16 ft``, ``450 mm``, ``30 cm``; a bare number is metres.

    Raises
    ------
    ValueError
        If it is not a finite length in a known unit.
    """
    match = _LENGTH.match(str(value))
    if match is None:
        raise ValueError(f"'{value}' is not a length; write 5 m, 16 ft, 30 cm or 450 mm")
    number, unit = match.groups()
    return round(Fraction(number) * _MM[unit or "m"])


def alignment_from(text: str) -> int:
    """Eighths clockwise from line of dance for ``DW``, ``facing DW`` or ``backing DC`` (backing = facing + 4).

    Raises
    ------
    ValueError
        If the alignment is unknown.
    """
    words = text.strip().split()
    flip = 0
    if words and words[0].lower() in {"facing", "backing"}:
        flip = 4 if words[0].lower() == "backing" else 0
        words = words[1:]
    name = " ".join(words)
    if name.upper() in ALIGNMENTS:
        return (ALIGNMENTS.index(name.upper()) + flip) % 8
    if name.lower() in ALIGNMENT_WORDS:
        return (ALIGNMENT_WORDS.index(name.lower()) + flip) % 8
    raise ValueError(f"'{text}' is not an alignment; use one of {', '.join(ALIGNMENTS)}")


def world_from_local(forward: Any, right: Any, facing16: int) -> tuple[Any, Any]:
    """Turn (forward, right) of a dancer who faces ``facing16`` sixteenths clockwise from east into (x, y).

    Numbers or arrays of numbers.
    """
    angle = facing16 * math.pi / 8
    cos, sin = math.cos(angle), math.sin(angle)
    return forward * cos - right * sin, -forward * sin - right * cos


def local_from_world(x: float, y: float, facing16: int) -> tuple[float, float]:
    """The inverse of :func:`world_from_local`."""
    angle = facing16 * math.pi / 8
    cos, sin = math.cos(angle), math.sin(angle)
    return x * cos - y * sin, -x * sin - y * cos
