"""What of a routine stays: the same figure, begun on the same count, is what the couple has learned.

A count *stays* when the dancers dance the same part of the same figure on it as before, led by the same partner; all
other counts *change*.
Every count weighs 1, or :data:`PRACTISED` when it has been practised. The place on the floor and the direction may
differ: they are not what has to be learned again. Where the music changed, ``pieces`` say which stretch of the old
routine falls where in the new music.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from composer.network.model import Network
from composer.routine import Routine
from composer.rules.base import Row, Term
from composer.units import TICKS_PER_BEAT
from composer.versions import Begun as Begun
from composer.versions import Counts as Counts

PRACTISED: Final = 4
"""Weight of a count that has been practised; one that has not weighs 1. Common practice, no source."""
TERM: Final = "revise:kept"
LED_BY_THE_OTHER: Final = "~"


def danced_as(figure: str, swapped: bool) -> str:
    """A figure as the couple has learned it: led by the other partner it is another thing, and gets another name."""
    return f"{figure}{LED_BY_THE_OTHER}" if swapped else figure


def figure_of(name: str) -> str:
    """The figure's id of such a name."""
    return name.removesuffix(LED_BY_THE_OTHER)


@dataclass(frozen=True)
class Piece:
    """``length`` ticks of the old routine from ``old`` on are danced from ``new`` on; whole beats."""

    old: int
    new: int
    length: int


@dataclass(frozen=True)
class Keeping:
    """What each figure of the old routine is worth where it may stay, in weighted counts.

    ``worth`` by (figure, new start); ``places`` the old routine's figures at their new starts in order (also those
    that do not fit the new music whole, which have no worth); ``most`` the sum of all worths.
    """

    worth: Mapping[Begun, int]
    places: tuple[Begun, ...]

    @property
    def most(self) -> int:
        """Weighted counts kept when everything stays."""
        return sum(self.worth.values())


def beats_within(start: int, end: int) -> range:
    """Beats whose onset lies in the half-open range of ticks."""
    return range(-(-start // TICKS_PER_BEAT), -(-end // TICKS_PER_BEAT))


def keeping(old: Routine, length_ticks: int, pieces: Iterable[Piece] = (), practised: Iterable[Counts] = ()) -> Keeping:
    """What may stay of a routine in music of ``length_ticks``; without ``pieces`` nothing moved."""
    weight = {beat: PRACTISED for first, last in practised for beat in range(first - 1, last)}
    moves = tuple(pieces) or (Piece(0, 0, max(length_ticks, old.length_ticks)),)
    worth: dict[Begun, int] = {}
    places: list[Begun] = []
    for placed in old.figures:
        length = placed.end_tick - placed.start_tick
        for piece in moves:
            inside = piece.old <= placed.start_tick and placed.end_tick <= piece.old + piece.length
            begins = placed.start_tick - piece.old + piece.new
            if inside and begins + length <= length_ticks:
                beats = beats_within(placed.start_tick, placed.end_tick)
                name = danced_as(placed.figure, placed.swapped)
                worth[name, begins] = sum(weight.get(beat, 1) for beat in beats)
                places.append((name, begins))
                break
    return Keeping(worth, tuple(places))


def kept_worth(kept: Keeping, routine: Routine) -> tuple[int, tuple[int, ...]]:
    """Weighted counts of the old routine that a routine keeps: in all, and by its figures."""
    given = tuple(kept.worth.get((danced_as(p.figure, p.swapped), p.start_tick), 0) for p in routine.figures)
    return sum(given), given


def kept_term(kept: Keeping, network: Network) -> Term:
    """The same as a term over arcs."""
    worth = {
        arc.id: kept.worth.get((danced_as(arc.figure, arc.swapped), arc.start), 0) for arc in network.arcs if arc.figure
    }
    return Term(TERM, "Counts that stay as they were", {arc: points for arc, points in worth.items() if points})


def kept_row(kept: Keeping, network: Network, *, least: int | None = None, most: int | None = None) -> Row:
    """At least (at most) so many weighted counts stay."""
    return Row(dict(kept_term(kept, network).weights), least, most)


def danced_at(routine: Routine) -> list[tuple[str, int] | None]:
    """For every beat of a routine the figure danced on it and the tick it began; None where there is none."""
    found: list[tuple[str, int] | None] = [None] * (routine.length_ticks // TICKS_PER_BEAT)
    for placed in routine.figures:
        for beat in beats_within(placed.start_tick, placed.end_tick):
            if 0 <= beat < len(found):
                found[beat] = (danced_as(placed.figure, placed.swapped), placed.start_tick)
    return found


def changed_counts(old: Routine, new: Routine, pieces: Iterable[Piece] = ()) -> tuple[int, ...]:
    """Counts (from 1) of the new routine on which something else is danced than before."""
    moves = tuple(pieces) or (Piece(0, 0, max(new.length_ticks, old.length_ticks)),)
    before: dict[int, tuple[str, int]] = {}
    for beat, what in enumerate(danced_at(old)):
        tick = beat * TICKS_PER_BEAT
        for piece in moves:
            if what is not None and piece.old <= tick < piece.old + piece.length:
                shift = piece.new - piece.old
                before[(tick + shift) // TICKS_PER_BEAT] = (what[0], what[1] + shift)
    return tuple(beat + 1 for beat, what in enumerate(danced_at(new)) if what is None or before.get(beat) != what)


def distance(one: Routine, other: Routine) -> tuple[int, int]:
    """(counts danced differently, counts in all) of two routines to the same music."""
    return len(changed_counts(one, other)), max(1, one.length_ticks // TICKS_PER_BEAT)


def stretches(counts: Iterable[int]) -> tuple[Counts, ...]:
    """Counts as runs: 3 4 5 9 -> (3, 5), (9, 9)."""
    found: list[Counts] = []
    for count in sorted(counts):
        if found and found[-1][1] == count - 1:
            found[-1] = (found[-1][0], count)
        else:
            found.append((count, count))
    return tuple(found)
