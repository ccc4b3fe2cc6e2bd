"""From the ``music`` of a brief to a timeline: picks the source, hands on what the user says about its form."""

from __future__ import annotations

from pathlib import Path

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
    if music.track is not None:
        return _listened(music, document)
    bars = _bars(music, document, beats_per_bar)
    if music.bars is not None and music.bars != len(bars.bars):
        raise BadInput(
            Diagnostic("TML037", f"the brief says {music.bars} bars, the music has {len(bars.bars)}.",
                       document.where("music", "bars"), "Leave 'bars' out to use the music as it is.")
        )  # fmt: skip
    return assemble(bars, shape_of(music), document.where)


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


def _listened(music: Music, document: Document) -> Timeline:
    """A track is listened to; that room is imported only when it is needed, for its libraries are large."""
    try:
        from composer.listening import timeline_of_track  # type: ignore[import-untyped,unused-ignore]
    except ModuleNotFoundError:
        raise BadInput(
            Diagnostic("TML036", "audio files cannot be listened to by this installation.",
                       document.where("music", "track"), "Give a score, a beat file, or tempo and bars.")
        ) from None  # fmt: skip
    path = _inside(Path(document.file).parent, music.track or "", "track", document)
    result: Timeline = timeline_of_track(path, music, document)
    return result
