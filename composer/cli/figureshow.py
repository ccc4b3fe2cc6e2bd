"""``figures show``: both charts of a figure side by side with hold, hands and how it is led."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from composer.catalogue.model import Catalogue, Figure
from composer.cli import speak
from composer.cli.figurefinding import find_figure
from composer.cli.figurelists import summary
from composer.errors import BadInput, Diagnostic, Where
from composer.report.directions import Compass
from composer.report.lines import StepLine
from composer.report.steps import hand_lines, stations, step_lines
from composer.report.words import Role
from composer.routine import Placed
from composer.textfiles import write_text
from composer.units import ALIGNMENT_WORDS, count_text

if TYPE_CHECKING:
    from rich.table import Table

WIDE = 110
"""Columns from which both charts stand side by side."""


def show_command(name: str, *, dance: str | None, own: list[Path], out: Path | None, as_json: bool) -> int:
    """Show one figure (and draw it); the exit code."""
    catalogue, figure = find_figure(name, dance, own, alone=True)
    if out is not None:
        _draw(figure, out)
    if as_json:
        speak.document({**summary(figure), "chart": _chart_data(figure), "motion": _motion_data(figure)})
    else:
        _show(catalogue, figure)
        if out is not None:
            print(speak.clean(f"\nDrawn in {out}"))
    return speak.DONE


def _draw(figure: Figure, out: Path) -> None:
    from composer.report.footchart import foot_chart_svg
    from composer.report.footdata import foot_chart

    if out.suffix.lower() != ".svg":
        raise BadInput(Diagnostic("CMD004", f"--out: '{out.name}' is no SVG picture; let its name end in .svg."))
    if out.is_dir():
        raise BadInput(Diagnostic("OUT001", "this is a folder, a file is needed.", Where(str(out))))
    write_text(out, f'<?xml version="1.0" encoding="UTF-8"?>\n{foot_chart_svg(foot_chart(figure))}\n')


def _chart_data(figure: Figure) -> dict[str, Any]:
    return figure.chart.model_dump(mode="json", exclude_defaults=True)


def _motion_data(figure: Figure) -> dict[str, Any]:
    motion = figure.motion
    return {
        "leader_turn_sixteenths": motion.leader_turn16,
        "follower_turn_sixteenths": motion.follower_turn16,
        "travel_forward_mm": motion.travel_forward_mm,
        "travel_right_mm": motion.travel_right_mm,
        "residual_mm": motion.residual_mm,
        "gap_mm": [motion.least_gap_mm, motion.most_gap_mm],
        "fastest_mm_per_beat": motion.fastest_mm_per_beat,
    }


def _show(catalogue: Catalogue, figure: Figure) -> None:
    from rich.columns import Columns
    from rich.text import Text

    out, chart = speak.console(), figure.chart
    faces = (chart.entry.faces or (0,))[0]
    placed = Placed(figure.id, 0, figure.length_ticks, faces)
    compass = Compass("line", 0)
    entry, exit_ = stations(figure, placed, catalogue, compass)
    out.print(Text(speak.clean(chart.name), style="bold"), Text(figure.id, style="dim"))
    out.print(speak.clean(chart.about))
    out.print()
    aligned = ""
    if chart.entry.faces:
        aligned = ", leader facing " + " or ".join(ALIGNMENT_WORDS[item] for item in chart.entry.faces)
    facts = [
        ("length", f"{chart.beats} counts, begins on beat {' or '.join(str(b) for b in chart.starts_on)} of the bar"),
        ("level", f"{chart.level} of 5, energy {chart.energy} of 5"),
        ("begins in", f"{entry.hold}{aligned}"),
        ("", f"leader's {entry.leader_free} and follower's {entry.follower_free} foot free"),
        ("ends in", exit_.hold),
        ("", f"leader's {exit_.leader_free} and follower's {exit_.follower_free} foot free"),
        ("hands", entry.hands),
    ]
    facts += [("", f"{note.count}: {note.text}") for note in hand_lines(figure, None, catalogue)]
    facts += [("peak", f"count {count_text(chart.peak)}")] if chart.peak is not None else []
    facts += [("needs", ", ".join(chart.needs))] if chart.needs else []
    facts += [("caution", ", ".join(chart.cautions))] if chart.cautions else []
    out.print(_facts(facts))
    out.print()
    charts = [_chart_table(role, step_lines(figure, placed, role, compass)) for role in ("leader", "follower")]
    if out.width >= WIDE:
        out.print(Columns(charts, padding=(0, 4)))
    else:
        for table in charts:
            out.print(table)
            out.print()
    for role, notes in (("leading it", chart.lead), ("following it", chart.follow)):
        if notes:
            out.print(Text(role, style="dim"))
            out.print(_facts([(count_text(note.at), note.say) for note in notes]))


def _facts(rows: list[tuple[str, str]]) -> Table:
    from rich.table import Table

    table = Table(box=None, show_header=False, padding=(0, 2, 0, 0), pad_edge=False)
    table.add_column(style="dim", justify="right", no_wrap=True)
    table.add_column()
    for label, text in rows:
        table.add_row(speak.clean(label), speak.clean(text))
    return table


def _chart_table(role: Role, lines: tuple[StepLine, ...]) -> Table:
    from rich.table import Table

    table = Table(title=role, title_justify="left", title_style="bold", box=None, padding=(0, 2, 0, 0), pad_edge=False)
    table.header_style = "dim"
    table.add_column("count", justify="right", no_wrap=True)
    table.add_column("foot", no_wrap=True)
    table.add_column("action")
    table.add_column("turn")
    table.add_column("foot ends")
    extras = [
        (title, key)
        for title, key in (("footwork", "footwork"), ("rise", "rise"), ("sway", "sway"), ("note", "note"))
        if any(getattr(line, key) for line in lines)
    ]
    for title, _ in extras:
        table.add_column(title, style="dim" if title == "note" else None)
    for line in lines:
        row = [line.count, line.foot_words, line.what, line.turn, line.ends, *(getattr(line, key) for _, key in extras)]
        table.add_row(*(speak.clean(cell) for cell in row))
    return table
