"""Clashes by brute force: every sequence of figures is judged by the rules' checkers, without any solver.

What a sequence breaks would have to be given up for it; the smallest such sets are the corrections, and the clashes
are the smallest sets of wishes that meet every one of them.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import chain, combinations

from composer.network import build
from composer.problem import Problem
from composer.routine import Routine
from composer.rules import breaches_of, state_all
from tests.solve.brute import sequences


def wishes_of(problem: Problem) -> list[str]:
    """Keys of all wishes."""
    return [demand.key for demand in state_all(problem, build(problem)).demands if not demand.law]


def broken_sets(problem: Problem, limit: int = 3000) -> set[frozenset[str]]:
    """For every sequence that can be danced, the wishes it breaks."""
    found = set()
    for placed in sequences(problem, limit):
        routine = Routine("brute", problem.brief.dances, problem.length_ticks, placed)
        found.add(frozenset(breach.key for breach in breaches_of(problem, routine) if not breach.law))
    return found


def smallest(sets: Iterable[frozenset[str]]) -> set[frozenset[str]]:
    """Those that contain no other."""
    pool = sorted(set(sets), key=len)
    return {one for at, one in enumerate(pool) if not any(other < one for other in pool[:at])}


def clashes_from(corrections: set[frozenset[str]]) -> set[frozenset[str]]:
    """Smallest sets that meet every correction."""
    found: set[frozenset[str]] = {frozenset()}
    for correction in corrections:
        met = {one for one in found if one & correction}
        found = smallest(chain(met, (one | {key} for one in found - met for key in correction)))
    return found


def naive_deletion(wishes: list[str], corrections: set[frozenset[str]]) -> frozenset[str]:
    """Leave out one wish after another while what is left still cannot hold."""
    core = list(wishes)
    for key in wishes:
        rest = [other for other in core if other != key]
        if not possible(rest, corrections):
            core = rest
    return frozenset(core)


def possible(wishes: Iterable[str], corrections: set[frozenset[str]]) -> bool:
    """Whether some sequence keeps all of these."""
    kept = frozenset(wishes)
    return any(not correction & kept for correction in corrections)


def is_smallest_clash(core: frozenset[str], corrections: set[frozenset[str]]) -> bool:
    """Cannot hold, and can without any one of its members."""
    if possible(core, corrections):
        return False
    return all(possible(rest, corrections) for rest in combinations(sorted(core), max(0, len(core) - 1)))
