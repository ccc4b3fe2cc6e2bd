"""Writes the output folder: every file whole, the same bytes for the same sheet, no dates."""

from __future__ import annotations

from pathlib import Path

from composer.errors import BadInput, Diagnostic, Where
from composer.report.calendar import calendar_ics
from composer.report.captions import captions_vtt
from composer.report.cuecard import cue_card_pdf
from composer.report.model import Sheet
from composer.report.page import sheet_html
from composer.report.paper import PaperSize
from composer.report.pdfsheet import sheet_pdf
from composer.report.plan import plan_svg
from composer.report.practice import practice_html
from composer.report.score import routine_musicxml
from composer.report.strip import timeline_svg
from composer.routine import as_data
from composer.textfiles import json_text, read_bytes, write_bytes

MOST_TRACK_BYTES = 1_000_000_000
_XML = '<?xml version="1.0" encoding="UTF-8"?>\n'


def write_folder(sheet: Sheet, out: Path, *, paper: PaperSize | None = None) -> list[Path]:
    """Write all outputs into ``out`` (made when missing); returns the files written, in order.

    Everything is rendered before the first file is written. ``paper`` is letter for sheets in feet, else A4,
    when left out. Sessions with dates become ``practice.ics``. A recording that the brief names is copied beside
    the practice page.

    Raises
    ------
    BadInput
        ``OUT001`` when the folder or a file cannot be written.
    """
    size: PaperSize = paper or ("letter" if sheet.lengths == "feet" else "A4")
    source = Path(sheet.track) if sheet.track else None
    recording = f"track{source.suffix.lower()}" if source is not None and source.is_file() else ""
    contents: dict[str, str | bytes] = {
        "routine.json": json_text(as_data(sheet.routine)),
        "sheet.html": sheet_html(sheet),
        "plan.svg": _XML + plan_svg(sheet) + "\n",
        "timeline.svg": _XML + timeline_svg(sheet) + "\n",
        "practice.html": practice_html(sheet, track=recording),
        "calls.vtt": captions_vtt(sheet),
        "routine.musicxml": routine_musicxml(sheet),
        "sheet.pdf": sheet_pdf(sheet, size=size),
        "cue-card.pdf": cue_card_pdf(sheet, size=size),
    }
    if sheet.learning.sessions and sheet.learning.sessions[0].day is not None:
        contents["practice.ics"] = calendar_ics(sheet.learning, sheet.title)
    if source is not None and recording:
        contents[recording] = read_bytes(source, code="OUT002", limit=MOST_TRACK_BYTES)
    try:
        out.mkdir(parents=True, exist_ok=True)
    except OSError as problem:
        reason = problem.strerror or str(problem)
        raise BadInput(Diagnostic("OUT001", f"the folder cannot be made: {reason}.", Where(str(out)))) from None
    paths = [out / name for name in contents]
    for path, content in zip(paths, contents.values(), strict=True):
        write_bytes(path, content if isinstance(content, bytes) else content.encode("utf-8"))
    return paths
