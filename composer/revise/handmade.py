"""Routines edited by hand: read as they are timed, or danced one figure after another, whichever holds better.

Somebody who takes a figure out of a record leaves a gap; somebody who puts one in leaves an overlap. Read with its
times the rest stays where it was; re-timed, everything after the edit moves. The reading with fewer breaches is
taken, the timed one when they are alike.
"""

from __future__ import annotations

from pathlib import Path

from composer.revise.opened import Opened, open_routine
from composer.textfiles import read_yaml


def is_timed(path: Path) -> bool:
    """Whether any figure of a routine file says when it begins or ends."""
    data = read_yaml(path).data
    figures = data.get("figures") if isinstance(data, dict) else None
    return isinstance(figures, list) and any(
        isinstance(f, dict) and (f.get("start_tick") is not None or f.get("end_tick") is not None) for f in figures
    )


def best_opened(path: Path, brief: str | None = None, out: Path | None = None, *, repair: bool = False) -> Opened:
    """Open a routine; one that was edited by hand is re-timed when that mends more than it breaks.

    Parameters
    ----------
    repair : only then is the reading with times given up although it is the one in the file.

    Raises
    ------
    BadInput
        Like :func:`composer.revise.opened.open_routine`.
    """
    from composer.verify import verify

    opened = open_routine(path, brief, out)
    if not repair or opened.current is not None or not is_timed(path):
        return opened
    faults = len(verify(opened.problem, opened.routine))
    if not faults:
        return opened
    other = open_routine(path, brief, out, retime=True)
    return other if len(verify(other.problem, other.routine)) < faults else opened
