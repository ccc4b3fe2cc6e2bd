"""Nobody turns the same way for too long without turning back.

Asks (only with ``spinning``): in every stretch of ``within`` counts the turns of the figures that begin in it add up,
right less left, to at most ``turns`` full turns either way, for each partner. One demand per partner.
Source: common practice, no source.

Linear form: unknown ``dizziness:<partner>@<tick>`` is what the partner has turned (sixteenths, right less left) in the
figures that began before a tick at which some figure begins, or before the end; a stretch is the difference of two.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable
from itertools import pairwise

import numpy as np

from composer.catalogue.model import Figure
from composer.network.model import Network
from composer.problem import Problem
from composer.routine import Routine
from composer.rules.base import Breach, Change, Demand, Example, Points, Row, Stated, Unknown
from composer.rules.look import capital, count_of, danced, partner_words, role_of, said, times
from composer.rules.weights import Weights, nonzero
from composer.units import TICKS_PER_BEAT

NAME = "dizziness"
ROLES = ("leader", "follower")
FULL_TURN16 = 16

EXAMPLES = (
    Example("one full turn in eight counts", ("spin", "four", "spin", "four"), {"spinning": {"turns": 1, "within": 8}}),
    Example(
        "two of them in nine", ("spin", "four", "spin", "four"), {"spinning": {"turns": 1, "within": 9}}, good=False
    ),
    Example("turning back undoes it", ("spin", "spin-back", "spin", "four"), {"spinning": {"turns": 1, "within": 16}}),
)


def state(problem: Problem, network: Network) -> Stated:
    """One demand per partner."""
    wish = problem.brief.wishes.spinning
    if wish is None:
        return Stated()
    table = network.table
    ticks = sorted({0, network.length_ticks, *table.by_start})
    starts = range(0, network.length_ticks, TICKS_PER_BEAT)
    stretches = sorted(
        {
            (ticks[bisect_left(ticks, start)], ticks[min(bisect_left(ticks, end), len(ticks) - 1)])
            for start, end in ((start, start + wish.within * TICKS_PER_BEAT) for start in starts)
        }
    )
    unknowns: list[Unknown] = []
    links: list[Row] = []
    demands: list[Demand] = []
    for role in ROLES:
        turns = np.array([_turns(problem, name, role) for name in table.names], dtype=np.int32)
        turn = turns[table.figure, table.swapped]
        nobody = np.zeros(0, dtype=np.int32)
        begun = {tick: nonzero(own, turn[own]) for tick in ticks for own in (table.by_start.get(tick, nobody),)}
        most = sum(int(np.abs(weights.amounts).max(initial=0)) for weights in begun.values())
        unknowns += [Unknown(_name(role, t), -most, most) if t else Unknown(_name(role, 0), 0, 0) for t in ticks]
        links += [
            Row(Weights(begun[a].arcs, begun[a].amounts, {_name(role, a): 1, _name(role, b): -1}), 0, 0)
            for a, b in pairwise(ticks)
        ]
        limit = FULL_TURN16 * wish.turns
        rows = tuple(Row({_name(role, b): 1, _name(role, a): -1}, -limit, limit) for a, b in stretches if a < b)
        who = capital(partner_words(problem, role))
        sentence = f"{who} turns right round at most {times(wish.turns)} the same way in {wish.within} counts"
        demands.append(Demand(f"{NAME}:{role}", sentence, said(problem, "wishes", "spinning"), rows=rows))
    return Stated(tuple(demands), tuple(unknowns), tuple(links))


def breaches(problem: Problem, routine: Routine) -> list[Breach]:
    """The first stretch in which a partner turns too much."""
    wish, found = problem.brief.wishes.spinning, []
    if wish is None:
        return []
    known = [(placed, figure) for _, placed, figure in danced(problem, routine)]
    for role in ROLES:
        for start in range(0, problem.length_ticks, TICKS_PER_BEAT):
            end = start + wish.within * TICKS_PER_BEAT
            turned = sum(
                _turn16(figure, role_of(role, placed.swapped))
                for placed, figure in known
                if start <= placed.start_tick < end
            )
            if abs(turned) > FULL_TURN16 * wish.turns:
                way = "right" if turned > 0 else "left"
                often = f"{abs(turned) / FULL_TURN16:g} times to the {way} within {wish.within} counts"
                message = f"{partner_words(problem, role)} turns {often}"
                where = said(problem, "wishes", "spinning")
                found.append(Breach(f"{NAME}:{role}", message, count_of(start), where))
                break
    return found


def softer(problem: Problem, key: str) -> list[Change]:
    """One turn more, or no limit."""
    wish = problem.brief.wishes.spinning
    if wish is None:
        return []
    more = wish.model_copy(update={"turns": wish.turns + 1})
    path, counts = ("wishes", "spinning"), f"the same way in {wish.within} counts"
    sentence = f"allow {more.turns} full turns {counts}"
    return [Change(key, sentence, path, more, 3), Change(key, f"allow any number of turns {counts}", path, None, 6)]


def points(problem: Problem, routine: Routine) -> Iterable[Points]:
    """No score."""
    return ()


def _turn16(figure: Figure, role: str) -> int:
    return figure.motion.leader_turn16 if role == "leader" else figure.motion.follower_turn16


def _turns(problem: Problem, identity: str, role: str) -> tuple[int, int]:
    """Sixteenths a partner turns in a figure, in the brief's roles and exchanged; none in the arcs into the sink."""
    if not identity:
        return 0, 0
    figure = problem.catalogue.figures[identity]
    return _turn16(figure, role_of(role, swapped=False)), _turn16(figure, role_of(role, swapped=True))


def _name(role: str, tick: int) -> str:
    return f"{NAME}:{role}@{tick}"
