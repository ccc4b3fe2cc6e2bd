"""How many centimetres of floor are missing: of one figure by itself, or of the whole routine by a search."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from composer.explain.obstaclefacts import obstacle_facts
from composer.floor.placing import extent_of
from composer.rules.look import call

if TYPE_CHECKING:
    from composer.explain.reasons import Scene


def floor_facts(scene: Scene) -> Iterator[str]:
    """Figures asked for that do not fit by themselves; else how much the floor is too small for the wishes together."""
    from composer.explain.reasons import asked_for

    problem = scene.oracle.problem
    room = problem.room
    if room is None or not any(key.startswith("room:") for key in scene.keys):
        return
    least_x, least_y, most_x, most_y = room.inside
    free = (most_x - least_x, most_y - least_y)
    told = False
    for name in asked_for(scene):
        short = _alone_too_long(scene, name, free)
        if short is not None:
            told = True
            need, have, side = short
            yield (
                f"{call(problem, name)} by itself needs {_m(need)} along the {side} of the floor; {_m(have)} are left "
                f"for the bodies' centres, {_m(need - have)} too little"
            )
    if not told:
        beside = list(obstacle_facts(scene))
        yield from beside
        if not beside:
            yield from _missing(scene)


def _alone_too_long(scene: Scene, name: str, free: tuple[int, int]) -> tuple[int, int, str] | None:
    """(needed, there, side) where a figure is too large in every facing it may have, by the facing that lacks
    in fewest directions and least."""
    arcs = scene.oracle.network.arcs
    facings = sorted({arcs[i].faces for i in scene.paths.arcs_of(name).tolist()})
    best: tuple[tuple[int, int], tuple[int, int, str]] | None = None
    for faces in facings:
        box = extent_of(scene.oracle.problem.catalogue.figures[name].motion, faces)
        needs = (box[2] - box[0], box[3] - box[1])
        lacks = [(needs[axis] - free[axis], axis) for axis in (0, 1) if needs[axis] > free[axis]]
        if not lacks:
            return None
        most, axis = max(lacks)
        here = ((len(lacks), most), (needs[axis], free[axis], ("width", "depth")[axis]))
        best = here if best is None or here[0] < best[0] else best
    return None if best is None else best[1]


def _missing(scene: Scene) -> Iterator[str]:
    """The least by which the floor would have to be wider, or deeper, for the wishes of the clash alone."""
    from composer.explain.asking import ask
    from composer.explain.degrees import ladders_for
    from composer.explain.oracle import restated

    oracle, problem = scene.oracle, scene.oracle.problem
    if problem.brief.room is None:
        return
    for ladder in ladders_for(problem, "room:walls"):
        if not ladder.kind.endswith((".width", ".depth")) or not ladder.rungs:
            continue

        def fits(at: int, rungs: object = ladder.rungs) -> bool:
            rung = rungs[at]  # type: ignore[index]
            changed = rung.applied(problem)
            stock = restated(oracle.stock, changed, oracle.network, {"room", "line_of_dance"})
            linear = stock.linear([key for key in scene.keys if key in stock.parts])
            said = ask(oracle.network, linear, oracle.budget.limits())
            oracle.budget.spend(said, linear)
            return said.possible is True

        last = len(ladder.rungs) - 1
        if not oracle.budget.left or not fits(last):
            continue
        fails, helps = -1, last
        while helps - fails > 1 and oracle.budget.left:
            middle = (fails + helps) // 2
            fails, helps = (fails, middle) if fits(middle) else (middle, helps)
        side = "width" if ladder.kind.endswith(".width") else "depth"
        size = ladder.rungs[helps].changes[0].value
        given = getattr(problem.brief.room, side)
        if isinstance(size, int):
            yield f"the {side} of the floor is {_m(size - given)} too short for this ({_m(given)} of {_m(size)})"
        return


def _m(mm: int) -> str:
    return f"{mm / 1000:.2f}".rstrip("0").rstrip(".") + " m"
