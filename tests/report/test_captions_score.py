"""Captions and score, read by independent readers: webvtt-py, music21, the MusicXML schema music21 ships."""

from __future__ import annotations

import html
import io
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from composer.report.captions import captions_vtt, stamp
from composer.report.model import Sheet
from composer.report.score import pieces, routine_musicxml
from composer.timeline.model import Timeline
from tests.builders import a_timeline
from tests.report.samples import HOSTILE, a_sheet


def seconds(text: str) -> float:
    hours, minutes, rest = text.split(":")
    return 3600 * int(hours) + 60 * int(minutes) + float(rest)


@pytest.mark.parametrize(("rate", "lead_in"), [(1.0, 0.0), (0.7, 2.5)])
def test_captions_announce_every_figure_a_bar_ahead(rate: float, lead_in: float) -> None:
    import webvtt

    sheet = a_sheet()
    captions = list(webvtt.from_buffer(io.StringIO(captions_vtt(sheet, rate=rate, lead_in_s=lead_in))))
    assert len(captions) == len(sheet.figures)
    for caption, call, figure in zip(captions, sheet.calls, sheet.figures, strict=True):
        assert html.unescape(caption.text) == f"{figure.number}. {figure.name} (counts {figure.counts})"
        assert seconds(caption.start) == pytest.approx(max(0, call.at_s / rate + lead_in), abs=0.001)
        if call.figure > 1:
            assert seconds(caption.end) == pytest.approx(figure.start_s / rate + lead_in, abs=0.001)
        assert seconds(caption.end) > seconds(caption.start)


def test_caption_text_is_escaped() -> None:
    from dataclasses import replace

    sheet = a_sheet()
    calls = tuple(replace(c, words="a --> b <i>x</i> & c") for c in sheet.calls)
    text = captions_vtt(replace(sheet, calls=calls))
    assert "a --&gt; b &lt;i&gt;x&lt;/i&gt; &amp; c" in text
    assert text.count("-->") == len(calls)
    assert (stamp(59.9996), stamp(3723.5)) == ("00:01:00.000", "01:02:03.500")


def with_pickup() -> Timeline:
    """Twenty-six danced beats in four, the first two of them before the first bar line."""
    from dataclasses import replace

    music = a_timeline(13, 2, 13)
    return replace(
        music, beats_per_bar=4, beats=tuple(replace(b, in_bar=(i + 2) % 4 + 1) for i, b in enumerate(music.beats))
    )


SHEETS = {
    "four": lambda: a_sheet(),
    "three": lambda: a_sheet(
        order=("curving-four",) * 6, timeline=a_timeline(8, 3, 4)
    ),
    "pickup": lambda: a_sheet(order=("curving-four",) * 5 + ("plain-six",), timeline=with_pickup()),
    "hostile": lambda: a_sheet(title=HOSTILE[:300]),
}  # fmt: skip


@pytest.fixture(params=sorted(SHEETS))
def sheet(request: pytest.FixtureRequest) -> Sheet:
    found: Sheet = SHEETS[request.param]()
    return found


def test_the_score_obeys_the_published_schema(sheet: Sheet) -> None:
    import music21
    import xmlschema

    schema = xmlschema.XMLSchema(str(Path(music21.__file__).parent / "musicxml" / "musicxml.xsd"))
    schema.validate(routine_musicxml(sheet))


def test_music21_reads_bars_steps_counts_calls_and_phrases(sheet: Sheet) -> None:
    from music21 import converter, expressions

    score = converter.parseData(routine_musicxml(sheet), format="musicxml")
    part = score.parts[0]
    measures = list(part.getElementsByClass("Measure"))
    assert sum(Fraction(m.duration.quarterLength) for m in measures) == Fraction(sheet.length_ticks, 12)
    assert all(m.duration.quarterLength == sheet.beats_per_bar for m in measures[1:-1])
    begun = {
        Fraction(n.getOffsetInHierarchy(part)) * 12: n.lyric
        for n in part.recurse().notes
        if n.tie is None or n.tie.type == "start"
    }
    wanted = {s.tick for f in sheet.figures for s in f.leader if s.takes_weight}
    assert set(begun) == wanted
    assert begun[Fraction(0)] == "1"
    said = {
        (Fraction(e.getOffsetInHierarchy(part)) * 12, e.content)
        for e in part.recurse().getElementsByClass(expressions.TextExpression)
    }
    for figure, call in zip(sheet.figures, sheet.calls, strict=True):
        assert (figure.start_tick, f"{figure.number}. {figure.name}") in said
        if 0 <= call.tick < call.figure_tick:
            assert (call.tick, f"call: {figure.name}") in said
    marks = [m.content for m in part.recurse().getElementsByClass(expressions.RehearsalMark)]
    assert marks == [f"Phrase {p.number}" for p in sheet.phrases]
    assert (score.metadata.title or "").strip() == sheet.title.strip()


@given(start=st.integers(0, 47), length=st.integers(1, 96))
def test_note_lengths_fill_the_time_exactly(start: int, length: int) -> None:
    found = pieces(start, start + length)
    assert sum(found) == length
    at = start
    for piece in found:
        if at % 12:
            assert at // 12 == (at + piece - 1) // 12
        at += piece
