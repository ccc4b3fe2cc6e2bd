"""An explanation as one self-contained page. Lays out what it is given, computes nothing."""

from __future__ import annotations

from dataclasses import dataclass, field

from composer.report.page import palette_css, shipped_text


@dataclass(frozen=True)
class Line:
    """One sentence; ``where`` is its place in the brief, ``more`` what follows from it or lies behind it."""

    text: str
    where: str | None = None
    more: tuple[str, ...] = ()


@dataclass(frozen=True)
class Part:
    """A heading with its sentences; ``kind`` says how it looks: ``clash``, ``help`` or ``plain``."""

    heading: str
    lines: tuple[Line, ...]
    kind: str = "plain"


@dataclass(frozen=True)
class Told:
    """A whole explanation: the question, the answer in one sentence, and the parts."""

    question: str
    answer: str
    parts: tuple[Part, ...] = field(default=())


def why_html(told: Told) -> str:
    """The page as text. User text is escaped by the template engine."""
    from jinja2 import Environment, FunctionLoader, StrictUndefined
    from markupsafe import Markup

    from composer.report.words import clean

    environment = Environment(
        loader=FunctionLoader(shipped_text), autoescape=True, undefined=StrictUndefined, trim_blocks=True,
        lstrip_blocks=True,
    )  # fmt: skip
    environment.filters["clean"] = clean
    page = environment.get_template("why.html")
    return page.render(told=told, css=Markup(palette_css() + shipped_text("sheet.css")))
