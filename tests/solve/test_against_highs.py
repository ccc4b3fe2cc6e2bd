"""On medium problems the optimum is that of an independent integer program of the same network in HiGHS."""

from __future__ import annotations

import pytest

from composer.network import build
from composer.rules import state_all
from composer.solve.cpsat import Limits
from composer.solve.decide import decide
from composer.solve.linear import linear_from
from composer.solve.relax import program, silent_solver
from tests.benchmarks.instances import Case, problem_of

CASES = [Case(counts, 60, False, variant) for counts in (48, 64, 80, 96) for variant in range(4)]
CASES += [Case(48, 60, True, variant) for variant in range(4)]


def check(case: Case) -> None:
    problem = problem_of(case)
    network = build(problem)
    linear = linear_from(network, state_all(problem, network))
    answer = decide(linear, Limits(work=120, wall_s=600), network=network)
    assert answer.verdict in ("best", "none")
    if not linear.feasible_path:
        assert answer.verdict == "none"
        return
    solver = silent_solver()
    solver.setOptionValue("mip_rel_gap", 0.0)
    solver.setOptionValue("mip_abs_gap", 0.5)
    solver.setOptionValue("threads", 1)
    solver.passModel(program(linear, integer=True)[0])
    solver.run()
    status = solver.modelStatusToString(solver.getModelStatus())
    if answer.verdict == "none":
        assert status == "Infeasible"
    else:
        assert status == "Optimal"
        assert round(-solver.getInfo().objective_function_value) == answer.score


@pytest.mark.parametrize("case", CASES[:3], ids=lambda case: case.name)
def test_same_optimum(case: Case) -> None:
    check(case)


@pytest.mark.slow
@pytest.mark.parametrize("case", CASES[3:], ids=lambda case: case.name)
def test_same_optimum_on_more(case: Case) -> None:
    check(case)
