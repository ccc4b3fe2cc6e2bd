"""``verify``: judge a routine and tell every breach."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from composer.cli import speak
from composer.routine import as_data
from composer.routinefile import load_routine
from composer.rules.base import Breach
from composer.verify import verify


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
        _show(breaches, len(read.figures), brief is not None)
    return speak.NO_ROUTINE if breaches else speak.DONE


def _data(item: Breach) -> dict[str, Any]:
    where = None if item.where is None else str(item.where)
    return {"key": item.key, "message": item.message, "count": item.count, "where": where, "law": item.law}


def _show(breaches: list[Breach], figures: int, judged_by_brief: bool) -> None:
    if not breaches:
        by = "everything the brief asks for holds" if judged_by_brief else "it can be danced as written"
        print(f"No breach: {figures} figures, {by}.")
        return
    for item in breaches:
        count = f"count {item.count}: " if item.count is not None else ""
        where = f"  [{item.where}]" if item.where is not None and item.where.line is not None else ""
        print(speak.clean(f"{count}{item.message}{where}"))
    laws = sum(item.law for item in breaches)
    wishes = len(breaches) - laws
    parts = [f"{laws} that bodies, music or floor do not allow"] if laws else []
    parts += [f"{wishes} against the wishes of the brief"] if wishes else []
    print(f"{len(breaches)} {'breach' if len(breaches) == 1 else 'breaches'}: {', '.join(parts)}.")
