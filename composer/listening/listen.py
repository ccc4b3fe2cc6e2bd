"""From a sound file to a timeline: the whole way, with what a person says to correct it.

Times of beats are those at which an onset is heard, less :data:`LATE_S`, by which the onset curve lags behind the
notes of rendered scores (measured on the listening set: 12 ms at the middle of all styles).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

from composer.errors import BadInput, Diagnostic, Where
from composer.listening.audio import Sound, load
from composer.listening.bars import Barred, find_bars, lie_there
from composer.listening.beats import Track, find_beats, other_tempo, pulse
from composer.listening.corrections import FACTORS, SHIFTS, Corrections, contradictions
from composer.listening.dances import page_of, search_range
from composer.listening.doubt import Margins, confidences, questions
from composer.listening.features import Heard, hear
from composer.listening.form import breaks, energies, hits, last_onset, letters, music_span
from composer.listening.onsets import EARLY_S, snapped
from composer.listening.phrases import Phrased, find_phrases, phrase_odds
from composer.timeline import Bars, Shape, Timeline, assemble
from composer.timeline.model import Accent
from composer.units import TICKS_PER_BEAT

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

LATE_S: Final = 0.012
LEAST_REPEAT: Final = 0.13
"""Least likeness of the onsets to themselves some time later: noise reaches 0.08, every piece of the listening set
0.23 or more (see composer.listening.beats.pulse)."""
LEAST_ONSETS_PER_S: Final = 0.4
TEMPO_LEAD: Final = 0.0
"""By how much bars at another tempo must be clearer where the networks deny the beats. On the ``tune`` half, read by
networks that had not heard the style, 304 of 323 wrong tempi are left for the true one so, and no true one for a wrong
one. With the lead asked of a quarter beat fewer are left (290 against 310 of 325, with networks fitted before)."""
NEAR_BEATS: Final = 0.2
"""How far, in beats, an anchor may lie from a beat and still mean that beat."""


@dataclass(frozen=True)
class Asked:
    """What is known before listening. ``where`` gives places in the brief for diagnostics."""

    tempo_range: tuple[float, float] | None = None
    beats_per_bar: int | None = None
    corrections: Corrections = field(default_factory=Corrections)
    shape: Shape = field(default_factory=Shape)
    where: Callable[..., Where] = lambda *_: Where()


@dataclass(frozen=True)
class Map:
    """A timeline together with what was heard, for pictures and clicks."""

    timeline: Timeline
    sound: Sound
    heard: Heard


def listen(
    path: Path,
    dance: str | None = None,
    tempo_range: tuple[float, float] | None = None,
    corrections: Corrections | None = None,
) -> Timeline:
    """Hear a track.

    Parameters
    ----------
    dance : folder name of a dance of the catalogue; gives its tempo range and beats per bar.
    tempo_range : least and most beats per minute, when known otherwise.

    Raises
    ------
    BadInput
        TML06x for tracks that cannot be listened to, TML07x for corrections that contradict.
    """
    beats_per_bar = None
    if dance is not None:
        page = page_of(dance)
        tempo_range = tempo_range or search_range(page)
        beats_per_bar = page.beats_per_bar
    asked = Asked(tempo_range, beats_per_bar, corrections or Corrections())
    return music_map(path, asked).timeline


def music_map(path: Path, asked: Asked) -> Map:
    """Hear a track and keep what was heard."""
    sound = load(path)
    heard = hear(sound.samples)
    timeline = timeline_of(heard, sound, asked, path)
    return Map(timeline, sound, heard)


def timeline_of(heard: Heard, sound: Sound, asked: Asked, path: Path, track: Track | None = None) -> Timeline:
    """The timeline of features; see :func:`listen`. ``track``: the beats, when they were found before."""
    given = asked.corrections
    _refuse(given, asked, sound.length_s, None)
    repeat, onsets = pulse(heard)
    track = track or find_beats(heard, asked.tempo_range)
    if len(track.beats) < 12 or repeat < LEAST_REPEAT or onsets < LEAST_ONSETS_PER_S:
        raise BadInput(
            Diagnostic("TML065", "no steady beat can be heard in it.", Where(str(path)),
                       "Is it music with a beat? If so, give a beat file instead (seconds, beat in the bar).")
        )  # fmt: skip
    barred = _read(_inside(track.beats - LATE_S, heard, given), heard, asked)
    if barred.grid < 0 and (given.tempo, given.bar_1_at, given.shift) == (None, None, None):
        barred = _at_other_tempo(barred, heard, asked)
    bars, pickup, end_s = _bars(barred, given, heard)
    _refuse(given, asked, sound.length_s, len(bars))
    return _finished(heard, sound, asked, path, barred, bars, pickup, end_s)


def _refuse(given: Corrections, asked: Asked, length_s: float, bars: int | None) -> None:
    found = contradictions(
        given,
        length_s=length_s,
        bars=bars,
        phrase_bars=asked.shape.phrase_bars,
        section_bars=tuple(section.bars for section in asked.shape.sections),
        where=asked.where,
    )
    if found:
        raise BadInput(found)


def _read(beats: Array, heard: Heard, asked: Asked) -> Barred:
    """Beats and bars after the corrections: what is heard, then what is said of it, then heard again."""
    import numpy as np

    given, metre = asked.corrections, asked.beats_per_bar
    shift = SHIFTS.get(given.shift or "", 0.0)
    if given.bar_1_at is None or given.tempo is not None:
        barred = _settled(find_bars(heard, beats, metre), heard)
        if given.tempo is None and shift not in (0.5, -0.5):
            places = tuple((p - 1 - int(shift)) % barred.metre + 1 for p in barred.in_bar)
            return replace(barred, in_bar=places)
        beats = barred.beats
    if given.tempo is not None:
        beats = _faster(beats, FACTORS[given.tempo], heard, metre)
    gap = float(np.median(np.diff(beats)))
    if shift in (0.5, -0.5):
        beats = beats + shift * np.diff(beats, append=beats[-1] + gap)
    fixed = {}
    if given.bar_1_at is not None:
        nearest = beats[np.abs(beats - given.bar_1_at).argmin()]
        if abs(nearest - given.bar_1_at) > NEAR_BEATS * gap:
            beats = beats + (given.bar_1_at - nearest)
        beats = _inside(beats, heard, given)
        fixed = {_nearest(beats, given.bar_1_at, asked): 1}
    else:
        beats = _inside(beats, heard, given)
    barred = find_bars(heard, beats, metre, fixed, on_beats=True)
    places = tuple((p - 1 - int(shift)) % barred.metre + 1 for p in barred.in_bar)
    return replace(barred, in_bar=places)


def _at_other_tempo(barred: Barred, heard: Heard, asked: Asked) -> Barred:
    """Where the networks deny that the beats were found: those at another tempo of the range, if they make bars."""
    import numpy as np

    found = 60 / float(np.median(np.diff(barred.beats)))
    if asked.tempo_range is None or not other_tempo(asked.tempo_range, found):
        return barred
    track = find_beats(heard, asked.tempo_range, found)
    other = _read(_inside(track.beats - LATE_S, heard, asked.corrections), heard, asked)
    if not lie_there(barred, other, TEMPO_LEAD):
        return barred
    return replace(other, margins=replace(other.margins, overruled=True))


def _settled(barred: Barred, heard: Heard) -> Barred:
    """Beats that were moved between those tracked go to the onsets near them."""
    if not barred.moved:
        return barred
    beats = snapped(barred.beats + LATE_S, heard) - LATE_S
    keep = (beats >= 0) | (barred.beats == 0)
    return replace(barred, beats=beats[keep], in_bar=tuple(p for p, k in zip(barred.in_bar, keep, strict=True) if k))


def _faster(beats: Array, factor: float, heard: Heard, metre: int | None) -> Array:
    """Beats taken ``factor`` as fast; of slower ones, those that make the clearest bars."""
    import numpy as np

    if factor > 1:
        finer: Array = np.interp(np.arange(0, len(beats) - 1 + 1e-9, 1 / factor), np.arange(len(beats)), beats)
        return finer
    every = round(1 / factor)
    ways = [beats[k::every] for k in range(every)]
    if len(ways[-1]) < 4:
        return ways[0]
    return max(ways, key=lambda way: find_bars(heard, way, metre, on_beats=True).per_slot)


def _inside(beats: Array, heard: Heard, given: Corrections) -> Array:
    """Beats between the first and the last sound."""
    import numpy as np

    begin, end = music_span(heard)
    gap = float(np.median(np.diff(beats)))
    if given.end_at is not None:
        end = given.end_at - 0.5 * gap
    if given.bar_1_at is not None:
        begin = min(begin, given.bar_1_at)
    kept: Array = beats[(beats > begin - 0.3 * gap) & (beats < end) & (beats > -2 * EARLY_S)]
    if len(kept) > 1 and kept[0] < 0 < kept[1]:
        kept[0] = 0.0
    return kept[kept >= 0]


def _nearest(beats: Array, at_s: float, asked: Asked) -> int:
    import numpy as np

    index = int(np.abs(beats - at_s).argmin()) if len(beats) else 0
    gap = float(np.median(np.diff(beats))) if len(beats) > 1 else 1.0
    if not len(beats) or abs(beats[index] - at_s) > 0.5 * gap:
        raise BadInput(
            Diagnostic("TML071", f"no beat lies near {at_s:g} s, where bar 1 is said to begin.",
                       asked.where("music", "corrections", "bar_1_at"))
        )  # fmt: skip
    return index


def _bars(barred: Barred, given: Corrections, heard: Heard) -> tuple[list[tuple[float, ...]], tuple[float, ...], float]:
    """Full bars, the beats before the first, and the end of the music."""
    import numpy as np

    beats = barred.beats
    groups: list[list[float]] = []
    start = 0
    if given.bar_1_at is not None:
        start = int(np.abs(beats - given.bar_1_at).argmin())
    pickup = [float(b) for b in beats[:start]]
    for at, place in zip(beats[start:], barred.in_bar[start:], strict=True):
        if place == 1 or not groups:
            groups.append([])
        groups[-1].append(float(at))
    if groups and given.bar_1_at is None and barred.in_bar[0] != 1:
        pickup = groups.pop(0)
    gap = float(np.median(np.diff(beats)))
    if groups and len(groups[-1]) < barred.metre:
        last = groups[-1]
        missing = barred.metre - len(last)
        if last and last_onset(heard, last[-1] + gap) >= last[0] - 0.1 and given.end_at is None:
            groups[-1] = last + [last[-1] + gap * (i + 1) for i in range(missing)]  # the last chord rings out
        else:
            groups.pop()
    if not groups:
        raise BadInput(Diagnostic("TML066", "there is not one full bar in it."))
    return [tuple(group) for group in groups], tuple(pickup[-barred.metre + 1 :]), groups[-1][-1] + gap


def _finished(
    heard: Heard,
    sound: Sound,
    asked: Asked,
    path: Path,
    barred: Barred,
    bars: list[tuple[float, ...]],
    pickup: tuple[float, ...],
    end_s: float,
) -> Timeline:
    """Phrases, sections, energy, hits and confidence; then the common assembly."""
    import numpy as np

    given = asked.corrections
    edges = np.array([bar[0] for bar in bars] + [end_s])
    fixed = frozenset(bar - 1 for bar in given.phrase_starts)
    phrased = (
        find_phrases(phrase_odds(heard, edges), fixed, asked.shape.phrase_bars)
        if len(bars) >= 4
        else Phrased((0,), 0.0)
    )
    names = letters(heard, edges, phrased.starts)
    starts = phrased.starts if phrased.starts and phrased.starts[0] == 0 else (0, *phrased.starts)
    sure = confidences(
        Margins(
            bars=barred.margins,
            metre=barred.metre_margin,
            phrases=phrased.margin,
            tempo_given=given.tempo is not None or asked.tempo_range is not None,
            metre_given=asked.beats_per_bar is not None,
            bars_given=given.bar_1_at is not None or given.shift in ("a beat later", "a beat earlier"),
            phrases_given=bool(given.phrase_starts or asked.shape.sections or asked.shape.phrase_bars),
        )
    )
    tempo = 60 * sum(len(bar) for bar in bars) / (end_s - bars[0][0])
    music = Bars(
        title=path.stem,
        origin="audio",
        beats_per_bar=barred.metre,
        bars=tuple(bars),
        end_s=max(end_s, bars[-1][-1]),
        pickup=tuple(p for p in pickup if p < bars[0][0]),
        marks=dict(zip(starts, names, strict=False)),
        notes=sound.notes,
        phrases=starts,
    )
    timeline = assemble(music, asked.shape, asked.where)
    timeline = _with_energy(timeline, heard)
    timeline = replace(timeline, accents=_accents(timeline, heard, asked))
    doubts = questions(sure, bars[0][0], tempo, barred.metre)
    return replace(timeline, confidence=sure, doubts=doubts)


def _with_energy(timeline: Timeline, heard: Heard) -> Timeline:
    spans = [
        (timeline.seconds_at(s.start * TICKS_PER_BEAT), timeline.seconds_at((s.start + s.beats) * TICKS_PER_BEAT))
        for s in timeline.sections
    ]
    found = energies(heard, spans)
    sections = tuple(
        s if s.energy is not None else replace(s, energy=e) for s, e in zip(timeline.sections, found, strict=True)
    )
    return replace(timeline, sections=sections)


def _accents(timeline: Timeline, heard: Heard, asked: Asked) -> tuple[Accent, ...]:
    """The user's hits when there are some; otherwise the hits and breaks heard, and the end."""
    import numpy as np

    if asked.shape.hits:
        return timeline.accents
    beats = np.array([beat.at_s for beat in timeline.beats[: timeline.length_beats]])
    found: dict[int, Accent] = {}
    for beat, strength in hits(heard, beats, timeline.beats_per_bar):
        found[beat] = Accent(beat * TICKS_PER_BEAT, strength)
    for beat in breaks(heard, beats):
        found[beat] = Accent(beat * TICKS_PER_BEAT, 3, "break")
    final = last_onset(heard, timeline.end_s)
    at = int(np.abs(beats - final).argmin())
    if at >= len(beats) - timeline.beats_per_bar:
        found[at] = Accent(at * TICKS_PER_BEAT, 3, "end")
    return tuple(found[beat] for beat in sorted(found))
