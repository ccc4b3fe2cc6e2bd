"""Diagnostics: one way to tell a person what is wrong, where, and what would be right.

A diagnostic carries a code (``BRF021``), a place (file, line, key) and a remedy. Code families:
``YML`` text files, ``BRF`` briefs, ``FIG`` figures, ``HLD`` holds, ``DNC`` dances, ``TML`` music,
``ROM`` rooms, ``RTN`` routines, ``OUT`` output folders, ``CMD`` command line.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass


@dataclass(frozen=True)
class Where:
    """A place in a file: ``brief.yaml:14 wishes.never[2]``. Every part may be missing."""

    file: str | None = None
    line: int | None = None
    key: str | None = None

    def __str__(self) -> str:
        place = self.file or ""
        if self.file and self.line is not None:
            place += f":{self.line}"
        return " ".join(part for part in (place, self.key or "") if part)


@dataclass(frozen=True)
class Diagnostic:
    """One thing that is wrong, with its place and what would be right."""

    code: str
    message: str
    where: Where = Where()
    remedy: str | None = None

    def __str__(self) -> str:
        place = str(self.where)
        text = f"{self.code} {place}: {self.message}" if place else f"{self.code}: {self.message}"
        return f"{text} {self.remedy}" if self.remedy else text

    def as_data(self) -> dict[str, object]:
        """Plain data for JSON output."""
        return asdict(self)


class BadInput(Exception):
    """Input that cannot be used; carries every diagnostic found, never only the first."""

    def __init__(self, diagnostics: Diagnostic | Iterable[Diagnostic]) -> None:
        found = (diagnostics,) if isinstance(diagnostics, Diagnostic) else tuple(diagnostics)
        if not found:
            raise ValueError("BadInput needs at least one diagnostic")
        self.diagnostics: tuple[Diagnostic, ...] = found
        super().__init__("\n".join(str(item) for item in found))


def nearest(name: str, known: Iterable[str]) -> str | None:
    """The known name most like ``name``, or None when nothing is close."""
    close = difflib.get_close_matches(name.lower(), {k.lower(): k for k in known}, n=1, cutoff=0.6)
    return next((k for k in known if close and k.lower() == close[0]), None)


def did_you_mean(name: str, known: Sequence[str]) -> str | None:
    """A remedy sentence naming the nearest known name."""
    found = nearest(name, known)
    return f"Did you mean '{found}'?" if found else None
