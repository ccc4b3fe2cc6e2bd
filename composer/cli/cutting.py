"""``cut``: music cut into a window of time together with the routine danced to it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from composer.brief.load import brief_file, problem_from
from composer.cli import speak
from composer.cli.composing import default_folder
from composer.cli.interrupting import interruptible
from composer.compose import EXPECTED, InternalFault
from composer.errors import BadInput, Diagnostic, Where
from composer.outfolder import RECORD, check_folder
from composer.revise.cut import Fitted, Unfitted, brief_with_cut, clock_words, cut_words, fit, seconds_of, window_from
from composer.revise.moving import brief_text, moved_brief
from composer.revise.output import write_sheets
from composer.revise.scored import scored
from composer.routine import as_data
from composer.textfiles import Document, read_yaml, write_text


def cut_command(brief: str, *, window: str, out: Path | None, time_limit_s: float, as_json: bool) -> int:
    """Cut and compose; the exit code."""
    from composer.verify import verify

    asked = window_from(window)
    file = brief_file(brief)
    document = read_yaml(file)
    if isinstance(document.data, dict) and isinstance(document.data.get("music"), dict):
        music = {key: value for key, value in document.data["music"].items() if key != "leave_out"}
        document = Document(document.file, {**document.data, "music": music}, document.lines)
    problem = problem_from(document)
    folder = out if out is not None or as_json else default_folder(brief).with_name(f"{default_folder(brief)}-cut")
    if folder is not None:
        check_folder(folder, EXPECTED)
        _refuse_a_brief(folder)
    with speak.libraries_silenced():
        found = interruptible(lambda: fit(problem, asked, time_limit_s=time_limit_s, heard=speak.line))
        files: list[Path] = []
        if isinstance(found, Fitted):
            data = brief_with_cut(dict(document.data), found.cut)
            routine = found.routine
            if folder is not None:
                here = problem_from(Document(document.file, data, document.lines))
                place = str(folder.absolute() / "brief.yaml")
                moved = Document(place, moved_brief(here.document.data, document.file, folder), {})
                here = replace(here, document=moved)  # the record names the brief that is written beside it
                routine = replace(scored(here, routine), status=routine.status, bound=routine.bound)
                if faults := verify(here, routine):
                    raise InternalFault(faults)
                files = write_sheets(here, routine, folder, None, {})
                brief_here = folder / "brief.yaml"  # not one of the sheets: later runs must not take it away
                write_text(brief_here, brief_text(moved_brief(data, document.file, folder)))
                files.append(brief_here)
    if isinstance(found, Unfitted):
        return _unfitted(found, seconds_of(problem.timeline), as_json)
    if as_json:
        speak.document(
            {
                "status": "found",
                "leave_out": [{"first": a, "last": b} for a, b in found.cut.leave_out],
                "seconds": round(found.cut.seconds, 3),
                "candidates": found.candidates,
                "solved": found.solved,
                "proven": found.proven,
                "routine": as_data(routine),
                "files": [str(path) for path in files],
            }
        )
        return speak.DONE
    width = speak.console().width
    whole = clock_words(seconds_of(problem.timeline))
    if found.cut.leave_out:
        speak.wrapped(f"Of {whole} of music: {cut_words(found.cut)}.", width)
    else:
        speak.wrapped(f"The music ({whole}) fits as it is.", width)
    for note in found.problem.timeline.notes:
        if note.startswith("Cut:"):
            speak.wrapped(note, width)
    proof = (
        f"It is proved that none of the {found.candidates} cuts at phrase boundaries does better"
        if found.proven
        else f"{found.candidates} cuts at phrase boundaries were looked at; that no other does better is not proved"
    )
    speak.wrapped(f"{routine.score} points. {proof}.", width)
    if folder is not None:
        print(speak.clean(f"Written to {folder}, with the brief (brief.yaml)."))
    return speak.DONE


def _refuse_a_brief(folder: Path) -> None:
    """Refuse a folder with somebody's brief in it; one that this command wrote has its routine beside it.

    Raises
    ------
    BadInput
        ``OUT003``.
    """
    if (folder / "brief.yaml").exists() and not (folder / RECORD).exists():
        message = "'brief.yaml' is there already and was not written by this tool."
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
