"""``practise``: practice audio, captions, sheets and the dated plan of a routine, in one folder."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any, Literal, cast

from composer.cli import speak
from composer.errors import BadInput, Diagnostic, Where
from composer.outfolder import check_folder, write_out
from composer.routinefile import load_routine


@dataclass(frozen=True)
class Asked:
    """The options. ``speeds`` are per cent of the tempo; ``until`` makes a calendar."""

    speeds: tuple[int, ...] = (100, 80)
    track: Path | None = None
    ogg: bool = False
    voice: bool = True
    minutes: int = 45
    per_week: int = 2
    first: date | None = None
    until: date | None = None
    lengths: str = "metres"


def practise_command(routine: Path, asked: Asked, *, brief: str | None, out: Path | None, as_json: bool) -> int:
    """Write the folder; the exit code.

    Raises
    ------
    BadInput
        ``CMD`` for options that contradict each other, else as reading and writing raise it.
    """
    _check(asked)
    problem, read = load_routine(routine, brief)
    home = out or routine.absolute().parent / "practice"
    check_folder(home)
    from composer.report import Sessions, sheet_from, write_folder
    from composer.report.sound import write_practice_audio
    from composer.report.words import Lengths

    sessions = Sessions(asked.minutes, asked.per_week, asked.first, asked.until)
    sheet = sheet_from(problem, read, lengths=cast("Lengths", asked.lengths), sessions=sessions)
    if asked.track is not None:
        sheet = replace(sheet, track=str(asked.track))
    track = Path(sheet.track) if sheet.track and Path(sheet.track).is_file() else None
    kind: Literal["wav", "ogg"] = "ogg" if asked.ogg else "wav"

    def fill(folder: Path) -> list[Path]:
        return write_folder(sheet, folder) + write_practice_audio(
            sheet,
            folder,
            speeds=[speed / 100 for speed in asked.speeds],
            kind=kind,
            track=track,
            program=None if asked.voice else "",
        )

    files = write_out(home, fill)
    _tell(sheet.learning.note, asked, home, files, as_json=as_json)
    return speak.DONE


def _check(asked: Asked) -> None:
    faults: list[Diagnostic] = []
    if asked.lengths not in {"metres", "feet"}:
        faults.append(
            Diagnostic(
                "CMD003", f"'{asked.lengths}' is no unit for the sheets.", Where(key="--lengths"), "Use metres or feet."
            )
        )
    if asked.first and asked.until is None:
        faults.append(
            Diagnostic(
                "CMD003", "a first day needs the day of the dance too.", Where(key="--first"), "Give --until as well."
            )
        )
    if asked.first and asked.until and asked.until < asked.first:
        faults.append(Diagnostic("CMD003", "the day of the dance comes before the first day.", Where(key="--until")))
    if asked.track is not None and not asked.track.is_file():
        faults.append(Diagnostic("CMD003", "there is no such recording.", Where(str(asked.track), key="--track")))
    if faults:
        raise BadInput(faults)


def _tell(note: str, asked: Asked, home: Path, files: list[Path], *, as_json: bool) -> None:
    from composer.report.speech import speech_program

    silent = asked.voice and speech_program() is None
    if as_json:
        data: dict[str, Any] = {
            "status": "done",
            "files": [str(f) for f in files],
            "spoken": asked.voice and not silent,
        }
        speak.document({**data, "plan": note})
        return
    out = speak.console()
    speak.wrapped(note, out.width)
    if silent:
        speak.wrapped(
            "No speech program (espeak-ng) was found: calls are three rising notes, counts are silent.", out.width
        )
    speak.wrapped(f"Written to {home}: {', '.join(f.name for f in files)}", out.width)
