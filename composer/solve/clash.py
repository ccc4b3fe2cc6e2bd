"""Which wishes cannot all hold: a small core, each step of its reduction a finished proof.

Laws always hold; each wish can be left out. First CP-SAT names wishes that suffice for the contradiction (one guard
literal per wish on a model without objective; such a core is *a* clash, not a smallest one). Then each wish is left
out in turn and the rest decided again: proved impossible - the wish is not needed; a path found - it is; undecided -
it stays and the clash is not called minimal.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace

from composer.network.model import Network
from composer.outcome import Clash, ClashMember
from composer.problem import Problem
from composer.rules.base import Demand, Row, Stated
from composer.solve.cpsat import Built, Limits
from composer.solve.linear import linear_from
from composer.units import TICKS_PER_BEAT


@dataclass(frozen=True)
class Tried:
    """Whether any routine keeps the laws and some wishes: True, False, or None when undecided; work used."""

    possible: bool | None
    work: float


def possible(network: Network, stated: Stated, wishes: Collection[str], limits: Limits) -> Tried:
    """Whether a routine exists that keeps all laws and these wishes."""
    linear = linear_from(network, stated, wishes)
    if not linear.feasible_path:
        return Tried(False, 0.0)
    answer = Built(linear, objective=False).solve(limits)
    said = {"best": True, "good": True, "none": False, "unknown": None}[answer.verdict]
    return Tried(said, answer.deterministic_time)


def clash_of(problem: Problem, network: Network, stated: Stated, limits: Limits) -> Clash | None:
    """A clash of a problem that is proved to have no routine; None when the work does not suffice to name one."""
    wishes = {d.key: d for d in stated.demands if not d.law}
    left = limits.work
    laws = possible(network, stated, (), limits)
    left -= laws.work
    if laws.possible is False:
        return Clash((), minimal=True, reasons=_reasons(problem, network))
    core, work = _first_core(network, stated, list(wishes.values()), replace(limits, work=max(left, 0.01)))
    left -= work
    if core is None:
        core = list(wishes)
    minimal = True
    for key in tuple(core):
        rest = [k for k in core if k != key]
        if left <= 0:
            minimal = False
            break
        tried = possible(network, stated, rest, replace(limits, work=left))
        left -= tried.work
        if tried.possible is False:
            core = rest
        elif tried.possible is None:
            minimal = False
    members = tuple(ClashMember(k, wishes[k].sentence, wishes[k].where) for k in wishes if k in set(core))
    return Clash(members, minimal, _reasons(problem, network))


def _first_core(
    network: Network, stated: Stated, wishes: list[Demand], limits: Limits
) -> tuple[list[str] | None, float]:
    """Wishes that suffice for the contradiction, as CP-SAT names them, in the brief's order; None when undecided."""
    from ortools.sat.python import cp_model

    guarded = tuple(_as_rows(d) if not d.law else d for d in stated.demands)
    linear = linear_from(network, replace(stated, demands=guarded))
    built = Built(linear, guards=[d.key for d in wishes], objective=False)
    built.model.add_assumptions(list(built.guard.values()))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = limits.seed
    solver.parameters.max_deterministic_time = limits.work
    solver.parameters.max_time_in_seconds = limits.wall_s
    status = solver.solve(built.model)
    work = float(solver.response_proto.deterministic_time)
    if status != cp_model.INFEASIBLE:
        return None, work
    named = set(solver.sufficient_assumptions_for_infeasibility())
    core = [key for key, guard in built.guard.items() if guard.index in named]
    return core or None, work


def _as_rows(demand: Demand) -> Demand:
    """Forbidden arcs as a row, which a guard can switch off."""
    if not demand.forbids:
        return demand
    row = Row(dict.fromkeys(sorted(demand.forbids), 1), most=0)
    return replace(demand, forbids=frozenset(), rows=(*demand.rows, row))


def _reasons(problem: Problem, network: Network) -> tuple[str, ...]:
    """Computed facts about the laws alone."""
    counts = problem.length_ticks // TICKS_PER_BEAT
    if not network.arcs:
        return (f"No sequence of figures that join each other fills exactly {counts} counts.",)
    return ()
