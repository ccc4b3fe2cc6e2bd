"""Counts, bars and phrases as people say them, for ticks of the routine."""

from __future__ import annotations

from composer.report.words import clock
from composer.timeline.model import Phrase, Section, Timeline
from composer.units import TICKS_PER_BEAT, count_at, count_text


def counts_text(first_tick: int, end_tick: int) -> str:
    """``1–6`` for ticks 0 to 72 (half-open); ``5`` for a single count."""
    first = count_text(count_at(first_tick))
    last = str(max((end_tick - 1) // TICKS_PER_BEAT + 1, first_tick // TICKS_PER_BEAT + 1))
    return first if first == last else f"{first}–{last}"


class Counting:
    """Looks up bars and phrases for ticks of a routine danced to ``timeline``."""

    def __init__(self, timeline: Timeline) -> None:
        self.timeline = timeline
        self.first = timeline.usable[0]
        number = timeline.first_bar - (1 if timeline.beats and timeline.beats[0].in_bar == 1 else 0)
        self.bar_of: list[int] = []
        for beat in timeline.beats:
            number += beat.in_bar == 1
            self.bar_of.append(number)

    def bar_at(self, tick: int) -> int:
        """The bar of the music at a tick of the routine."""
        index = min(self.first + tick // TICKS_PER_BEAT, len(self.bar_of) - 1)
        return self.bar_of[max(index, 0)] if self.bar_of else 0

    def bars_text(self, first_tick: int, end_tick: int) -> str:
        """``bar 3`` or ``bars 3–4``."""
        first, last = self.bar_at(first_tick), self.bar_at(max(end_tick - 1, first_tick))
        return f"bar {first}" if first == last else f"bars {first}–{last}"

    def clock_at(self, tick: int) -> str:
        """Clock time of a tick, from the start of the music."""
        return clock(self.timeline.seconds_at(tick))

    def span_of(self, part: Phrase | Section) -> tuple[int, int]:
        """(first tick, end tick) of a phrase or section, counted from the first danced beat."""
        start = (part.start - self.first) * TICKS_PER_BEAT
        return start, start + part.beats * TICKS_PER_BEAT

    def phrase_at(self, tick: int) -> int:
        """Index of the phrase a tick lies in; the last phrase for ticks past the end."""
        for index, phrase in enumerate(self.timeline.phrases):
            if tick < self.span_of(phrase)[1]:
                return index
        return max(len(self.timeline.phrases) - 1, 0)

    def phrase_counts(self, first_tick: int, end_tick: int) -> str:
        """``phrase 2, counts 5–8`` and, when it runs on, ``then phrase 3, counts 1–2``."""
        parts: list[str] = []
        for index in range(self.phrase_at(first_tick), self.phrase_at(max(end_tick - 1, first_tick)) + 1):
            start, end = self.span_of(self.timeline.phrases[index])
            a, b = max(first_tick, start), min(end_tick, end)
            if b > a:
                text = counts_text(a - start, b - start)
                parts.append(f"phrase {index + 1}, {'counts' if '–' in text else 'count'} {text}")
        return ", then ".join(parts)
