"""Problems with very many rows by way of two short statements: one that asks for more, one that asks for less.

A routine of the stricter statement is one of the problem; what the looser one cannot reach, the problem cannot. Where
both meet, nothing is left to prove; otherwise the whole problem is asked for more points than are in hand.
"""

from __future__ import annotations

import time
from dataclasses import replace
from typing import Final

from composer.network.model import Network
from composer.rules.base import Demand, Row, Stated
from composer.solve.cpsat import Answer, Limits, Watch
from composer.solve.decide import Effort, decide
from composer.solve.linear import linear_from

SHARE: Final = 4
"""Each short statement may use one part in so many of the work."""


def aligned(stated: Stated) -> Stated | None:
    """The statement with its short ones about the same: whoever adds demands or asks for other points changes only
    the statement itself. None where there are no short ones, or where what was added needs unknowns they do not have.
    """
    shorts = []
    for short in (stated.stricter, stated.looser):
        if short is None:
            return None
        own = {demand.key: demand for demand in short.demands}
        known = {unknown.name for unknown in short.unknowns}
        added = [row.weights for demand in stated.demands if demand.key not in own for row in demand.rows]
        added += [term.weights for term in stated.terms]
        if any(isinstance(var, str) and var not in known for weights in added for var in weights):
            return None
        demands = tuple(own.get(demand.key, demand) for demand in stated.demands)
        shorts.append(replace(short, demands=demands, terms=stated.terms))
    return replace(stated, stricter=shorts[0], looser=shorts[1])


def by_shortcuts(
    network: Network,
    stated: Stated,
    limits: Limits,
    watch: Watch | None = None,
    effort: Effort | None = None,
    known: Answer | None = None,
) -> tuple[Answer, Stated]:
    """The answer for a statement with both short ones, and the statement whose unknowns it gives."""
    assert stated.stricter is not None
    assert stated.looser is not None
    noted = effort if effort is not None else Effort()
    part = replace(limits, work=limits.work / SHARE)
    loose = decide(linear_from(network, stated.looser), part, None, noted, network)
    if loose.verdict == "none":
        return loose, stated
    hand = decide(linear_from(network, stated.stricter), part, watch, noted, network, known)
    found = hand.verdict in ("best", "good")
    if found and loose.bound is not None and hand.score >= loose.bound:
        return replace(hand, verdict="best", bound=hand.score), stated.stricter
    spent = loose.deterministic_time + hand.deterministic_time
    if time.monotonic() > limits.deadline:  # the whole statement is long: it is not begun without time for it
        bound = _most(stated) if loose.bound is None else loose.bound
        if found:
            return replace(hand, verdict="good", bound=bound, deterministic_time=spent), stated.stricter
        return Answer("unknown", bound=bound, deterministic_time=spent), stated
    left = replace(limits, work=max(limits.work - spent, limits.work / SHARE))
    asked = _more(stated, hand.score + 1) if found else stated
    rest = decide(linear_from(network, asked), left, watch, noted, network)
    bounds = [item.bound for item in (loose, rest) if item.bound is not None and item.verdict != "none"]
    bound = min(bounds, default=_most(stated))
    spent += rest.deterministic_time
    if rest.verdict in ("best", "good"):
        best = rest.verdict == "best" or rest.score >= bound
        bound = rest.score if best else bound
        return replace(rest, verdict="best" if best else "good", bound=bound, deterministic_time=spent), stated
    if not found:
        return replace(rest, bound=bound, deterministic_time=spent), stated
    proved = rest.verdict == "none"
    bound = hand.score if proved else bound
    return replace(hand, verdict="best" if proved else "good", bound=bound, deterministic_time=spent), stated.stricter


def _most(stated: Stated) -> int:
    """More points than any routine can have: what is claimed when no search claims less."""
    ends = {unknown.name: max(abs(unknown.least), abs(unknown.most)) for unknown in stated.unknowns}
    return sum(abs(weight) * (ends[var] if isinstance(var, str) else 1) for var, weight in stated.points.items())


def _more(stated: Stated, least: int) -> Stated:
    """The statement with at least so many points asked for as well."""
    points = stated.points
    demand = Demand("solve:more", "a better routine than the one in hand", law=True, rows=(Row(points, least=least),))
    return replace(stated, demands=(*stated.demands, demand))
