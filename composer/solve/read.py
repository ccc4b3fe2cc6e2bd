"""From a path back to a routine, with a score card the rules' own checker computes.

The checker's points must add up to the solver's score: if they ever differ, one of the two statements of a rule is
wrong and :class:`Mismatch` says so at once, rather than a wrong routine being shown.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from composer.floor.model import Room
from composer.floor.placing import extent_of, moved
from composer.network.model import Arc, Network
from composer.problem import Problem
from composer.routine import Placed, Routine
from composer.routineplaces import next_leader
from composer.rules.base import Breach, Points, Stated, carded
from composer.solve.cpsat import Answer

START = ("room:x@0", "room:y@0")
"""Unknowns of the room rule: where the leader stands at the start."""
MORE = ("room:more-x@", "room:more-y@")
"""Unknowns of the room rule: more ground taken by the figure that ends at a tick."""

Place = tuple[int, int]


class Mismatch(Exception):
    """Rows and checker of a rule disagree: a fault of this program."""


@dataclass(frozen=True)
class Judges:
    """The rules' plain checkers (tests pass their own)."""

    breaches_of: Callable[[Problem, Routine], Sequence[Breach]]
    points_of: Callable[[Problem, Routine], Iterable[Points]]


def routine_from(problem: Problem, network: Network, stated: Stated, answer: Answer, judges: Judges) -> Routine:
    """The routine of an answer, its score card recomputed.

    Raises
    ------
    Mismatch
        If the checker finds a breach or counts other points than the solver.
    """
    arcs = sorted((network.arcs[i] for i in answer.arcs if network.arcs[i].figure), key=lambda arc: arc.start)
    status: Literal["best", "good"] = "best" if answer.verdict == "best" else "good"
    bare = Routine(
        title=problem.brief.title,
        dances=problem.brief.dances,
        length_ticks=problem.length_ticks,
        figures=(),
        status=status,
        score=answer.score,
        bound=answer.bound,
        brief_digest=problem.document.digest,
        catalogue_digest=problem.catalogue.digest,
    )
    start, more = _start(problem, answer), _ground(arcs, answer)
    routine = replace(bare, figures=placed_along(problem, network, arcs, start, more))
    breaches = judges.breaches_of(problem, routine)
    if breaches:
        raise Mismatch(f"the solver's routine breaks {breaches[0].key}: {breaches[0].message}")
    routine = _carded(problem, routine, stated, judges)
    if routine.score != answer.score:
        card = ", ".join(f"{line.term} {line.points}" for line in routine.score_card)
        raise Mismatch(f"the solver counts {answer.score} points, the checker {routine.score} ({card})")
    return _centred(problem, network, arcs, routine, stated, judges, more)


def _carded(problem: Problem, routine: Routine, stated: Stated, judges: Judges) -> Routine:
    sentences = {term.key: term.sentence for term in stated.terms}
    return carded(routine, judges.points_of(problem, routine), sentences)


def placed_along(
    problem: Problem, network: Network, arcs: Sequence[Arc], start: Place | None, more: Sequence[Place] = ()
) -> tuple[Placed, ...]:
    """Figures with facings (added up where the network does not keep them), corners in all, places, more ground."""
    placed = []
    faces, corners, side, place = (arcs[0].faces if arcs else 0), 0, 0, start
    for index, arc in enumerate(arcs):
        figure = problem.catalogue.figures[arc.figure]
        if index:
            before = problem.catalogue.figures[arcs[index - 1].figure]
            changes = arc.swapped != arcs[index - 1].swapped
            faces, place = next_leader(problem.catalogue, before, faces, place, changes=changes)
        faces = arc.faces if network.keeps_facing else faces
        corners, side = corners + (arc.corners - side) % 4, arc.corners
        x, y = place if place is not None else (None, None)
        extra = more[index] if more else (0, 0)
        placed.append(Placed(arc.figure, arc.start, arc.end, faces, x, y, corners, *extra, arc.swapped))
        place = None if place is None else moved(place, figure.motion, faces, extra)
    return tuple(placed)


def _start(problem: Problem, answer: Answer) -> Place | None:
    room = problem.room
    if room is None:
        return None
    middle = (room.width_mm // 2, room.depth_mm // 2)
    return answer.values.get(START[0], middle[0]), answer.values.get(START[1], middle[1])


def _ground(arcs: Sequence[Arc], answer: Answer) -> tuple[Place, ...]:
    """More ground along x and y for every figure, by the tick it ends at."""
    x, y = MORE
    return tuple((answer.values.get(f"{x}{arc.end}", 0), answer.values.get(f"{y}{arc.end}", 0)) for arc in arcs)


def _centred(
    problem: Problem,
    network: Network,
    arcs: Sequence[Arc],
    routine: Routine,
    stated: Stated,
    judges: Judges,
    more: Sequence[Place] = (),
) -> Routine:
    """The same routine in the middle of all places where it fits, if no rule minds.

    A solver returns any place that fits, often along a wall; people would begin where there is room to spare.
    """
    room = problem.room
    if room is None or room.start_x_mm is not None or not routine.figures:
        return routine
    first = routine.figures[0]
    assert first.x_mm is not None
    assert first.y_mm is not None
    dx, dy = to_the_middle(room, problem, routine)
    moved = placed_along(problem, network, arcs, (first.x_mm + dx, first.y_mm + dy), more)
    other = _carded(problem, replace(routine, figures=moved), stated, judges)
    return routine if judges.breaches_of(problem, other) or other.score != routine.score else other


def to_the_middle(room: Room, problem: Problem, routine: Routine) -> Place:
    """How far to move everything so that the free space is shared between opposite walls."""
    ends = []
    for axis in (0, 1):
        low, high = room.inside[axis], room.inside[2 + axis]
        least, most = high, low
        for placed in routine.figures:
            extent = extent_of(problem.catalogue.figures[placed.figure].motion, placed.faces)
            at = (placed.x_mm, placed.y_mm)[axis] or 0
            least, most = min(least, at + extent[axis]), max(most, at + extent[2 + axis])
        ends.append(((high - most) - (least - low)) // 2)
    return ends[0], ends[1]
