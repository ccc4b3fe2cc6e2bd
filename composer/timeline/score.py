"""Score files (MusicXML, ABC, MIDI) as bars with exact beat times."""

from __future__ import annotations

from pathlib import Path

from composer.errors import BadInput, Diagnostic, Where
from composer.timeline.assemble import Bars
from composer.timeline.scorefile import open_score
from composer.timeline.written import perform


def read_score(
    path: Path, *, tune: int | None = None, tempo: float | None = None, beats_per_bar: int | None = None
) -> Bars:
    """Read a score and write its repeats out.

    Parameters
    ----------
    tune : number of the tune in an ABC collection.
    tempo : dance beats per minute; needed when the score has no tempo mark, otherwise replaces its opening tempo.
    beats_per_bar : how the bars are counted; needed when the score has no time signature.

    Raises
    ------
    BadInput
        TML00x and TML02x for the file, TML030 for music that cannot be danced as it stands, TML031 for MIDI that
        was played freely.
    """
    source = open_score(path, tune)
    if source.kind == "midi":
        from composer.timeline.midifile import read_midi

        return read_midi(source.raw, source.file, tempo=tempo, beats_per_bar=beats_per_bar)
    from composer.timeline.scoreparse import parse_score

    score = parse_score(source, beats_per_bar)
    try:
        return perform(score.measures, score.order, title=score.title or path.stem, tempo=tempo, notes=score.notes)
    except ValueError as problem:
        raise BadInput(Diagnostic("TML030", f"{problem}.", Where(source.file))) from None
