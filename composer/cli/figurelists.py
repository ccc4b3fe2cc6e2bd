"""``figures list``."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from composer.catalogue.model import Catalogue, Figure
from composer.cli import speak
from composer.cli.figurefinding import known_dance, loaded, roots


def list_command(*, dance: str | None, level: int | None, own: list[Path], as_json: bool) -> int:
    """List figures; the exit code."""
    roots(own)
    dances = None if dance is None else [known_dance(dance, own)]
    catalogue = loaded(own, dances)
    chosen = [f for f in catalogue.figures.values() if level is None or f.chart.level <= level]
    chosen.sort(key=lambda f: (f.chart.dance, f.chart.level, f.chart.name))
    if as_json:
        speak.document({"figures": [summary(figure) for figure in chosen]})
    else:
        _show(catalogue, chosen)
    return speak.DONE


def summary(figure: Figure) -> dict[str, Any]:
    """The plain facts of a figure."""
    chart = figure.chart
    return {
        "id": figure.id,
        "name": chart.name,
        "dance": chart.dance,
        "level": chart.level,
        "beats": chart.beats,
        "entry": chart.entry.hold,
        "exit": chart.exit.hold,
        "turn_eighths": figure.leader_turn,
        "energy": chart.energy,
        "cautions": list(chart.cautions),
        "about": chart.about,
        "file": figure.file,
    }


def _show(catalogue: Catalogue, chosen: list[Figure]) -> None:
    from rich.table import Table
    from rich.text import Text

    out = speak.console()
    for dance in dict.fromkeys(figure.chart.dance for figure in chosen):
        page = catalogue.dances.get(dance)
        out.print(Text(speak.clean(page.name if page else dance), style="bold"))
        table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False, header_style="dim")
        table.add_column("name", style="bold", min_width=14)
        table.add_column("level", justify="right")
        table.add_column("counts", justify="right")
        if out.width >= 80:
            table.add_column("begins in, ends in")
        if out.width >= 100:
            table.add_column("what it is", style="dim")
        for figure in (f for f in chosen if f.chart.dance == dance):
            chart = figure.chart
            holds = (
                chart.entry.hold if chart.entry.hold == chart.exit.hold else f"{chart.entry.hold} → {chart.exit.hold}"
            )
            row = [
                speak.clean(figure.id.split("/")[-1]),
                str(chart.level),
                str(chart.beats),
                holds,
                speak.clean(chart.about),
            ]
            table.add_row(*row[: len(table.columns)])
        out.print(table)
        out.print()
    print(f"{len(chosen)} {'figure' if len(chosen) == 1 else 'figures'}.")
