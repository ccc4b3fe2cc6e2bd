"""Each partner dances only what that partner has learned.

Asks: a figure is at most of the partner's level or listed under ``knows``, and never listed under ``not_yet`` (which
outweighs ``knows``). One demand per partner for the level and one per ``not_yet`` entry, so that a clash can name the
partner and the figure. With ``wishes.learn`` figures up to its ``level`` may come too, but no more than ``most``
different ones that either partner has still to learn (the learning budget). A figure's ``needs`` are an order of
learning, not a condition of dancing it here.
Source: levels as syllabuses grade figures; the rest is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from composer.brief.schema import Dancer
from composer.network.model import Network
from composer.problem import Problem
from composer.routine import Routine
from composer.rules.base import Breach, Change, Demand, Example, Points, Row, Stated, Swap, Unknown
from composer.rules.look import arcs_by_figure, begins, call, count_of, danced, figure_id, listed, said

NAME = "learned"
BUDGET = f"{NAME}:budget"

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
    Example(
        "one new figure is within the budget",
        ("four", "four", "eight"),
        {"learn": {"most": 1, "level": 2}},
        couple={"leader": {"level": 1}},
    ),
    Example(
        "two are not",
        ("late-four", "four", "eight"),
        {"learn": {"most": 1, "level": 2}},
        couple={"leader": {"level": 1}},
        good=False,
    ),
    Example(
        "nor is one of a higher level",
        ("hard-four", "four", "four", "four"),
        {"learn": {"most": 1, "level": 2}},
        couple={"leader": {"level": 1}},
        good=False,
    ),
)


def state(problem: Problem, network: Network) -> Stated:
    """A demand for each partner's level and every entry of ``not_yet``, and one for the learning budget."""
    arcs = arcs_by_figure(network)
    demands: list[Demand] = []
    for role, dancer in _partners(problem):
        known = _known(problem, dancer)
        forbidden = [arc.id for name, own in arcs.items() if not _allowed(problem, known, dancer, name) for arc in own]
        where = said(problem, "couple", role, "level")
        sentence = _level_sentence(problem, role, dancer)
        demands.append(Demand(f"{NAME}:{role}-level", sentence, where, forbids=frozenset(forbidden)))
        for index, name in _not_yet(problem, dancer):
            demands.append(
                Demand(
                    f"{NAME}:{role}-not-yet-{name}",
                    f"The {role} has not learned {call(problem, name)} yet",
                    said(problem, "couple", role, "not_yet", index),
                    forbids=frozenset(arc.id for arc in arcs.get(name, ())),
                )
            )
    wish = problem.brief.wishes.learn
    if wish is None:
        return Stated(demands=tuple(demands))
    new = {f"{NAME}:new:{name}": (name, own) for name, own in arcs.items() if _is_new(problem, name)}
    ties = [
        row
        for unknown, (name, own) in new.items()
        for row in begins(unknown, own, problem.catalogue.figures[name].length_ticks)
    ]
    budget = Row(dict.fromkeys(new, 1), most=wish.most)
    sentence = f"The couple learns at most {wish.most} new figure{'s' if wish.most > 1 else ''}"
    demands.append(Demand(BUDGET, sentence, said(problem, "wishes", "learn"), rows=(budget,)))
    return Stated(tuple(demands), tuple(Unknown(unknown, 0, 1) for unknown in new), tuple(ties))


def breaches(problem: Problem, routine: Routine) -> list[Breach]:
    """One breach per figure, partner and reason."""
    found: list[Breach] = []
    for role, dancer in _partners(problem):
        known = _known(problem, dancer)
        refused = {name: index for index, name in _not_yet(problem, dancer)}
        for _, placed, figure in danced(problem, routine):
            count, name = count_of(placed.start_tick), figure.chart.name
            if not _allowed(problem, known, dancer, figure.id):
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
    wish = problem.brief.wishes.learn
    new = sorted({figure.id for _, _, figure in danced(problem, routine) if _is_new(problem, figure.id)})
    if wish is not None and len(new) > wish.most:
        message = f"{listed([call(problem, name) for name in new])} are new to the couple; at most {wish.most} may be"
        found.append(Breach(BUDGET, message, where=said(problem, "wishes", "learn")))
    return found


def softer(problem: Problem, key: str) -> list[Change]:
    """Learn a level more, learn the figure after all, learn more new figures."""
    found: list[Change] = []
    for role, dancer in _partners(problem):
        if key == f"{NAME}:{role}-level":
            for level in range(dancer.level + 1, 6):
                path = ("couple", role, "level")
                cost = 3 * (level - dancer.level)
                found.append(Change(key, f"let the {role} learn figures up to level {level}", path, level, cost))
        for index, name in _not_yet(problem, dancer):
            if key == f"{NAME}:{role}-not-yet-{name}":
                sentence = f"let the {role} learn {call(problem, name)}"
                found.append(Change(key, sentence, ("couple", role, "not_yet"), Swap(dancer.not_yet[index]), 3))
    wish = problem.brief.wishes.learn
    if key == BUDGET and wish is not None:
        for more in (1, 2, 4):
            value = wish.model_copy(update={"most": wish.most + more})
            found.append(Change(key, f"learn up to {value.most} new figures", ("wishes", "learn"), value, 1 + more))
    return found


def points(problem: Problem, routine: Routine) -> Iterable[Points]:
    """No score."""
    return ()


def _partners(problem: Problem) -> Iterator[tuple[str, Dancer]]:
    yield "leader", problem.brief.couple.leader
    yield "follower", problem.brief.couple.follower


def _known(problem: Problem, dancer: Dancer) -> set[str]:
    return {figure_id(problem, name) for name in dancer.knows}


def _allowed(problem: Problem, known: set[str], dancer: Dancer, name: str) -> bool:
    """Whether a partner has learned a figure, or it is of a level the couple would learn for this routine."""
    wish, level = problem.brief.wishes.learn, problem.catalogue.figures[name].chart.level
    return level <= max(dancer.level, 0 if wish is None else wish.level) or name in known


def _is_new(problem: Problem, name: str) -> bool:
    """Whether either partner has still to learn the figure."""
    level = problem.catalogue.figures[name].chart.level
    return any(level > dancer.level and name not in _known(problem, dancer) for _, dancer in _partners(problem))


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
    wish = problem.brief.wishes.learn
    if wish is not None and wish.level > dancer.level:
        text += f", and would learn some of level {wish.level}"
    given = said(problem, "couple", role, "level") is not None
    return text if given else f"{text} (taken for granted: the brief gives no level)"
