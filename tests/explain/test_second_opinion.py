"""The same small models judged by CPMpy's explanation tools: their clash and ours agree."""

from __future__ import annotations

from typing import Any

import pytest

from composer.explain.clashes import enumerate_clashes, reduced
from composer.explain.oracle import Budget, Oracle
from composer.network import build
from composer.problem import Problem
from composer.rules import state_all
from composer.rules.base import Row
from tests.explain.tiny import the_tiny

pytest.importorskip("cpmpy", reason="CPMpy is in the test extra")
pytestmark = pytest.mark.filterwarnings("ignore")


def as_cpmpy(problem: Problem) -> tuple[list[Any], dict[str, Any]]:
    """(what always holds, one condition per wish), written out anew from the stated rows."""
    import cpmpy as cp

    network = build(problem)
    stated = state_all(problem, network)
    arcs = [cp.boolvar(name=f"a{arc.id}") for arc in network.arcs]
    unknowns = {u.name: cp.intvar(u.least, u.most, name=u.name) for u in stated.unknowns}

    def holds(row: Row) -> list[Any]:
        total = cp.sum(
            [weight * (arcs[var] if isinstance(var, int) else unknowns[var]) for var, weight in row.weights.items()]
        )
        if not row.weights:
            total = 0
        return [
            *([total >= row.least] if row.least is not None else []),
            *([total <= row.most] if row.most is not None else []),
        ]

    hard: list[Any] = []
    for node in network.nodes:
        into = [arcs[arc.id] for arc in network.arcs if arc.head == node.id]
        out = [arcs[arc.id] for arc in network.arcs if arc.tail == node.id]
        if node.id == network.source:
            hard.append(cp.sum(out) == 1)
        elif node.id != network.sink:
            hard.append(cp.sum(into) == cp.sum(out))
    for row in stated.unknown_rows:
        hard += holds(row)
    soft = {}
    for demand in stated.demands:
        parts = [~arcs[arc] for arc in sorted(demand.forbids)] + [part for row in demand.rows for part in holds(row)]
        if demand.law:
            hard += parts
        else:
            soft[demand.key] = cp.boolvar(name=demand.key)
            hard += [soft[demand.key].implies(part) for part in parts]
    return hard, soft


@pytest.mark.parametrize("number", range(0, 24, 2))
def test_cpmpys_smallest_clash_is_one_of_ours(number: int) -> None:
    from cpmpy.tools.explain import mus_naive

    problem, _ = the_tiny(100)[number]
    hard, soft = as_cpmpy(problem)
    theirs = mus_naive(list(soft.values()), hard=hard, solver="ortools")
    keys = frozenset(condition.name for condition in theirs)
    found = enumerate_clashes(Oracle.of(problem, Budget.of(30)))
    assert found.complete
    assert keys in {core.keys for core in found.clashes}


@pytest.mark.parametrize("number", range(1, 12, 2))
def test_our_clash_cannot_hold_in_cpmpy_and_can_without_any_member(number: int) -> None:
    import cpmpy as cp

    problem, _ = the_tiny(100)[number]
    hard, soft = as_cpmpy(problem)
    oracle = Oracle.of(problem, Budget.of(30))
    core = reduced(oracle, oracle.wishes).keys
    assert not cp.Model(hard + [soft[key] for key in core]).solve(solver="ortools")
    for left_out in core:
        rest = [soft[key] for key in core if key != left_out]
        assert cp.Model(hard + rest).solve(solver="ortools")
