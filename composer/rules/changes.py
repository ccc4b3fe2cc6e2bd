"""Asking for less: the changes each family knows for its demands, and a problem with such a change made.

Nothing here decides whether a change helps; whoever offers one solves and checks the changed problem first.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Any

from composer.brief.room import room_of
from composer.charts import Strict
from composer.problem import Problem
from composer.rules.base import Change, Swap


def changes_for(problem: Problem, key: str) -> list[Change]:
    """Ways to soften the demand with this key, mildest first; none where nothing may or can be softened."""
    from composer.rules import FAMILIES

    family = next((f for f in FAMILIES if key.split(":")[0] == f.NAME), None)
    softer = getattr(family, "softer", None)
    return [] if softer is None else sorted(softer(problem, key), key=lambda change: change.cost)


def changed(problem: Problem, changes: Iterable[Change]) -> Problem:
    """The problem with these changes made to its brief; music and catalogue stay, lines point to the brief given."""
    brief = problem.brief
    for change in changes:
        brief = _with(brief, change.path, change.value)
    return replace(problem, brief=brief, room=room_of(brief, problem.document, []))


def _with(model: Any, path: Sequence[str], value: object) -> Any:
    """A copy of a frozen model with one value replaced; of a wish given up altogether nothing can be changed."""
    if model is None:
        return None
    name, rest = path[0], path[1:]
    current = getattr(model, name)
    if isinstance(value, Swap) and not rest:
        value = _swapped(current, value)
    new = _with(current, rest, value) if rest else value
    copied: Strict = model.model_copy(update={name: new})
    return copied


def _swapped(items: tuple[object, ...], swap: Swap) -> tuple[object, ...]:
    if swap.old is None:
        return (*items, swap.new)
    return tuple(swap.new if item == swap.old else item for item in items if item != swap.old or swap.new is not None)
