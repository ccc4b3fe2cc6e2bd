"""Which numbers of counts can be filled: by lengths alone (the coin problem), and by figures that really join.

Counts are whole; a figure's length in counts is ``chart.beats``.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from typing import Final

from composer.catalogue.model import Catalogue, Figure, Stand

LOOK_AHEAD: Final = 16
"""How many counts beyond the music are looked at for lengths that would do."""


def representable(lengths: Iterable[int], upto: int) -> list[bool]:
    """For every number 0..``upto`` whether it is a sum of these lengths, each as often as wanted."""
    usable = sorted({length for length in lengths if length > 0})
    found = [True] + [False] * upto
    for total in range(1, upto + 1):
        found[total] = any(length <= total and found[total - length] for length in usable)
    return found


def largest_gap(lengths: Iterable[int]) -> int | None:
    """The largest number that is no sum of these lengths; None when there is no largest, -1 when all are sums.

    For two lengths a, b without a common factor it is a*b - a - b (Sylvester).
    """
    from math import gcd

    usable = sorted({length for length in lengths if length > 0})
    if not usable or gcd(*usable) != 1:
        return None
    if usable[0] == 1:
        return -1
    found = representable(usable, usable[0] * usable[-1])  # an upper bound of the Frobenius number (Schur)
    return max(total for total, possible in enumerate(found) if not possible)


def danceable(
    catalogue: Catalogue,
    figures: Mapping[str, Figure],
    upto: int,
    bar_beats: Iterable[int],
    *,
    boundaries: Collection[int] = (),
    both_lead: bool = False,
) -> list[bool]:
    """For every number of counts 0..``upto`` whether these figures fill it, one joining the next.

    Parameters
    ----------
    bar_beats : the beat of the bar of every count; repeated from its start when it is shorter than ``upto``.
    boundaries : counts (from 0) that no figure may run across.
    both_lead : partners may change roles between two figures where hands and feet allow it.
    """
    beats = list(bar_beats)
    stands: dict[tuple[str, str, str], list[Figure]] = {}
    reached: list[set[tuple[str, str, str] | None]] = [set() for _ in range(upto + 1)]
    reached[0].add(None)
    cuts = sorted(boundaries)
    for at in range(upto):
        in_bar = beats[at % len(beats)]
        stop = next((cut for cut in cuts if cut > at), upto)
        for stand in reached[at]:
            for figure in _onward(catalogue, figures, stands, stand, both_lead=both_lead):
                end = at + figure.chart.beats
                if end <= upto and (end <= stop or stop == upto) and in_bar in figure.chart.starts_on:
                    leaves = figure.chart.exit
                    reached[end].add((leaves.hold, leaves.leader_free, leaves.follower_free))
    return [bool(stand) for stand in reached]


def _onward(
    catalogue: Catalogue,
    figures: Mapping[str, Figure],
    known: dict[tuple[str, str, str], list[Figure]],
    stand: tuple[str, str, str] | None,
    *,
    both_lead: bool = False,
) -> Iterable[Figure]:
    if stand is None:
        return figures.values()
    if stand not in known:
        hold, leader, follower = stand
        here = Stand(hold, 0, "L" if leader == "L" else "R", "L" if follower == "L" else "R")
        known[stand] = [
            figure
            for figure in figures.values()
            if catalogue.joins(here, figure) or (both_lead and catalogue.takes_over(here, figure))
        ]
    return known[stand]


def around(possible: list[bool], wanted: int) -> tuple[int | None, int | None]:
    """The nearest possible number below and above ``wanted``; zero counts are no routine."""
    below = next((n for n in range(min(wanted, len(possible)) - 1, 0, -1) if possible[n]), None)
    above = next((n for n in range(wanted + 1, len(possible)) if possible[n]), None)
    return below, above


NAMES: Final = {2: "twos", 3: "threes", 4: "fours", 5: "fives", 6: "sixes", 8: "eights", 12: "twelves"}


def made_of(lengths: Collection[int]) -> str:
    """``sixes``; ``6 and 9``."""
    known = sorted(set(lengths))
    if len(known) == 1:
        return NAMES.get(known[0], f"figures of {known[0]} counts")
    return " and ".join([", ".join(map(str, known[:-1])), str(known[-1])])


def can_words(below: int | None, above: int | None) -> str:
    """``30 and 36 can``; empty when neither can."""
    near = [str(n) for n in (below, above) if n is not None]
    return f"{' and '.join(near)} can" if near else ""
