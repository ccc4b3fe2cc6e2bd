"""Writes a revision: first the versions, then the sheets with ``revision.html`` and ``revision.json``.

The order matters: when the program is killed in between, the routine in the folder is still the old one, and the new
one is a version that can be restored.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Final

from composer.compose import EXPECTED, Look, write_sheets
from composer.outfolder import check_folder
from composer.report.revisionpage import revision_html
from composer.revise.opened import Opened, problem_of_version
from composer.revise.revision import Revised, keep_history
from composer.revise.telling import data_of, note_of, page_of
from composer.textfiles import json_text
from composer.versions import Version, check_versions, routine_from_record, save_version

PAGE: Final = "revision.html"
DATA: Final = "revision.json"


@dataclass(frozen=True)
class Written:
    """The version kept (None: nothing new) and the files written."""

    version: int | None
    files: tuple[Path, ...]


def check_home(home: Path) -> None:
    """Make sure the folder can take the results, before any long work.

    Raises
    ------
    BadInput
        Like :func:`composer.outfolder.check_folder`.
    """
    check_folder(home, (*EXPECTED, PAGE, DATA) if home.is_dir() else ())
    check_versions(home)


def write_revision(revised: Revised, look: Look | None = None) -> Written:
    """Keep the versions and write the folder.

    Raises
    ------
    BadInput
        When something cannot be written; what was there before is still there.
    """
    if revised.how == "unchanged" and revised.practised == revised.opened.practised:
        return Written(None, ())
    opened, version = keep_history(revised.opened, revised, note_of(revised))
    if version is None:
        return Written(None, ())
    extra = {
        PAGE: revision_html(page_of(revised)),
        DATA: json_text(data_of(revised, version)),
    }
    return Written(version, tuple(write_sheets(revised.problem, revised.routine, opened.home, look, extra)))


def restore(opened: Opened, version: Version, look: Look | None = None) -> Written:
    """Make an earlier version the routine again: kept as a new version, so that nothing is ever lost.

    Raises
    ------
    BadInput
        When something cannot be written.
    """
    problem = problem_of_version(opened.home, version)
    opened, _ = keep_history(opened, None, "")
    parent = opened.current.number if opened.current is not None else None
    again = Version(0, parent, f"Version {version.number} restored", version.asks, version.practised, version.brief,
                    version.brief_file, version.routine)  # fmt: skip
    saved = save_version(opened.home, again)
    routine = routine_from_record(version.routine)
    return Written(saved.number, tuple(write_sheets(problem, routine, opened.home, look)))
