"""Each partner dances only what that partner has learned.

Asks: a figure is at most of the partner's level or listed under ``knows``, and never listed under ``not_yet`` (which
outweighs ``knows``). One demand per partner for the level and one per ``not_yet`` entry, so that a clash can name the
partner and the figure. A figure's ``needs`` are an order of learning, not a condition of dancing it here.
Source: levels as syllabuses grade figures; the rest is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from composer.brief.schema import Dancer
from composer.catalogue.model import Figure
from composer.network.model import Network
from composer.problem import Problem
from composer.routine import Routine
from composer.rules.base import Breach, Demand, Example, Points, Stated
from composer.rules.look import arcs_by_figure, call, count_of, danced, figure_id, listed, said

NAME = "learned"

EXAMPLES = (
    Example("level 1 dances level 1", ("four", "four", "four", "four"), couple={"leader": {"level": 1}}),
    Example(
        "a follower of level 1 has not learned a level 2 figure",
        ("four", "four", "eight"),
        couple={"leader": {"level": 2}, "follower": {"level": 1}},
        good=False,
    ),
    Example(
        "unless she knows it",
        ("four", "four", "eight"),
        couple={"leader": {"level": 2}, "follower": {"level": 1, "knows": ["test/eight"]}},
    ),
    Example(
        "a figure not yet learned stays out, whatever the level",
        ("four", "four", "four", "four"),
        couple={"leader": {"level": 5, "knows": ["test/four"], "not_yet": ["test/four"]}},
        good=False,
    ),
)


def state(problem: Problem, network: Network) -> Stated:
    """A demand for each partner's level and for every entry of ``not_yet``."""
    arcs = arcs_by_figure(network)
    demands: list[Demand] = []
    for role, dancer in _partners(problem):
        knows = {figure_id(problem, name) for name in dancer.knows}
        above = [
            arc.id
            for identity, found in arcs.items()
            if problem.catalogue.figures[identity].chart.level > dancer.level and identity not in knows
            for arc in found
        ]
        demands.append(
            Demand(
                f"{NAME}:{role}-level",
                _level_sentence(problem, role, dancer),
                said(problem, "couple", role, "level"),
                forbids=frozenset(above),
            )
        )
        for index, name in _not_yet(problem, dancer):
            demands.append(
                Demand(
                    f"{NAME}:{role}-not-yet-{name}",
                    f"The {role} has not learned {call(problem, name)} yet",
                    said(problem, "couple", role, "not_yet", index),
                    forbids=frozenset(arc.id for arc in arcs.get(name, ())),
                )
            )
    return Stated(demands=tuple(demands))


def breaches(problem: Problem, routine: Routine) -> list[Breach]:
    """One breach per figure, partner and reason."""
    found: list[Breach] = []
    for role, dancer in _partners(problem):
        refused = {name: index for index, name in _not_yet(problem, dancer)}
        for _, placed, figure in danced(problem, routine):
            count, name = count_of(placed.start_tick), figure.chart.name
            if not _within_level(problem, dancer, figure):
                found.append(
                    Breach(
                        f"{NAME}:{role}-level",
                        f"{name} is level {figure.chart.level}; the {role} has learned level {dancer.level}",
                        count,
                        said(problem, "couple", role, "level"),
                    )
                )
            if figure.id in refused:
                found.append(
                    Breach(
                        f"{NAME}:{role}-not-yet-{figure.id}",
                        f"the {role} has not learned {name} yet",
                        count,
                        said(problem, "couple", role, "not_yet", refused[figure.id]),
                    )
                )
    return found


def points(problem: Problem, routine: Routine) -> Iterable[Points]:
    """No score."""
    return ()


def _partners(problem: Problem) -> Iterator[tuple[str, Dancer]]:
    yield "leader", problem.brief.couple.leader
    yield "follower", problem.brief.couple.follower


def _within_level(problem: Problem, dancer: Dancer, figure: Figure) -> bool:
    return figure.chart.level <= dancer.level or any(figure_id(problem, name) == figure.id for name in dancer.knows)


def _not_yet(problem: Problem, dancer: Dancer) -> list[tuple[int, str]]:
    """(place in the brief, figure), every figure once."""
    found: dict[str, int] = {}
    for index, name in enumerate(dancer.not_yet):
        found.setdefault(figure_id(problem, name), index)
    return [(index, name) for name, index in found.items()]


def _level_sentence(problem: Problem, role: str, dancer: Dancer) -> str:
    text = f"The {role} has learned figures up to level {dancer.level}"
    extra = [call(problem, figure_id(problem, name)) for name in dancer.knows]
    text += f" and knows {listed(extra)}" if extra else ""
    given = said(problem, "couple", role, "level") is not None
    return text if given else f"{text} (taken for granted: the brief gives no level)"
