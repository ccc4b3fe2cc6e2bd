"""The early routine is one of the whole problem, and asking for it changes no proof."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from composer.network import build
from composer.network.part import part_of
from composer.outcome import Found
from composer.problem import Problem
from composer.rules import breaches_of, points_of, state_all
from composer.solve import early as early_module
from composer.solve import solve
from composer.solve.early import early
from composer.solve.read import Judges, routine_from
from tests.benchmarks.instances import Case
from tests.builders import tiny_problems

JUDGES = Judges(breaches_of, points_of)


@pytest.fixture
def always(monkeypatch: pytest.MonkeyPatch) -> None:
    """Small networks are asked for an early routine too."""
    monkeypatch.setattr(early_module, "LARGE", 0)


SHARED = settings(deadline=None, max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])


@SHARED
@given(tiny_problems())
def test_an_early_routine_is_a_routine_of_the_whole_and_no_better_than_the_best(always: None, problem: Problem) -> None:
    network = build(problem)
    found = early(problem, network, state_all, JUDGES)
    outcome = solve(problem)
    if found is None:
        return
    routine = routine_from(problem, network, state_all(problem, network), found, JUDGES)  # checks faults and points
    assert isinstance(outcome, Found)
    assert outcome.proven_best
    assert routine.score <= outcome.routine.score


@SHARED
@given(tiny_problems())
def test_the_best_is_the_same_with_an_early_routine_and_without(always: None, problem: Problem) -> None:
    first = solve(problem)
    with pytest.MonkeyPatch.context() as without:
        without.setattr(early_module, "LARGE", 1 << 60)
        second = solve(problem)
    assert type(first) is type(second)
    if isinstance(first, Found) and isinstance(second, Found):
        assert first.routine.score == second.routine.score


@given(tiny_problems(), st.randoms(use_true_random=False))
def test_a_part_has_the_paths_of_the_whole_that_are_kept(problem: Problem, random: object) -> None:
    network = build(problem)
    draw = np.random.default_rng(random.getrandbits(32))  # type: ignore[attr-defined]
    keep = draw.random(len(network.arcs)) < 0.7
    part, ids = part_of(network, keep)
    assert len(ids) == len(part.arcs)
    whole = [network.arcs[i] for i in ids.tolist()]
    for arc, same in zip(part.arcs, whole, strict=True):
        assert (arc.figure, arc.start, arc.end, arc.faces, arc.corners, arc.swapped) == (
            same.figure, same.start, same.end, same.faces, same.corners, same.swapped,
        )  # fmt: skip
        assert part.nodes[arc.tail].stand == network.nodes[same.tail].stand
        assert part.nodes[arc.head].stand == network.nodes[same.head].stand
    assert _paths(part.arcs, len(part.nodes)) == _paths([a for a in network.arcs if keep[a.id]], len(network.nodes))


def _paths(arcs: object, nodes: int) -> int:
    ways = [1] + [0] * (nodes - 1)
    for arc in arcs:  # type: ignore[attr-defined]
        ways[arc.head] += ways[arc.tail]
    return ways[-1]


def test_a_generated_problem_has_an_early_routine_the_same_every_time() -> None:
    problem = Case(96, 300, True).problem()
    network = build(problem)
    first, second = (early(problem, network, state_all, JUDGES) for _ in range(2))
    assert first is not None
    assert first == second
    stated = state_all(problem, network)
    assert routine_from(problem, network, stated, first, JUDGES).score == first.score
