"""Where the stretches of an old routine fall when the music changes.

The same recording or score cut otherwise: by its bars. Other music: section by section, the first
chorus to the first chorus. Neither: count for count.
"""

from __future__ import annotations

from collections.abc import Iterator

from composer.brief.schema import Music
from composer.revise.kept import Piece
from composer.timeline.model import Timeline
from composer.units import TICKS_PER_BEAT


def pieces_between(old: Timeline, new: Timeline, was: Music, now: Music) -> tuple[Piece, ...]:
    """Stretches of the old routine and where they are danced now; () when nothing moved."""
    if old == new:
        return ()
    source = [
        (
            m.score,
            m.tune,
            m.beats,
            m.timeline,
            m.track,
            None if m.score or m.beats or m.timeline or m.track else m.tempo,
        )
        for m in (was, now)
    ]
    if source[0] == source[1]:
        return tuple(_by_bar(old, new, was, now))
    if any(section.label for section in old.sections) and any(section.label for section in new.sections):
        return tuple(_by_section(old, new))
    return (Piece(0, 0, min(old.length_ticks, new.length_ticks)),)


def _named_beats(timeline: Timeline, music: Music) -> list[tuple[int, int]]:
    """For every danced beat its bar, numbered as in the whole music, and its place in it."""
    out = {bar for span in music.leave_out for bar in range(span.first, span.last + 1)}
    bar, found = timeline.first_bar, []
    for beat in range(timeline.length_beats):
        in_bar = timeline.beats[timeline.usable[0] + beat].in_bar
        if beat and in_bar == 1:
            bar += 1
            while bar in out:
                bar += 1
        found.append((bar, in_bar))
    return found


def _by_bar(old: Timeline, new: Timeline, was: Music, now: Music) -> Iterator[Piece]:
    places = {name: beat for beat, name in enumerate(_named_beats(new, now))}
    runs: list[list[int]] = []
    for beat, name in enumerate(_named_beats(old, was)):
        place = places.get(name)
        if place is None:
            continue
        if not runs or (runs[-1][0] + runs[-1][2], runs[-1][1] + runs[-1][2]) != (beat, place):
            runs.append([beat, place, 0])
        runs[-1][2] += 1
    for begin, place, length in runs:
        yield Piece(begin * TICKS_PER_BEAT, place * TICKS_PER_BEAT, length * TICKS_PER_BEAT)


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
