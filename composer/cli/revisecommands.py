"""Commands about a routine that exists: options and help only; the work is in :mod:`composer.cli.revising`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

Routine = Annotated[Path, typer.Argument(metavar="ROUTINE", help="routine.json, or a routine written by hand.")]
Brief = Annotated[
    str | None, typer.Option("--brief", metavar="BRIEF", help="The brief it answers; remembered once it is known.")
]
Out = Annotated[
    Path | None, typer.Option("--out", metavar="DIR", help="Folder for the sheets and versions; its own if left out.")
]
Limit = Annotated[float, typer.Option("--time-limit", metavar="S", min=0.1, max=86_400, help="Seconds for a search.")]
Json = Annotated[bool, typer.Option("--json", help="One JSON document on standard output, nothing else.")]
Texts = list[str] | None


def register(app: typer.Typer) -> None:
    """Add the commands to the command line."""
    app.command()(revise)
    app.command()(history)
    app.command()(restore)
    app.command()(alternatives)
    app.command("learn-next")(learn_next)
    app.command()(cut)
    app.command()(roles)


def revise(
    routine: Routine,
    brief: Brief = None,
    forbid: Annotated[Texts, typer.Option("--forbid", metavar="FIGURE", help="Not danced any more.")] = None,
    allow: Annotated[Texts, typer.Option("--allow", metavar="FIGURE", help="May be danced again.")] = None,
    require: Annotated[
        Texts, typer.Option("--require", metavar="FIGURE[@COUNT]", help="Comes, where said at that count.")
    ] = None,
    replace: Annotated[
        Texts,
        typer.Option("--replace", metavar="WHAT", help="A figure, OLD=NEW, or counts such as 17-24: danced otherwise."),
    ] = None,
    keep: Annotated[
        Texts, typer.Option("--keep", metavar="WHAT", help="Counts such as 1-32, or a section: stay as they are.")
    ] = None,
    practised: Annotated[
        Texts, typer.Option("--practised", metavar="COUNTS", help="Already practised: changed last.")
    ] = None,
    avoid: Annotated[Texts, typer.Option("--avoid", metavar="KIND", help="No figure of this kind, e.g. dip.")] = None,
    leader_level: Annotated[int | None, typer.Option(min=0, max=5, metavar="N", help="The leader's level.")] = None,
    follower_level: Annotated[int | None, typer.Option(min=0, max=5, metavar="N", help="The follower's.")] = None,
    room: Annotated[str | None, typer.Option(metavar="ROOM", help="Another floor: '6 m x 5 m'.")] = None,
    audience: Annotated[str | None, typer.Option(metavar="SIDE", help="They sit south, east, north or west.")] = None,
    bars: Annotated[str | None, typer.Option(metavar="A-B", help="Dance only these bars of the music.")] = None,
    leave_out: Annotated[
        Texts, typer.Option("--leave-out", metavar="A-B", help="Cut these bars out of the music.")
    ] = None,
    music: Annotated[str | None, typer.Option(metavar="FILE", help="Other music.")] = None,
    mirror: Annotated[
        str | None, typer.Option(metavar="WAY", help="The room as in a mirror: east-west or north-south.")
    ] = None,
    both_lead: Annotated[bool, typer.Option("--both-lead", help="Each partner leads part of the time.")] = False,
    swap_roles: Annotated[bool, typer.Option("--swap-roles", help="Leader and follower change roles.")] = False,
    take_back: Annotated[
        Texts, typer.Option("--take-back", metavar="ASK", help="Undo one, e.g. 'forbid whisk'.")
    ] = None,
    repair: Annotated[bool, typer.Option("--repair", help="Mend what is wrong with the fewest changes.")] = False,
    out: Out = None,
    time_limit: Limit = 20.0,
    as_json: Json = False,
) -> None:
    """Change one thing in a routine, keep the rest.

    The new routine differs least from the old one; every version is kept (see history and restore).
    """
    from composer.cli.revising import Options, revise_command

    options = Options(
        forbid=forbid or [], allow=allow or [], require=require or [], replace=replace or [], keep=keep or [],
        practised=practised or [], avoid=avoid or [], leader_level=leader_level, follower_level=follower_level,
        room=room, audience=audience, bars=bars, leave_out=leave_out or [], music=music,
        swap_roles=swap_roles, both_lead=both_lead, mirror=mirror, take_back=take_back or [], repair=repair,
    )  # fmt: skip
    raise typer.Exit(revise_command(routine, options, brief=brief, out=out, time_limit_s=time_limit, as_json=as_json))


def history(routine: Routine, as_json: Json = False) -> None:
    """List the versions of a routine."""
    from composer.cli.versions import history_command

    raise typer.Exit(history_command(routine, as_json=as_json))


def restore(
    routine: Routine,
    number: Annotated[int, typer.Argument(metavar="VERSION", min=1, help="Which, see history.")],
    as_json: Json = False,
) -> None:
    """Make an earlier version the routine again.

    Nothing is lost: what is there now stays a version too.
    """
    from composer.cli.versions import restore_command

    raise typer.Exit(restore_command(routine, number, as_json=as_json))


def alternatives(
    given: Annotated[str, typer.Argument(metavar="BRIEF|ROUTINE", help="A brief or scenario, or a routine of one.")],
    brief: Brief = None,
    number: Annotated[int, typer.Option("--number", metavar="N", min=1, max=50, help="How many.")] = 3,
    different: Annotated[
        int, typer.Option("--different", metavar="%", min=1, max=100, help="Share of counts any two differ on.")
    ] = 30,
    within: Annotated[
        int, typer.Option("--within", metavar="%", min=0, max=100, help="Share of the best score given up at most.")
    ] = 5,
    style: Annotated[
        str | None, typer.Option("--style", metavar="STYLE", help="calmer, showier, easier or travelling.")
    ] = None,
    out: Annotated[Path | None, typer.Option("--out", metavar="DIR", help="Write the sheets of each here.")] = None,
    time_limit: Limit = 20.0,
    as_json: Json = False,
) -> None:
    """Find routines that really differ.

    Each is nearly as good as the best; how much they differ is measured and shown.
    """
    from composer.cli.further import alternatives_command

    raise typer.Exit(
        alternatives_command(
            given, brief=brief, number=number, different=different, within=within, style=style, out=out,
            time_limit_s=time_limit, as_json=as_json,
        )
    )  # fmt: skip


def learn_next(
    given: Annotated[str, typer.Argument(metavar="BRIEF|ROUTINE", help="A brief or scenario, or a routine of one.")],
    brief: Brief = None,
    number: Annotated[int, typer.Option("--number", metavar="N", min=1, max=20, help="How many of each to tell.")] = 3,
    time_limit: Limit = 20.0,
    as_json: Json = False,
) -> None:
    """Tell which new figures or positions would improve the routine most.

    One and two together, with the points gained.
    """
    from composer.cli.lessons import learn_command

    raise typer.Exit(learn_command(given, brief=brief, number=number, time_limit_s=time_limit, as_json=as_json))


def cut(
    brief: Annotated[str, typer.Argument(metavar="BRIEF", help="A brief file, or the name of a shipped scenario.")],
    window: Annotated[
        str, typer.Option("--window", metavar="A-B", help="Lengths allowed, e.g. 1:30-2:00; -4:00 is at most.")
    ],
    out: Annotated[
        Path | None, typer.Option("--out", metavar="DIR", help="Folder for the sheets and the brief.")
    ] = None,
    time_limit: Limit = 20.0,
    as_json: Json = False,
) -> None:
    """Cut the music to a length, together with the routine.

    At phrase boundaries, keeping the end; of all such cuts the one with the best routine.
    """
    from composer.cli.cutting import cut_command

    raise typer.Exit(cut_command(brief, window=window, out=out, time_limit_s=time_limit, as_json=as_json))


def roles(routine: Routine, brief: Brief = None, as_json: Json = False) -> None:
    """Tell where the partners could change roles.

    Between two figures, where hands, stance and feet allow it.
    """
    from composer.cli.further import roles_command

    raise typer.Exit(roles_command(str(routine), brief=brief, as_json=as_json))
