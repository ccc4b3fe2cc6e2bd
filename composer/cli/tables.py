"""The routine as a table for the terminal. Lays out a sheet; works nothing out."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from composer.charts import Pair
from composer.cli.speak import clean
from composer.report.words import pair_words

if TYPE_CHECKING:
    from rich.console import RenderableType

    from composer.report.model import FigureLine, Sheet

NARROW: Final = 60
"""Columns below which figures are told one under the other, without columns."""
COUNTS, CLOCK, GAP = 7, 7, 2
PAIRS: Final[tuple[Pair, ...]] = ("LR", "RL", "RR", "LL")
HANDS_LEGEND: Final = "Hands: L-R is the leader's left hand with the follower's right, and so on."


def routine_table(sheet: Sheet, width: int) -> Iterator[RenderableType]:
    """Title, the figures, how to read directions."""
    from rich.text import Text

    yield Text(clean(sheet.title), style="bold")
    facts = {fact.label: fact.text for fact in sheet.facts}
    yield Text(clean(" · ".join(facts[key] for key in ("Dance", "Length", "Room") if key in facts)), style="dim")
    yield Text("")
    yield from _stacked(sheet) if width < NARROW else _columns(sheet, width)
    yield Text("")
    if any(_short(note.text) != note.text for line in sheet.figures for note in line.hands):
        yield Text(HANDS_LEGEND, style="dim")
    yield Text(clean(sheet.direction_note), style="dim")


def _columns(sheet: Sheet, width: int) -> Iterator[RenderableType]:
    """One line a figure: counts, clock, name, how it begins; notes under the name."""
    from rich.padding import Padding
    from rich.table import Table
    from rich.text import Text

    left = COUNTS + CLOCK + 2 * GAP
    name = max(18, min(44, 2 * (width - left - GAP) // 5))

    def row(*cells: Text) -> Table:
        grid = Table.grid(padding=(0, GAP, 0, 0), pad_edge=False)
        for size, justify in ((COUNTS, "right"), (CLOCK, "right"), (name, "left")):
            grid.add_column(width=size, justify=justify)  # type: ignore[arg-type]
        grid.add_column(width=width - left - name - GAP)
        grid.add_row(*cells)
        return grid

    yield row(*(Text(title, style="dim") for title in ("counts", "time", "figure", "begins in")))
    breaks = _breaks(sheet)
    hold = ""
    for line in sheet.figures:
        if label := breaks.get(line.start_tick):
            yield Padding(Text(clean(label), style="cyan"), (0, 0, 0, left))
        begins = _standing(line, hold)
        yield row(Text(line.counts), Text(line.clock), Text(clean(line.name), style="bold"), Text(begins))
        if note := _note(line):
            yield Padding(Text(note, style="dim"), (0, 0, 0, left + 2))
        hold = line.entry.hold


def _breaks(sheet: Sheet) -> dict[int, str]:
    """Headings by tick: sections when the music has some with names, each told where its first figure begins."""
    starts = [line.start_tick for line in sheet.figures]
    found: dict[int, str] = {}
    for mark in sheet.sections if len(sheet.sections) > 1 else ():
        first = next((tick for tick in starts if tick >= mark.start_tick), None)
        if first is not None and first < mark.end_tick:
            found[first] = f"section {mark.label}" if len(mark.label) < 3 else mark.label
    return found


def _stacked(sheet: Sheet) -> Iterator[RenderableType]:
    from rich.padding import Padding
    from rich.text import Text

    breaks = _breaks(sheet)
    for line in sheet.figures:
        if label := breaks.get(line.start_tick):
            yield Text(clean(label), style="cyan")
        yield Text.assemble((f"{line.counts} ", "dim"), (clean(line.name), "bold"))
        yield Padding(Text(_standing(line, "")), (0, 0, 0, 2))
        if note := _note(line):
            yield Padding(Text(note, style="dim"), (0, 0, 0, 2))


def _standing(line: FigureLine, hold_before: str) -> str:
    """How the figure begins; the hold only where it is another than the line above said."""
    parts = [line.entry.leader_faces] if line.entry.hold == hold_before else [line.entry.hold, line.entry.leader_faces]
    return clean(", ".join(parts))


def _hands(line: FigureLine) -> list[str]:
    """What hands do, count by count, with short names for pairs: ``lift L-R``, ``on 4 lower L-R, join R-L``."""
    by_count: dict[str, list[str]] = {}
    for note in line.hands:
        by_count.setdefault(note.count, []).append(_short(note.text))
    return [("" if count == "1" else f"on {count} ") + ", ".join(texts) for count, texts in by_count.items()]


def _short(text: str) -> str:
    for pair in PAIRS:
        text = text.replace(pair_words(pair), f"{pair[0]}-{pair[1]}")
    return text


def _note(line: FigureLine) -> str:
    """What a dancer wants to be told at a glance: hits, runs across a phrase, hands, cautions."""
    notes = [line.change.rstrip("."), line.peak if line.on_hit else "", line.runs_on]
    notes += _hands(line)
    notes += ["caution, see the sheet"] if line.cautions else []
    return clean("; ".join(note for note in notes if note))
