"""The PDF sheet and the cue card, read back with an independent reader."""

from __future__ import annotations

import io
import re

import pytest
from pypdf import PdfReader

from composer.report.cuecard import cue_card_pdf
from composer.report.model import Sheet
from composer.report.paper import broken, needs_shaping, printable
from composer.report.pdfsheet import sheet_pdf
from tests.builders import a_timeline
from tests.report.samples import HOSTILE, SHOW_ROOM, a_sheet


def text_of(content: bytes) -> str:
    pages = PdfReader(io.BytesIO(content)).pages
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in pages))


def letters(words: str) -> str:
    return re.sub(r"\s+", "", words)


@pytest.fixture(params=[None, SHOW_ROOM], ids=["no room", "show room"])
def sheet(request: pytest.FixtureRequest) -> Sheet:
    return a_sheet(request.param, title="Our first & best", at=(6000, 5000) if request.param else None)


@pytest.mark.parametrize("voice", ["words", "charts"])
def test_the_pdf_has_every_figure_in_order_for_both_roles(sheet: Sheet, voice: str) -> None:
    text = letters(text_of(sheet_pdf(sheet, voice=voice)))  # type: ignore[arg-type]
    body = text[text.index("Phrase1·verse") : text.index("Learningit")]
    places = [body.index(letters(f"{f.number}. {f.name}")) for f in sheet.figures]
    assert places == sorted(places)
    for figure, start, end in zip(sheet.figures, places, [*places[1:], len(body)], strict=True):
        part = body[start:end]
        assert "Leader" in part
        assert "Follower" in part
        for role in (figure.leader, figure.follower):
            at = 0
            for step in role:
                at = part.index(
                    step.count + letters(step.plain if voice == "words" else step.foot_words + step.what), at
                )
        for note in (*figure.lead, *figure.follow, *figure.hands):
            assert letters(note.text) in part


def test_the_overview_says_proof_facts_and_cautions(sheet: Sheet) -> None:
    text = letters(text_of(sheet_pdf(sheet)))
    for words in (sheet.title, sheet.proof, *sheet.cautions, *(f.text for f in sheet.facts)):
        assert letters(words) in text


def test_the_learning_plan_is_on_paper_too(sheet: Sheet) -> None:
    text = letters(text_of(sheet_pdf(sheet)))
    at = text.index("Learningit")
    for item in sheet.learning.figures:
        at = text.index(letters(f"{item.order}. {item.name}"), at)
    for session in sheet.learning.sessions:
        for part in session.parts:
            assert letters(part.words) in text[at:]


@pytest.mark.parametrize(("size", "width", "height"), [("A4", 210.0, 297.0), ("letter", 215.9, 279.4)])
def test_paper_sizes(size: str, width: float, height: float) -> None:
    for content in (sheet_pdf(a_sheet(), size=size), cue_card_pdf(a_sheet(), size=size)):  # type: ignore[arg-type]
        box = PdfReader(io.BytesIO(content)).pages[0].mediabox
        assert (float(box.width) * 25.4 / 72, float(box.height) * 25.4 / 72) == pytest.approx((width, height), abs=0.1)


@pytest.mark.parametrize("figures", [8, 40, 120])
def test_the_cue_card_is_one_page_with_every_figure(figures: int) -> None:
    sheet = a_sheet(order=("curving-four",) * figures, timeline=a_timeline(figures, 4, 4))
    content = cue_card_pdf(sheet)
    assert len(PdfReader(io.BytesIO(content)).pages) == 1
    text = letters(text_of(content))
    at = 0
    for figure in sheet.figures:
        at = text.index(f"{figure.number}.Curv", at)


def test_hostile_names_come_out_readable() -> None:
    sheet = a_sheet(title=HOSTILE[:300], couple={"leader": {"name": "Zoë Ångström 💃"}, "follower": {"name": "مرحبا"}})
    text = text_of(sheet_pdf(sheet))
    assert "<script>alert('x')</script>" in text
    assert "Zoë Ångström [dancer]" in text
    # Hebrew and Arabic letters are there (order and joining are the reader's business).
    assert set("שלום") <= set(text)
    assert letters("long long long") in letters(text)
    cue_card_pdf(sheet)


def test_no_text_leaves_the_page() -> None:
    for content in (sheet_pdf(a_sheet(title="w" * 300)), cue_card_pdf(a_sheet(title="w" * 300))):
        for page in PdfReader(io.BytesIO(content)).pages:
            found: list[tuple[float, float]] = []

            def visit(
                text: str, _cm: object, tm: list[float], *_: object, found: list[tuple[float, float]] = found
            ) -> None:
                if text.strip():
                    found.append((tm[4], tm[5]))

            page.extract_text(visitor_text=visit)
            assert found
            assert all(0 <= x <= float(page.mediabox.width) for x, _ in found)
            assert all(15 <= y <= float(page.mediabox.height) for _, y in found)


def test_the_same_sheet_gives_the_same_pdf() -> None:
    assert sheet_pdf(a_sheet()) == sheet_pdf(a_sheet())


def test_lines_break_at_the_width_and_cut_only_what_is_too_long() -> None:
    assert broken("aa aa aa", "DejaVuSans", 1000) == ("aa aa aa",)
    lines = broken("one two three " + "x" * 80, "DejaVuSans", 6)
    assert "".join(lines).replace(" ", "") == "onetwothree" + "x" * 80
    assert lines[0] == "one two"
    assert len(lines) == 2 + 8  # ten letters of 0.59 em to a line


def test_letters_without_a_font_are_named() -> None:
    assert printable("a💃b") == "a[dancer]b"
    assert printable("é א م ♥") == "é א م ♥"
    assert needs_shaping(["abc", "שלום"])
    assert not needs_shaping(["abc é 💃"])
