"""Models are written in CP-SAT's own format; its usual Python front reads the same ones and says the same."""

from __future__ import annotations

import itertools
import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from ortools.sat.python import cp_model

from composer.problem import Problem
from composer.solve.cpsat import Built
from composer.solve.engine import MOST, Model
from tests.builders import tiny_problems
from tests.solve.test_walks import LIMITS, linear_of


def by_the_front(model: Model) -> tuple[int, float, float]:
    """(status, objective, bound) of a model read and solved through the front, after its own check of the form."""
    front = cp_model.CpModel()
    assert front.proto.parse_text_format(str(model.proto))
    assert front.validate() == ""
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    status = solver.solve(front)
    return status, solver.objective_value, solver.best_objective_bound


@given(tiny_problems(most_figures=6, most_beats=24))
def test_the_front_reads_the_same_model(problem: Problem) -> None:
    linear = linear_of(problem)
    built = Built(linear)
    answer = built.solve(LIMITS)
    status, value, bound = by_the_front(built.model)
    assert (answer.verdict == "best") == (status == cp_model.OPTIMAL)
    assert (answer.verdict == "none") == (status == cp_model.INFEASIBLE)
    if answer.verdict == "best":
        assert (answer.score, answer.bound) == (round(value), round(bound))


@given(
    st.lists(st.tuples(st.integers(-3, 3), st.integers(0, 4)), min_size=1, max_size=5),
    st.lists(st.integers(-4, 4), min_size=5, max_size=5),
    st.integers(-6, 12),
    st.booleans(),
)
def test_small_sums_are_as_high_or_low_as_can_be(
    spans: list[tuple[int, int]], weights: list[int], most: int, high: bool
) -> None:
    """Against every choice of values: the sum of weights where the sum of values is no more than ``most``."""
    model = Model()
    unknowns = [model.unknown(low, low + more) for low, more in spans]
    own = weights[: len(unknowns)]
    model.row(unknowns, [1] * len(unknowns), most=most)
    model.aim(unknowns, own, high=high)
    grid = np.array(np.meshgrid(*(np.arange(low, low + more + 1) for low, more in spans))).reshape(len(spans), -1)
    sums = (np.array(own) @ grid)[grid.sum(axis=0) <= most]
    said = model.solved(num_workers=1)
    if not len(sums):
        assert said.none
        assert not said.values
        return
    assert said.proved
    assert said.bound == (sums.max() if high else sums.min())
    assert np.dot(own, said.values) == said.bound


def test_what_the_listener_raises_comes_out() -> None:
    model = Model()
    one = model.unknown(0, 9)
    model.aim([one], [1], high=True)

    def stop(value: int, bound: int) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        model.solved(stop, num_workers=1)


def test_nothing_is_said_without_time() -> None:
    """A search that had no work to spend claims neither a solution nor that there is none."""
    model = Model()
    unknowns = [model.unknown(0, 1) for _ in range(60)]
    rng = np.random.default_rng(3)
    for _ in range(40):
        model.row(unknowns, rng.integers(-9, 10, 60).tolist(), least=1, most=MOST)
    said = model.solved(num_workers=1, max_deterministic_time=1e-9, cp_model_presolve=False)
    assert not said.proved
    assert not said.none


def test_a_search_loads_no_tables() -> None:
    """The library of tables that the usual front loads takes a third of a second and is not wanted."""
    code = (
        "import sys; from composer.solve.engine import Model; m = Model(); m.aim([m.unknown(0, 1)], [1], high=True);"
        "assert m.solved(num_workers=1).values == (1,); print('pandas' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True).stdout.strip() == "False"


@given(
    st.integers(1, 5),
    st.lists(st.tuples(st.sets(st.integers(0, 4)), st.sets(st.integers(0, 4))), max_size=4),
    st.sets(st.integers(0, 4)),
    st.tuples(st.sets(st.integers(0, 4)), st.integers(0, 3), st.one_of(st.none(), st.integers(0, 4))),
    st.lists(st.integers(-3, 3), min_size=5, max_size=5),
)
def test_clauses_mean_what_they_say(
    size: int,
    clauses: list[tuple[set[int], set[int]]],
    single: set[int],
    limited: tuple[set[int], int, int | None],
    weights: list[int],
) -> None:
    """Against every choice of values."""

    def own(numbers: set[int]) -> list[int]:
        return sorted(number for number in numbers if number < size)

    model = Model()
    unknowns = [model.unknown(0, 1) for _ in range(size)]
    for ones, zeros in clauses:
        model.some(own(ones), own(zeros))
    model.at_most_one(own(single))
    some, most, where = limited
    where = where if where is not None and where < size else None
    model.row(own(some), [1] * len(own(some)), most=most, where=where)
    model.aim(unknowns, weights[:size], high=True)
    best = max(
        (
            sum(w * v for w, v in zip(weights, values, strict=False))
            for values in itertools.product((0, 1), repeat=size)
            if all(any(values[k] for k in own(a)) or not all(values[k] for k in own(b)) for a, b in clauses)
            and sum(values[k] for k in own(single)) <= 1
            and (sum(values[k] for k in own(some)) <= most or (where is not None and not values[where]))
        ),
        default=None,
    )
    found = model.solved(num_workers=1)
    assert found.none == (best is None)
    if best is not None:
        assert found.proved
        assert sum(w * v for w, v in zip(weights, found.values, strict=False)) == best
