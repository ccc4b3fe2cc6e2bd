"""``listen``: what the composer hears in a piece of music, before any routine."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Final

from pydantic import ValidationError

from composer.brief.schema import Music
from composer.cli import speak
from composer.errors import BadInput, Diagnostic, Where
from composer.textfiles import Document, json_text, read_yaml, write_text
from composer.timeline.model import Timeline
from composer.units import TICKS_PER_BEAT

BEAT_FILES: Final = frozenset({".txt", ".beats", ".csv", ".tsv"})
TRACKS: Final = frozenset({".wav", ".mp3", ".flac", ".ogg", ".m4a", ".aif", ".aiff"})


def listen_command(
    music: Path, *, out: Path | None, tune: int | None, tempo: float | None, phrase_bars: int | None, as_json: bool
) -> int:
    """Read music and show (or write) its timeline; the exit code."""
    from composer.timeline import as_data

    timeline = _heard(music, tune, tempo, phrase_bars)
    data = as_data(timeline)
    if out is not None:
        if out.is_dir():
            raise BadInput(Diagnostic("OUT001", "this is a folder, a file is needed.", Where(str(out))))
        write_text(out, json_text(data))
    if as_json:
        speak.document(data)
        return speak.DONE
    _show(timeline)
    if out is not None:
        print(speak.clean(f"Written to {out}"))
    return speak.DONE


def _heard(path: Path, tune: int | None, tempo: float | None, phrase_bars: int | None) -> Timeline:
    kind = path.suffix.lower()
    given: dict[str, Any] = {"tune": tune, "tempo": tempo, "phrase_bars": phrase_bars}
    given = {key: value for key, value in given.items() if value is not None}
    if not path.is_file():
        message = "this is a folder, a file is needed." if path.is_dir() else "there is no such file."
        raise BadInput(Diagnostic("TML032", message, Where(str(path))))
    if kind == ".json":
        from composer.brief.load import refuse_newer
        from composer.timeline import read_timeline

        refuse_newer(read_yaml(path), "timeline/1", "TML060")
        if given:
            raise BadInput(Diagnostic("CMD004", f"a timeline takes no --{next(iter(given)).replace('_', '-')}."))
        return read_timeline(path)
    source = "beats" if kind in BEAT_FILES else "track" if kind in TRACKS else "score"
    try:
        music = Music.model_validate({source: path.name, **given})
    except ValidationError as problem:
        raise BadInput(Diagnostic("CMD004", str(problem.errors()[0]["msg"]) + ".")) from None
    from composer.brief.music import timeline_from

    return timeline_from(music, Document(str(path.parent / "music"), {}, {}))


def _show(timeline: Timeline) -> None:
    from rich.table import Table
    from rich.text import Text

    out = speak.console()
    bars = timeline.length_beats / timeline.beats_per_bar
    out.print(Text(speak.clean(timeline.title or "untitled"), style="bold"))
    out.print(
        f"{timeline.length_beats} beats, {bars:g} bars of {timeline.beats_per_bar}, "
        f"{timeline.beats_per_minute:.1f} beats a minute, {_clock(timeline.seconds_at(0))} to "
        f"{_clock(timeline.seconds_at(timeline.length_ticks))}"
    )
    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False, header_style="dim")
    for title in ("section", "phrase", "counts", "bars", "time"):
        table.add_column(title, justify="left" if title == "section" else "right")
    first = timeline.usable[0]
    sections = {section.start: section for section in timeline.sections}
    for number, phrase in enumerate(timeline.phrases, 1):
        section = sections.get(phrase.start)
        name = "" if section is None else section.label or "-"
        start = phrase.start - first
        table.add_row(
            speak.clean(name),
            str(number),
            f"{start + 1}-{start + phrase.beats}",
            f"{phrase.beats / timeline.beats_per_bar:g}",
            _clock(timeline.seconds_at(start * TICKS_PER_BEAT)),
        )
    out.print(table)
    if timeline.accents:
        out.print(f"{len(timeline.accents)} hits")
    for kind, sure in sorted(timeline.confidence.items()):
        out.print(f"{kind}: {round(100 * sure)} % sure")
    for note in timeline.notes:
        out.print(speak.clean(note))


def _clock(seconds: float) -> str:
    from composer.report.words import clock

    return clock(seconds)
