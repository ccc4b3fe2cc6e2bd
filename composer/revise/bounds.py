"""What no routine of a problem can exceed: the linear relaxation's bound, found without any search."""

from __future__ import annotations

from typing import Final

from composer.network import build
from composer.network.model import Network
from composer.problem import Problem
from composer.rules.base import Stated

UNBOUNDED: Final = 1 << 40
"""What is told when the relaxation gives no bound."""


def bound_of(problem: Problem) -> int | None:
    """Points no routine of a problem can exceed; None when the laws and forbidden figures leave no way at all."""
    from composer.rules import state_all

    network = build(problem)
    return bound_of_stated(network, state_all(problem, network))


def bound_of_stated(network: Network, stated: Stated) -> int | None:
    """The same for rules that are stated already."""
    from composer.solve.linear import linear_from
    from composer.solve.longest import Levels, priced, whole_multipliers
    from composer.solve.relax import relaxed

    linear = linear_from(network, stated)
    if not linear.feasible_path:
        return None
    advice = relaxed(linear)
    proofs = None if advice is None else priced(linear, Levels(linear), whole_multipliers(linear, advice.multipliers))
    return proofs.bound if proofs is not None else UNBOUNDED
