"""Music with bars left out: what remains is joined up, and everything after a seam moves forward.

Bars are numbered as in the music, from ``Timeline.first_bar`` on. Times stay in proportion: the first beat after a seam
comes when the first beat left out would have come. Phrases and sections that are cut through keep what is left of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from composer.timeline.model import Accent, Beat, Phrase, Section, Timeline
from composer.units import TICKS_PER_BEAT

Span = tuple[int, int]
"""First and last bar, both included."""


def bar_starts(timeline: Timeline) -> dict[int, int]:
    """Beat (from the first danced one) at which each danced bar begins, and the end of the last one."""
    first = timeline.usable[0]
    starts = [b for b in range(timeline.length_beats) if timeline.beats[first + b].in_bar == 1]
    return {timeline.first_bar + i: beat for i, beat in enumerate([*starts, timeline.length_beats])}


def without_bars(timeline: Timeline, spans: Sequence[Span]) -> Timeline:
    """The timeline without these bars.

    Raises
    ------
    ValueError
        In plain words, when a span is no part of the danced music, two overlap, or nothing is left.
    """
    if not spans:
        return timeline
    return _joined(timeline, _kept_beats(timeline, spans), bar_starts(timeline))


def kept_ticks(timeline: Timeline, spans: Sequence[Span]) -> list[tuple[int, int]]:
    """The stretches of the danced music that remain without these bars, in ticks; errors as above."""
    return [(a * TICKS_PER_BEAT, b * TICKS_PER_BEAT) for a, b in _kept_beats(timeline, spans)]


def _kept_beats(timeline: Timeline, spans: Sequence[Span]) -> list[tuple[int, int]]:
    starts = bar_starts(timeline)
    last = max(starts) - 1
    pieces: list[tuple[int, int]] = []
    at = 0
    for number, (first, final) in enumerate(sorted(spans)):
        if not timeline.first_bar <= first <= final <= last:
            raise ValueError(
                f"bars {first} to {final} are no part of the music danced (bars {timeline.first_bar} to {last})"
            )
        if number and starts[first] < at:
            raise ValueError(f"bars {first} to {final} are left out twice")
        if starts[first] > at:
            pieces.append((at, starts[first]))
        at = starts[final + 1]
    if at < timeline.length_beats:
        pieces.append((at, timeline.length_beats))
    if not pieces:
        raise ValueError("nothing of the music is left")
    return pieces


def _joined(timeline: Timeline, pieces: list[tuple[int, int]], starts: dict[int, int]) -> Timeline:
    base = timeline.usable[0]
    beats: list[Beat] = []
    phrases: list[Phrase] = []
    sections: list[Section] = []
    accents: list[Accent] = []
    clock = timeline.seconds_at(pieces[0][0] * TICKS_PER_BEAT)
    for begin, end in pieces:
        shift = len(beats) - begin
        late = clock - timeline.seconds_at(begin * TICKS_PER_BEAT)
        beats += [replace(beat, at_s=beat.at_s + late) for beat in timeline.beats[base + begin : base + end]]
        for phrase in timeline.phrases:
            low, high = max(phrase.start - base, begin), min(phrase.start - base + phrase.beats, end)
            if low < high:
                phrases.append(replace(phrase, start=low + shift, beats=high - low))
        for section in timeline.sections:
            low, high = max(section.start - base, begin), min(section.start - base + section.beats, end)
            if low < high:
                sections.append(replace(section, start=low + shift, beats=high - low))
        for accent in timeline.accents:
            tick = accent.tick - base * TICKS_PER_BEAT
            if begin * TICKS_PER_BEAT <= tick < end * TICKS_PER_BEAT:
                accents.append(replace(accent, tick=tick + shift * TICKS_PER_BEAT))
        clock = timeline.seconds_at(end * TICKS_PER_BEAT) + late
    first_bar = next(bar for bar, beat in sorted(starts.items()) if beat >= pieces[0][0])
    after = timeline.beats[timeline.usable[1] :] if pieces[-1][1] == timeline.length_beats else ()
    tail = tuple(replace(beat, at_s=beat.at_s + late) for beat in after)
    return replace(
        timeline,
        beats=(*beats, *tail),
        end_s=timeline.end_s + late if pieces[-1][1] == timeline.length_beats else clock,
        usable=(0, len(beats)),
        phrases=tuple(phrases),
        sections=tuple(sections),
        accents=tuple(accents),
        before=() if pieces[0][0] else timeline.before,
        first_bar=first_bar,
        notes=(*timeline.notes, *_seams(timeline, pieces)),
    )


def _seams(timeline: Timeline, pieces: list[tuple[int, int]]) -> list[str]:
    """Where the music has to be cut, by its own clock."""
    edges = [0, *(edge for piece in pieces for edge in piece), timeline.length_beats]
    gaps = [(a, b) for a, b in zip(edges[::2], edges[1::2], strict=True) if a < b]
    return [
        f"Cut: {_clock(timeline.seconds_at(a * TICKS_PER_BEAT))} to {_clock(timeline.seconds_at(b * TICKS_PER_BEAT))} "
        "of the music is left out."
        for a, b in gaps
    ]


def _clock(seconds: float) -> str:
    tenths = round(seconds * 10)
    return f"{tenths // 600}:{tenths // 10 % 60:02d}.{tenths % 10}"
