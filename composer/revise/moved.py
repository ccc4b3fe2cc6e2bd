"""Where the stretches of an old routine fall when the music changes.

The same recording or score cut otherwise: by the clock of the music. Other music: section by section, the first
chorus to the first chorus. Neither: count for count.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Final

from composer.brief.schema import Music
from composer.revise.kept import Piece
from composer.timeline.model import Timeline
from composer.units import TICKS_PER_BEAT

SAME_S: Final = 0.002
"""Beats closer than this are the same beat of the same music."""


def pieces_between(old: Timeline, new: Timeline, was: Music, now: Music) -> tuple[Piece, ...]:
    """Stretches of the old routine and where they are danced now; () when nothing moved."""
    if old == new:
        return ()
    source = [
        (m.score, m.tune, m.beats, m.track, None if m.score or m.beats or m.track else m.tempo) for m in (was, now)
    ]
    if source[0] == source[1]:
        return tuple(_by_clock(old, new))
    if any(section.label for section in old.sections) and any(section.label for section in new.sections):
        return tuple(_by_section(old, new))
    return (Piece(0, 0, min(old.length_ticks, new.length_ticks)),)


def _by_clock(old: Timeline, new: Timeline) -> Iterator[Piece]:
    times = [new.beats[new.usable[0] + beat].at_s for beat in range(new.length_beats)]
    pairs: list[tuple[int, int]] = []
    at = 0
    for beat in range(old.length_beats):
        when = old.beats[old.usable[0] + beat].at_s
        while at < len(times) and times[at] < when - SAME_S:
            at += 1
        if at < len(times) and abs(times[at] - when) <= SAME_S:
            pairs.append((beat, at))
    runs: list[list[int]] = []
    for (a, b), before in zip(pairs, [None, *pairs], strict=False):
        if before is None or (a - before[0], b - before[1]) != (1, 1):
            runs.append([a, b, 0])
        runs[-1][2] += 1
    for a, b, length in runs:
        yield Piece(a * TICKS_PER_BEAT, b * TICKS_PER_BEAT, length * TICKS_PER_BEAT)


def _by_section(old: Timeline, new: Timeline) -> Iterator[Piece]:
    seen: dict[str, int] = {}
    places: dict[tuple[str, int], tuple[int, int]] = {}
    for section in new.sections:
        number = seen[section.label] = seen.get(section.label, 0) + 1
        places[section.label, number] = (section.start - new.usable[0], section.beats)
    seen = {}
    for section in old.sections:
        number = seen[section.label] = seen.get(section.label, 0) + 1
        if (section.label, number) in places:
            start, beats = places[section.label, number]
            begins = section.start - old.usable[0]
            yield Piece(begins * TICKS_PER_BEAT, start * TICKS_PER_BEAT, min(beats, section.beats) * TICKS_PER_BEAT)


def joined(pieces: tuple[Piece, ...]) -> tuple[Piece, ...]:
    """Neighbouring pieces that moved alike as one, so that figures across their border may stay."""
    found: list[Piece] = []
    for piece in pieces:
        if found and found[-1].old + found[-1].length == piece.old and found[-1].new + found[-1].length == piece.new:
            found[-1] = Piece(found[-1].old, found[-1].new, found[-1].length + piece.length)
        else:
            found.append(piece)
    return tuple(found)


def gaps(pieces: tuple[Piece, ...]) -> list[tuple[int, int]]:
    """Ticks of the old routine that fall away between pieces."""
    return [(a.old + a.length, b.old) for a, b in pairwise(pieces) if a.old + a.length < b.old]
