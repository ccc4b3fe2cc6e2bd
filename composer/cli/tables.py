"""The routine as a table for the terminal. Lays out a sheet; works nothing out."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from composer.cli.speak import clean

if TYPE_CHECKING:
    from rich.console import RenderableType

    from composer.report.model import FigureLine, Sheet

NARROW: Final = 76
"""Columns below which a table would break every word; figures are then told one under the other."""


def routine_table(sheet: Sheet, width: int) -> Iterator[RenderableType]:
    """Title, the figures, how to read directions."""
    from rich.text import Text

    yield Text(clean(sheet.title), style="bold")
    facts = {fact.label: fact.text for fact in sheet.facts}
    yield Text(clean(" · ".join(facts[key] for key in ("Dance", "Length", "Room") if key in facts)), style="dim")
    yield Text("")
    if width < NARROW:
        yield from _stacked(sheet)
    else:
        yield _wide(sheet, width)
    yield Text("")
    yield Text(clean(sheet.direction_note), style="dim")


def _wide(sheet: Sheet, width: int) -> RenderableType:
    from rich.table import Table
    from rich.text import Text

    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False, header_style="dim", show_edge=False)
    table.add_column("counts", no_wrap=True, justify="right")
    table.add_column("time", no_wrap=True, justify="right")
    table.add_column("figure", min_width=16, ratio=3, style="bold")
    table.add_column("begin in", ratio=4)
    table.add_column("note", ratio=4, style="dim")
    phrases = {phrase.start_tick: phrase for phrase in sheet.phrases}
    sections = {mark.start_tick: mark.label for mark in sheet.sections} if len(sheet.sections) > 1 else {}
    for line in sheet.figures:
        if line.start_tick in sections:
            table.add_row("", "", Text(clean(sections[line.start_tick]), style="cyan"), "", "")
        elif line.start_tick in phrases and line.start_tick and not sections:
            table.add_section()
        table.add_row(line.counts, line.clock, Text(clean(line.name)), _standing(line), Text(_note(line)))
    return table


def _stacked(sheet: Sheet) -> Iterator[RenderableType]:
    from rich.text import Text

    for line in sheet.figures:
        yield Text.assemble((f"{line.counts} ", "dim"), (clean(line.name), "bold"))
        yield Text(f"  {_standing(line)}")
        if note := _note(line):
            yield Text(f"  {note}", style="dim")


def _standing(line: FigureLine) -> str:
    return clean(f"{line.entry.hold}, {line.entry.leader_faces}")


def _note(line: FigureLine) -> str:
    """What a dancer wants to be told at a glance: hits, runs across a phrase, hands, cautions."""
    notes = [line.peak if line.on_hit else "", line.runs_on]
    notes += [f"{note.text}" if note.count == "1" else f"{note.count}: {note.text}" for note in line.hands[:2]]
    notes += ["see the caution on the sheet"] if line.cautions else []
    return clean("; ".join(note for note in notes if note))
