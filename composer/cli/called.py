"""The command line with the options of those commands only that are called.

Working out the options of every command takes a third of ``--help``'s time, and a line names one of them. Of all others
only name and description are kept, which is what lists of commands and corrections of misspelled ones show.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from copy import copy
from typing import Any

import typer


def with_options_of(app: typer.Typer, words: Collection[str]) -> typer.Typer:
    """A copy of a command line whose commands, unless a word of the line is their name, have no options."""
    slim = copy(app)
    slim.registered_commands = [_kept(info, words) for info in app.registered_commands]
    slim.registered_groups = [copy(info) for info in app.registered_groups]
    for group in slim.registered_groups:
        if group.typer_instance is not None:
            group.typer_instance = with_options_of(group.typer_instance, words)
    return slim


def _kept(info: Any, words: Collection[str]) -> Any:
    call = info.callback
    name = info.name or call.__name__.replace("_", "-")
    if name in words:
        return info
    described = copy(info)
    described.name, described.callback = name, _described(call)
    return described


def _described(call: Callable[..., Any]) -> Callable[[], None]:
    def nothing() -> None: ...

    nothing.__doc__ = call.__doc__
    return nothing
