"""``why``: why there is no routine, why a figure is not in it, why a figure stands where it does.

Exit codes: 0 answered, 2 bad input, 3 proved that there is no routine (with the figure), 4 undecided.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from composer.brief.load import brief_file, load_problem
from composer.cli import speak
from composer.errors import BadInput, Diagnostic, Where
from composer.problem import Problem
from composer.report.whypage import Told, why_html
from composer.routine import Routine
from composer.textfiles import read_yaml, write_text
from composer.units import TICKS_PER_BEAT


def why_command(
    path: str,
    *,
    figure: str | None,
    at: int | None,
    count: int | None,
    brief: str | None,
    out: Path | None,
    time_limit_s: float,
    as_json: bool,
) -> int:
    """Answer, in the terminal, as JSON, as a page; the exit code."""
    routine = _is_routine(path)
    _refuse_mixtures(path, routine, figure, at, count, brief)
    if out is not None:
        _check_page(out)
    with speak.libraries_silenced():
        if routine:
            told, data, code = _here(path, count or 1, brief, time_limit_s)
        elif figure is not None:
            told, data, code = _figure(path, figure, at, time_limit_s)
        else:
            told, data, code = _brief(path, time_limit_s)
    if out is not None:
        write_text(out, why_html(told))
        data["files"] = [str(out)]
    if as_json:
        speak.document(data)
    else:
        _show(told)
        if out is not None:
            print(f"Written to {speak.clean(str(out))}")
    return code


def _is_routine(path: str) -> bool:
    file = Path(brief_file(path))
    if file.is_dir():
        return False
    data = read_yaml(file).data
    return isinstance(data, dict) and str(data.get("format", "")).startswith("routine/")


def _refuse_mixtures(
    path: str, routine: bool, figure: str | None, at: int | None, count: int | None, brief: str | None
) -> None:
    """Options that do not go with what was given.

    Raises
    ------
    BadInput
        ``CMD010``, all of them at once.
    """
    faults = []
    where = Where(path)
    if routine and figure is not None:
        faults.append(("--figure asks about a brief; this is a routine.", "Give the brief, or ask with --count."))
    if routine and count is None and figure is None:
        faults.append(("say which count of the routine is meant.", "Add --count N."))
    if not routine and count is not None:
        faults.append(("--count asks about a routine; this is a brief.", "Give the routine.json, or use --figure."))
    if not routine and brief is not None:
        faults.append(("--brief goes with a routine.", "Leave it out."))
    if at is not None and figure is None:
        faults.append(("--at needs the figure it is about.", "Add --figure NAME."))
    if faults:
        raise BadInput([Diagnostic("CMD010", message, where, remedy) for message, remedy in faults])


def _check_page(out: Path) -> None:
    """Look before the work whether the page can be written.

    Raises
    ------
    BadInput
        ``OUT002`` or ``OUT001``.
    """
    if out.is_dir():
        raise BadInput(
            Diagnostic("OUT002", "this is a folder, a file is needed.", Where(str(out)), "Name it FILE.html.")
        )
    if not out.absolute().parent.is_dir():
        raise BadInput(Diagnostic("OUT001", "cannot be written: its folder does not exist.", Where(str(out))))


def _brief(path: str, time_limit_s: float) -> tuple[Told, dict[str, Any], int]:
    from composer.cli.whytell import brief_data, told_brief
    from composer.explain import Open, Possible, why

    problem = load_problem(path)
    found = why(problem, time_limit_s=time_limit_s)
    match found:
        case Possible():
            code = speak.DONE
        case Open():
            code = speak.UNDECIDED
        case _:
            code = speak.NO_ROUTINE
    return told_brief(problem, found), brief_data(found), code


def _figure(path: str, name: str, at: int | None, time_limit_s: float) -> tuple[Told, dict[str, Any], int]:
    from composer.cli.whytell import figure_data, told_figure
    from composer.explain.figure import Impossible, NoRoutineAnyway, Unknown, why_figure

    problem = load_problem(path)
    identity = _found(problem, name)
    if at is not None and at > problem.timeline.length_beats:
        message = f"--at {at} lies beyond the music, which has {problem.timeline.length_beats} counts."
        raise BadInput(Diagnostic("CMD011", message))
    found = why_figure(problem, identity, at=at, time_limit_s=time_limit_s)
    match found:
        case Impossible() | NoRoutineAnyway():
            code = speak.NO_ROUTINE
        case Unknown():
            code = speak.UNDECIDED
        case _:
            code = speak.DONE
    return told_figure(problem, identity, at, found), {"figure": identity, **figure_data(found)}, code


def _found(problem: Problem, name: str) -> str:
    """The figure meant by a name.

    Raises
    ------
    BadInput
        ``CMD021``, ``CMD022`` or ``CMD026``.
    """
    from composer.brief.names import FigureNames

    names = FigureNames(problem.catalogue, problem.brief.dances, (), "CMD")
    found = names.find(name, Where(key="--figure"))
    if found is None:
        raise BadInput(names.faults)
    return found


def _here(path: str, count: int, brief: str | None, time_limit_s: float) -> tuple[Told, dict[str, Any], int]:
    from composer.cli.heretell import here_data, told_here
    from composer.explain.elsewhere import Undecided
    from composer.explain.here import why_here

    problem, routine, known = _with_its_brief(path, brief)
    try:
        here = why_here(problem, routine, count, time_limit_s=time_limit_s)
    except ValueError:
        last = max((placed.end_tick for placed in routine.figures), default=0) // TICKS_PER_BEAT
        message = f"no figure is danced on count {count}; the routine has {last} counts."
        raise BadInput(Diagnostic("CMD011", message, Where(path))) from None
    code = speak.UNDECIDED if isinstance(here.free, Undecided) else speak.DONE
    data = {**here_data(here), "brief_known": known}
    return told_here(problem, routine, count, here, brief_known=known), data, code


def _with_its_brief(path: str, brief: str | None) -> tuple[Problem, Routine, bool]:
    """A routine, the problem it answers, and whether that is its brief: the one given, else the one it was made for."""
    from composer.revise.opened import open_routine
    from composer.routinefile import load_routine

    if brief is not None:
        return *load_routine(path, brief_file(brief)), True
    try:
        opened = open_routine(Path(path))
    except BadInput:
        return *load_routine(path), False  # by hand, or its brief is gone; its own faults are told here
    return opened.problem, opened.routine, True


def _show(told: Told) -> None:
    width = speak.console().width
    _line(told.answer, "", width)
    for part in told.parts:
        print()
        _line(f"{part.heading}:", "", width)
        for line in part.lines:
            _line(f"- {line.text}{f'  [{line.where}]' if line.where else ''}", "  ", width)
            for more in line.more:
                _line(f"- {more}", "      ", width)


def _line(text: str, indent: str, width: int) -> None:
    if sys.stdout.isatty():
        speak.wrapped(text, width, indent)
    else:
        print(speak.clean(indent + text))
