"""Openings come first and final poses last.

Asks (by default): a figure that takes the couple from no hold into the dance (``good_for: opening``, begun without any
hands joined) is only danced first; a figure made for the end (``good_for: ending``: a pose or a bow) is only
danced last, or elsewhere with its peak on a hit of the music. A figure named under ``must`` may stand anywhere: the
user then wants it there.
Source: common practice, no source: nobody stops and bows in the middle of a dance.
"""

from __future__ import annotations

from collections.abc import Container, Iterable

from composer.catalogue.model import Figure
from composer.network.model import Network
from composer.problem import Problem
from composer.routine import Routine
from composer.rules.base import Breach, Change, Demand, Example, Points, Stated
from composer.rules.look import count_of, danced, figure_id, hits

NAME = "order"
FIRST, LAST = f"{NAME}:openings-first", f"{NAME}:endings-last"
SENTENCES = {
    FIRST: "Openings from no hold are danced first only (the default)",
    LAST: "Final poses are danced last, or on a hit of the music (the default)",
}

EXAMPLES = (
    Example("the pose ends the dance", ("four", "four", "four", "pose")),
    Example("a pose in the middle", ("four", "pose", "four", "four"), good=False),
    Example("a pose in the middle, on a hit", ("four", "pose", "four", "four"), music={"hits": [8]}),
    Example("asked for by name", ("four", "pose", "four", "four"), wishes={"must": [{"figure": "test/pose"}]}),
    Example("an opening begins the dance", ("walk-in", "four", "four", "four")),
    Example("an opening after the couple let go", ("open-out", "let-go", "walk-in", "four"), good=False),
)


def state(problem: Problem, network: Network) -> Stated:
    """One demand for openings and one for endings, where any figure of that kind could stand elsewhere."""
    forbids: dict[str, set[int]] = {FIRST: set(), LAST: set()}
    exempt, struck = _asked_for(problem), hits(problem)
    table = network.table
    for identity, own in table.by_figure.items():
        figure = problem.catalogue.figures[identity]
        if identity in exempt:
            continue
        if problem.catalogue.only_first(figure):
            forbids[FIRST] |= set(own[table.start[own] > 0].tolist())
        if problem.catalogue.only_last(figure):
            early = own[table.end[own] < network.length_ticks].tolist()
            forbids[LAST] |= {arc for arc in early if not _on_a_hit(struck, figure, int(table.start[arc]))}
    demands = (Demand(key, SENTENCES[key], forbids=frozenset(arcs)) for key, arcs in forbids.items() if arcs)
    return Stated(demands=tuple(demands))


def breaches(problem: Problem, routine: Routine) -> list[Breach]:
    """Openings that are not first and endings that are not last, one breach each."""
    exempt, struck = _asked_for(problem), hits(problem)
    found = []
    for index, placed, figure in danced(problem, routine):
        if placed.figure in exempt:
            continue
        count = count_of(placed.start_tick)
        if problem.catalogue.only_first(figure) and index > 0:
            message = f"{figure.chart.name} begins from no hold and belongs at the beginning; close in another way here"
            found.append(Breach(FIRST, message, count))
        ends_here = index == len(routine.figures) - 1 or _on_a_hit(struck, figure, placed.start_tick)
        if problem.catalogue.only_last(figure) and not ends_here:
            message = (
                f"{figure.chart.name} is made for the end and the dance goes on; name it under must to have it here"
            )
            found.append(Breach(LAST, message, count))
    return found


def softer(problem: Problem, key: str) -> list[Change]:
    """Nothing: whoever wants a pose in the middle names it under ``must``."""
    return []


def points(problem: Problem, routine: Routine) -> Iterable[Points]:
    """No score."""
    return ()


def _on_a_hit(struck: Container[int], figure: Figure, start: int) -> bool:
    return figure.peak_tick is not None and start + figure.peak_tick in struck


def _asked_for(problem: Problem) -> set[str]:
    return {figure_id(problem, must.figure) for must in problem.brief.wishes.must}
