"""Mistakes on the command line in the form of every other diagnostic (codes ``CMD001..005``).

Written against what the parser's errors carry, not against their classes, which move between releases of typer.
"""

from __future__ import annotations

from typing import Any

from composer.errors import Diagnostic, Where, did_you_mean


def explained(problem: Any) -> Diagnostic:
    """A parser's error as a diagnostic with the nearest command or option."""
    context = getattr(problem, "ctx", None)
    where = Where(key=_path(context))
    remedy = f"`{_path(context) or 'routine-composer'} --help` shows how."
    kind = type(problem).__name__
    if kind == "NoSuchOption":
        given = str(problem.option_name)
        near = did_you_mean(given, _options(context))
        return Diagnostic("CMD002", f"'{given}' is not an option here.", where, near or remedy)
    if kind == "MissingParameter":
        parameter = getattr(problem, "param", None)
        name = _name(parameter) if parameter is not None else "something"
        return Diagnostic("CMD003", f"{name} is missing.", where, remedy)
    message = str(getattr(problem, "message", "") or problem.format_message())
    if message.startswith("No such command"):
        given = message.split("'")[1] if "'" in message else message
        return Diagnostic("CMD001", f"'{given}' is not a command.", where, _near_command(given, context) or remedy)
    if kind == "BadParameter":
        parameter = getattr(problem, "param", None)
        name = f"{_name(parameter)}: " if parameter is not None else ""
        return Diagnostic("CMD004", f"{name}{message}".rstrip(".") + ".", where, remedy)
    return Diagnostic("CMD005", message.rstrip(".") + ".", where, remedy)


def _path(context: Any) -> str | None:
    return None if context is None else str(context.command_path)


def _name(parameter: Any) -> str:
    options = [item for item in getattr(parameter, "opts", []) if item.startswith("-")]
    return options[0] if options else str(getattr(parameter, "metavar", None) or parameter.name).upper()


def _options(context: Any) -> list[str]:
    if context is None:
        return []
    found = [name for parameter in context.command.params for name in parameter.opts if name.startswith("--")]
    return sorted({*found, "--help"})


def _near_command(given: str, context: Any) -> str | None:
    commands = list(context.command.list_commands(context)) if hasattr(context.command, "list_commands") else []
    if near := did_you_mean(given, commands):
        return near
    return f"Commands: {', '.join(commands)}." if commands else None
