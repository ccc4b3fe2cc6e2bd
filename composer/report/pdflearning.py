"""The learning plan on paper: figures in order, chunks, sessions. Lays out a plan; computes nothing."""

from __future__ import annotations

from composer.report.paper import LINE, SOFT, Paper
from composer.report.planning import LearningPlan

LINE_MM = 3.8
COLUMNS = (("Figure", 0.38), ("Leader", 0.13), ("Follower", 0.13), ("Learn first", 0.28), ("Chunk", 0.08))


def draw_learning(paper: Paper, plan: LearningPlan, y: float) -> float:
    """The plan from ``y`` on; returns the y below."""
    left = paper.left
    y = paper.room_for(y, 60)
    paper.rule(y + 1, thick=0.7)
    paper.font(14, "B", family="serif")
    y = paper.block("Learning it", left, y + 2, paper.width, 7)
    paper.font(8.5)
    y = paper.block(plan.note, left, y, paper.width, 4.1) + 2
    y = _figures(paper, plan, y)
    y = _head(paper, "Chunks to practise in one go", y)
    for chunk in plan.chunks:
        words = (
            f"{chunk.number}. Figures {chunk.first} to {chunk.last}, counts {chunk.counts}, from {chunk.clock}: "
            f"begins in {chunk.begins_in}, ends in {chunk.ends_in}"
        )
        y = paper.block(words, left, paper.room_for(y, 9), paper.width, LINE_MM)
    y = _head(paper, "Sessions", y + 1)
    for session in plan.sessions:
        y = paper.room_for(y, 5 + 5 * len(session.parts))
        day = "" if session.day is None else f", {session.day.isoformat()}"
        paper.font(8.5, "B")
        y = paper.block(
            f"Session {session.number}{day}: {session.minutes} minutes", left, y + 0.8, paper.width, LINE_MM
        )
        paper.font(8)
        for part in session.parts:
            paper.one_line(f"{part.minutes} min", left + 2, y, 14, LINE_MM)
            y = paper.block(part.words, left + 16, y, paper.width - 16, LINE_MM)
    return y


def _head(paper: Paper, words: str, y: float) -> float:
    y = paper.room_for(y + 2, 22)
    paper.font(11, "B", family="serif")
    y = paper.block(words, paper.left, y, paper.width, 5.6)
    paper.font(8.5)
    return y


def _figures(paper: Paper, plan: LearningPlan, y: float) -> float:
    y = _head(paper, "Figures, in the order to learn them", y)
    titles = dict(zip(("Leader", "Follower"), plan.partners, strict=True))
    y = _row(paper, [titles.get(name, name) for name, _ in COLUMNS], y, head=True)
    for item in plan.figures:
        chunk = str(item.chunk) if item.chunk is not None else "extra"
        cells = [f"{item.order}. {item.name}", item.leader, item.follower, ", ".join(item.needs) or "–", chunk]
        y = _row(paper, cells, paper.room_for(y, 9), head=False)
    return y


def _row(paper: Paper, cells: list[str], y: float, *, head: bool) -> float:
    x, lowest = paper.left, y
    for index, (cell, (_, share)) in enumerate(zip(cells, COLUMNS, strict=True)):
        if head:
            paper.font(7, colour=SOFT)
        else:
            paper.font(8, "B" if index == 0 else "")
        lowest = max(lowest, paper.block(cell, x, y + 0.3, paper.width * share - 1, LINE_MM))
        x += paper.width * share
    paper.rule(lowest + 0.2, LINE, 0.15)
    return lowest + 0.4
