"""Figures that have to occur and figures that may not.

Asks: every entry of ``must`` occurs at least ``times`` times and, with ``at``, once begins on that count; a figure
under ``never`` does not occur. One demand per entry. Source: the user's own wishes, no source needed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import numpy as np

from composer.brief.schema import Must
from composer.network.model import Network
from composer.problem import Problem
from composer.routine import Routine
from composer.rules.base import Breach, Change, Demand, Example, Points, Row, Stated, Swap
from composer.rules.look import call, count_of, figure_id, said, times
from composer.rules.weights import Weights
from composer.units import TICKS_PER_BEAT

NAME = "must_never"

EXAMPLES = (
    Example("twice is twice", ("four", "four", "eight"), wishes={"must": [{"figure": "test/four", "times": 2}]}),
    Example(
        "once is not twice",
        ("four", "side", "eight"),
        wishes={"must": [{"figure": "test/four", "times": 2}]},
        good=False,
    ),
    Example("on count 9", ("four", "four", "eight"), wishes={"must": [{"figure": "test/eight", "at": 9}]}),
    Example(
        "on count 1 instead of 9",
        ("eight", "four", "four"),
        wishes={"must": [{"figure": "test/eight", "at": 9}]},
        good=False,
    ),
    Example("never is never", ("four", "four", "eight"), wishes={"never": ["test/eight"]}, good=False),
    Example("others may come", ("four", "four", "four", "side"), wishes={"never": ["test/eight"]}),
)


def state(problem: Problem, network: Network) -> Stated:
    """A demand per entry of ``must`` and ``never``."""
    arcs, none = network.table.by_figure, np.zeros(0, dtype=np.int32)
    demands: list[Demand] = []
    for index, (key, identity, wish) in enumerate(_musts(problem)):
        own = arcs.get(identity, none)
        rows = [Row(Weights(own), least=wish.times)]
        if wish.at is not None:
            start = _tick(wish.at)
            rows.append(Row(Weights(own[network.table.start[own] == start]), least=1))
        sentence = _must_sentence(problem, identity, wish)
        demands.append(Demand(key, sentence, said(problem, "wishes", "must", index), rows=tuple(rows)))
    for index, (key, identity) in _nevers(problem):
        demands.append(
            Demand(
                key,
                f"'{call(problem, identity)}' is never danced",
                said(problem, "wishes", "never", index),
                forbids=frozenset(arcs.get(identity, none).tolist()),
            )
        )
    return Stated(demands=tuple(demands))


def breaches(problem: Problem, routine: Routine) -> list[Breach]:
    """Missing figures, figures at the wrong count, figures that may not be there."""
    found: list[Breach] = []
    for index, (key, identity, wish) in enumerate(_musts(problem)):
        where = said(problem, "wishes", "must", index)
        starts = [p.start_tick for p in routine.figures if p.figure == identity]
        if len(starts) < wish.times:
            message = f"{call(problem, identity)} comes {len(starts)} times; {wish.times} are wanted"
            found.append(Breach(key, message, where=where))
        if wish.at is not None and _tick(wish.at) not in starts:
            message = f"{call(problem, identity)} does not begin on count {wish.at}"
            found.append(Breach(key, message, count=wish.at, where=where))
    for index, (key, identity) in _nevers(problem):
        where = said(problem, "wishes", "never", index)
        for placed in routine.figures:
            if placed.figure == identity:
                message = f"{call(problem, identity)} is never to be danced"
                found.append(Breach(key, message, count_of(placed.start_tick), where))
    return found


def softer(problem: Problem, key: str) -> list[Change]:
    """Fewer times, on any count, or not at all."""
    found: list[Change] = []
    for own, identity, wish in _musts(problem):
        if own != key:
            continue
        name, path = call(problem, identity), ("wishes", "must")
        if wish.at is not None:
            moved = wish.model_copy(update={"at": None})
            found.append(Change(key, f"let {name} begin on any count", path, Swap(wish, moved), 2))
        if wish.times > 1:
            fewer = wish.model_copy(update={"times": wish.times - 1})
            found.append(Change(key, f"dance {name} {times(fewer.times)} only", path, Swap(wish, fewer), 2))
        found.append(Change(key, f"do without {name}", path, Swap(wish), 6))
    for index, (own, identity) in _nevers(problem):
        if own == key:
            given = problem.brief.wishes.never[index]
            found.append(Change(key, f"allow {call(problem, identity)}", ("wishes", "never"), Swap(given), 6))
    return found


def points(problem: Problem, routine: Routine) -> Iterable[Points]:
    """No score."""
    return ()


def _tick(count: int) -> int:
    return (count - 1) * TICKS_PER_BEAT


def _musts(problem: Problem) -> Iterator[tuple[str, str, Must]]:
    """(key, figure id, wish); an entry that repeats another gets a number."""
    seen: dict[str, int] = {}
    for wish in problem.brief.wishes.must:
        identity = figure_id(problem, wish.figure)
        key = f"{NAME}:must-{identity}" + (f"@{wish.at}" if wish.at is not None else "")
        seen[key] = seen.get(key, 0) + 1
        yield key + (f"#{seen[key]}" if seen[key] > 1 else ""), identity, wish


def _nevers(problem: Problem) -> list[tuple[int, tuple[str, str]]]:
    """(place in the list, (key, figure id)), every figure once."""
    found: dict[str, int] = {}
    for index, name in enumerate(problem.brief.wishes.never):
        found.setdefault(figure_id(problem, name), index)
    return [(index, (f"{NAME}:never-{identity}", identity)) for identity, index in found.items()]


def _must_sentence(problem: Problem, identity: str, wish: Must) -> str:
    name = f"'{call(problem, identity)}'"
    if wish.at is None:
        return f"{name} is danced at least {times(wish.times)}"
    more = f" and is danced at least {times(wish.times)}" if wish.times > 1 else ""
    return f"{name} begins on count {wish.at}{more}"
