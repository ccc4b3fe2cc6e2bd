"""``revision.html``: what a revision changed, on one self-contained page. Lays out; computes nothing.

The text is made by :mod:`composer.revise.telling`; every word of a user is escaped by the template engine.
"""

from __future__ import annotations

from dataclasses import dataclass

from composer.report.page import palette_css, shipped_text


@dataclass(frozen=True)
class PageLine:
    """What is danced from a count on, before and after; "" where nothing is."""

    count: int
    before: str
    after: str
    same: bool
    before_goes_on: bool = False
    after_goes_on: bool = False


@dataclass(frozen=True)
class PageTerm:
    """A term of the score, before and after."""

    sentence: str
    before: int
    after: int


@dataclass(frozen=True)
class RibbonPart:
    """A run of counts that all stay or all change."""

    counts: int
    new: bool


@dataclass(frozen=True)
class RevisionPage:
    """Everything the page says; ``sheet`` is the address of the new sheet beside it."""

    title: str
    kicker: str
    verdict: tuple[str, ...]
    asked: tuple[str, ...]
    ribbon: tuple[RibbonPart, ...]
    ribbon_words: str
    lines: tuple[PageLine, ...]
    notes: tuple[str, ...] = ()
    terms: tuple[PageTerm, ...] = ()
    sheet: str = ""


def revision_html(page: RevisionPage) -> str:
    """The page as text."""
    from jinja2 import Environment, FunctionLoader, StrictUndefined
    from markupsafe import Markup

    environment = Environment(
        loader=FunctionLoader(shipped_text), autoescape=True, undefined=StrictUndefined, trim_blocks=True,
        lstrip_blocks=True,
    )  # fmt: skip
    css = Markup(palette_css() + shipped_text("sheet.css"))
    return environment.get_template("revision.html").render(page=page, css=css)
