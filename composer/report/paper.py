"""Common ground of the PDF outputs: fonts, text that every font can show, the palette, measured text blocks.

Library: fpdf2 (pure Python, no system libraries, embeds font subsets, shapes right-to-left scripts when uharfbuzz is
there, text can be extracted). A browser engine or a page-layout engine with system libraries would not install on a
machine that has only Python. Fonts: DejaVu, which the plotting library ships and music21 already brings in.
Characters that no font has are written out by name, so that a name with an emoji stays readable.
"""

from __future__ import annotations

import importlib.util
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cache, lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Final, Literal

from composer.report.model import Sheet

if TYPE_CHECKING:
    from fpdf import FPDF

PaperSize = Literal["A4", "letter"]
Style = Literal["", "B", "I"]
Family = Literal["sans", "serif"]
Align = Literal["L", "C", "R"]
MM_PER_POINT: Final = 25.4 / 72
MARGIN_MM: Final = 13.0
INK, SOFT, LINE, FAINT = "#23262d", "#5a5e68", "#cfc8bb", "#ece6da"
LEAD, FOLLOW, MARK, MARK_WASH = "#0b5a63", "#8c2a5c", "#8a5300", "#fbe9c8"
TINTS: Final = ("#dbe8d9", "#f6e0d2", "#dde3f3", "#f3e6bf", "#ead9ee", "#cfe9ea", "#f4d6da", "#e3e0d4")
_NO_DATE: Final = datetime(2000, 1, 1, tzinfo=UTC)
"""A fixed date: the same routine gives the same bytes."""
_FAMILIES: Final[dict[Family, dict[Style, str]]] = {
    "sans": {"": "DejaVuSans", "B": "DejaVuSans-Bold", "I": "DejaVuSans-Oblique"},
    "serif": {"": "DejaVuSerif", "B": "DejaVuSerif-Bold"},
}


def font_folder() -> Path:
    """Where the plotting library keeps its DejaVu fonts (it is not imported for that)."""
    spec = importlib.util.find_spec("matplotlib")
    if spec is None or not spec.submodule_search_locations:
        raise FileNotFoundError("the DejaVu fonts of matplotlib are missing; install routine-composer anew")
    return Path(spec.submodule_search_locations[0]) / "mpl-data" / "fonts" / "ttf"


@cache
def _advances(file: str) -> dict[str, float]:
    """Width of every letter of a font, in ems."""
    from fontTools.ttLib import TTFont

    with TTFont(font_folder() / f"{file}.ttf", lazy=True) as font:
        widths, em = font["hmtx"].metrics, font["head"].unitsPerEm
        return {chr(code): widths[glyph][0] / em for code, glyph in font.getBestCmap().items()}


_JOINERS: Final = frozenset({0x200D, 0xFE0E, 0xFE0F})
_BIDI_MARKS: Final = frozenset({0x200E, 0x200F, *range(0x202A, 0x202F), *range(0x2066, 0x206A)})


@lru_cache(maxsize=4096)
def printable(words: str) -> str:
    """The text with characters that our fonts lack written out by their Unicode name."""
    plain, bold = _advances("DejaVuSans"), _advances("DejaVuSans-Bold")
    parts: list[str] = []
    for letter in words:
        code = ord(letter)
        if code in _JOINERS or code in _BIDI_MARKS:
            continue
        if (letter in plain and letter in bold) or code < 32:
            parts.append(letter)
        else:
            parts.append(f"[{unicodedata.name(letter, f'U+{code:04X}').lower()}]")
    return "".join(parts)


def needs_shaping(words: Iterable[str]) -> bool:
    """Whether any text has letters that join or run from right to left."""
    return any(unicodedata.bidirectional(letter) in {"R", "AL", "AN"} for text in words for letter in text)


@lru_cache(maxsize=8192)
def broken(words: str, file: str, ems: float) -> tuple[str, ...]:
    """Text in lines of at most ``ems`` times the letter size; a word that is too long is cut."""
    widths = _advances(file)
    lines: list[str] = []
    now, used, space = "", 0.0, widths[" "]
    for word in words.split():
        wide = sum(widths.get(letter, 0.6) for letter in word)
        if now and used + space + wide <= ems:
            now, used = f"{now} {word}", used + space + wide
            continue
        if now:
            lines.append(now)
        while wide > ems and len(word) > 1:
            fits, total = 1, widths.get(word[0], 0.6)
            while fits < len(word) and total + widths.get(word[fits], 0.6) <= ems:
                total += widths.get(word[fits], 0.6)
                fits += 1
            lines.append(word[:fits])
            word = word[fits:]
            wide = sum(widths.get(letter, 0.6) for letter in word)
        now, used = word, wide
    return (*lines, now) if now else tuple(lines)


@dataclass
class Paper:
    """An open document with our fonts; lengths are millimetres, sizes points.

    While ``dry`` is set, text and lines are measured and not written: a layout runs once to learn its height.
    """

    pdf: FPDF
    dry: bool = False
    file: str = "DejaVuSans"
    size: float = 9.0

    @property
    def width(self) -> float:
        """Width between the margins."""
        return float(self.pdf.epw)

    @property
    def top(self) -> float:
        """Where the text area begins."""
        return float(self.pdf.t_margin)

    @property
    def left(self) -> float:
        """The left margin."""
        return float(self.pdf.l_margin)

    @property
    def bottom(self) -> float:
        """Where the text area ends."""
        return float(self.pdf.h - MARGIN_MM)

    def heading(self, words: str, size: float) -> None:
        """Choose the heading font, or the text font when the heading font lacks a letter of the words."""
        serif = _advances(_FAMILIES["serif"]["B"])
        self.font(size, "B", family="serif" if all(letter in serif for letter in printable(words)) else "sans")

    def font(self, size: float, style: Style = "", *, family: Family = "sans", colour: str = INK) -> None:
        """Choose font and colour for what follows."""
        self.file, self.size = _FAMILIES[family][style], size
        if not self.dry:
            self.pdf.set_font(family, style, size)
            self.pdf.set_text_color(colour)

    def measure(self, words: str) -> float:
        """Width of a line in the present font, mm."""
        widths = _advances(self.file)
        return sum(widths.get(letter, 0.6) for letter in printable(words)) * self.size * MM_PER_POINT

    def block(self, words: str, x: float, y: float, width: float, line_mm: float) -> float:
        """Write text in lines from (x, y); returns the y below it. Never breaks the page."""
        if not words:
            return y
        for line in broken(printable(words), self.file, (width - 0.4) / (self.size * MM_PER_POINT)):
            if not self.dry:
                self.pdf.set_xy(x, y)
                self.pdf.cell(width, line_mm, line)
            y += line_mm
        return y

    def one_line(self, words: str, x: float, y: float, width: float, line_mm: float, align: Align = "L") -> None:
        """Write text that is cut with an ellipsis when it is too long for its place."""
        if self.dry:
            return
        shown = printable(words)
        if self.measure(shown) > width:
            while shown and self.measure(shown + "…") > width:
                shown = shown[:-1]
            shown = shown.rstrip() + "…"
        self.pdf.set_xy(x, y)
        self.pdf.cell(width, line_mm, shown, align=align)

    def room_for(self, y: float, need: float) -> float:
        """``y`` when ``need`` mm are left on this page, else the top of a new one."""
        if y + need <= self.bottom or y <= self.top + 0.1:
            return y
        self.pdf.add_page()
        return self.top

    def rule(self, y: float, colour: str = LINE, thick: float = 0.25, x: float | None = None, width: float = 0) -> None:
        """A horizontal line."""
        if self.dry:
            return
        left = MARGIN_MM if x is None else x
        self.pdf.set_draw_color(colour)
        self.pdf.set_line_width(thick)
        self.pdf.line(left, y, left + (width or self.width), y)

    def bytes(self) -> bytes:
        """The finished document."""
        return bytes(self.pdf.output())


def open_paper(sheet: Sheet, size: PaperSize, kind: str) -> Paper:
    """A new document with the sheet's title, our fonts and a page footer."""
    from fpdf import FPDF

    title = printable(sheet.title)
    names = [sheet.title, sheet.leader_name, sheet.follower_name, *(s.label for s in sheet.sections)]
    names += [f.name for f in sheet.figures] + [f.text for f in sheet.facts]

    class Document(FPDF):
        def footer(self) -> None:
            self.set_y(-MARGIN_MM + 2)
            self.set_font("sans", "", 7.5)
            self.set_text_color(SOFT)
            foot = title if len(title) <= 80 else title[:79] + "…"
            self.cell(self.epw * 0.8, 5, foot, align="L")
            self.cell(self.epw * 0.2, 5, f"{kind}, page {self.page_no()}", align="R")

    pdf = Document(format=size, unit="mm")
    pdf.set_creation_date(_NO_DATE)
    pdf.set_title(sheet.title)
    pdf.set_lang("en")
    pdf.set_margins(MARGIN_MM, MARGIN_MM, MARGIN_MM)
    pdf.set_auto_page_break(False, MARGIN_MM)
    pdf.c_margin = 0
    for family, styles in _FAMILIES.items():
        for style, file in styles.items():
            pdf.add_font(family, style, font_folder() / f"{file}.ttf")
    if needs_shaping(names) and importlib.util.find_spec("uharfbuzz") is not None:
        pdf.set_text_shaping(True)
    pdf.add_page()
    return Paper(pdf)
