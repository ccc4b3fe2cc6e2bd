"""All rule families in the order in which their demands and breaches are told."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from types import ModuleType

from composer.collecting import uncollected
from composer.network.model import Network
from composer.problem import Problem
from composer.routine import Routine
from composer.rules import (
    accents,
    cautions,
    continuity,
    dizziness,
    energy,
    flow,
    leads,
    learned,
    length,
    line_of_dance,
    loop,
    motif,
    must_never,
    opening_closing,
    order,
    phrasing,
    preferences,
    repeats,
    returning,
    room,
    shape,
    spread,
    variety,
)
from composer.rules.base import Breach, Points, Stated

FAMILIES: tuple[ModuleType, ...] = (
    continuity,
    length,
    learned,
    cautions,
    leads,
    must_never,
    phrasing,
    accents,
    opening_closing,
    order,
    room,
    line_of_dance,
    loop,
    spread,
    repeats,
    variety,
    motif,
    returning,
    shape,
    dizziness,
    energy,
    flow,
    preferences,
)

__all__ = ["FAMILIES", "breaches_of", "points_of", "state_all"]


def _merged(stated: list[Stated]) -> Stated:
    return Stated(
        demands=tuple(demand for one in stated for demand in one.demands),
        unknowns=tuple(unknown for one in stated for unknown in one.unknowns),
        unknown_rows=tuple(row for one in stated for row in one.unknown_rows),
        terms=tuple(term for one in stated for term in one.terms),
    )


@uncollected()
def state_all(problem: Problem, network: Network) -> Stated:
    """What all families state, in one.

    Raises
    ------
    ValueError
        If two families use the same demand key, unknown name or term key (a fault of this program).
    """
    stated = [family.state(problem, network) for family in FAMILIES]
    merged = _merged(stated)
    if any(one.stricter or one.looser for one in stated):
        short = [_merged([getattr(one, way) or one for one in stated]) for way in ("stricter", "looser")]
        merged = replace(merged, stricter=short[0], looser=short[1])
    names = [
        *(("demand", demand.key) for demand in merged.demands),
        *(("unknown", unknown.name) for unknown in merged.unknowns),
        *(("term", term.key) for term in merged.terms),
    ]
    twice = [f"{kind} {name}" for (kind, name), number in Counter(names).items() if number > 1]
    if twice:
        raise ValueError(f"stated more than once: {', '.join(twice)}")
    return merged


def breaches_of(problem: Problem, routine: Routine) -> list[Breach]:
    """All breaches of all families, in the order of the families."""
    return [breach for family in FAMILIES for breach in family.breaches(problem, routine)]


def points_of(problem: Problem, routine: Routine) -> list[Points]:
    """All score terms of a routine, computed from the brief and the catalogue alone."""
    return [points for family in FAMILIES for points in family.points(problem, routine)]
