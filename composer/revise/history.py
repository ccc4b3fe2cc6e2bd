"""Earlier versions of a routine: a folder ``versions`` beside it, one whole file each, never overwritten.

``v0001.json`` (format ``version/1``) holds the routine, the first brief as data with the place of its file, everything
asked since, what has been practised, which version it came from, and a check sum over all of it. A version is written
to a temporary neighbour, brought to the disk, and only then given its name, which must be free: killing the program
at any moment leaves every earlier version as it was and the new one whole or absent. Which version is the current one
follows from the routine itself (the last version that holds exactly it), so no second file can disagree.

Codes: ``RTN040`` a version that cannot be read, ``RTN041`` no such version, ``OUT001`` cannot be written.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import re
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

from composer.errors import BadInput, Diagnostic, Where
from composer.revise.asks import Ask
from composer.revise.kept import Counts
from composer.routine import Routine, as_data
from composer.textfiles import json_text, read_bytes

FORMAT: Final = "version/1"
FOLDER: Final = "versions"
SCENARIO: Final = "scenario:"
STALE_S: Final = 3600.0
_NAME: Final = re.compile(r"v(\d{4,})\.json")


@dataclass(frozen=True)
class Version:
    """One version. ``parent`` is the number it came from, None for the first.

    ``brief`` is the data of the first brief (before any ask), ``brief_file`` its place relative to the folder of the
    routine, or ``scenario:NAME``. ``routine`` is the record as in ``routine.json``.
    """

    number: int
    parent: int | None
    note: str
    asks: tuple[Ask, ...]
    practised: tuple[Counts, ...]
    brief: dict[str, Any]
    brief_file: str
    routine: dict[str, Any]


def folder_for(home: Path) -> Path:
    """The folder of versions of a routine whose files are in ``home``."""
    return home / FOLDER


def load_versions(home: Path) -> tuple[tuple[Version, ...], list[Diagnostic]]:
    """All versions in order, and a diagnostic for every file among them that is damaged."""
    found: list[Version] = []
    faults: list[Diagnostic] = []
    folder = folder_for(home)
    for path in sorted(folder.glob("v*.json")) if folder.is_dir() else ():
        match = _NAME.fullmatch(path.name)
        if match is None:
            continue
        try:
            found.append(_read(path, int(match[1])))
        except (BadInput, ValueError, KeyError, TypeError, AttributeError):
            message = "this version is damaged and is left aside; the others are not touched by it."
            faults.append(Diagnostic("RTN040", message, Where(str(path))))
    return tuple(sorted(found, key=lambda version: version.number)), faults


def save_version(home: Path, version: Version) -> Version:
    """Keep a version under the next free number; the version with its number.

    Raises
    ------
    BadInput
        ``OUT001`` if it cannot be written; nothing is left half-written under its name.
    """
    folder = folder_for(home)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        _sweep(folder)
        while True:
            numbers = [int(m[1]) for m in map(_NAME.fullmatch, os.listdir(folder)) if m]
            numbered = replace(version, number=max(numbers, default=0) + 1)
            if _placed(folder, numbered):
                return numbered
    except OSError as problem:
        reason = problem.strerror or str(problem)
        raise BadInput(Diagnostic("OUT001", f"cannot be written: {reason}.", Where(str(folder)))) from None


def version_numbered(versions: Sequence[Version], number: int) -> Version:
    """The version with a number.

    Raises
    ------
    BadInput
        ``RTN041`` when there is none.
    """
    for version in versions:
        if version.number == number:
            return version
    known = ", ".join(str(version.number) for version in versions) or "none"
    raise BadInput(Diagnostic("RTN041", f"there is no version {number}.", Where(), f"Versions: {known}."))


def current_version(versions: Sequence[Version], record: dict[str, Any]) -> Version | None:
    """The last version that holds exactly this routine."""
    wanted = _canonical(record)
    return next((v for v in reversed(versions) if _canonical(v.routine) == wanted), None)


def routine_from_record(record: dict[str, Any]) -> Routine:
    """The routine of a version's record.

    Raises
    ------
    ValueError
        When it is none.
    """
    from pydantic import TypeAdapter

    return TypeAdapter(Routine).validate_python({key: value for key, value in record.items() if key != "format"})


def record_of(routine: Routine) -> dict[str, Any]:
    """The record of a routine as plain JSON data."""
    return dict(json.loads(json_text(as_data(routine))))


def _canonical(record: dict[str, Any]) -> str:
    return json.dumps(record, sort_keys=True, ensure_ascii=False)


def _check_sum(data: dict[str, Any]) -> str:
    return hashlib.sha256(_canonical({k: v for k, v in data.items() if k != "check"}).encode()).hexdigest()


def _data(version: Version) -> dict[str, Any]:
    data: dict[str, Any] = {
        "format": FORMAT,
        "number": version.number,
        "parent": version.parent,
        "note": version.note,
        "asks": [{"kind": a.kind, "value": a.value, "places": [list(p) for p in a.places]} for a in version.asks],
        "practised": [list(counts) for counts in version.practised],
        "brief": version.brief,
        "brief_file": version.brief_file,
        "routine": version.routine,
    }
    data = dict(json.loads(json_text(data)))
    return {**data, "check": _check_sum(data)}


def _read(path: Path, number: int) -> Version:
    data = json.loads(read_bytes(path, code="RTN040").decode("utf-8"))
    if data["format"] != FORMAT or data["check"] != _check_sum(data) or data["number"] != number:
        raise ValueError("not what was written")
    asks = tuple(Ask(a["kind"], a["value"], tuple((str(f), int(t)) for f, t in a["places"])) for a in data["asks"])
    practised = tuple((int(a), int(b)) for a, b in data["practised"])
    return Version(
        number, data["parent"], data["note"], asks, practised, data["brief"], data["brief_file"], data["routine"]
    )  # fmt: skip


def _placed(folder: Path, version: Version) -> bool:
    """Write one version whole; False when its number was taken meanwhile."""
    target = folder / f"v{version.number:04d}.json"
    handle, temporary = tempfile.mkstemp(prefix=f".{target.name}.", suffix=".part", dir=folder)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(json_text(_data(version)).encode("utf-8"))
            stream.flush()
            os.fsync(stream.fileno())
        os.chmod(temporary, 0o644)
        try:
            os.link(temporary, target)  # fails when the name is taken, unlike a rename
        except FileExistsError:
            return False
        except OSError:  # a file system without hard links
            if target.exists():
                return False
            os.rename(temporary, target)
        _to_disk(folder)
        return True
    finally:
        with contextlib.suppress(OSError):
            os.unlink(temporary)


def _to_disk(folder: Path) -> None:
    """Bring the folder's entries to the disk, where the system can."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _sweep(folder: Path) -> None:
    """Remove what killed runs left behind long ago."""
    for path in folder.glob(".v*.part"):
        with contextlib.suppress(OSError):
            if time.time() - path.stat().st_mtime > STALE_S:
                path.unlink()
