"""The page of an explanation in a real browser: no errors, nothing from outside, accessible, readable everywhere."""

from __future__ import annotations

import io
import unicodedata
from dataclasses import replace
from pathlib import Path

import pytest

from composer.report.whypage import Line, Part, Told, why_html
from tests.explain.pages import the_pages
from tests.report.browser import WIDTHS, Browser, browser
from tests.report.samples import HOSTILE

__all__ = ["browser"]
pytestmark = pytest.mark.browser


def hostile() -> Told:
    """An explanation whose every text is somebody's title, the longest without a place to break it."""
    name = HOSTILE[:200]
    lines = (Line(name, f"{'long-file-name-' * 12}.yaml:12 wishes.must[0]", (name, "word" * 60)), Line("word" * 60))
    return Told(f"Why is there no routine for '{name}'?", name, (Part(name, lines, "clash"), Part(name, lines, "help")))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Every page, written as ``why --out`` writes it."""
    out = tmp_path_factory.mktemp("why")
    for name, told in {**the_pages(), "hostile": hostile()}.items():
        (out / f"{name}.html").write_text(why_html(told), encoding="utf-8")
    return out


@pytest.mark.parametrize("width", WIDTHS)
def test_pages_load_cleanly_and_pass_the_accessibility_rules(browser: Browser, folder: Path, width: int) -> None:
    pages = sorted(folder.glob("*.html"))
    assert len(pages) >= 10
    browser.size(width)
    for scheme in ("light", "dark"):
        browser.colours(scheme)
        for page in pages:
            browser.open(page)
            assert browser.run("return document.scrollingElement.scrollWidth") <= width, page.name
            assert browser.axe() == [], page.name
            assert browser.console_errors() == [], page.name
            assert [r for r in browser.requests() if r not in {page.as_uri(), "about:blank"}] == [], page.name


def test_everything_told_is_on_the_page_and_in_its_order(browser: Browser, folder: Path) -> None:
    browser.size(768)
    for name, told in the_pages().items():
        browser.open(folder / f"{name}.html")
        shown = browser.run("return document.body.innerText")
        at = 0
        for text in (told.question, told.answer, *(t for part in told.parts for t in texts(part))):
            found = shown.find(text, at)
            assert found >= at, f"{name}: {text}"
            at = found


def texts(part: Part) -> list[str]:
    """Every text of a part in its order."""
    lines = [(line.text, line.where, *line.more) for line in part.lines]
    return [part.heading, *(text for line in lines for text in line if text)]


def test_the_answer_is_read_before_anything_else(browser: Browser, folder: Path) -> None:
    """On a telephone the question and the whole answer stand on the first screen."""
    browser.size(360, 740)
    for name in the_pages():
        browser.open(folder / f"{name}.html")
        assert browser.run("return document.querySelector('.answer').getBoundingClientRect().bottom") < 740, name


def test_script_in_a_title_stays_text(browser: Browser, folder: Path) -> None:
    browser.open(folder / "hostile.html")
    assert browser.run("return document.querySelectorAll('script, img, iframe').length") == 0
    other = why_html(replace(the_pages()["several"], question="<script>alert(1)</script>"))
    assert "<script" not in other


def test_it_prints_on_paper(browser: Browser, folder: Path) -> None:
    from pypdf import PdfReader

    browser.open(folder / "several.html")
    pages = PdfReader(io.BytesIO(browser.printed())).pages
    told = the_pages()["several"]
    printed = squeezed("".join(page.extract_text() for page in pages))
    for part in told.parts:
        assert squeezed(part.heading) in printed


def squeezed(text: str) -> str:
    """Without spaces, and with the letters of ligatures apart."""
    return "".join(unicodedata.normalize("NFKC", text).split())
