"""The command for practising: options and help only; the work is in :mod:`composer.cli.practising`."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer

DAY = ["%Y-%m-%d"]


def register(app: typer.Typer) -> None:
    """Add the command to the command line."""
    app.command()(practise)


def practise(
    routine: Annotated[Path, typer.Argument(metavar="ROUTINE", help="routine.json, or a routine written by hand.")],
    brief: Annotated[str | None, typer.Option("--brief", metavar="BRIEF", help="The brief it answers.")] = None,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="DIR", help="Folder; left out: 'practice' beside the routine.")
    ] = None,
    speed: Annotated[
        list[int] | None,
        typer.Option("--speed", metavar="PERCENT", min=40, max=200, help="Tempo of the audio; may be given again."),
    ] = None,
    track: Annotated[
        Path | None, typer.Option("--track", metavar="FILE", help="A recording to lie under the click.")
    ] = None,
    ogg: Annotated[bool, typer.Option("--ogg", help="Ogg Vorbis in place of WAV.")] = False,
    voice: Annotated[bool, typer.Option("--voice/--no-voice", help="Spoken counts and calls, where possible.")] = True,
    minutes: Annotated[int, typer.Option("--minutes", metavar="N", min=15, max=240, help="Of a session.")] = 45,
    per_week: Annotated[int, typer.Option("--per-week", metavar="N", min=1, max=14, help="Sessions a week.")] = 2,
    first: Annotated[
        datetime | None, typer.Option("--first", metavar="DAY", formats=DAY, help="First day, e.g. 2027-03-01.")
    ] = None,
    until: Annotated[
        datetime | None, typer.Option("--until", metavar="DAY", formats=DAY, help="The day of the dance: a calendar.")
    ] = None,
    lengths: Annotated[str, typer.Option("--lengths", metavar="UNIT", help="metres or feet.")] = "metres",
    as_json: Annotated[
        bool, typer.Option("--json", help="One JSON document on standard output, nothing else.")
    ] = False,
) -> None:
    """Write what a couple practises with: audio with counts and calls, captions, sheets, a plan, a calendar."""
    from composer.cli.practising import Asked, practise_command

    asked = Asked(
        speeds=tuple(dict.fromkeys(speed or (100, 80))), track=track, ogg=ogg, voice=voice, minutes=minutes,
        per_week=per_week, first=first.date() if first else None, until=until.date() if until else None,
        lengths=lengths,
    )  # fmt: skip
    raise typer.Exit(practise_command(routine, asked, brief=brief, out=out, as_json=as_json))
