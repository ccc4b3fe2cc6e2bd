"""Reads MusicXML and ABC with music21 into :class:`Written` measures and their playing order.

music21 is given text in memory only, so it keeps no cache and touches no file of the user; it is imported inside
functions because it takes over half a second. Its warnings become notes of the timeline. Repeats, endings and
D.C./D.S. are followed by music21's own expander on the part with most measures; what it cannot follow is refused.
"""

from __future__ import annotations

import re
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Final

from composer.errors import BadInput, Diagnostic, Where
from composer.timeline.assemble import Content
from composer.timeline.metre import Metre, metre_of
from composer.timeline.scorefile import ScoreSource
from composer.timeline.written import Written

MAX_MEASURES: Final = 3000
_JUMP: Final = re.compile(r"\bD\.?\s?[CS]\b|\bda\s?capo\b|\bdal\s?segno\b|!dacapo!|!dacoda!|!D\.[CS]\.", re.IGNORECASE)
_ABC_FERMATA: Final = re.compile(r"!fermata!|(?<![A-Za-z\"^_:])H(?=[\^_=]*[A-Ga-gzx])")
_ABC_METRE: Final = re.compile(r"^M:[ \t]*(?!none)\S+|\[M:[ \t]*(?!none)[^\]\s]+\]", re.MULTILINE | re.IGNORECASE)
_ABC_DRESS: Final = re.compile(r'(\[[A-Za-z]:[^\]]*\])|"[^"]*"|![^!]*!|[H-Wh-w~]')
"""Inline fields (kept), quoted words, !decorations! and the letters that stand for decorations."""
_ABC_SAID: Final = re.compile(r'"[^"]*"|![^!]*!')


@dataclass(frozen=True)
class ReadScore:
    """What a score says: measures as written, the order they are played in, title, remarks."""

    measures: tuple[Written, ...]
    order: tuple[int, ...]
    title: str
    notes: tuple[str, ...]


def parse_score(source: ScoreSource, beats_per_bar: int | None = None) -> ReadScore:
    """Parse a checked score.

    Parameters
    ----------
    beats_per_bar : how the user counts; also the metre (quarters) of a score without a time signature.

    Raises
    ------
    BadInput
        TML024 not readable, TML025 no notes, TML026 repeats that cannot be followed, TML027 no time signature,
        TML028 too long, TML029 a metre that cannot be counted.
    """
    where = Where(source.file)
    text = _with_metre(source, beats_per_bar)
    notes: list[str] = []
    with _heard(notes):
        stream = _stream(source, text)
        part = _main_part(stream, where)
        measures = list(part.getElementsByClass("Measure"))
        if len(measures) > MAX_MEASURES:
            raise BadInput(Diagnostic("TML028", f"has {len(measures)} bars; at most {MAX_MEASURES} are read.", where))
        _refuse_unread_jumps(source, stream)
        one_metre = source.kind == "abc" and len(_ABC_METRE.findall(text)) == 1
        written = _written(stream, part, measures, _Metres(beats_per_bar, one_metre, where))
        order = _playing_order(part, measures, where)
    notes += _remarks(source, stream)
    return ReadScore(written, order, _title(stream), tuple(dict.fromkeys(notes)))


@contextmanager
def _heard(notes: list[str]) -> Iterator[None]:
    """Turn music21's warnings into notes, at most three; it warns about what it skips in a file."""
    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always")
        yield
    said = list(dict.fromkeys(str(item.message).strip()[:200] for item in caught))
    notes += [f"While reading the score: {text}" for text in said[:3]]


def _with_metre(source: ScoreSource, beats_per_bar: int | None) -> str:
    """The text; ABC without M: gets the metre the user gave, and quoted words are taken out of its music.

    Chord names, fingerings and ornaments take no time, and music21 reads some of them (``">"``) as rhythm and
    loses notes after others (``H``).
    """
    if source.kind != "abc":
        return source.text
    head, key, body = source.text.partition("\nK:")
    text = (
        head
        + key
        + "\n".join(
            line
            if i == 0 or re.match(r"[A-Za-z]:|%", line)
            else _ABC_DRESS.sub(lambda found: found.group(1) or "", line)
            for i, line in enumerate(body.split("\n"))
        )
    )
    if _ABC_METRE.search(text):
        return text
    if beats_per_bar is None:
        raise _no_metre(Where(source.file, source.first_line))
    text = re.sub(r"^M:.*\n", "", text, flags=re.MULTILINE)
    return re.sub(r"^K:", f"M:{beats_per_bar}/4\nK:", text, count=1, flags=re.MULTILINE)


def _no_metre(where: Where) -> BadInput:
    return BadInput(
        Diagnostic("TML027", "has no time signature.", where, "Say how it is counted with music.beats_per_bar.")
    )


def _stream(source: ScoreSource, text: str) -> Any:
    from music21 import converter

    parsed: Any
    try:
        parsed = converter.parseData(text, format=source.kind)
    except Exception as problem:  # music21 raises errors of every kind on damaged input
        reason = " ".join(str(problem).split())[:160] or type(problem).__name__
        name = "an ABC tune" if source.kind == "abc" else "MusicXML"
        raise BadInput(
            Diagnostic("TML024", f"cannot be read as {name}: {reason}.", Where(source.file, source.first_line))
        ) from None
    return parsed.scores[0] if type(parsed).__name__ == "Opus" else parsed


def _main_part(stream: Any, where: Where) -> Any:
    """The part that carries the measures: most measures with notes, the first one when equal."""
    parts = list(stream.parts) or [stream]
    best = max(parts, key=lambda part: (len(part.getElementsByClass("Measure")), len(part.recurse().notes)))
    if not any(not _is_label(note) for part in parts for note in part.recurse().notes):
        raise BadInput(Diagnostic("TML025", "has no notes.", where))
    if not best.getElementsByClass("Measure"):
        raise BadInput(Diagnostic("TML025", "has notes but no bars.", where))
    return best


def _is_label(note: Any) -> bool:
    """Chord symbols and grace notes take no time."""
    return "ChordSymbol" in note.classes or note.duration.isGrace or note.duration.quarterLength == 0


def _exact(value: Any) -> Fraction:
    return Fraction(value).limit_denominator(10080)


class _Metres:
    """The metre of one measure after the other.

    ``only_first`` is for ABC with one M: field, where music21 invents signatures for bars that are too long.
    """

    def __init__(self, beats_per_bar: int | None, only_first: bool, where: Where) -> None:
        self.beats_per_bar, self.only_first, self.where = beats_per_bar, only_first, where
        self.now: Metre | None = None

    def of(self, measure: Any) -> Metre:
        """The metre of the next measure."""
        signature = measure.timeSignature
        known = signature is not None and bool(getattr(signature, "numerator", None))
        try:
            if known and not (self.only_first and self.now):
                self.now = metre_of(int(signature.numerator), int(signature.denominator), self.beats_per_bar)
            elif self.now is None:
                if self.beats_per_bar is None:
                    raise _no_metre(self.where)
                self.now = metre_of(self.beats_per_bar, 4)
        except ValueError as problem:
            text = f"{problem} (bar {measure.number})."
            raise BadInput(Diagnostic("TML029", text, self.where)) from None
        return self.now


def _written(stream: Any, part: Any, measures: list[Any], metres: _Metres) -> tuple[Written, ...]:
    endings = {
        id(m) for bracket in part.recurse().getElementsByClass("RepeatBracket") for m in bracket.getSpannedElements()
    }
    twins = [list(p.getElementsByClass("Measure")) for p in stream.parts if p is not part]
    twins = [other for other in twins if len(other) == len(measures)]
    result: list[Written] = []
    after_double = False
    for index, measure in enumerate(measures):
        together = [measure, *(other[index] for other in twins)]
        result.append(
            Written(
                length=max((start + length for start, length, _ in _sounding(measure)), default=Fraction(0)),
                metre=metres.of(measure),
                begins=after_double or _bar_kind(measure.leftBarline) == "start" or _has(measure, ("Coda", "Segno")),
                mark=_rehearsal(together),
                ending=id(measure) in endings,
                content=_content(measure),
                tempos=_tempos(together),
            )
        )
        after_double = _bar_kind(measure.rightBarline) in {"end", "double", "final"}
    return tuple(result)


def _sounding(measure: Any) -> list[tuple[Fraction, Fraction, Any]]:
    """(offset, length, note or rest) of everything that takes time in a measure, voices included."""
    return [
        (_exact(item.getOffsetInHierarchy(measure)), _exact(item.duration.quarterLength), item)
        for item in measure.recurse().notesAndRests
        if not _is_label(item)
    ]


def _content(measure: Any) -> Content:
    items = [
        (start, length, tuple(sorted(p.midi for p in item.pitches)))
        for start, length, item in _sounding(measure)
        if not item.isRest
    ]
    return tuple(sorted(items))


def _bar_kind(barline: Any) -> str:
    """``start``/``end`` for repeats, ``double``, ``final`` or nothing."""
    if barline is None:
        return ""
    if "Repeat" in barline.classes:
        return str(barline.direction)
    return barline.type if barline.type in {"double", "final"} else ""


def _has(measure: Any, kinds: tuple[str, ...]) -> bool:
    return any(kind in item.classes for item in measure for kind in kinds)


def _rehearsal(together: list[Any]) -> str:
    for measure in together:
        for item in measure.recurse().getElementsByClass("RehearsalMark"):
            return str(item.content).strip()[:40]
    return ""


def _tempos(together: list[Any]) -> tuple[tuple[Fraction, Fraction], ...]:
    """Tempo marks that give a number, as (offset, quarters per minute); words alone give none."""
    found: dict[Fraction, Fraction] = {}
    for measure in together:
        for mark in measure.recurse().getElementsByClass("MetronomeMark"):
            rate = None if mark.numberImplicit else mark.getQuarterBPM()
            if rate and rate > 0:
                found.setdefault(_exact(mark.getOffsetInHierarchy(measure)), _exact(rate))
    return tuple(sorted(found.items()))


def _playing_order(part: Any, measures: list[Any], where: Where) -> tuple[int, ...]:
    """Indices of measures in playing order, by music21's expander."""
    from music21 import repeat

    for index, measure in enumerate(measures):
        measure.editorial["written_index"] = index  # survives the expander's copies
    try:
        able = repeat.Expander(part).isExpandable()
        if able is None:
            return tuple(range(len(measures)))
        played = list(part.expandRepeats().getElementsByClass("Measure")) if able else []
    except Exception as problem:  # the expander raises errors of several kinds on odd repeats
        able, played, reason = False, [], str(problem)[:120]
    else:
        reason = "they do not fit together"
    if not able or not played:
        raise BadInput(
            Diagnostic("TML026", f"the repeats of this score cannot be followed ({reason}).", where,
                       "Check that every repeat sign has its partner, or write the repeats out.")
        )  # fmt: skip
    if len(played) > MAX_MEASURES:
        raise BadInput(Diagnostic("TML028", f"has {len(played)} bars with its repeats; too long.", where))
    return tuple(int(measure.editorial["written_index"]) for measure in played)


def _refuse_unread_jumps(source: ScoreSource, stream: Any) -> None:
    """D.C. and D.S. that music21 did not take as a jump would silently be left out; refuse instead."""
    if stream.recurse().getElementsByClass("RepeatExpressionCommand"):
        return
    words: list[tuple[int | None, str]] = [
        (None, str(item.content)) for item in stream.recurse().getElementsByClass("TextExpression")
    ]
    if source.kind == "abc":
        lines = source.text.split("\n")
        body = next((i for i, line in enumerate(lines) if line.startswith("K:")), 0) + 1
        words += [
            (source.first_line + i, said)
            for i, line in enumerate(lines[body:], start=body)
            if not re.match(r"[A-Za-z]:|%", line)
            for said in _ABC_SAID.findall(line)
        ]
    for line, text in words:
        match = _JUMP.search(text)
        if match:
            raise BadInput(
                Diagnostic("TML026", f"the jump '{match.group(0).strip('!')}' cannot be followed here.",
                           Where(source.file, line), "Write the repeated bars out.")
            )  # fmt: skip


def _remarks(source: ScoreSource, stream: Any) -> list[str]:
    fermatas = sum(
        "Fermata" in mark.classes for note in stream.recurse().notesAndRests for mark in note.expressions
    ) + (len(_ABC_FERMATA.findall(source.text.split("\nK:", 1)[-1])) if source.kind == "abc" else 0)
    if not fermatas:
        return []
    return [f"{fermatas} fermata{'s are' if fermatas > 1 else ' is'} not held: the beat goes on in time."]


def _title(stream: Any) -> str:
    data = stream.metadata
    text = (data.title or data.movementName or "") if data is not None else ""
    return " ".join(str(text).split())[:200]
