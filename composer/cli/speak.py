"""How the commands speak: results on standard output, everything else on standard error, exit codes.

Conventions: with ``--json`` exactly one JSON document goes to standard output and nothing else. A diagnostic is one
line. Text from files and arguments never reaches the terminal with control characters in it.
"""

from __future__ import annotations

import contextlib
import json
import os
import sys
import unicodedata
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from rich.console import Console

    from composer.errors import Diagnostic

DONE: Final = 0
INTERNAL: Final = 1
BAD_INPUT: Final = 2
NO_ROUTINE: Final = 3
UNDECIDED: Final = 4
INTERRUPTED: Final = 130
BROKEN_PIPE: Final = 141
DETAILS: Final = "ROUTINE_COMPOSER_DETAILS"
"""Set to 1, this variable makes an internal error show where it happened."""


UNSEEN: Final = frozenset({"Cc", "Cf", "Cs", "Zl", "Zp"})
"""Kinds of characters that steer a terminal or end a line instead of being read."""


def clean(text: str) -> str:
    """One line without control or direction-changing characters, so that no file can paint the terminal."""
    return "".join(
        " " if char in "\n\r\t" else char if unicodedata.category(char) not in UNSEEN else f"\\u{ord(char):04x}"
        for char in text
    )


def line(text: str) -> None:
    """One line on standard error."""
    print(clean(text), file=sys.stderr, flush=True)


def document(data: Any) -> None:
    """The one JSON document on standard output."""
    plain = not (sys.stdout.encoding or "").lower().replace("-", "").startswith("utf8")
    text = json.dumps(data, indent=2, ensure_ascii=plain, default=str, allow_nan=False)
    if any("\ud800" <= char <= "\udfff" for char in text):  # file names that are no text
        text = json.dumps(data, indent=2, ensure_ascii=True, default=str, allow_nan=False)
    print(text, flush=True)


def refuse(diagnostics: Iterable[Diagnostic], *, as_json: bool) -> int:
    """Tell every diagnostic; the exit code for bad input."""
    found = list(diagnostics)
    if as_json:
        document({"errors": [item.as_data() for item in found]})
    else:
        for item in found:
            line(str(item))
    return BAD_INPUT


def console(*, to_stderr: bool = False) -> Console:
    """A console that knows width, colours wished for (``NO_COLOR``) and whether a person is looking."""
    from rich.console import Console

    width = None
    if os.environ.get("COLUMNS", "").isdecimal():
        width = max(20, min(400, int(os.environ["COLUMNS"])))
    return Console(stderr=to_stderr, width=width, highlight=False, markup=False, emoji=False)


@contextlib.contextmanager
def libraries_silenced() -> Iterator[None]:
    """Keep what compiled libraries print by themselves off standard output, where only results may go."""
    sys.stdout.flush()
    try:
        kept = os.dup(1)
    except OSError:  # there is no standard output at all
        yield
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 1)
        yield
    finally:
        sys.stdout.flush()
        with contextlib.suppress(Exception):  # what a library still holds back must not come later
            import ctypes

            ctypes.CDLL(None).fflush(None)
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nowhere)


def wrapped(text: str, width: int, indent: str = "") -> None:
    """Text on standard output, broken between words with every line indented alike."""
    import textwrap

    lines = textwrap.wrap(
        clean(text), max(20, width), initial_indent=indent, subsequent_indent=indent + "  ", break_on_hyphens=False
    )
    print("\n".join(lines))


def details_wanted() -> bool:
    """Whether internal errors are to be shown in full."""
    return os.environ.get(DETAILS, "") not in {"", "0"}
