"""The same music a few bars shorter or longer, as a timeline, and the changes a brief can make to it.

Left out can be the end, the beginning, or a whole phrase; more there is only where the music is made to measure or the
brief itself had cut it off.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import replace
from typing import Final

from composer.brief.music import timeline_from
from composer.errors import BadInput
from composer.explain.degrees import Rung
from composer.problem import Problem
from composer.timeline.leftout import bar_starts, without_bars
from composer.timeline.model import Beat, Phrase, Section, Timeline
from composer.units import TICKS_PER_BEAT

MOST_BARS: Final = 8
"""More than this added or left out is other music."""


def bars_rungs(problem: Problem, worth: Collection[int]) -> list[Rung]:
    """So many bars left out (below 0) or added in every way the brief allows; mildest first."""
    found = [*_less(problem, worth), *_more(problem, worth)]
    return sorted(found, key=lambda rung: (rung.cost, rung.kind, abs(rung.bars)))


def _less(problem: Problem, worth: Collection[int]) -> Iterator[Rung]:
    music, beats = problem.timeline, problem.timeline.beats_per_bar
    bars_of = sorted(bar_starts(music))[:-1]
    for bars in range(1, min(MOST_BARS, len(bars_of) - 1) + 1):
        left = music.length_beats - bars * beats
        if left <= 0 or -bars not in worth:
            continue
        cost = 2 + bars // 2
        text = f"dance {_bars(bars, beats)} less, {left} counts in all"
        yield Rung("fewer counts", text, cost, bars=-bars, music=shorter(music, bars), said=f"music: {bars} bars fewer")
        later = without_bars(music, [(bars_of[0], bars_of[bars - 1])])
        text = f"begin {_bars(bars, beats)} later in the music, {later.length_beats} counts in all"
        if later.length_beats == left:
            said = f"music.first_bar: {bars_of[bars]}"
            yield Rung("begin later", text, cost, bars=-bars, music=later, said=said)
        for first in _phrases_of(music, bars, bars_of):
            span = (first, first + bars - 1)
            kept = without_bars(music, [span])
            where = f"bar {first}" if bars == 1 else f"bars {first} to {span[1]}"
            text = f"leave out {where} of the music ({bars * beats} counts), {left} counts in all"
            said = f"music.leave_out: {span[0]} to {span[1]}"
            yield Rung("a phrase less", text, cost + 1, bars=-bars, music=kept, said=said)


def _phrases_of(music: Timeline, bars: int, bars_of: list[int]) -> Iterator[int]:
    """First bars of phrases of so many bars, neither the first phrase nor the last."""
    starts = {beat: bar for bar, beat in bar_starts(music).items()}
    for phrase in music.phrases[1:-1]:
        at = phrase.start - music.usable[0]
        if phrase.beats == bars * music.beats_per_bar and at in starts and at + phrase.beats in starts:
            yield starts[at]


def _more(problem: Problem, worth: Collection[int]) -> Iterator[Rung]:
    """More bars: of music made to measure as many as wanted, else those the brief had left aside."""
    music, given, beats = problem.timeline, problem.brief.music, problem.timeline.beats_per_bar
    sources = (given.score, given.beats, given.timeline, given.track)
    measured = given.tempo is not None and all(source is None for source in sources)
    for bars in range(1, MOST_BARS + 1):
        if bars not in worth:
            continue
        total, cost = music.length_beats + bars * beats, 2 + bars // 2
        text = f"dance {_bars(bars, beats)} more, {total} counts in all"
        if measured and given.last_bar is None:
            said = f"music: {bars} bars more"
            yield Rung("more counts", text, cost, bars=bars, music=longer(music, bars), said=said)
        elif given.last_bar is not None:
            yield from _read_again(problem, "more counts", text, bars, "last_bar", given.last_bar + bars)
        if given.first_bar > bars:
            text = f"begin {_bars(bars, beats)} earlier in the music, {total} counts in all"
            yield from _read_again(problem, "begin earlier", text, bars, "first_bar", given.first_bar - bars)


def _read_again(problem: Problem, kind: str, text: str, bars: int, key: str, value: int) -> Iterator[Rung]:
    """The music read anew with another first or last bar; nothing where it has no such bar."""
    if problem.timeline.origin == "audio":  # to listen again takes too long
        return
    changed = problem.brief.music.model_copy(update={key: value})
    try:
        music = timeline_from(changed, problem.document, problem.timeline.beats_per_bar)
    except BadInput:
        return
    if music.length_beats == problem.timeline.length_beats + bars * problem.timeline.beats_per_bar:
        yield Rung(kind, text, 2 + bars // 2, bars=bars, music=music, said=f"music.{key}: {value}")


def _bars(bars: int, beats: int) -> str:
    return f"{bars} bar{'s' if bars > 1 else ''} ({bars * beats} counts)"


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
