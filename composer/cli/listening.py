"""``listen``: what the composer hears in a piece of music, before any routine."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from pydantic import ValidationError

from composer.brief.schema import Music
from composer.cli import speak
from composer.errors import BadInput, Diagnostic, Where
from composer.textfiles import Document, json_text, read_yaml, write_bytes, write_text
from composer.timeline.model import Timeline
from composer.units import TICKS_PER_BEAT

BEAT_FILES: Final = frozenset({".txt", ".beats", ".csv", ".tsv"})
TRACKS: Final = frozenset({".wav", ".mp3", ".flac", ".ogg", ".opus", ".m4a", ".aif", ".aiff"})
PICTURES: Final = frozenset({".svg", ".png"})
TEMPO_SLACK: Final = 1.04
"""A tempo said for a track means within 4 % of it, as in a brief."""


@dataclass(frozen=True)
class Asked:
    """What the command line says about the music, and where results go."""

    tune: int | None = None
    tempo: float | None = None
    phrase_bars: int | None = None
    dance: str | None = None
    out: Path | None = None
    clicks: Path | None = None
    picture: Path | None = None


def listen_command(music: Path, asked: Asked, *, as_json: bool) -> int:
    """Read music and show (or write) its timeline; the exit code."""
    from composer.timeline import as_data

    _check_places(asked)
    timeline = _track(music, asked) if music.suffix.lower() in TRACKS else _heard(music, asked)
    data = as_data(timeline)
    if asked.out is not None:
        write_text(asked.out, json_text(data))
    if as_json:
        speak.document(data)
        return speak.DONE
    _show(timeline)
    for file in (asked.out, asked.clicks, asked.picture):
        if file is not None:
            print(speak.clean(f"Written to {file}"))
    return speak.DONE


def _check_places(asked: Asked) -> None:
    """Refuse folders as files, and other kinds of picture, before any long listening."""
    faults = [
        Diagnostic("OUT001", "this is a folder, a file is needed.", Where(str(file)))
        for file in (asked.out, asked.clicks, asked.picture)
        if file is not None and file.is_dir()
    ]
    if not faults and asked.picture is not None and asked.picture.suffix.lower() not in PICTURES:
        faults.append(
            Diagnostic("CMD004", f"--picture: '{asked.picture.name}' is no picture; let its name end in .svg or .png.")
        )
    if faults:
        raise BadInput(faults)


def _track(path: Path, asked: Asked) -> Timeline:
    """Listen to a recording, and keep what was heard for clicks and the picture."""
    from composer.listening import music_map, picture_png, picture_svg, write_clicks
    from composer.listening.dances import page_of, search_range
    from composer.listening.listen import Asked as Known
    from composer.timeline import Shape

    _there(path)
    if asked.tune is not None:
        raise BadInput(Diagnostic("CMD004", "--tune picks from an ABC collection; this is a recording."))
    page = None if asked.dance is None else page_of(asked.dance)
    tempo_range = None if page is None else search_range(page)
    if asked.tempo is not None:
        tempo_range = (asked.tempo / TEMPO_SLACK, asked.tempo * TEMPO_SLACK)
    known = Known(
        tempo_range=tempo_range,
        beats_per_bar=None if page is None else page.beats_per_bar,
        shape=Shape(phrase_bars=asked.phrase_bars),
    )
    with speak.libraries_silenced():
        heard = music_map(path, known)
    if asked.clicks is not None:
        write_clicks(heard, asked.clicks)
    if asked.picture is not None:
        if asked.picture.suffix.lower() == ".png":
            write_bytes(asked.picture, picture_png(heard))
        else:
            write_text(asked.picture, picture_svg(heard))
    return heard.timeline


def _heard(path: Path, asked: Asked) -> Timeline:
    """A timeline from a score, a beat file or a timeline file."""
    _there(path)
    if asked.clicks is not None or asked.picture is not None:
        raise BadInput(Diagnostic("CMD004", "--clicks and --picture need a recording.", Where(str(path))))
    given: dict[str, Any] = {"tune": asked.tune, "tempo": asked.tempo, "phrase_bars": asked.phrase_bars}
    given = {key: value for key, value in given.items() if value is not None}
    if path.suffix.lower() == ".json":
        from composer.brief.load import refuse_newer
        from composer.timeline import read_timeline

        refuse_newer(read_yaml(path), "timeline/1", "TML055")
        if given:
            raise BadInput(Diagnostic("CMD004", f"a timeline takes no --{next(iter(given)).replace('_', '-')}."))
        return read_timeline(path)
    source = "beats" if path.suffix.lower() in BEAT_FILES else "score"
    try:
        music = Music.model_validate({source: path.name, **given})
    except ValidationError as problem:
        raise BadInput(Diagnostic("CMD004", str(problem.errors()[0]["msg"]) + ".")) from None
    from composer.brief.music import timeline_from

    return timeline_from(music, Document(str(path.parent / "music"), {}, {}))


def _there(path: Path) -> None:
    if not path.is_file():
        message = "this is a folder, a file is needed." if path.is_dir() else "there is no such file."
        raise BadInput(Diagnostic("TML032", message, Where(str(path))))


def _show(timeline: Timeline) -> None:
    from rich.table import Table
    from rich.text import Text

    out = speak.console()
    bars = timeline.length_beats / timeline.beats_per_bar
    out.print(Text(speak.clean(timeline.title or "untitled"), style="bold"))
    out.print(
        f"{timeline.length_beats} beats, {bars:.3g} bars of {timeline.beats_per_bar}, "
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
            f"{phrase.beats / timeline.beats_per_bar:.3g}",
            _clock(timeline.seconds_at(start * TICKS_PER_BEAT)),
        )
    out.print(table)
    if timeline.accents:
        out.print(f"{len(timeline.accents)} hits")
    for kind, sure in sorted(timeline.confidence.items()):
        out.print(f"{kind}: {round(100 * sure)} % sure")
    for note in timeline.notes:
        out.print(speak.clean(note))
    for doubt in timeline.doubts:
        out.print(speak.clean(f"In doubt: {doubt}"))
    _suits(timeline)


def _suits(timeline: Timeline) -> None:
    """Which dances go with the music."""
    from composer.listening import suitable

    found = [f"{item.name} ({item.counted})" for item in suitable(timeline)]
    if found:
        speak.wrapped(f"Goes with: {', '.join(found)}", speak.console().width)


def _clock(seconds: float) -> str:
    from composer.report.words import clock

    return clock(seconds)
