"""Commands and options, and the one place where every way to fail becomes an exit code.

Exit codes: 0 done, 1 internal error, 2 bad input, 3 proved that no routine exists or breaches found, 4 undecided in
time, 130 interrupted, 141 nobody reads the output any more.
"""

from __future__ import annotations

import errno
import os
import sys
from pathlib import Path
from typing import Annotated, Any, Final, cast

import typer

from composer.cli import practisecommands, revisecommands, roomcommands, speak
from composer.cli.called import with_options_of

USAGE_ERROR: Final = cast(
    "type[Exception]", next(base for base in typer.BadParameter.__mro__ if base.__name__ == "ClickException")
)
"""The base of all usage errors, wherever the installed typer keeps it."""

OUTPUT_FAULTS: Final = frozenset({errno.ENOSPC, errno.EIO, errno.EBADF, errno.EFBIG, errno.EDQUOT})
"""What writing to standard output can meet, apart from nobody reading it."""

PLAIN: Final = {"rich_markup_mode": None, "pretty_exceptions_enable": False, "add_completion": False}
app = typer.Typer(help="Compose, check and write out partner-dance routines.", **PLAIN)  # type: ignore[arg-type]
figures = typer.Typer(help="The catalogue of figures, and figures of your own.", **PLAIN)  # type: ignore[arg-type]
app.add_typer(figures, name="figures")

Json = Annotated[bool, typer.Option("--json", help="One JSON document on standard output, nothing else.")]
Dance = Annotated[str | None, typer.Option("--dance", metavar="DANCE", help="Only this dance, e.g. waltz.")]
Own = Annotated[
    list[Path] | None, typer.Option("--catalogue", metavar="DIR", help="A catalogue folder of your own, laid on top.")
]


@app.callback(invoke_without_command=True)
def top(
    version: Annotated[bool, typer.Option("--version", help="Show the version and leave.")] = False,
) -> None:
    """Compose, check and write out partner-dance routines."""
    if version:
        from importlib.metadata import version as installed

        print(f"routine-composer {installed('routine-composer')}")
        raise typer.Exit


@app.command()
def compose(
    brief: Annotated[str, typer.Argument(metavar="BRIEF", help="A brief file, or the name of a shipped scenario.")],
    out: Annotated[
        Path | None,
        typer.Option("--out", metavar="DIR", help="Folder for the sheets. Left out: named after the brief, here."),
    ] = None,
    seed: Annotated[int, typer.Option("--seed", metavar="N", min=0, max=2**31 - 1, help="Another of equals.")] = 0,
    time_limit: Annotated[
        float, typer.Option("--time-limit", metavar="S", min=0.1, max=86_400, help="Seconds for composing.")
    ] = 20.0,
    lengths: Annotated[
        str, typer.Option("--lengths", metavar="UNIT", help="metres or feet, on the sheets.")
    ] = "metres",
    paper: Annotated[str | None, typer.Option("--paper", metavar="SIZE", help="A4 or letter, for printing.")] = None,
    as_json: Json = False,
) -> None:
    """Compose a routine for a brief.

    The sheets go to the folder that --out names; with --json nothing is written unless it is given.
    """
    from composer.cli.composing import compose_command

    looks = {"lengths": lengths, "paper": paper}
    raise typer.Exit(compose_command(brief, out=out, seed=seed, time_limit_s=time_limit, looks=looks, as_json=as_json))


@app.command()
def verify(
    routine: Annotated[Path, typer.Argument(metavar="ROUTINE", help="routine.json, or a routine written by hand.")],
    brief: Annotated[
        str | None, typer.Option("--brief", metavar="BRIEF", help="Judge it by this brief; else by the figures alone.")
    ] = None,
    as_json: Json = False,
) -> None:
    """Check a routine and tell every breach."""
    from composer.cli.checking import verify_command

    raise typer.Exit(verify_command(routine, brief=brief, as_json=as_json))


@app.command()
def listen(
    music: Annotated[
        Path, typer.Argument(metavar="MUSIC", help="Score (MusicXML, ABC, MIDI), beat file, recording or timeline.")
    ],
    out: Annotated[Path | None, typer.Option("--out", metavar="FILE", help="Write the timeline here (JSON).")] = None,
    dance: Annotated[str | None, typer.Option("--dance", metavar="DANCE", help="Listen for this dance.")] = None,
    tune: Annotated[int | None, typer.Option("--tune", metavar="N", min=1, help="Which tune of a collection.")] = None,
    tempo: Annotated[
        float | None, typer.Option("--tempo", metavar="BPM", min=20, max=400, help="Beats a minute.")
    ] = None,
    phrase_bars: Annotated[
        int | None, typer.Option("--phrase-bars", metavar="N", min=1, max=64, help="Bars of a phrase.")
    ] = None,
    clicks: Annotated[
        Path | None, typer.Option("--clicks", metavar="FILE", help="Write a recording with clicks on its beats (wav).")
    ] = None,
    picture: Annotated[
        Path | None, typer.Option("--picture", metavar="FILE", help="Draw what was heard in a recording (SVG, PNG).")
    ] = None,
    as_json: Json = False,
) -> None:
    """Hear a piece of music.

    Shows beats, bars, phrases, sections and hits as the composer sees them.
    """
    from composer.cli.listening import Asked, listen_command

    asked = Asked(tune, tempo, phrase_bars, dance, out, clicks, picture)
    raise typer.Exit(listen_command(music, asked, as_json=as_json))


@app.command()
def why(
    path: Annotated[str, typer.Argument(metavar="BRIEF|ROUTINE", help="A brief (or scenario), or a routine file.")],
    figure: Annotated[
        str | None, typer.Option("--figure", metavar="NAME", help="Why is this figure not in the routine?")
    ] = None,
    at: Annotated[int | None, typer.Option("--at", metavar="COUNT", min=1, help="... not on this count?")] = None,
    count: Annotated[
        int | None, typer.Option("--count", metavar="N", min=1, help="Of a routine: why this figure on this count?")
    ] = None,
    brief: Annotated[
        str | None, typer.Option("--brief", metavar="BRIEF", help="The brief a routine was made for.")
    ] = None,
    out: Annotated[Path | None, typer.Option("--out", metavar="FILE.html", help="Also write a page.")] = None,
    time_limit: Annotated[
        float, typer.Option("--time-limit", metavar="S", min=0.1, max=86_400, help="Seconds to look.")
    ] = 20.0,
    as_json: Json = False,
) -> None:
    """Say why: why no routine exists and what would help, why a figure is not in it, why one stands where it does."""
    from composer.cli.whying import why_command

    raise typer.Exit(
        why_command(
            path, figure=figure, at=at, count=count, brief=brief, out=out, time_limit_s=time_limit, as_json=as_json
        )
    )


@app.command()
def schema(
    name: Annotated[str, typer.Argument(metavar="NAME", help="brief, figure, routine or timeline.")],
) -> None:
    """Print the JSON Schema of a file format, for editors."""
    from composer.cli.schemas import schema_command

    raise typer.Exit(schema_command(name))


revisecommands.register(app)
practisecommands.register(app)
roomcommands.register(app)


@figures.command("list")
def figures_list(
    dance: Dance = None,
    level: Annotated[int | None, typer.Option("--level", metavar="N", min=1, max=5, help="Up to this level.")] = None,
    catalogue: Own = None,
    as_json: Json = False,
) -> None:
    """List figures with level, length and hold."""
    from composer.cli.figurelists import list_command

    raise typer.Exit(list_command(dance=dance, level=level, own=catalogue or [], as_json=as_json))


@figures.command("show")
def figures_show(
    name: Annotated[str, typer.Argument(metavar="NAME", help="e.g. natural-turn or waltz/natural-turn.")],
    dance: Dance = None,
    catalogue: Own = None,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="FILE", help="Also draw it: a foot chart as an SVG picture.")
    ] = None,
    as_json: Json = False,
) -> None:
    """Show both charts of a figure.

    With hold, hands and how it is led.
    """
    from composer.cli.figureshow import show_command

    raise typer.Exit(show_command(name, dance=dance, own=catalogue or [], out=out, as_json=as_json))


@figures.command("check")
def figures_check(
    path: Annotated[
        Path | None, typer.Argument(metavar="PATH", help="A figure file or a folder; left out: the whole catalogue.")
    ] = None,
    as_json: Json = False,
) -> None:
    """Check figures of your own step by step.

    Tells everything that is wrong, each with its file, line and count.
    """
    from composer.cli.figurecheck import check_command

    raise typer.Exit(check_command(path, as_json=as_json))


@figures.command("new")
def figures_new(
    name: Annotated[str, typer.Argument(metavar="NAME", help="What the figure is called.")],
    dance: Annotated[str, typer.Option("--dance", metavar="DANCE", help="The dance it belongs to.")],
    out: Annotated[
        Path | None, typer.Option("--out", metavar="FILE", help="Where to write it. Left out: DANCE/NAME.yaml here.")
    ] = None,
) -> None:
    """Write a starter file for a figure of your own.

    It passes `figures check` as it is; change it step by step.
    """
    from composer.cli.figurecheck import new_command

    raise typer.Exit(new_command(name, dance=dance, out=out))


@figures.command("follow")
def figures_follow(
    name: Annotated[str, typer.Argument(metavar="NAME", help="e.g. natural-turn or waltz/natural-turn.")],
    dance: Dance = None,
    catalogue: Own = None,
    as_json: Json = False,
) -> None:
    """List what may come before and after a figure.

    And why other figures may not.
    """
    from composer.cli.figuregraph import follow_command

    raise typer.Exit(follow_command(name, dance=dance, own=catalogue or [], as_json=as_json))


@figures.command("graph")
def figures_graph(
    dance: Annotated[str, typer.Argument(metavar="DANCE", help="e.g. waltz.")],
    level: Annotated[int, typer.Option("--level", metavar="N", min=1, max=5, help="Figures up to this level.")] = 5,
    catalogue: Own = None,
    as_json: Json = False,
) -> None:
    """Show which figures can follow which.

    Names figures that nothing reaches or leaves, and says whether the dance holds together.
    """
    from composer.cli.figuregraph import graph_command

    raise typer.Exit(graph_command(dance, level=level, own=catalogue or [], as_json=as_json))


def run(arguments: list[str]) -> int:
    """Run one command line; the exit code. Nothing is ever raised, whatever happens."""
    sys.stdout = sys.stdout or open(os.devnull, "w")  # noqa: SIM115  (closed by whoever started us)
    sys.stderr = sys.stderr or open(os.devnull, "w")  # noqa: SIM115
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")
    as_json = "--json" in arguments
    try:
        return _run(arguments if arguments and arguments != ["figures"] else [*arguments, "--help"], as_json)
    except KeyboardInterrupt:
        speak.line("Interrupted.")
        return speak.INTERRUPTED
    except BrokenPipeError:
        _quiet()
        return speak.BROKEN_PIPE
    except OSError as problem:
        if problem.errno not in OUTPUT_FAULTS or problem.filename is not None:
            return _internal(problem, as_json)
        _quiet()
        speak.line(f"OUT004: the output cannot be written: {problem.strerror}.")
        return speak.BAD_INPUT
    except Exception as problem:  # the last resort: no traceback ever reaches a user who did not ask for it
        return _internal(problem, as_json)


def _run(arguments: list[str], as_json: bool) -> int:
    from composer.errors import BadInput

    try:
        line = typer.main.get_command(with_options_of(app, arguments))
        code = line.main(arguments, "routine-composer", standalone_mode=False)
        sys.stdout.flush()
        if code == speak.INTERRUPTED:  # some releases of the parser turn an interrupt into this code themselves
            raise KeyboardInterrupt
        return code if isinstance(code, int) else speak.DONE
    except BadInput as problem:
        return speak.refuse(problem.diagnostics, as_json=as_json)
    except USAGE_ERROR as problem:
        from composer.cli.usage import explained

        return speak.refuse([explained(problem)], as_json=as_json)
    except typer.Abort:
        raise KeyboardInterrupt from None
    except SystemExit as left:
        if left.code == speak.INTERRUPTED:
            raise KeyboardInterrupt from None
        # otherwise the argument parser leaves this way when nobody reads its output
        _quiet()
        return left.code if isinstance(left.code, int) and left.code != 1 else speak.BROKEN_PIPE


def _internal(problem: Exception, as_json: bool) -> int:
    """Report a fault of this program in one line."""
    what = f"internal error: {type(problem).__name__}: {problem}"
    how = f"This is a fault of the tool, not of your files. Set {speak.DETAILS}=1 to see where it happened."
    if speak.details_wanted():
        import traceback

        traceback.print_exception(problem, file=sys.stderr)
    if as_json:
        speak.document({"errors": [{"code": "CMD900", "message": what, "remedy": how, "where": {}}]})
    else:
        speak.line(f"CMD900: {what[:400]}. {how}")
    return speak.INTERNAL


def _quiet() -> None:
    """Send what is still buffered nowhere, so that closing down stays silent."""
    nowhere: Any = os.open(os.devnull, os.O_WRONLY)
    for stream in (sys.stdout, sys.stderr):
        try:
            stream.flush()
        except (OSError, ValueError):
            os.dup2(nowhere, stream.fileno())
