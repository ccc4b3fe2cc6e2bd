"""The routine that differs least from an old one, and among those the best: two proofs one after the other.

First the weighted counts that stay are made as many as possible; then, with that many staying, the score. The second
search is small: an arc is dropped when even the path through it that keeps most (all rules left aside) keeps too
little. Both answers are proofs only when the solver finished; :class:`Least` says which.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

from composer.network import build
from composer.network.model import Network
from composer.outcome import Found, NoRoutine, Undecided
from composer.problem import Problem
from composer.revise.deadend import no_way
from composer.revise.kept import TERM, Keeping, kept_row, kept_term, kept_worth
from composer.revise.places import Extra
from composer.revise.whynot import why_not
from composer.routine import Routine
from composer.rules.base import Breach, Demand, Points, Stated

KEEPS: Final = "revise:keeps"
NOWHERE: Final = -(1 << 40)

Progress = Callable[[int | None, int | None], None]


@dataclass(frozen=True)
class Least:
    """A routine, the weighted counts it keeps, and what is proved.

    ``least_proven``: no routine keeps more. ``best_proven``: of those that keep as much none scores more.
    """

    routine: Routine
    kept: int
    least_proven: bool
    best_proven: bool


def least_change(
    problem: Problem,
    kept: Keeping,
    extra: Callable[[Network], Extra] | None = None,
    *,
    time_limit_s: float = 20.0,
    seed: int = 0,
    progress: Progress | None = None,
) -> Least | NoRoutine | Undecided:
    """The routine of ``problem`` that keeps most of what ``kept`` names, and is best among those.

    Parameters
    ----------
    extra : states further demands over the network (``--keep``, ``--replace``).
    time_limit_s : about how long each of the two searches may take, in seconds of an idle machine.
    """
    from composer.rules import breaches_of, points_of, state_all
    from composer.solve.read import Judges
    from composer.solve.solve import limits_for, solve_stated

    began = time.monotonic()
    network = build(problem)
    asks = extra or (lambda network: Extra())
    more = asks(network)
    stated = state_all(problem, network)
    stated = replace(stated, demands=(*stated.demands, *more.demands))
    if no_way(network, stated.demands):
        return why_not(problem, asks, time_limit_s, seed)
    limits = limits_for(time_limit_s, seed)

    def breaches(asked: Problem, routine: Routine) -> list[Breach]:
        return [*breaches_of(asked, routine), *more.judge(routine)]

    def worth(_: Problem, routine: Routine) -> list[Points]:
        total, given = kept_worth(kept, routine)
        return [Points(TERM, total, given)]

    aim = replace(stated, terms=(kept_term(kept, network),))
    first = solve_stated(problem, network, aim, Judges(breaches, worth), limits, progress)
    if isinstance(first, NoRoutine):
        return why_not(problem, asks, time_limit_s, seed)
    if isinstance(first, Undecided):
        return Undecided(time.monotonic() - began)
    keeps = first.routine.score
    narrowed = replace(stated, demands=(*stated.demands, keep_demand(network, kept, keeps)))
    second = solve_stated(problem, network, narrowed, Judges(breaches, points_of), limits, progress)
    if isinstance(second, Found):
        return Least(second.routine, keeps, first.proven_best, first.proven_best and second.proven_best)
    plain = _carded(problem, first.routine, stated)
    return Least(replace(plain, status="good", bound=None), keeps, first.proven_best, False)


def keep_demand(network: Network, kept: Keeping, keeps: int) -> Demand:
    """At least ``keeps`` weighted counts stay; arcs no such path can use are forbidden outright."""
    row = kept_row(kept, network, least=keeps)
    through = most_kept_through(network, dict(kept_term(kept, network).weights))
    forbids = frozenset(arc for arc, most in enumerate(through) if most < keeps)
    return Demand(KEEPS, "No more is changed than has to be", law=True, forbids=forbids, rows=(row,))


def most_kept_through(network: Network, worth: dict[int | str, int]) -> list[int]:
    """For every arc the most that any path through it keeps, all rules left aside."""
    ahead, behind = [NOWHERE] * len(network.nodes), [NOWHERE] * len(network.nodes)
    ahead[network.source] = behind[network.sink] = 0
    for arc in network.arcs:  # arcs go by tail, and tails by tick
        ahead[arc.head] = max(ahead[arc.head], ahead[arc.tail] + worth.get(arc.id, 0))
    for arc in reversed(network.arcs):
        behind[arc.tail] = max(behind[arc.tail], behind[arc.head] + worth.get(arc.id, 0))
    return [ahead[arc.tail] + worth.get(arc.id, 0) + behind[arc.head] for arc in network.arcs]


def _carded(problem: Problem, routine: Routine, stated: Stated) -> Routine:
    """The routine with the score card of its brief."""
    from composer.revise.scored import scored

    return scored(problem, routine, {term.key: term.sentence for term in stated.terms})
