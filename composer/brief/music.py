"""From the ``music`` of a brief to a timeline: picks the source, hands on what the user says about its form."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from composer.brief.schema import Music
from composer.errors import BadInput, Diagnostic
from composer.textfiles import Document
from composer.timeline import (
    Bars,
    HitWish,
    SectionWish,
    Shape,
    Timeline,
    assemble,
    read_beat_file,
    read_score,
    steady_bars,
)
from composer.timeline.leftout import bar_starts, without_bars

TEMPO_SLACK: Final = 1.04
"""A tempo said for a track means within 4 % of it."""


def timeline_from(music: Music, document: Document, beats_per_bar: int | None = None) -> Timeline:
    """The timeline of a brief.

    Parameters
    ----------
    document : the brief as read; its file name gives the folder that music files are relative to.
    beats_per_bar : metre of the dance, used when the music is given by tempo alone and the brief does not say.

    Raises
    ------
    BadInput
        With diagnostics TMLnnn that point into the music file or the brief.
    """
    whole = _whole(music, document, beats_per_bar)
    try:
        return without_bars(whole, [(span.first, span.last) for span in music.leave_out])
    except ValueError as problem:
        raise BadInput(Diagnostic("TML038", f"{problem}.", document.where("music", "leave_out"))) from None


def _whole(music: Music, document: Document, beats_per_bar: int | None) -> Timeline:
    """The music before any of it is left out; sections and hits of the brief are about this."""
    if music.timeline is not None:
        return _as_data(music, music.timeline, document)
    if music.track is not None and music.beats is None:
        return _listened(music, music.track, document, beats_per_bar)
    bars = _bars(music, document, beats_per_bar)
    if music.bars is not None and music.bars != len(bars.bars):
        raise BadInput(
            Diagnostic("TML037", f"the brief says {music.bars} bars, the music has {len(bars.bars)}.",
                       document.where("music", "bars"), "Leave 'bars' out to use the music as it is.")
        )  # fmt: skip
    return assemble(bars, shape_of(music), document.where)


def _as_data(music: Music, name: str, document: Document) -> Timeline:
    """A timeline file; bars before ``first_bar`` and after ``last_bar`` are not danced."""
    from composer.timeline import read_timeline

    timeline = read_timeline(_inside(Path(document.file).parent, name, "timeline", document))
    if music.track is not None:
        _inside(Path(document.file).parent, music.track, "track", document)
    last = max(bar_starts(timeline)) - 1
    begin = music.first_bar if "first_bar" in music.model_fields_set else timeline.first_bar
    end = last if music.last_bar is None else music.last_bar
    if not timeline.first_bar <= begin <= end <= last:
        message = f"bars {begin} to {end} are asked for; the timeline has bars {timeline.first_bar} to {last}."
        key = "last_bar" if end > last else "first_bar"
        raise BadInput(Diagnostic("TML039", message, document.where("music", key)))
    spans = [(timeline.first_bar, begin - 1), (end + 1, last)]
    return without_bars(timeline, [(a, b) for a, b in spans if a <= b])


def shape_of(music: Music) -> Shape:
    """What the brief says about the form of its music."""
    return Shape(
        first_bar=music.first_bar,
        last_bar=music.last_bar,
        phrase_bars=music.phrase_bars,
        sections=tuple(SectionWish(s.bars, s.label, s.energy) for s in music.sections),
        hits=tuple(HitWish(h.bar, h.beat, h.strength) for h in music.hits),
    )


def _bars(music: Music, document: Document, beats_per_bar: int | None) -> Bars:
    folder = Path(document.file).parent
    if music.tune is not None and (music.score is None or not music.score.lower().endswith(".abc")):
        raise BadInput(
            Diagnostic("TML033", "'tune' picks from an ABC collection; there is none.", document.where("music", "tune"))
        )
    if music.score is not None:
        path = _inside(folder, music.score, "score", document)
        return read_score(path, tune=music.tune, tempo=music.tempo, beats_per_bar=music.beats_per_bar)
    if music.beats is not None:
        return _beat_file(music, music.beats, document, folder)
    if music.tempo is None or music.bars is None:
        raise ValueError("the schema of a brief asks for tempo and bars when there is no file")
    metre = music.beats_per_bar or beats_per_bar
    if metre is None:
        raise BadInput(
            Diagnostic("TML034", "tempo and bars do not say how many beats a bar has.", document.where("music"),
                       "Give beats_per_bar: 3 for waltz, 4 for most other dances.")
        )  # fmt: skip
    return steady_bars(music.tempo, music.bars, metre)


def _beat_file(music: Music, name: str, document: Document, folder: Path) -> Bars:
    bars = read_beat_file(_inside(folder, name, "beats", document))
    if music.tempo is not None:
        raise BadInput(
            Diagnostic("TML035", "a beat file has its own tempo; 'tempo' cannot be given with it.",
                       document.where("music", "tempo"))
        )  # fmt: skip
    if music.beats_per_bar is not None and music.beats_per_bar != bars.beats_per_bar:
        raise BadInput(
            Diagnostic("TML035", f"the beat file counts {bars.beats_per_bar} beats to the bar, the brief says "
                       f"{music.beats_per_bar}.", document.where("music", "beats_per_bar"))
        )  # fmt: skip
    return bars


def _inside(folder: Path, name: str, key: str, document: Document) -> Path:
    """The file a brief names, with the brief's line when it is missing."""
    path = folder / name
    try:
        missing = not path.is_file()
    except (OSError, ValueError):
        missing = True
    if missing:
        raise BadInput(
            Diagnostic("TML032", f"there is no file '{name[:200]}' beside the brief.", document.where("music", key))
        )
    return path


def _listened(music: Music, name: str, document: Document, beats_per_bar: int | None) -> Timeline:
    """A track is listened to; that room is imported only when it is needed, for its libraries are large."""
    from composer.listening.listen import Asked, music_map

    path = _inside(Path(document.file).parent, name, "track", document)
    tempo_range, metre = _of_the_dances(document)
    if music.tempo is not None:
        tempo_range = (music.tempo / TEMPO_SLACK, music.tempo * TEMPO_SLACK)
    asked = Asked(
        tempo_range=tempo_range,
        beats_per_bar=music.beats_per_bar or beats_per_bar or metre,
        corrections=music.corrections,
        shape=shape_of(music),
        where=document.where,
    )
    timeline = music_map(path, asked).timeline
    if music.bars is not None and music.bars * timeline.beats_per_bar != timeline.length_beats:
        heard = timeline.length_beats / timeline.beats_per_bar
        raise BadInput(
            Diagnostic("TML037", f"the brief says {music.bars} bars, {heard:g} were heard.",
                       document.where("music", "bars"), "Give corrections, or leave 'bars' out.")
        )  # fmt: skip
    return timeline


def _of_the_dances(document: Document) -> tuple[tuple[float, float] | None, int | None]:
    """Tempo range and metre of the dances the brief asks for, as far as they agree and are known here."""
    from composer.listening.dances import dance_pages, search_range

    data = document.data if isinstance(document.data, dict) else {}
    asked = data.get("dance", ())
    names = [asked] if isinstance(asked, str) else [n for n in asked if isinstance(n, str)]
    pages = [dance_pages()[name] for name in names if name in dance_pages()]
    if not pages or len(pages) < len(names):
        return None, None
    ranges = [search_range(page) for page in pages]
    metres = {page.beats_per_bar for page in pages}
    return (min(a for a, _ in ranges), max(b for _, b in ranges)), metres.pop() if len(metres) == 1 else None
