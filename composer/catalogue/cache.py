"""Figures that have passed simulation, kept on disk so that commands start quickly.

A figure is found again only by a digest of everything its simulation depends on: its own bytes, the holds, the page
of its dance and the code that simulates. The file is JSON in the user's cache folder (``XDG_CACHE_HOME``); whatever
is wrong with it, it is simply not used, and failing to write it is no fault.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
from collections.abc import Iterable
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

from composer.errors import BadInput
from composer.textfiles import write_text

MOST_FILES: Final = 64


def digest_of(*parts: bytes | str) -> str:
    """SHA-256 over parts, each with its length, so that no two lists of parts look alike."""
    total = hashlib.sha256()
    for part in parts:
        raw = part.encode("utf-8") if isinstance(part, str) else part
        total.update(str(len(raw)).encode() + b":" + raw)
    return total.hexdigest()


@lru_cache(maxsize=1)
def code_digest() -> str:
    """Digest of the modules a motion depends on."""
    package = Path(__file__).resolve().parent.parent
    files = [package / "units.py", package / "charts.py", package / "textfiles.py"]
    files += sorted((package / "kinematics").glob("*.py")) + sorted((package / "catalogue").glob("*.py"))
    return digest_of(*(file.read_bytes() for file in files))


def cache_folder() -> Path:
    """Where the files go; nothing is created here."""
    base = os.environ.get("XDG_CACHE_HOME") or ""
    root = Path(base) if os.path.isabs(base) else Path.home() / ".cache"
    return root / "routine-composer"


class Kept:
    """The kept figures of one selection of folders and dances."""

    def __init__(self, selection: Iterable[str]) -> None:
        self._file: Path | None = None
        self._old: dict[str, Any] = {}
        self._new: dict[str, Any] = {}
        with contextlib.suppress(OSError, ValueError, RuntimeError, RecursionError):
            self._file = cache_folder() / f"figures-{digest_of(*selection)[:24]}.json"
            found = json.loads(self._file.read_text(encoding="utf-8"))
            if isinstance(found, dict):
                self._old = found

    def get(self, key: str) -> Any:
        """What was kept under a digest, or None."""
        return self._old.get(key)

    def put(self, key: str, data: Any) -> None:
        """Keep something for next time."""
        self._new[key] = data

    def write(self, *, beside_old: bool = False) -> None:
        """Write when anything has changed; of what was kept before only what was put again stays.

        ``beside_old`` keeps the rest too, for when only a few of the figures were looked at.
        """
        if self._file is None or self._new.keys() == self._old.keys():
            return
        if beside_old and self._new.keys() <= self._old.keys():
            return
        kept = {**self._old, **self._new} if beside_old else self._new
        with contextlib.suppress(OSError, ValueError, TypeError, BadInput):
            self._file.parent.mkdir(parents=True, exist_ok=True)
            write_text(self._file, json.dumps(kept, separators=(",", ":")))
            _forget_the_oldest(self._file.parent)


def _forget_the_oldest(folder: Path) -> None:
    """Every selection of folders and dances has its file: those not written for longest go when there are many."""
    files = sorted(folder.glob("figures-*.json"), key=lambda file: file.stat().st_mtime, reverse=True)
    for file in files[MOST_FILES:]:
        file.unlink(missing_ok=True)
