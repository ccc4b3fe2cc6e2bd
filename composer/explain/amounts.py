"""How much is possible: times, different figures, counts, turns, centimetres. Worked out, never guessed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from composer.explain.floorfacts import floor_facts
from composer.rules.look import call, figure_id, listed, times
from composer.units import TICKS_PER_BEAT, beats_from_ticks

if TYPE_CHECKING:
    from composer.explain.reasons import Scene


def amounts(scene: Scene) -> Iterator[str]:
    """Facts about the wishes of a clash that are numbers."""
    yield from _times(scene)
    yield from _too_long(scene)
    yield from _different(scene)
    yield from _repeats(scene)
    yield from _accents(scene)
    yield from floor_facts(scene)


def _beats(scene: Scene, name: str) -> int:
    return scene.oracle.problem.catalogue.figures[name].chart.beats


def _times(scene: Scene) -> Iterator[str]:
    """How often a figure asked for can come at most, counting only what the others rule out."""
    problem = scene.oracle.problem
    for must in problem.brief.wishes.must:
        name = figure_id(problem, must.figure)
        key = next((k for k in scene.keys if k.startswith(f"must_never:must-{name}")), None)
        if key is None or not len(scene.paths.arcs_of(name)):
            continue
        rest = [other for other in scene.keys if other != key]
        most = scene.paths.most(scene.paths.open(rest), scene.paths.arcs_of(name))
        title = call(problem, name)
        if most == 0 and must.at is None:
            blamed = [k for k in rest if name in scene.paths.wholly_out(k)]
            if not blamed:
                counts = problem.timeline.length_beats
                yield f"with the other wishes there is no place for {title} in the {counts} counts"
        elif 0 < most < must.times:
            yield f"with the other wishes {title} fits in {times(most)} at most"


def _too_long(scene: Scene) -> Iterator[str]:
    """Figures asked for that take more counts together than there are."""
    problem = scene.oracle.problem
    counts: dict[str, int] = {}
    for must in problem.brief.wishes.must:
        name = figure_id(problem, must.figure)
        if any(key.startswith(f"must_never:must-{name}") for key in scene.keys):
            counts[name] = max(counts.get(name, 0), must.times)
    total = sum(_beats(scene, name) * number for name, number in counts.items() if name in problem.catalogue.figures)
    if total > problem.timeline.length_beats:
        yield f"the figures asked for take {total} counts together, the music has {problem.timeline.length_beats}"


def _different(scene: Scene) -> Iterator[str]:
    wishes, problem = scene.oracle.problem.brief.wishes, scene.oracle.problem
    if "variety:at-least" in scene.keys and wishes.at_least_different is not None:
        least = wishes.at_least_different
        rest = [key for key in scene.keys if key != "variety:at-least"]
        names = scene.paths.ways(scene.paths.open(rest)).figures()
        total = problem.timeline.length_beats
        shortest = sum(sorted(_beats(scene, name) for name in names)[:least])
        if len(names) < least:
            figures = "figure has" if len(names) == 1 else "figures have"
            yield f"only {len(names)} different {figures} a place in the routine with the other wishes"
        elif shortest > total:
            yield f"the {least} shortest figures left take {shortest} counts together, the music has {total}"
        else:
            most = _extreme(scene, rest, largest=True, start=least - 1)
            if most is not None:
                yield f"with the other wishes {most} different figures are the most there can be"
    if "variety:at-most" in scene.keys and wishes.at_most_different is not None:
        rest = [key for key in scene.keys if key != "variety:at-most"]
        fewest = _extreme(scene, rest, largest=False, start=wishes.at_most_different + 1)
        if fewest is not None:
            yield f"with the other wishes it takes {fewest} different figures at least"


def _extreme(scene: Scene, rest: list[str], *, largest: bool, start: int) -> int | None:
    """The most (fewest) different figures with the other wishes, step by step from ``start``; None when left open."""
    from dataclasses import replace

    from composer.explain.oracle import restated

    oracle, problem = scene.oracle, scene.oracle.problem
    for number in range(start, 0, -1) if largest else range(start, start + 8):
        field = "at_least_different" if largest else "at_most_different"
        wishes = problem.brief.wishes.model_copy(update={field: number})
        changed = replace(problem, brief=problem.brief.model_copy(update={"wishes": wishes}))
        stock = restated(oracle.stock, changed, oracle.network, {"variety"})
        from composer.explain.asking import ask

        linear = stock.linear([*rest, "variety:at-least" if largest else "variety:at-most"])
        if not oracle.budget.left:
            return None
        said = ask(oracle.network, linear, oracle.budget.limits())
        oracle.budget.spend(said, linear)
        if said.possible is None:
            return None
        if said.possible:
            return number
    return None


def _repeats(scene: Scene) -> Iterator[str]:
    """Counts that can be filled when no figure comes too often."""
    wish, problem = scene.oracle.problem.brief.wishes.repeats, scene.oracle.problem
    if "repeats:most" in scene.keys and wish.most is not None:
        rest = [key for key in scene.keys if key != "repeats:most"]
        names = scene.paths.ways(scene.paths.open(rest)).figures()
        fills = sum(wish.most * _beats(scene, name) for name in names)
        if 0 < fills < problem.timeline.length_beats:
            yield (
                f"danced {times(wish.most)} each, the {len(names)} figures left fill {fills} of the "
                f"{problem.timeline.length_beats} counts at most"
            )
    if "repeats:apart" in scene.keys and wish.apart:
        rest = [key for key in scene.keys if key != "repeats:apart"]
        names = scene.paths.ways(scene.paths.open(rest)).figures()
        others = sum(_beats(scene, name) for name in names)
        short = [name for name in names if others - _beats(scene, name) < wish.apart]
        if names and len(short) == len(names) and problem.timeline.length_beats > others:
            yield (
                f"the {len(names)} figures left ({listed([call(problem, n) for n in names])}) take {others} counts "
                f"once each; whichever comes back first comes back too soon"
            )


def _accents(scene: Scene) -> Iterator[str]:
    """Accents no figure left can meet."""
    problem = scene.oracle.problem
    for key in scene.keys:
        if not key.startswith("accents:hit-"):
            continue
        beat, _, rest_ticks = key.removeprefix("accents:hit-").partition("+")
        tick = (int(beat) - 1) * TICKS_PER_BEAT + int(rest_ticks or 0)
        others = [other for other in scene.keys if other != key]
        could = _landing(scene, others, tick)
        count = 1 + beats_from_ticks(tick)
        if not could:
            ruled_out = _landing(scene, [], tick)
            words = listed([call(problem, n) for n in ruled_out], 3)
            more = f"; without the other wishes {words} could" if ruled_out else ", whatever else is given up"
            yield f"no figure left can have its peak on count {count}{more}"
        else:
            words = listed([call(problem, n) for n in could])
            yield f"with the other wishes only {words} can have the peak on count {count}"


def _landing(scene: Scene, keys: list[str], tick: int) -> list[str]:
    ways = scene.paths.ways(scene.paths.open(keys))
    found = []
    for name in ways.figures():
        peak = scene.oracle.problem.catalogue.figures[name].peak_tick
        if peak is not None and tick - peak in ways.starts(name):
            found.append(name)
    return found
