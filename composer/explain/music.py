"""The same music a few bars shorter or longer, as a timeline. The beginning stays as it is."""

from __future__ import annotations

from dataclasses import replace

from composer.timeline.model import Beat, Phrase, Section, Timeline
from composer.units import TICKS_PER_BEAT


def shorter(music: Timeline, bars: int) -> Timeline:
    """The music without its last bars; phrases, sections and hits end with it."""
    end = music.usable[1] - bars * music.beats_per_bar
    if end <= music.usable[0]:
        raise ValueError("no music is left")
    phrases = tuple(replace(p, beats=min(p.beats, end - p.start)) for p in music.phrases if p.start < end)
    sections = tuple(replace(s, beats=min(s.beats, end - s.start)) for s in music.sections if s.start < end)
    accents = tuple(a for a in music.accents if a.tick < end * TICKS_PER_BEAT)
    return replace(music, usable=(music.usable[0], end), phrases=phrases, sections=sections, accents=accents)


def longer(music: Timeline, bars: int) -> Timeline:
    """The music with bars added at the end, in tempo; the last section goes on, the last phrase is filled up first."""
    more, end = bars * music.beats_per_bar, music.usable[1]
    kept = music.beats[:end]
    step = (music.end_s - music.beats[0].at_s) / len(music.beats)
    last = kept[-1]
    added = tuple(Beat(last.at_s + step * (i + 1), (last.in_bar + i) % music.beats_per_bar + 1) for i in range(more))
    longest = max((phrase.beats for phrase in music.phrases), default=more)
    phrases = list(music.phrases)
    room = min(more, longest - phrases[-1].beats) if len(phrases) > 1 else more
    phrases[-1] = replace(phrases[-1], beats=phrases[-1].beats + room)
    at = end + room
    while at < end + more:
        phrases.append(Phrase(at, min(longest, end + more - at)))
        at += phrases[-1].beats
    final: Section = music.sections[-1]
    sections = (*music.sections[:-1], replace(final, beats=final.beats + more))
    return replace(
        music, beats=(*kept, *added), usable=(music.usable[0], end + more), end_s=added[-1].at_s + step,
        phrases=tuple(phrases), sections=sections,
    )  # fmt: skip
