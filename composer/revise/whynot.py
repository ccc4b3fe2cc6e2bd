"""Why a revision has no routine: the smallest clash among the brief's wishes and what the revision itself asks.

What was forbidden, required, said of the room, the couple and the music is part of the changed brief; what stays and
what is danced otherwise is stated beside it. All of them are wishes alike here: a clash is *minimal* when each of its
members was left out in turn and the rest then shown to be possible, by a routine or a finished proof.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from composer.explain.oracle import Budget, Oracle
from composer.network.model import Network
from composer.outcome import NoRoutine
from composer.problem import Problem
from composer.revise.places import Extra
from composer.routine import Routine
from composer.rules.base import Breach


@dataclass
class AskedOracle(Oracle):
    """An oracle that also knows whether a routine keeps what the revision asks."""

    asked: Callable[[Routine], list[Breach]] = lambda routine: []

    def remember(self, asked: frozenset[str], routine: Routine) -> None:
        """Like the brief's wishes, those of the revision are judged by their own checker."""
        super().remember(asked, routine)
        broken = {breach.key for breach in self.asked(routine)}
        if lost := sorted(broken & asked):
            from composer.solve.read import Mismatch

            raise Mismatch(f"a routine made to keep {lost[0]} breaks it")
        self.kept[-1] -= broken


def why_not(problem: Problem, extra: Callable[[Network], Extra], time_limit_s: float, seed: int = 0) -> NoRoutine:
    """Clashes and remedies of a revision that is already proved to have no routine.

    Parameters
    ----------
    extra : states and judges what the revision asks beside the brief.
    time_limit_s : about how long to look; clashes not fully reduced in that time are said not to be minimal.
    """
    from composer.explain.why import explained

    oracle = oracle_of(problem, extra, Budget.of(time_limit_s, seed=seed))
    oracle.refused.append(frozenset(oracle.wishes))
    return explained(oracle)


def oracle_of(problem: Problem, extra: Callable[[Network], Extra], budget: Budget) -> AskedOracle:
    """An oracle for the changed brief with the revision's own demands among its wishes."""
    oracle = AskedOracle.of(problem, budget, lambda network: tuple(extra(network).demands))
    assert isinstance(oracle, AskedOracle)
    oracle.asked = extra(oracle.network).judge
    return oracle
