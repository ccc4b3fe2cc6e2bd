"""``verify``: judge a routine, show where every figure falls and, under it, every breach."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from composer.cli import speak
from composer.problem import Problem
from composer.report.counting import counts_text
from composer.report.directions import Compass, compass_for
from composer.routine import Placed, Routine, as_data
from composer.routinefile import load_routine
from composer.rules.base import Breach
from composer.units import TICKS_PER_BEAT
from composer.verify import verify

if TYPE_CHECKING:
    from rich.console import Console


def verify_command(routine: Path, *, brief: str | None, as_json: bool) -> int:
    """Verify a routine file, by a brief when one is given; the exit code."""
    problem, read = load_routine(routine, brief)
    breaches = verify(problem, read)
    if as_json:
        data = {
            "status": "breaches" if breaches else "fine",
            "breaches": [_data(item) for item in breaches],
            "routine": as_data(read),
        }
        speak.document(data)
    else:
        _show(problem, read, breaches)
        _verdict(breaches, len(read.figures), brief is not None)
    return speak.NO_ROUTINE if breaches else speak.DONE


def _data(item: Breach) -> dict[str, Any]:
    where = None if item.where is None else str(item.where)
    return {"key": item.key, "message": item.message, "count": item.count, "where": where, "law": item.law}


def _show(problem: Problem, routine: Routine, breaches: list[Breach]) -> None:
    from rich.text import Text

    out = speak.console()
    left = list(breaches)
    for placed in routine.figures:
        figure = problem.catalogue.figures[placed.figure]
        line = Text(f"{counts_text(placed.start_tick, placed.end_tick):>7}  ")
        line.append(speak.clean(figure.chart.name), style="bold")
        line.append(f"  {_compass(problem, placed).words(2 * placed.faces)}", style="dim")
        out.print(line)
        here = [item for item in left if item.count is not None and _tick(item) < placed.end_tick]
        for item in here:
            _tell(item, out, placed.start_tick)
        left = [item for item in left if item not in here]
    for item in left:
        _tell(item, out)


def _tick(item: Breach) -> int:
    return ((item.count or 1) - 1) * TICKS_PER_BEAT


def _tell(item: Breach, out: Console, begins: int | None = None) -> None:
    """One breach; its count is said unless the line above begins with it."""
    told = item.count is None or (begins is not None and _tick(item) == begins)
    count = "" if told else f"count {item.count}: "
    where = ""
    if item.where is not None and item.where.line is not None:
        where = f"  [{replace(item.where, file=Path(item.where.file or '').name)}]"
    speak.wrapped(f"! {count}{item.message}{where}", out.width, " " * 9)


def _compass(problem: Problem, placed: Placed) -> Compass:
    base = compass_for(problem.room, problem.keeps_alignment)
    return Compass("line", -2 * placed.corners) if base.kind == "line" else base


def _verdict(breaches: list[Breach], figures: int, judged_by_brief: bool) -> None:
    print()
    if not breaches:
        by = "everything the brief asks for holds" if judged_by_brief else "it can be danced as written"
        print(f"No breach: {figures} {'figure' if figures == 1 else 'figures'}, {by}.")
        return
    laws = sum(item.law for item in breaches)
    wishes = len(breaches) - laws
    parts = [f"{laws} that bodies, music or floor do not allow"] if laws else []
    parts += [f"{wishes} against the wishes of the brief"] if wishes else []
    print(f"{len(breaches)} {'breach' if len(breaches) == 1 else 'breaches'}: {', '.join(parts)}.")
