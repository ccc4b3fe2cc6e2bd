"""``sheet.pdf``: the whole sheet for both roles on A4 or letter paper. Lays out a sheet; computes nothing."""

from __future__ import annotations

from typing import Literal

from composer.report.lines import NoteLine, StepLine
from composer.report.model import FigureLine, PhraseLine, Sheet
from composer.report.paper import FOLLOW, LEAD, LINE, MARK, SOFT, Paper, PaperSize, open_paper
from composer.report.pdflearning import draw_learning
from composer.report.pdfplan import draw_plan, draw_timeline
from composer.report.words import Role

Voice = Literal["words", "charts"]
GAP = 7.0
LINE_MM = 3.5


def sheet_pdf(sheet: Sheet, *, size: PaperSize = "A4", voice: Voice | None = None) -> bytes:
    """The document; ``voice`` is plain words or charts, the sheet's own choice when left out."""
    paper = open_paper(sheet, size, "sheet")
    _overview(paper, sheet)
    paper.pdf.add_page()
    y = paper.top
    for phrase in sheet.phrases:
        y = _phrase(paper, sheet, phrase, y, voice or sheet.begin_with)
    draw_learning(paper, sheet.learning, y)
    return paper.bytes()


def _overview(paper: Paper, sheet: Sheet) -> None:
    left, y = paper.left, paper.top
    paper.font(8.5, colour=SOFT)
    y = paper.block(sheet.dances.upper(), left, y, paper.width, 4.2)
    long = len(sheet.title) > 60
    paper.heading(sheet.title, 15 if long else 23)
    y = paper.block(sheet.title, left, y + 1, paper.width, 6.4 if long else 9.6) + 1
    if sheet.both_lead:
        for name, colour in zip(sheet.partners, (LEAD, FOLLOW), strict=True):
            paper.font(10, "B", colour=colour)
            y = paper.block(name, left, y, paper.width, 4.5)
    for name, role, colour in ((sheet.leader_name, "Leader", LEAD), (sheet.follower_name, "Follower", FOLLOW)):
        if name and not sheet.both_lead:
            paper.font(8, "B", colour=colour)
            paper.one_line(role, left, y, 17, 4.5)
            paper.font(10)
            y = paper.block(name, left + 17, y, paper.width - 17, 4.5)
    paper.font(9, colour=SOFT)
    y = paper.block(sheet.proof, left, y + 1, paper.width, 4.4) + 1.5
    paper.rule(y, thick=0.6)
    y = _facts(paper, sheet, y + 2.5)
    paper.font(12, "B", family="serif")
    y = draw_timeline(paper, sheet, paper.block("The music and the figures", left, y + 2, paper.width, 6))
    if y > paper.bottom - 95:
        paper.pdf.add_page()
        y = paper.top
    paper.font(12, "B", family="serif")
    y = draw_plan(paper, sheet, paper.block("The floor", left, y + 2, paper.width, 6) + 1)
    y = paper.room_for(y, 14)
    paper.font(7.5, colour=SOFT)
    first, second = sheet.partners if sheet.both_lead else ("leader", "follower")
    note = f"Square and solid line: {first}. Circle and dotted line: {second}. {sheet.direction_note}"
    y = paper.room_for(paper.block(note, left, y, paper.width, LINE_MM), 30)
    paper.font(12, "B", family="serif")
    y = paper.block("Cautions", left, y + 2, paper.width, 6)
    paper.font(8.5)
    for caution in sheet.cautions:
        y = paper.block(f"•  {caution}", left, paper.room_for(y, 10), paper.width, 4.1)
    _score_card(paper, sheet, y)


def _facts(paper: Paper, sheet: Sheet, y: float) -> float:
    left, column = paper.left, (paper.width - GAP) / 2
    for index in range(0, len(sheet.facts), 2):
        lowest = y
        for side, fact in enumerate(sheet.facts[index : index + 2]):
            x = left + side * (column + GAP)
            paper.font(7, colour=SOFT)
            paper.one_line(fact.label, x, y, column, 3.4)
            paper.font(9)
            lowest = max(lowest, paper.block(fact.text, x, y + 3.4, column, 4.1))
        y = lowest + 1
    paper.font(8.5)
    for note in sheet.notes:
        y = paper.block(note, left, y, paper.width, 4)
    return y


def _score_card(paper: Paper, sheet: Sheet, y: float) -> None:
    if not sheet.score_rows:
        return
    left = paper.left
    y = paper.room_for(y, 12 + 5 * len(sheet.score_rows))
    paper.font(12, "B", family="serif")
    y = paper.block(f"Score card: {sheet.score} points, {sheet.proof_short}", left, y + 2, paper.width, 6)
    for row in sheet.score_rows:
        y = paper.room_for(y, 6)
        paper.font(8.5, "B")
        paper.one_line(row.term, left, y, 35, 4.1)
        paper.one_line(str(row.points), left + paper.width - 18, y, 18, 4.1, align="R")
        paper.font(8.5)
        y = paper.block(row.sentence, left + 36, y, paper.width - 56, 4.1) + 0.6


def _phrase(paper: Paper, sheet: Sheet, phrase: PhraseLine, y: float, voice: Voice) -> float:
    left = paper.left
    first = _height(paper, sheet.figures[phrase.figures[0] - 1], voice) if phrase.figures else 0
    y = paper.room_for(y, min(22 + first, paper.bottom - paper.top))
    paper.rule(y + 1, thick=0.7)
    head = f"Phrase {phrase.number}" + (f" · {phrase.section}" if phrase.section else "")
    paper.heading(head, 14)
    y = paper.block(head, left, y + 2, paper.width, 7)
    facts = [f"counts {phrase.counts}", phrase.bars, f"from {phrase.clock}"]
    facts += [f"music energy {phrase.energy} of 5"] if phrase.energy else []
    facts += [phrase.carried] if phrase.carried else []
    facts += [f"{a.words} on count {a.count} ({a.clock})" for a in phrase.accents]
    paper.font(8, colour=SOFT)
    y = paper.block(" · ".join(facts), left, y, paper.width, 4) + 1.5
    for number in phrase.figures:
        y = _figure(paper, sheet.figures[number - 1], y, voice)
    return y


def _figure(paper: Paper, figure: FigureLine, y: float, voice: Voice) -> float:
    """One figure, kept on one page when it fits on any; else its two charts go below each other, row by row."""
    need = _height(paper, figure, voice)
    if need <= paper.bottom - paper.top:
        return _figure_body(paper, figure, paper.room_for(y, need - 4), voice)
    return _long_figure(paper, figure, paper.room_for(y, 60), voice)


def _height(paper: Paper, figure: FigureLine, voice: Voice) -> float:
    paper.dry = True
    need = _figure_body(paper, figure, 0, voice)
    paper.dry = False
    return need


def _figure_head(paper: Paper, figure: FigureLine, y: float) -> float:
    left, width = paper.left, paper.width
    paper.heading(figure.name, 12)
    paper.one_line(figure.counts, left, y, 18, 5.4)
    y = paper.block(f"{figure.number}. {figure.name}", left + 19, y, width - 19, 5.4)
    paper.font(7.5, colour=SOFT)
    y = paper.block(_meta(figure), left + 19, y, width - 19, LINE_MM) + 0.6
    if figure.change:
        paper.font(9, "B", colour=MARK)
        y = paper.block(figure.change, left, y, width, 4)
    paper.font(8.5)
    y = paper.block(figure.about, left, y, width, 4)
    paper.font(7.5, colour=SOFT)
    y = paper.block(figure.sums_up, left, y, width, LINE_MM) + 0.6
    paper.font(8, colour=MARK)
    for caution in figure.cautions:
        y = paper.block(f"Take care. {caution}", left, y, width, LINE_MM)
    return y


def _figure_body(paper: Paper, figure: FigureLine, y: float, voice: Voice) -> float:
    y = _figure_head(paper, figure, y)
    left, column = paper.left, (paper.width - GAP) / 2
    right = left + column + GAP
    y = max(_station(paper, figure, True, left, y, column), _station(paper, figure, False, right, y, column)) + 1.2
    below = max(
        _chart(paper, figure, "leader", figure.steps_of("leader"), left, y, column, voice),
        _chart(paper, figure, "follower", figure.steps_of("follower"), right, y, column, voice),
    )
    leads, follows = (right, left) if figure.swapped else (left, right)
    y = max(
        _notes(paper, "How it is led", figure.lead, leads, below + 1, column),
        _notes(paper, "For the follower", figure.follow, follows, below + 1, column),
    )
    y = _notes(paper, "Hands", figure.hands, left, y, paper.width)
    paper.rule(y + 1.6)
    return y + 4


def _long_figure(paper: Paper, figure: FigureLine, y: float, voice: Voice) -> float:
    """A figure longer than a page."""
    left, width = paper.left, paper.width
    y = _figure_head(paper, figure, y)
    for begin in (True, False):
        y = _station(paper, figure, begin, left, paper.room_for(y, 20), width)
    roles: tuple[Role, Role] = ("leader", "follower")
    for role in roles:
        steps = figure.steps_of(role)
        for first in range(0, len(steps), 8):
            y = paper.room_for(y, 90)
            y = _chart(paper, figure, role, steps[first : first + 8], left, y, width, voice) + 2
    for title, notes in (("How it is led", figure.lead), ("For the follower", figure.follow), ("Hands", figure.hands)):
        y = _notes(paper, title, notes, left, paper.room_for(y, 12 + 8 * len(notes)), width)
    paper.rule(y + 1.6)
    return y + 4


def _meta(figure: FigureLine) -> str:
    parts = [
        figure.clock,
        figure.phrase_counts,
        figure.bars,
        figure.level,
        f"energy {figure.energy}, {figure.energy_words}",
    ]
    return " · ".join(p for p in (*parts, figure.peak, figure.runs_on) if p)


def _station(paper: Paper, figure: FigureLine, begin: bool, x: float, y: float, width: float) -> float:
    where = figure.entry if begin else figure.exit
    paper.font(8, "B")
    y = paper.block(f"{'Begin' if begin else 'End'}: {where.hold}", x, y, width, LINE_MM)
    paper.font(7.5)
    words = (
        f"Leader {where.leader_faces}, {where.leader_free} foot free. Follower {where.follower_faces}, "
        f"{where.follower_free} foot free. Hands: {where.hands}."
    )
    return paper.block(words, x, y, width, LINE_MM)


def _cells(step: StepLine, voice: Voice) -> list[str]:
    note = f" ({step.note})" if step.note else ""
    if voice == "words":
        return [step.count, step.plain + note]
    work = ", ".join(p for p in (step.footwork, step.rise, f"sway {step.sway}" if step.sway else "") if p)
    return [step.count, f"{step.foot_words} {step.what}{note}", step.turn or "–", step.ends, work or "–"]


def _columns(width: float, voice: Voice) -> list[float]:
    shares = (0.1, 0.9) if voice == "words" else (0.09, 0.31, 0.14, 0.24, 0.22)
    return [width * share for share in shares]


def _chart(
    paper: Paper,
    figure: FigureLine,
    role: Role,
    steps: tuple[StepLine, ...],
    x: float,
    y: float,
    width: float,
    voice: Voice,
) -> float:
    colour = LEAD if role == "leader" else FOLLOW
    paper.font(8, "B", colour=colour)
    paper.one_line(figure.part_of(role) or role.capitalize(), x, y, width, 4)
    y += 4
    widths = _columns(width, voice)
    heads = ("Count", "What to do") if voice == "words" else ("Count", "Step", "Turn", "Direction", "Footwork")
    paper.font(6.5, colour=SOFT)
    at = x
    for head, wide in zip(heads, widths, strict=True):
        paper.one_line(head, at, y, wide, 3)
        at += wide
    y += 3.4
    paper.rule(y - 0.2, colour, 0.4, x, width)
    for step in steps:
        lowest, at = y, x
        for index, (words, wide) in enumerate(zip(_cells(step, voice), widths, strict=True)):
            paper.font(8, "B" if index == 0 else "")
            lowest = max(lowest, paper.block(words, at, y + 0.3, wide, LINE_MM))
            at += wide
        y = lowest + 0.3
        paper.rule(y, LINE, 0.15, x, width)
    return y


def _notes(paper: Paper, title: str, notes: tuple[NoteLine, ...], x: float, y: float, width: float) -> float:
    if not notes:
        return y
    paper.font(7.5, "B")
    y = paper.block(title, x, y, width, LINE_MM)
    for note in notes:
        paper.font(7.5, "B")
        paper.one_line(note.count, x, y, 8, LINE_MM)
        paper.font(7.5)
        y = paper.block(note.text, x + 8, y, width - 8, LINE_MM)
    return y
