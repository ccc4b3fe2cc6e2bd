"""How crowded a floor is: square metres for each couple against published numbers. Advice only; nothing is composed
by it.

Source: tests/facts/floor_sizes.csv (competition heats 16 to 20 m2 a couple; party floors 9 sq ft a couple).
"""

from __future__ import annotations

from typing import Final

from composer.floor.model import Room
from composer.floor.shape import area2

COMPETITION_M2: Final = (16.0, 20.0)
PARTY_M2: Final = 9 * 0.3048**2


def m2_per_couple(room: Room) -> float | None:
    """Floor for each couple when ``room.couples`` dance at once; None when the brief does not say how many."""
    return None if room.couples is None else area2(room.outer) / 2 / 1e6 / room.couples


def crowd_words(room: Room) -> str:
    """One sentence about the other couples, empty when nothing is known of them."""
    each = m2_per_couple(room)
    if each is None:
        return ""
    low, high = COMPETITION_M2
    what = f"{room.couples} couples on this floor leave {each:.1f} m² to each"
    if each >= high:
        return f"{what}: roomier than competition heats ({low:g} to {high:g} m²)."
    if each >= low:
        return f"{what}: like competition heats ({low:g} to {high:g} m²); keep the routine ready to wait or go round."
    if each >= PARTY_M2:
        return (
            f"{what}: closer than competition heats ({low:g} to {high:g} m²); shorten strides, and expect to stop and"
            " go on."
        )
    return f"{what}: less than a party floor ({PARTY_M2:.2f} m²); a routine that travels will not go through."
