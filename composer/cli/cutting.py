"""``cut``: music cut into a window of time together with the routine danced to it."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

from composer.brief.load import brief_file, problem_from
from composer.cli import speak
from composer.cli.composing import default_folder
from composer.cli.interrupting import interruptible
from composer.compose import EXPECTED, InternalFault, write_routine
from composer.cuttrack import CutTrack, cut_track, recording_of
from composer.errors import BadInput, Diagnostic, Where
from composer.listening.splice import LEAD_S
from composer.outfolder import RECORD, check_folder
from composer.problem import Problem
from composer.revise.cut import (
    Fitted,
    Unfitted,
    Window,
    brief_with_cut,
    clock_words,
    cut_words,
    fit,
    seconds_of,
    window_from,
)
from composer.revise.moving import brief_text, moved_brief
from composer.revise.scored import scored
from composer.routine import Routine, as_data
from composer.textfiles import Document, json_text, read_yaml, write_text
from composer.timeline import as_data as as_data_of_music
from composer.timeline.model import Timeline
from composer.versions import check_versions

BRIEF: Final = "brief.yaml"
TIMELINE: Final = "music.json"


@dataclass(frozen=True)
class _Made:
    """What was written: the routine as its record says it, the files, and how the recording was cut."""

    routine: Routine
    files: tuple[Path, ...] = ()
    track: CutTrack | None = None


def cut_command(brief: str, *, window: str, out: Path | None, time_limit_s: float, as_json: bool) -> int:
    """Cut and compose; the exit code."""
    asked = window_from(window)
    document = _whole(read_yaml(brief_file(brief)))
    problem = problem_from(document)
    recording = recording_of(problem)
    folder = out if out is not None or as_json else default_folder(brief).with_name(f"{default_folder(brief)}-cut")
    if folder is not None:
        check_folder(folder, EXPECTED)
        check_versions(folder)
        _refuse_a_brief(folder)
    # a track that begins in the middle of the music has a moment of sound before its first beat
    counted = asked if recording is None else replace(asked, most_s=asked.most_s - LEAD_S)
    with speak.libraries_silenced():
        found = interruptible(lambda: fit(problem, counted, time_limit_s=time_limit_s, heard=speak.line))
        if isinstance(found, Unfitted):
            return _unfitted(found, seconds_of(problem.timeline), as_json)
        made = _Made(found.routine) if folder is None else _written(problem, document, found, asked, folder, recording)
    if as_json:
        speak.document(_data(found, made))
    else:
        _show(problem, found, made, folder)
    return speak.DONE


def _whole(document: Document) -> Document:
    """The brief without cuts asked for before."""
    if not isinstance(document.data, dict) or not isinstance(document.data.get("music"), dict):
        return document
    music = {key: value for key, value in document.data["music"].items() if key != "leave_out"}
    return replace(document, data={**document.data, "music": music})


def _written(
    problem: Problem, document: Document, found: Fitted, asked: Window, folder: Path, recording: Path | None
) -> _Made:
    """Write the sheets, the brief and, where there is a recording, the cut track with its timeline."""
    from composer.verify import verify

    beside: dict[str, bytes] = {}
    track = None
    with tempfile.TemporaryDirectory() as name:
        aside = Path(name)
        if recording is not None and found.cut.leave_out:
            track = _cut_recording(problem.timeline, found, asked, recording, aside)
            beside = {file.name: file.read_bytes() for file in (track.file, aside / TIMELINE)}
        music = None if track is None else {"timeline": TIMELINE, "track": track.file.name}

        def brief_in(data: dict[str, Any], from_file: str, place: Path) -> Document:
            moved = moved_brief(data, from_file, place)
            return Document(str(place.absolute() / BRIEF), {**moved, "music": music or moved["music"]}, {})

        data = brief_with_cut(dict(document.data), found.cut)
        loaded = problem_from(brief_in(data, document.file, aside))
        # the record names the brief that is written beside it
        here = replace(loaded, document=brief_in(loaded.document.data, loaded.document.file, folder))
        routine = replace(scored(here, found.routine), status=found.routine.status, bound=found.routine.bound)
        if faults := verify(here, routine):
            raise InternalFault(faults)
        beside[BRIEF] = brief_text(brief_in(data, document.file, folder).data).encode("utf-8")
        files = write_routine(loaded, routine, folder, document=here.document, beside=beside)
    return _Made(routine, (*files, *(folder / name for name in beside)), track)


def _cut_recording(whole: Timeline, found: Fitted, asked: Window, recording: Path, aside: Path) -> CutTrack:
    """The cut track and its timeline, written into a folder.

    Raises
    ------
    BadInput
        ``OUT001`` when it cannot be written.
    """
    try:
        made = cut_track(whole, found.problem.timeline, found.cut.leave_out, recording, aside, asked.most_s)
    except OSError as fault:
        raise BadInput(Diagnostic("OUT001", f"the cut track cannot be written: {fault}.", Where(str(aside)))) from None
    write_text(aside / TIMELINE, json_text(as_data_of_music(replace(made.timeline, first_bar=1))))
    return made


def _data(found: Fitted, made: _Made) -> dict[str, Any]:
    track = made.track
    return {
        "status": "found",
        "leave_out": [{"first": a, "last": b} for a, b in found.cut.leave_out],
        "seconds": round(found.cut.seconds, 3),
        "candidates": found.candidates,
        "solved": found.solved,
        "proven": found.proven,
        "track": None
        if track is None
        else {
            "file": track.file.name,
            "seconds": round(track.splice.length_s, 3),
            "first_beat_s": round(track.splice.lead_s, 3),
            "joins_s": [round(at, 3) for at in track.splice.joins_s],
        },
        "routine": as_data(made.routine),
        "files": [str(path) for path in made.files],
    }


def _show(problem: Problem, found: Fitted, made: _Made, folder: Path | None) -> None:
    width = speak.console().width
    whole = clock_words(seconds_of(problem.timeline))
    if found.cut.leave_out:
        speak.wrapped(f"Of {whole} of music: {cut_words(found.cut)}.", width)
    else:
        speak.wrapped(f"The music ({whole}) fits as it is.", width)
    for note in found.problem.timeline.notes:
        if note.startswith("Cut:"):
            speak.wrapped(note, width)
    if made.track is not None:
        joins = " and ".join(clock_words(at) for at in made.track.splice.joins_s)
        where = f", joined at {joins}" if joins else ""
        length = clock_words(made.track.splice.length_s)
        speak.wrapped(f"The cut track is {made.track.file.name}: {length} with what rings out{where}.", width)
    proof = (
        f"It is proved that none of the {found.candidates} cuts at phrase boundaries does better"
        if found.proven
        else f"{found.candidates} cuts at phrase boundaries were looked at; that no other does better is not proved"
    )
    speak.wrapped(f"{made.routine.score} points. {proof}.", width)
    if folder is not None:
        print(speak.clean(f"Written to {folder}, with the brief ({BRIEF})."))


def _refuse_a_brief(folder: Path) -> None:
    """Refuse a folder with somebody's brief or music in it; one that this command wrote has its routine beside it.

    Raises
    ------
    BadInput
        ``OUT003``.
    """
    taken = [name for name in (BRIEF, TIMELINE, "music.wav", "music.flac", "music.ogg") if (folder / name).exists()]
    if taken and not (folder / RECORD).exists():
        message = f"'{taken[0]}' is there already and was not written by this tool."
        raise BadInput(Diagnostic("OUT003", message, Where(str(folder)), "Choose another folder with --out."))


def _unfitted(found: Unfitted, seconds: float, as_json: bool) -> int:
    none = found.candidates == 0
    proved = none or found.proven
    if as_json:
        speak.document({"status": "no-cut" if proved else "undecided", "candidates": found.candidates})
    elif none:
        print(f"No cut at phrase boundaries with the end kept is so long (the music lasts {clock_words(seconds)}).")
    elif proved:
        print(f"None of the {found.candidates} cuts at phrase boundaries has a routine; that is proved.")
    else:
        print("Undecided: time ran out before a routine was found for any cut.")
    return speak.NO_ROUTINE if proved else speak.UNDECIDED
