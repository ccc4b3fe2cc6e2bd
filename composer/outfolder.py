"""Writing a folder of results whole or not at all.

The folder is checked before any long work. Results are first written into a temporary folder beside (or, when the
folder exists, inside) it and then moved into place. In a folder that exists only files this tool wrote before,
listed in ``.routine-composer.json``, are replaced or removed; nobody else's file is touched.

Codes: ``OUT001`` cannot be written, ``OUT002`` is a file, ``OUT003`` holds another's file of that name.
"""

from __future__ import annotations

import contextlib
import json
import os
import shutil
import tempfile
from collections.abc import Callable, Iterable
from dataclasses import replace
from pathlib import Path
from typing import Final

from composer.errors import BadInput, Diagnostic, Where
from composer.textfiles import json_text, write_text

RECORD: Final = ".routine-composer.json"
FORMAT: Final = "output/1"


def check_folder(out: Path, names: Iterable[str] = ()) -> None:
    """Make sure that ``out`` can be written, leaving nothing behind.

    Raises
    ------
    BadInput
        If it is a file, cannot be written, or holds files of others under one of ``names``.
    """
    try:
        with contextlib.suppress(FileNotFoundError, NotADirectoryError):
            os.lstat(out)  # a name that is none, or too long, fails here
        if out.exists() and not out.is_dir():
            raise BadInput(Diagnostic("OUT002", "this is a file, a folder is needed.", Where(str(out))))
        place = next(parent for parent in (out, *out.absolute().parents) if parent.exists())
        if not place.is_dir():
            raise BadInput(Diagnostic("OUT001", f"cannot be made: '{place}' is a file.", Where(str(out))))
        os.rmdir(tempfile.mkdtemp(prefix=".routine-composer.", dir=place))
        if out.is_dir():
            _refuse_others(out, names)
    except (OSError, ValueError) as problem:
        raise _unwritable(out, problem) from None


def write_out(out: Path, write: Callable[[Path], Iterable[Path]]) -> list[Path]:
    """Let ``write`` fill a temporary folder, then move what it wrote to ``out``; the final paths, sorted.

    ``write`` gets the temporary folder and gives back the files it wrote there.

    Raises
    ------
    BadInput
        Like :func:`check_folder`. Nothing is left half-written.
    """
    temporary: Path | None = None
    try:
        existed = out.is_dir()
        home = out if existed else out.absolute().parent
        home.mkdir(parents=True, exist_ok=True)
        temporary = Path(tempfile.mkdtemp(prefix=".routine-composer.", dir=home))
        names = sorted(str(file.relative_to(temporary)) for file in write(temporary))
        write_text(temporary / RECORD, json_text({"format": FORMAT, "files": names}))
        if not existed:
            os.chmod(temporary, 0o755)
            os.rename(temporary, out)
            temporary = None
        else:
            _move_in(temporary, out, names)
        return [out / name for name in names]
    except (OSError, ValueError) as problem:
        raise _unwritable(out, problem) from None
    except BadInput as problem:  # about a file of the temporary folder: tell the folder the user knows
        raise BadInput(
            replace(item, where=Where(str(out))) if item.code == "OUT001" else item for item in problem.diagnostics
        ) from None
    finally:
        if temporary is not None:
            shutil.rmtree(temporary, ignore_errors=True)


def _move_in(temporary: Path, out: Path, names: list[str]) -> None:
    _refuse_others(out, names)
    before = _ours(out)
    for name in names:
        (out / name).parent.mkdir(parents=True, exist_ok=True)
        os.replace(temporary / name, out / name)
    os.replace(temporary / RECORD, out / RECORD)
    for name in before - set(names):
        with contextlib.suppress(OSError):
            (out / name).unlink(missing_ok=True)


def _ours(out: Path) -> set[str]:
    """Names of files this tool wrote into the folder; names that lead out of it are not believed."""
    try:
        data = json.loads((out / RECORD).read_text("utf-8"))
        files = data["files"] if data["format"] == FORMAT else []
        return {name for name in files if isinstance(name, str) and _inside(name)}
    except (OSError, ValueError, KeyError, TypeError):
        return set()


def _inside(name: str) -> bool:
    path = Path(name)
    return not path.is_absolute() and ".." not in path.parts and name not in ("", ".")


def _refuse_others(out: Path, names: Iterable[str]) -> None:
    """Refuse to replace files that this tool did not write."""
    ours = _ours(out)
    foreign = sorted(name for name in names if name not in ours and (out / name).exists())
    if foreign:
        message = f"'{foreign[0]}' is there already and was not written by this tool."
        remedy = "Choose another folder with --out, or move that file away."
        raise BadInput(Diagnostic("OUT003", message, Where(str(out)), remedy))


def _unwritable(out: Path, problem: Exception) -> BadInput:
    reason = getattr(problem, "strerror", None) or str(problem)
    return BadInput(Diagnostic("OUT001", f"cannot be written: {reason}.", Where(str(out))))
