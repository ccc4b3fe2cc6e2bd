"""How many centimetres are missing beside what stands in the room, for one figure by itself: a small exact search.

What is told names the figure, the obstacle and the centimetres: so much nearer to it than a body may come is the best
place that the walls leave for the figure, in every facing that the clash leaves.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from composer.floor.model import Room
from composer.floor.passing import passing
from composer.floor.resized import things
from composer.rules.look import call, listed

if TYPE_CHECKING:
    from composer.explain.reasons import Scene
    from composer.problem import Problem

MOST_FIGURES: Final = 8
WORK: Final = 1.0
Ways = frozenset[tuple[int, int]]
"""(facing, corners turned) in which a figure may be danced."""


def obstacle_facts(scene: Scene) -> Iterator[str]:
    """Figures asked for that have no room beside an obstacle; else, when no figure has, the one that lacks least."""
    from composer.explain.reasons import asked_for

    problem = scene.oracle.problem
    room = problem.room
    if room is None or room.outline or not room.obstacles or "room:walls" not in scene.keys:
        return
    asked = asked_for(scene)
    if asked:
        for name in asked:
            if lack := _lacking(problem, room, name, _ways(scene, name)):
                where = _beside(problem, room, name, _ways(scene, name))
                yield f"{call(problem, name)} lacks {_cm(lack)} beside {where}"
        return
    others = [key for key in scene.keys if key != "room:walls"]
    names = sorted(scene.paths.left(scene.paths.open(others)))
    if not names or len(names) > MOST_FIGURES:
        return
    lacks = {name: _lacking(problem, room, name, _ways(scene, name)) for name in names}
    if all(lacks.values()):
        name = min(names, key=lambda name: (lacks[name] or 0, name))
        where = _beside(problem, room, name, _ways(scene, name))
        rest = "" if len(names) == 1 else "; the other figures left lack as much or more"
        yield f"{call(problem, name)} lacks {_cm(lacks[name] or 0)} beside {where}{rest}"


def _ways(scene: Scene, name: str) -> Ways:
    arcs = scene.oracle.network.arcs
    return frozenset((arcs[i].faces, arcs[i].corners % 2) for i in scene.paths.arcs_of(name).tolist())


def _lacking(problem: Problem, room: Room, name: str, ways: Ways) -> int | None:
    """The least that is missing over all facings, mm; 0 where there is room, None where nothing can be said."""
    from composer.onfloor import NotFinished, OnFloor
    from composer.routine import Placed

    figure = problem.catalogue.figures[name]
    past = passing(room, (figure.motion,))
    best: int | None = None
    for faces, corners in sorted(ways):
        placed = Placed(name, 0, figure.length_ticks, faces, corners=corners)
        model = OnFloor(problem, room, (placed,), past, size_open=False, work=WORK, spared=True)
        try:
            lack = model.lacking_mm()
        except NotFinished:
            return None
        if lack is not None and (best is None or lack < best):
            best = lack
        if best == 0:
            return 0
    return best


def _beside(problem: Problem, room: Room, name: str, ways: Ways) -> str:
    """The things that are in the way by themselves; all of them when only together they are."""
    there = things(room)
    alone = [thing.name for thing in there if _lacking(problem, replace(room, obstacles=thing.pieces), name, ways)]
    return listed(list(dict.fromkeys(alone or [thing.name for thing in there])))


def _cm(length_mm: int) -> str:
    return f"{-(-length_mm // 10)} cm"
