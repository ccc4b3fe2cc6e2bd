"""The recording of a brief cut as its music is: the track to play, and the timeline in its seconds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from composer.listening.splice import Splice, duration, splice_of, suffix_for, write_cut
from composer.problem import Problem
from composer.timeline.model import Timeline


@dataclass(frozen=True)
class CutTrack:
    """A cut track: its file, how it was cut, and the music in its seconds."""

    file: Path
    splice: Splice
    timeline: Timeline


def recording_of(problem: Problem) -> Path | None:
    """The recording a brief names, when it is there."""
    named = problem.brief.music.track
    file = None if named is None else Path(problem.document.file).parent / named
    return file if file is not None and file.is_file() else None


def cut_track(
    whole: Timeline,
    cut: Timeline,
    leave_out: Sequence[tuple[int, int]],
    source: Path,
    folder: Path,
    most_s: float | None = None,
) -> CutTrack:
    """Write the recording without some bars into a folder, as ``music`` with a suffix that suits it.

    Parameters
    ----------
    whole : the music before the bars (first and last, both included) are left out, in seconds of the recording.
    cut : the music without them, as :func:`composer.timeline.leftout.without_bars` gives it.
    most_s : longest track allowed; the danced music itself must not be longer.

    Raises
    ------
    BadInput, OSError
        When the recording cannot be read, or the track not be written.
    """
    splice = splice_of(whole, leave_out, duration(source), most_s)
    target = folder / f"music{suffix_for(source)}"
    write_cut(source, splice, target)
    return CutTrack(target, splice, retimed(cut, splice))


def retimed(cut: Timeline, splice: Splice) -> Timeline:
    """The cut music in seconds of the cut track: its first beat comes after the lead."""
    late = splice.lead_s - cut.seconds_at(0)
    before = tuple(replace(beat, at_s=beat.at_s + late) for beat in cut.before)
    return replace(
        cut,
        beats=tuple(replace(beat, at_s=beat.at_s + late) for beat in cut.beats),
        before=tuple(beat for beat in before if beat.at_s >= 0),
        end_s=cut.end_s + late,
    )


def played(problem: Problem, folder: Path) -> tuple[Problem, Path | None]:
    """A problem as its sheets play it: with a recording some bars of which are left out, the track is cut (written
    into ``folder``) and the music timed by it; else as it is, with its recording if it has one.

    Raises
    ------
    BadInput, OSError
        Like :func:`cut_track`.
    """
    from composer.brief.music import timeline_from

    source = recording_of(problem)
    music = problem.brief.music
    if source is None or not music.leave_out:
        return problem, source
    page = problem.catalogue.dances.get(problem.brief.dances[0])
    uncut = music.model_copy(update={"leave_out": ()})
    whole = timeline_from(uncut, problem.document, 4 if page is None else page.beats_per_bar)
    spans = [(span.first, span.last) for span in music.leave_out]
    made = cut_track(whole, problem.timeline, spans, source, folder)
    return replace(problem, timeline=made.timeline), made.file
