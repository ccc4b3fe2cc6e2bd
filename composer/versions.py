"""Versions of a routine: a folder ``versions`` beside it, one whole file each, never overwritten.

Composing keeps the first, every revision one more.

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
from composer.resources import shipped
from composer.routine import Routine, as_data
from composer.textfiles import json_text, read_bytes

FORMAT: Final = "version/1"
FOLDER: Final = "versions"
SCENARIO: Final = "scenario:"
STALE_S: Final = 3600.0
_NAME: Final = re.compile(r"v(\d{4,})\.json")

Begun = tuple[str, int]
"""(figure, tick at which it begins)."""
Counts = tuple[int, int]
"""First and last count of a stretch, both from 1 and both included."""


@dataclass(frozen=True)
class Ask:
    """One thing asked of a revision; :mod:`composer.revise.asks` says what each kind does."""

    kind: str
    value: str = ""
    places: tuple[Begun, ...] = ()

    @property
    def text(self) -> str:
        """How it is shown and taken back: ``forbid waltz/whisk``."""
        return f"{self.kind} {self.value}".strip()


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


def check_versions(home: Path) -> None:
    """Make sure that versions can be kept beside a routine, before any long work.

    Raises
    ------
    BadInput
        ``OUT003`` when something else has the name of their folder.
    """
    folder = folder_for(home)
    if folder.exists() and not folder.is_dir():
        message = f"'{FOLDER}' is a file; earlier versions of the routine are kept in a folder of that name."
        raise BadInput(
            Diagnostic("OUT003", message, Where(str(home)), "Choose another folder, or move that file away.")
        )


def brief_place(home: Path, file: str) -> str:
    """How a version names its brief: by scenario, else relative to the folder of the routine."""
    path = Path(file).absolute()
    if path.parent.parent == shipped("scenarios").absolute():
        return f"{SCENARIO}{path.parent.name}"
    return os.path.relpath(path, home.absolute())


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


def keep_composed(home: Path, brief: dict[str, Any], brief_file: str, routine: Routine, *, folder: Path) -> Version:
    """Keep a routine just composed, unless the current version is exactly it and answers the same brief.

    A routine in ``home`` that is no version yet (edited by hand, say) is kept first, with the brief and asks of the
    newest version; one that is no whole record is put aside as ``routine-by-hand-1.json``.

    Parameters
    ----------
    home : the folder of results as it will be.
    folder : where it is now being written; ``home`` itself when that exists.

    Raises
    ------
    BadInput
        ``OUT001`` if it cannot be written.
    """
    versions, _ = load_versions(folder)
    versions = _with_what_stands(folder, versions)
    record = record_of(routine)
    named = brief_place(home, brief_file)
    same = current_version(versions, record)
    if same is not None and (same.brief, same.brief_file, same.asks) == (_plain(brief), named, ()):
        return same
    return save_version(folder, Version(0, None, "Composed", (), (), brief, named, record))


def _with_what_stands(folder: Path, versions: tuple[Version, ...]) -> tuple[Version, ...]:
    file = folder / "routine.json"
    try:
        record = json.loads(file.read_bytes())
        if not versions or current_version(versions, record) is not None:
            return versions
        routine_from_record(record)
    except FileNotFoundError:
        return versions
    except (OSError, ValueError, AttributeError):
        _put_aside(file)
        return versions
    newest = versions[-1]
    stands = replace(newest, number=0, parent=newest.number, note="Edited by hand", routine=record)
    return (*versions, save_version(folder, stands))


def _put_aside(file: Path) -> None:
    """Give a file somebody wrote by hand another name, the first that is free."""
    with contextlib.suppress(OSError):
        content = file.read_bytes()
        for number in range(1, 1000):
            try:
                with open(file.with_name(f"routine-by-hand-{number}.json"), "xb") as stream:
                    stream.write(content)
                return
            except FileExistsError as taken:
                if Path(str(taken.filename)).read_bytes() == content:
                    return


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

    data = {key: value for key, value in record.items() if key != "format"}
    if isinstance(data.get("figures"), list):
        data["figures"] = [_placed_data(entry) for entry in data["figures"]]
    return TypeAdapter(Routine).validate_python(data)


def _placed_data(entry: Any) -> Any:
    """A placed figure as its fields are called: the record says who leads only where it is the follower."""
    if not isinstance(entry, dict) or "leads" not in entry:
        return entry
    fields = {key: value for key, value in entry.items() if key != "leads"}
    return {**fields, "swapped": entry["leads"] == "follower"}


def record_of(routine: Routine) -> dict[str, Any]:
    """The record of a routine as plain JSON data."""
    return _plain(as_data(routine))


def _plain(data: dict[str, Any]) -> dict[str, Any]:
    """Data as it is read back from JSON."""
    return dict(json.loads(json_text(data)))


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
    data = _plain(data)
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
