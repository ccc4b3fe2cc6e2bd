"""Captions of the calls (WebVTT): each figure is announced one bar ahead and stays until it begins.

Format: W3C WebVTT (https://www.w3.org/TR/webvtt1/). Text is escaped as the format asks.
"""

from __future__ import annotations

from html import escape
from typing import Final

from composer.report.model import Sheet

LEAST_S: Final = 0.4
"""No caption is shown for a shorter time."""


def stamp(seconds: float) -> str:
    """``hh:mm:ss.mmm``."""
    thousandths = round(max(seconds, 0) * 1000)
    hours, rest = divmod(thousandths, 3_600_000)
    minutes, rest = divmod(rest, 60_000)
    return f"{hours:02d}:{minutes:02d}:{rest // 1000:02d}.{rest % 1000:03d}"


def captions_vtt(sheet: Sheet, *, rate: float = 1.0, lead_in_s: float = 0.0) -> str:
    """The captions of the music, or of practice audio played at ``rate`` after a lead-in of ``lead_in_s`` (its own
    seconds)."""
    starts = [max(call.at_s / rate + lead_in_s, 0.0) for call in sheet.calls]
    lines = ["WEBVTT", ""]
    for index, (call, start) in enumerate(zip(sheet.calls, starts, strict=True)):
        end = max(call.figure_s / rate + lead_in_s, start + LEAST_S)
        if index + 1 < len(starts):
            end = min(end, max(starts[index + 1], start + LEAST_S))
        figure = sheet.figures[call.figure - 1]
        words = escape(f"{call.figure}. {call.words} (counts {figure.counts})", quote=False)
        lines += [str(call.figure), f"{stamp(start)} --> {stamp(end)}", words, ""]
    return "\n".join(lines)
