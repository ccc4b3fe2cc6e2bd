"""Commands about rooms: options and help only; the work is in :mod:`composer.cli.rooming`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

Json = Annotated[bool, typer.Option("--json", help="One JSON document on standard output, nothing else.")]
Lengths = Annotated[str, typer.Option("--lengths", metavar="UNIT", help="metres or feet.")]


def register(app: typer.Typer) -> None:
    """Add the commands to the command line."""
    plain = {"rich_markup_mode": None, "pretty_exceptions_enable": False, "add_completion": False}
    room = typer.Typer(help="How much room a routine needs, and what fits a room.", **plain)  # type: ignore[arg-type]
    room.command("smallest")(smallest)
    room.command("fits")(fits)
    app.add_typer(room, name="room")


def smallest(
    routine: Annotated[Path, typer.Argument(metavar="ROUTINE", help="routine.json, or a routine written by hand.")],
    brief: Annotated[str | None, typer.Option("--brief", metavar="BRIEF", help="The brief it answers.")] = None,
    least: Annotated[
        float, typer.Option("--least", metavar="PART", min=0.5, max=1, help="How far strides may shrink.")
    ] = 0.8,
    lengths: Lengths = "metres",
    as_json: Json = False,
) -> None:
    """The smallest room for a routine, as written and with shorter strides; each answer is proved."""
    from composer.cli.rooming import smallest_command

    raise typer.Exit(smallest_command(routine, brief=brief, least=least, lengths=lengths, as_json=as_json))


def fits(
    brief: Annotated[str, typer.Argument(metavar="BRIEF", help="A brief file, or the name of a shipped scenario.")],
    time_limit: Annotated[
        float, typer.Option("--time-limit", metavar="S", min=0.1, max=86_400, help="Seconds for one search.")
    ] = 20.0,
    lengths: Lengths = "metres",
    as_json: Json = False,
) -> None:
    """What fits the room of a brief: which figures can be danced in it, and whether a whole routine can.

    Where none can, shorter strides and larger floors are tried in turn.
    """
    from composer.cli.rooming import fits_command

    raise typer.Exit(fits_command(brief, time_limit_s=time_limit, lengths=lengths, as_json=as_json))
