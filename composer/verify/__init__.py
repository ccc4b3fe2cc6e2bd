"""Checking a routine against nothing but the catalogue, the music and the brief.

Two judges, written separately: every rule family's plain checker (:mod:`composer.rules`), and a replay that walks
through the routine foot by foot (:mod:`composer.verify.replay`) and metre by metre
(:mod:`composer.verify.space`). Neither ever sees a solver's data.
"""

from __future__ import annotations

from composer.problem import Problem
from composer.routine import Routine
from composer.rules.base import Breach
from composer.units import TICKS_PER_BEAT

__all__ = ["verify"]


def verify(problem: Problem, routine: Routine) -> list[Breach]:
    """All breaches of a routine, in the order of the dance; an empty list means it can be danced as wished.

    A finding of the replay is left out where the rules have already said the same thing of the same figure.
    """
    from composer.rules import breaches_of
    from composer.verify import replay, space

    found = list(breaches_of(problem, routine))
    said = {(_subject(item), _figure_at(routine, item)) for item in found}
    for item in (
        *replay.chain(problem, routine),
        *replay.clock(problem, routine),
        *space.walls(problem, routine),
        *replay.score(problem, routine),
    ):
        if (_subject(item), _figure_at(routine, item)) not in said:
            found.append(item)
    return sorted(found, key=lambda item: (item.count is None, item.count or 0, item.key))


def _figure_at(routine: Routine, item: Breach) -> int | None:
    """Which figure (from 0) a finding is about; the number of figures when it is about the end."""
    if item.count is None:
        return None
    tick = (item.count - 1) * TICKS_PER_BEAT
    return sum(placed.end_tick <= tick for placed in routine.figures)


SAME_SUBJECT = {
    "continuity:figure": "figure",
    "continuity:hold": "hold",
    "continuity:lead": "lead",
    "continuity:leader-foot": "leader-foot",
    "continuity:follower-foot": "follower-foot",
    "continuity:facing": "facing",
    "continuity:alignment": "alignment",
    "length:fills": "clock",
    "line_of_dance:lane": "lane",
    "room:finish": "finish",
    "room:ground": "ground",
}
"""What a rule's finding is about, in the replay's words."""


def _subject(item: Breach) -> str:
    if item.key.startswith("replay:"):
        return item.key.removeprefix("replay:")
    return SAME_SUBJECT.get(item.key, "room" if item.key.startswith("room:") else item.key)
