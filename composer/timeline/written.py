"""A score as it is written, and its performance: bars in playing order, whole beats, seconds. No music21 here.

A bar of the dance may be written in two pieces (a pickup after a repeat completes the short bar before it); such
pieces are joined. Odd bars are counted in whole beats, because nobody dances half a beat, and said in a note.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Final

from composer.timeline.assemble import Bars, Content, letters_for
from composer.timeline.metre import Metre
from composer.timeline.model import Origin

MAX_BEATS: Final = 20_000
MAX_BEATS_IN_BAR: Final = 64


@dataclass(frozen=True)
class Written:
    """One measure as written. Lengths and offsets are quarter notes.

    ``begins`` says that a repeat begins here or a double bar stands before it; ``mark`` is a rehearsal mark;
    ``ending`` that it lies under a first, second ... ending; ``tempos`` are (offset, quarters per minute).
    """

    length: Fraction
    metre: Metre
    begins: bool = False
    mark: str = ""
    ending: bool = False
    content: Content = ()
    tempos: tuple[tuple[Fraction, Fraction], ...] = ()


@dataclass
class _Bar:
    """A bar being put together from written pieces."""

    metre: Metre
    length: Fraction
    content: list[object]
    pieces: list[int]
    beats: int = 0


def perform(
    measures: Sequence[Written],
    order: Sequence[int],
    *,
    title: str,
    origin: Origin = "score",
    tempo: float | None = None,
    notes: Sequence[str] = (),
) -> Bars:
    """Bars in playing order with beat times.

    Parameters
    ----------
    order : indices of ``measures`` as they are played.
    tempo : dance beats per minute at the beginning; later tempo marks keep their proportion to it.

    Raises
    ------
    ValueError
        In plain words, when there is no music, no tempo, or a bar nobody can dance.
    """
    said = list(notes)
    pickup, bars, marks = _join(measures, [k for k in order if measures[k].length > 0], said)
    if not bars:
        raise ValueError("there is not one full bar in it")
    if pickup is not None and bars[-1].length + measures[pickup].length == bars[-1].metre.bar:
        bars[-1].length = bars[-1].metre.bar  # the last bar gives its end to the pickup; the dance ends with the bar
    for number, bar in enumerate(bars, start=1):
        bar.beats = _whole_beats(bar, number, said)
    if sum(bar.beats for bar in bars) > MAX_BEATS:
        raise ValueError(f"it is longer than {MAX_BEATS} beats")
    clock = _Clock(measures, tempo, bars[0].metre, said)
    lead, at_s = _pickup_times(pickup, measures, clock, bars[0].metre)
    times: list[tuple[float, ...]] = []
    for bar in bars:
        stamps = []
        position = Fraction(0)
        for _ in range(bar.beats):
            stamps.append(float(at_s))
            at_s += clock.seconds(bar.pieces, position, bar.metre.beat)
            position += bar.metre.beat
        times.append(tuple(stamps))
    usual = Counter(bar.metre.beats for bar in bars).most_common(1)[0][0]
    content = tuple(tuple(bar.content) for bar in bars)
    return Bars(
        title,
        origin,
        usual,
        tuple(times),
        float(at_s),
        lead,
        _labels(marks, content),
        content,
        tuple(dict.fromkeys(said)),
    )


def _join(
    measures: Sequence[Written], order: Sequence[int], said: list[str]
) -> tuple[int | None, list[_Bar], dict[int, str | None]]:
    """Pickup (index or None), bars, and where sections begin (bar -> rehearsal mark or None)."""
    bars: list[_Bar] = []
    marks: dict[int, str | None] = {}
    pickup: int | None = None
    carried: tuple[str | None] | None = None
    by_mark = any(measure.mark for measure in measures)
    open_bar: _Bar | None = None
    for k, index in enumerate(order):
        here = measures[index]
        section = _section_start(measures, order, k, by_mark)
        carried = section or carried
        if k == 0 and here.length < here.metre.bar and len(order) > 1:
            pickup = index
            continue
        if open_bar and open_bar.length + here.length <= open_bar.metre.bar and here.length < here.metre.bar:
            open_bar.content += _shifted(here.content, open_bar.length)
            open_bar.pieces.append(index)
            open_bar.length += here.length
        elif _overlaps(here, bool(section), open_bar) and k < len(order) - 1:
            said.append("A few notes before a bar overlap the full bar before them; they take no time of their own.")
            continue
        else:
            if carried:
                marks[len(bars)] = carried[0]
                carried = None
            open_bar = _Bar(here.metre, here.length, list(here.content), [index])
            bars.append(open_bar)
    return pickup, bars, marks


def _overlaps(here: Written, section: bool, before: _Bar | None) -> bool:
    """Whether a short measure after a full bar takes no time of its own.

    So it is with a leftover of less than a beat, and with a pickup that is repeated although the last bar was not
    shortened for it: players cut the last note.
    """
    if here.length < here.metre.beat:
        return True
    return section and 2 * here.length <= here.metre.bar and before is not None and before.length >= before.metre.bar


def _section_start(
    measures: Sequence[Written], order: Sequence[int], k: int, by_mark: bool
) -> tuple[str | None] | None:
    """Whether a section begins at the k-th measure played, and its rehearsal mark."""
    index = order[k]
    here = measures[index]
    back = k > 0 and index <= order[k - 1]
    jumped = k > 0 and index != order[k - 1] + 1 and not here.ending
    if by_mark:
        if not (here.mark or jumped or back or k == 0):
            return None
        return (next((measures[i].mark for i in range(index, -1, -1) if measures[i].mark), ""),)
    if k == 0 or jumped or back or (here.begins and not here.ending):
        return (None,)
    return None


def _shifted(content: Content, by: Fraction) -> list[object]:
    return [(item[0] + by, *item[1:]) if isinstance(item, tuple) else item for item in content]


def _whole_beats(bar: _Bar, number: int, said: list[str]) -> int:
    """How many beats a bar counts; a bar that misses or exceeds less than a beat is taken as a full one."""
    written = bar.length / bar.metre.beat
    if written == bar.metre.beats:
        return bar.metre.beats
    missing = bar.metre.beats - written
    beats = bar.metre.beats if -1 < missing < 1 else max(1, round(written))
    if beats > MAX_BEATS_IN_BAR:
        raise ValueError(f"bar {number} has {beats} beats")
    if -1 < missing < 0 or missing >= 1 or missing <= -1:
        said.append(
            f"Bar {number} is written with {_plain(written)} of {bar.metre.beats} beats and is counted as {beats}."
        )
    return beats


def _plain(value: Fraction) -> str:
    return str(value) if value.denominator == 1 else f"{float(value):.3g}"


def _labels(marks: dict[int, str | None], content: tuple[Content, ...]) -> dict[int, str]:
    """Letters for the sections, equal for equal music; rehearsal marks keep their own names."""
    if set(marks) <= {0} and not any(marks.values()):
        return {}
    edges = sorted(marks)
    named = {bar: mark for bar, mark in marks.items() if mark is not None}
    parts = [content[a:b] for a, b in zip(edges, [*edges[1:], len(content)], strict=True)]
    letters = letters_for(parts, frozenset(named.values()))
    return {bar: named.get(bar, letter) for bar, letter in zip(edges, letters, strict=True)}


class _Clock:
    """Quarters per minute at every place of the written music."""

    def __init__(self, measures: Sequence[Written], tempo: float | None, metre: Metre, said: list[str]) -> None:
        self.places: list[tuple[int, Fraction]] = []
        self.rates: list[Fraction] = []
        for index, measure in enumerate(measures):
            for offset, rate in measure.tempos:
                self.places.append((index, offset))
                self.rates.append(rate)
        if not self.rates and tempo is None:
            raise ValueError("it has no tempo mark; give music.tempo in beats per minute")
        if tempo is not None:
            wanted = Fraction(str(tempo)) * metre.beat
            scale = wanted / self.rates[0] if self.rates else Fraction(1)
            self.rates = [rate * scale for rate in self.rates] or [wanted]
            self.places = self.places or [(0, Fraction(0))]
        for rate in self.rates:
            if not 20 <= rate / metre.beat <= 400:
                raise ValueError(f"the tempo of {float(rate / metre.beat):.4g} beats per minute cannot be danced")
        if self.places[0] != (0, Fraction(0)):
            said.append("The first tempo mark stands after the beginning; it is used from the beginning.")
        if len(set(self.rates)) > 1:
            changes = sum(a != b for a, b in pairwise(self.rates))
            said.append("The tempo changes once." if changes == 1 else f"The tempo changes {changes} times.")

    def rate(self, index: int, offset: Fraction) -> Fraction:
        """Quarters per minute in force at a place."""
        return self.rates[max(0, bisect_right(self.places, (index, offset)) - 1)]

    def seconds(self, pieces: Sequence[int], position: Fraction, length: Fraction) -> Fraction:
        """Seconds that ``length`` quarters take from ``position`` of a bar made of ``pieces``.

        Tempo changes inside a beat are honoured for bars written in one piece; in joined bars the tempo of the
        first piece holds (a tempo change on a pickup takes effect with the bar that follows).
        """
        index = pieces[0]
        edges = [offset for (i, offset) in self.places if i == index and position < offset < position + length]
        total, at = Fraction(0), position
        for edge in [*edges, position + length]:
            total += (edge - at) * 60 / self.rate(index, at)
            at = edge
        return total


def _pickup_times(
    pickup: int | None, measures: Sequence[Written], clock: _Clock, metre: Metre
) -> tuple[tuple[float, ...], Fraction]:
    """Times of the pickup's whole beats and the time at which bar 1 begins (the music starts at 0 s)."""
    if pickup is None:
        return (), Fraction(0)
    length = measures[pickup].length
    beat_s = metre.beat * 60 / clock.rate(pickup, Fraction(0))
    starts = length / metre.beat * beat_s
    whole = int(length / metre.beat)
    return tuple(float(starts - (whole - i) * beat_s) for i in range(whole)), starts
