"""Dead ends in the figures left: a figure nothing leads into, a hold nothing leaves, and who alone would help."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from composer.catalogue.model import Figure, Stand
from composer.problem import Problem
from composer.rules.look import call, listed

if TYPE_CHECKING:
    from composer.explain.reasons import Scene


def hold_name(problem: Problem, hold: str) -> str:
    """A hold as people call it."""
    known = problem.catalogue.holds.get(hold)
    return known.name if known is not None else hold


def ways_in_and_out(scene: Scene) -> Iterator[str]:
    """For every figure the clash asks for: who leads in and out among the figures left, and who else would."""
    from composer.explain.reasons import asked_for

    problem = scene.oracle.problem
    left = {name: problem.catalogue.figures[name] for name in sorted(scene.left)}
    ends_there = any(key.startswith("opening_closing:closing") for key in scene.keys)
    for name in asked_for(scene):
        figure = problem.catalogue.figures.get(name)
        if figure is None or not len(scene.paths.arcs_of(name)) or name not in left:
            continue
        before = [f for f in left.values() if f.id != name and _joins(problem, f, figure)]
        after = [f for f in left.values() if f.id != name and _joins(problem, figure, f)]
        if not before:
            more = _helpers(scene, figure, into=True)
            yield f"nothing left leads into {figure.chart.name}: {_needs(problem, figure)}{more}"
        if not after and ends_there:
            more = _helpers(scene, figure, into=False)
            yield f"nothing left leaves {_out(problem, figure)} after {figure.chart.name}{more}"


def gaps(scene: Scene) -> Iterator[str]:
    """Holds without a way out among the figures left, and single figures that would make a way."""
    problem = scene.oracle.problem
    yield from _traps(scene, {name: problem.catalogue.figures[name] for name in sorted(scene.left)})
    yield from _gaps(scene)


def _joins(problem: Problem, one: Figure, other: Figure) -> bool:
    return _leads_on(problem, one.end_of(0), other)


def _leads_on(problem: Problem, stand: Stand, figure: Figure) -> bool:
    """Whether a figure can begin there, with roles changed or not."""
    known = problem.catalogue
    return known.joins(stand, figure) or (problem.both_lead and known.takes_over(stand, figure))


def _needs(problem: Problem, figure: Figure) -> str:
    entry = figure.chart.entry
    return f"it begins in {hold_name(problem, entry.hold)} with the leader's {_foot(entry.leader_free)} foot free"


def _out(problem: Problem, figure: Figure) -> str:
    leaves = figure.chart.exit
    return f"{hold_name(problem, leaves.hold)} (leader's {_foot(leaves.leader_free)} foot free)"


def _foot(letter: str) -> str:
    return "left" if letter == "L" else "right"


def _helpers(scene: Scene, figure: Figure, *, into: bool) -> str:
    """Figures the clash rules out that would lead in or out, with their levels."""
    problem = scene.oracle.problem
    left = scene.left
    known = problem.figures().values()
    could = [
        other
        for other in known
        if other.id not in left
        and other.id != figure.id
        and (_joins(problem, other, figure) if into else _joins(problem, figure, other))
    ]
    if not could:
        return ""
    words = listed([f"{other.chart.name} (level {other.chart.level})" for other in could])
    only = "the only one that would is" if len(could) == 1 else "those that would are"
    return f"; {only} {words}"


def _traps(scene: Scene, left: dict[str, Figure]) -> Iterator[str]:
    """Holds some figure left ends in and none left begins in."""
    problem = scene.oracle.problem
    stands = {_stand(figure) for figure in left.values()}
    for stand in sorted(stands, key=str):
        if any(_leads_on(problem, stand, figure) for figure in left.values()):
            continue
        leads = [figure.chart.name for figure in left.values() if _stand(figure) == stand]
        outs = [f for f in problem.figures().values() if f.id not in left and _leads_on(problem, stand, f)]
        words = listed([f"{f.chart.name} (level {f.chart.level})" for f in outs])
        ways = "ways out are" if len(outs) > 1 else "way out is"
        only = f"; the only {ways} {words}" if outs else ""
        verb = "ends" if len(leads) == 1 else "end"
        yield f"nothing left leaves {hold_name(problem, stand.hold)}, where {listed(leads, 3)} {verb}{only}"
        return


def _stand(figure: Figure) -> Stand:
    leaves = figure.chart.exit
    return Stand(leaves.hold, 0, leaves.leader_free, leaves.follower_free)


def _gaps(scene: Scene) -> Iterator[str]:
    """Single figures that, let back in, make a way."""
    out = sorted({name for key in scene.keys for name in scene.paths.wholly_out(key)})
    if not out or len(out) > 60:
        return
    helps = [name for name in out if scene.paths.ways(scene.paths.with_figure(scene.open, scene.keys, name)).any]
    problem = scene.oracle.problem
    if helps:
        words = listed(
            [f"{call(problem, name)} (level {problem.catalogue.figures[name].chart.level})" for name in helps]
        )
        yield f"one figure more would close the gap: {words}" if len(helps) > 1 else f"only {words} would close the gap"
    else:
        yield "no single one of the figures ruled out would close the gap; it takes two or more"
