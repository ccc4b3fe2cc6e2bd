"""``history`` and ``restore``: the versions of a routine."""

from __future__ import annotations

from pathlib import Path

from composer.cli import speak
from composer.errors import BadInput, Diagnostic, Where
from composer.revise.opened import open_routine
from composer.textfiles import read_yaml
from composer.versions import current_version, load_versions, record_of, version_numbered


def history_command(path: Path, *, as_json: bool) -> int:
    """List versions; the exit code."""
    home = path if path.is_dir() else path.absolute().parent
    versions, faults = load_versions(home)
    record = None
    file = home / "routine.json" if path.is_dir() else path
    if file.is_file():
        record = read_yaml(file).data
    current = current_version(versions, record) if isinstance(record, dict) else None
    if as_json:
        speak.document(
            {
                "current": None if current is None else current.number,
                "versions": [
                    {
                        "number": v.number,
                        "parent": v.parent,
                        "note": v.note,
                        "asks": [ask.text for ask in v.asks],
                        "practised": [list(counts) for counts in v.practised],
                        "score": v.routine.get("score"),
                    }
                    for v in versions
                ],
                "damaged": [fault.as_data() for fault in faults],
            }
        )
        return speak.DONE
    for fault in faults:
        speak.line(str(fault))
    if not versions:
        print("There are no versions yet: composing and revising keep them.")
        return speak.DONE
    width = speak.console().width
    for version in versions:
        mark = "*" if current is not None and version.number == current.number else " "
        origin = "" if version.parent in (None, version.number - 1) else f" (from {version.parent})"
        speak.wrapped(f"{mark}{version.number:>4}  {version.note}{origin}", width)
    print()
    print("* is the routine as it is now." if current else "The routine as it is now is none of these: edited by hand.")
    return speak.DONE


def restore_command(path: Path, number: int, *, as_json: bool) -> int:
    """Restore a version; the exit code."""
    from composer.revise import check_home, restore

    home = path if path.is_dir() else path.absolute().parent
    file = home / "routine.json" if path.is_dir() else path
    versions, faults = load_versions(home)
    if not versions:
        raise BadInput(faults or [Diagnostic("RTN041", "there are no versions here.", Where(str(home)))])
    version = version_numbered(versions, number)
    with speak.libraries_silenced():
        opened = open_routine(file)
        if record_of(opened.routine) == version.routine:
            written = None
        else:
            check_home(home)
            written = restore(opened, version)
    if as_json:
        speak.document(
            {
                "status": "restored" if written else "unchanged",
                "restored": number,
                "version": written.version if written else number,
                "files": [str(f) for f in written.files] if written else [],
            }
        )
    elif written is None:
        print(f"The routine is version {number} already.")
    else:
        print(speak.clean(f"Version {number} is the routine again, kept as version {written.version}."))
    return speak.DONE
