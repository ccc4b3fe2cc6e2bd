"""Beats from a two-column text file: seconds, and the beat's number in its bar.

Columns are parted by white space or a comma; ``#`` begins a comment; empty lines are skipped. This is what beat
trackers commonly write and what a person can write by tapping along. A first bar that does not begin with
beat 1 is a pickup; a last bar that is not full is left out of the danced range.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from itertools import pairwise
from pathlib import Path
from statistics import median
from typing import Final

from composer.errors import BadInput, Diagnostic, Where
from composer.textfiles import read_bytes
from composer.timeline.assemble import Bars

MAX_FAULTS: Final = 20
MAX_BEAT_BYTES: Final = 1_000_000
LONGEST_S: Final = 7200.0
_COLUMNS: Final = re.compile(r"[\s,;]+")

Row = tuple[int, float, int]
"""Line number, seconds, beat number in the bar."""


def read_beat_file(path: Path) -> Bars:
    """Read a beat file.

    Raises
    ------
    BadInput
        TML001 unreadable, TML002 not text, TML010 a line that is not two numbers, TML011 times that do not rise,
        TML012 beat numbers that jump, TML013 less than one full bar.
    """
    raw = read_bytes(path, code="TML001", limit=MAX_BEAT_BYTES)
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise BadInput(Diagnostic("TML002", "is not a text file (UTF-8 is needed).", Where(str(path)))) from None
    return beats_from_text(text, str(path))


def beats_from_text(text: str, file: str, title: str = "") -> Bars:
    """Like :func:`read_beat_file` for text already read; ``file`` names it in diagnostics."""
    found: list[Diagnostic] = []
    rows = _rows(text, file, found)
    _check_order(rows, file, found)
    if len(found) > MAX_FAULTS:
        rest = len(found) - MAX_FAULTS
        found = [*found[:MAX_FAULTS], Diagnostic("TML010", f"and {rest} more faults like these.", Where(file))]
    if found:
        raise BadInput(found)
    return _bars(rows, file, title or Path(file).stem)


def _rows(text: str, file: str, found: list[Diagnostic]) -> list[Row]:
    rows: list[Row] = []
    for number, line in enumerate(text.splitlines(), start=1):
        content = line.split("#", 1)[0].strip()
        if not content:
            continue
        parts = [part for part in _COLUMNS.split(content) if part]
        at = _number(parts[0]) if len(parts) == 2 else None
        beat = _number(parts[1]) if len(parts) == 2 else None
        if at is None or beat is None or beat != int(beat) or not 1 <= beat <= 12 or not 0 <= at <= LONGEST_S:
            found.append(
                Diagnostic(
                    "TML010",
                    f"'{content[:40]}' is not a beat.",
                    Where(file, number),
                    "Write seconds and the beat's number in the bar, such as '12.34 1'; # begins a comment.",
                )
            )
            continue
        rows.append((number, at, int(beat)))
    return rows


def _number(text: str) -> float | None:
    try:
        value = float(text)
    except ValueError:
        return None
    return value if math.isfinite(value) else None


def _check_order(rows: list[Row], file: str, found: list[Diagnostic]) -> None:
    for (_, at, beat), (line, following_at, following) in pairwise(rows):
        if following_at <= at:
            found.append(
                Diagnostic(
                    "TML011", f"{following_at:g} s does not come after {at:g} s; times must rise.", Where(file, line)
                )
            )
        if following not in (beat + 1, 1):
            found.append(
                Diagnostic("TML012", f"beat {following} follows beat {beat}.", Where(file, line),
                           f"After beat {beat} comes beat {beat + 1}, or beat 1 of the next bar.")
            )  # fmt: skip


def _bars(rows: list[Row], file: str, title: str) -> Bars:
    groups: list[list[Row]] = []
    for row in rows:
        if row[2] == 1 or not groups:
            groups.append([])
        groups[-1].append(row)
    pickup = groups.pop(0) if groups and groups[0][0][2] != 1 else []
    if not groups:
        raise BadInput(
            Diagnostic(
                "TML013", "holds no beat 1, so there are no bars.", Where(file), "Number the beats of each bar from 1."
            )
        )
    metre = Counter(len(group) for group in groups[:-1] or groups).most_common(1)[0][0]
    gap = median([b[1] - a[1] for a, b in pairwise(rows)]) if len(rows) > 1 else 0.0
    notes: list[str] = []
    trailing = groups.pop() if len(groups) > 1 and len(groups[-1]) < metre else []
    end_s = trailing[0][1] if trailing else groups[-1][-1][1] + gap
    if metre < 2 or gap <= 0:
        raise BadInput(Diagnostic("TML013", "every bar has one beat only, so there is no metre.", Where(file)))
    odd = [number for number, group in enumerate(groups, start=1) if len(group) != metre]
    if odd:
        notes.append(f"Bars with another number of beats than {metre}: {', '.join(map(str, odd[:12]))}.")
    if trailing:
        notes.append(f"The last {len(trailing)} beats are no full bar and are not danced.")
    notes += _tempo_notes(rows, gap)
    times = tuple(tuple(row[1] for row in group) for group in groups)
    return Bars(title, "beats", metre, times, end_s, tuple(row[1] for row in pickup), notes=tuple(notes))


def _tempo_notes(rows: list[Row], gap: float) -> list[str]:
    """Gaps that look like a missing or a doubled beat; said, not refused (music may pause)."""
    return [
        f"Line {line}: {b - a:.2f} s after the beat before, where {gap:.2f} s is usual; is a beat "
        f"{'missing' if b - a > gap else 'given twice'}?"
        for (_, a, _), (line, b, _) in pairwise(rows)
        if not 0.6 * gap <= b - a <= 1.6 * gap
    ][:5]
