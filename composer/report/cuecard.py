"""``cue-card.pdf``: the routine on one page to hold in practice. Lays out a sheet; computes nothing."""

from __future__ import annotations

from composer.report.model import FigureLine, PhraseLine, Sheet
from composer.report.paper import MARK, SOFT, Paper, PaperSize, open_paper

GAP = 6.0
SIZES = (12.0, 11.0, 10.0, 9.0, 8.0, 7.0, 6.2, 5.5, 4.8, 4.2, 3.6, 3.0)


def cue_card_pdf(sheet: Sheet, *, size: PaperSize = "A4") -> bytes:
    """The card: as many columns as needed and the largest letters that keep everything on one page."""
    paper = open_paper(sheet, size, "cue card")
    left, top = paper.left, _head(paper, sheet)
    tall = paper.bottom - top
    points, columns = _choose(sheet, tall)
    width = (paper.width - GAP * (columns - 1)) / columns
    column, y = 0, top
    for phrase in sheet.phrases:
        lines = [sheet.figures[n - 1] for n in phrase.figures]
        for figure in (None, *lines):
            need = _line_mm(points) * (2 if figure is None else 1)
            if y + need > paper.bottom and column < columns - 1:
                column, y = column + 1, top
            x = left + column * (width + GAP)
            if figure is None:
                y = _phrase_head(paper, phrase, x, y, width, points)
            else:
                y = _cue(paper, figure, x, y, width, points)
    return paper.bytes()


def _head(paper: Paper, sheet: Sheet) -> float:
    left, y = paper.left, paper.top
    paper.heading(sheet.title, 16 if len(sheet.title) < 60 else 11)
    y = paper.block(sheet.title, left, y, paper.width, 7 if len(sheet.title) < 60 else 5)
    shown = [fact.text for fact in sheet.facts if fact.label in {"Dance", "Tempo", "Length"}]
    paper.font(8, colour=SOFT)
    y = paper.block(" · ".join(shown), left, y, paper.width, 4)
    paper.rule(y + 1, thick=0.6)
    return y + 3


def _line_mm(points: float) -> float:
    return points * 0.47


def _choose(sheet: Sheet, tall: float) -> tuple[float, int]:
    """Letter size and number of columns; with one column free where it fits at a good size."""
    rows = len(sheet.figures) + 2 * len(sheet.phrases)
    for points in SIZES:
        per_column = int(tall / _line_mm(points))
        for columns in (1, 2, 3) if points <= 8 else (1, 2):
            # A head is never left alone at the foot of a column, which may waste two rows of each.
            if rows <= columns * max(per_column - 2, 1):
                return points, columns
    return SIZES[-1], 4


def _phrase_head(paper: Paper, phrase: PhraseLine, x: float, y: float, width: float, points: float) -> float:
    tall = _line_mm(points)
    paper.font(points * 0.85, "B", colour=MARK)
    head = f"Phrase {phrase.number}" + (f" · {phrase.section}" if phrase.section else "") + f" · {phrase.clock}"
    paper.one_line(head, x, y + tall * 0.6, width, tall)
    paper.rule(y + tall * 1.7, x=x, width=width, thick=0.2)
    return y + 2 * tall


def _cue(paper: Paper, figure: FigureLine, x: float, y: float, width: float, points: float) -> float:
    tall, numbers = _line_mm(points), points * 1.25
    paper.font(points, colour=SOFT)
    paper.one_line(figure.counts, x, y, numbers, tall)
    paper.font(points, "B")
    mark = " ◆" if figure.on_hit else ""
    name = f"{figure.number}. {figure.name}{mark}"
    name = f"{figure.leads.upper()}: {name}" if figure.change else name
    wide = min(paper.measure(name) + 3, width - numbers)
    paper.one_line(name, x + numbers, y, wide, tall)
    rest = width - numbers - wide
    if rest > 14:
        paper.font(points * 0.8, colour=SOFT)
        paper.one_line(f"to {figure.exit.hold}", x + numbers + wide, y, rest, tall)
    return y + tall
