"""Each partner dances only what that partner has learned.

Asks: a figure is at most of the partner's level or listed under ``knows``, and never listed under ``not_yet`` (which
outweighs ``knows``). One demand per partner for the level and one per ``not_yet`` entry, so that a clash can name the
partner and the figure. With ``wishes.learn`` figures up to its ``level`` may come too, but no more than ``most``
different ones that either partner has still to learn (the learning budget). A figure's ``needs`` are an order of
learning, not a condition of dancing it here. Where both partners lead, what counts is the role in which each dances
the figure (``other_role``).
Source: levels as syllabuses grade figures; the rest is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from composer.brief.leading import OtherRole
from composer.brief.schema import Dancer
from composer.network.model import Network
from composer.network.table import Numbers
from composer.problem import Problem
from composer.routine import Routine
from composer.rules.base import Breach, Change, Demand, Example, Points, Row, Stated, Swap, Unknown
from composer.rules.look import (
    begins,
    call,
    capital,
    count_of,
    danced,
    figure_id,
    led_in,
    listed,
    partner_words,
    role_of,
    said,
)

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
    table = network.table
    arcs, none = table.by_figure, np.zeros(0, dtype=np.int32)
    demands: list[Demand] = []
    for part in _parts(problem):
        forbidden = [
            arc
            for name, own in arcs.items()
            if not _allowed(problem, part, name)
            for arc in led_in(table, own, part.layers).tolist()
        ]
        sentence = _level_sentence(problem, part)
        demands.append(Demand(part.key, sentence, said(problem, *part.path, "level"), forbids=frozenset(forbidden)))
        for index, name in _not_yet(problem, part.learned):
            demands.append(
                Demand(
                    f"{part.not_yet}-{name}",
                    f"{capital(part.who)} has not learned {call(problem, name)} yet",
                    said(problem, *part.path, "not_yet", index),
                    forbids=frozenset(led_in(table, arcs.get(name, none), part.layers).tolist()),
                )
            )
    wish = problem.brief.wishes.learn
    if wish is None:
        return Stated(demands=tuple(demands))
    new: dict[str, tuple[str, Numbers]] = {}
    for name, own in arcs.items():
        unknown = led_in(table, own, [s for s in (False, True) if _is_new(problem, name, swapped=s)])
        if len(unknown):
            new[f"{NAME}:new:{name}"] = name, unknown
    ties = [
        row
        for unknown_name, (name, own) in new.items()
        for row in begins(unknown_name, table, own, problem.catalogue.figures[name].length_ticks)
    ]
    budget = Row(dict.fromkeys(new, 1), most=wish.most)
    sentence = f"The couple learns at most {wish.most} new figure{'s' if wish.most > 1 else ''}"
    demands.append(Demand(BUDGET, sentence, said(problem, "wishes", "learn"), rows=(budget,)))
    return Stated(tuple(demands), tuple(Unknown(unknown, 0, 1) for unknown in new), tuple(ties))


def breaches(problem: Problem, routine: Routine) -> list[Breach]:
    """One breach per figure, partner and reason."""
    found: list[Breach] = []
    for part in _parts(problem):
        refused = {name: index for index, name in _not_yet(problem, part.learned)}
        for _, placed, figure in danced(problem, routine):
            if placed.swapped not in part.layers:
                continue
            count, name = count_of(placed.start_tick), figure.chart.name
            if not _allowed(problem, part, figure.id):
                message = f"{name} is level {figure.chart.level}; {part.who} has learned level {part.learned.level}"
                found.append(Breach(part.key, message, count, said(problem, *part.path, "level")))
            if figure.id in refused:
                where = said(problem, *part.path, "not_yet", refused[figure.id])
                message = f"{part.who} has not learned {name} yet"
                found.append(Breach(f"{part.not_yet}-{figure.id}", message, count, where))
    wish = problem.brief.wishes.learn
    new = sorted(
        {p.figure for _, p, figure in danced(problem, routine) if _is_new(problem, figure.id, swapped=p.swapped)}
    )
    if wish is not None and len(new) > wish.most:
        message = f"{listed([call(problem, name) for name in new])} are new to the couple; at most {wish.most} may be"
        found.append(Breach(BUDGET, message, where=said(problem, "wishes", "learn")))
    return found


def softer(problem: Problem, key: str) -> list[Change]:
    """Learn a level more, learn the figure after all, learn more new figures."""
    found: list[Change] = []
    for part in _parts(problem):
        learned = part.learned
        if key == part.key:
            for level in range(learned.level + 1, 6):
                sentence = f"let {part.who} learn figures up to level {level}"
                found.append(Change(key, sentence, (*part.path, "level"), level, 3 * (level - learned.level)))
        for index, name in _not_yet(problem, learned):
            if key == f"{part.not_yet}-{name}":
                sentence = f"let {part.who} learn {call(problem, name)}"
                found.append(Change(key, sentence, (*part.path, "not_yet"), Swap(learned.not_yet[index]), 3))
    wish = problem.brief.wishes.learn
    if key == BUDGET and wish is not None:
        for more in (1, 2, 4):
            value = wish.model_copy(update={"most": wish.most + more})
            found.append(Change(key, f"learn up to {value.most} new figures", ("wishes", "learn"), value, 1 + more))
    return found


def points(problem: Problem, routine: Routine) -> Iterable[Points]:
    """No score."""
    return ()


@dataclass(frozen=True)
class _Part:
    """What one partner has learned in one role (in both, where the brief makes no difference).

    ``layers`` are the figures it is about: those led by the brief's leader (False), by the follower (True), or both.
    """

    key: str
    not_yet: str
    who: str
    learned: Dancer | OtherRole
    known: frozenset[str]
    path: tuple[str, ...]
    layers: tuple[bool, ...]


def _parts(problem: Problem) -> Iterator[_Part]:
    couple = problem.brief.couple
    for role, dancer in (("leader", couple.leader), ("follower", couple.follower)):
        who, other = partner_words(problem, role), dancer.other_role if problem.both_lead else None
        one_role = "" if other is None else f" as {role_of(role, False)}"
        layers = (False, True) if other is None else (False,)
        keys = f"{NAME}:{role}-level", f"{NAME}:{role}-not-yet"
        yield _Part(*keys, who + one_role, dancer, _known(problem, dancer), ("couple", role), layers)
        if other is not None:
            keys = f"{NAME}:{role}-other-level", f"{NAME}:{role}-other-not-yet"
            path = ("couple", role, "other_role")
            yield _Part(*keys, f"{who} as {role_of(role, True)}", other, _known(problem, other), path, (True,))


def _known(problem: Problem, learned: Dancer | OtherRole) -> frozenset[str]:
    return frozenset(figure_id(problem, name) for name in learned.knows)


def _allowed(problem: Problem, part: _Part, name: str) -> bool:
    """Whether a partner has learned a figure, or it is of a level the couple would learn for this routine."""
    wish, level = problem.brief.wishes.learn, problem.catalogue.figures[name].chart.level
    return level <= max(part.learned.level, 0 if wish is None else wish.level) or name in part.known


def _is_new(problem: Problem, name: str, *, swapped: bool) -> bool:
    """Whether either partner has still to learn the figure in the role they would dance it in."""
    level = problem.catalogue.figures[name].chart.level
    return any(
        level > part.learned.level and name not in part.known for part in _parts(problem) if swapped in part.layers
    )


def _not_yet(problem: Problem, learned: Dancer | OtherRole) -> list[tuple[int, str]]:
    """(place in the brief, figure), every figure once."""
    found: dict[str, int] = {}
    for index, name in enumerate(learned.not_yet):
        found.setdefault(figure_id(problem, name), index)
    return [(index, name) for name, index in found.items()]


def _level_sentence(problem: Problem, part: _Part) -> str:
    text = f"{capital(part.who)} has learned figures up to level {part.learned.level}"
    extra = [call(problem, figure_id(problem, name)) for name in part.learned.knows]
    text += f" and knows {listed(extra)}" if extra else ""
    wish = problem.brief.wishes.learn
    if wish is not None and wish.level > part.learned.level:
        text += f", and would learn some of level {wish.level}"
    given = said(problem, *part.path, "level") is not None
    return text if given else f"{text} (taken for granted: the brief gives no level)"
