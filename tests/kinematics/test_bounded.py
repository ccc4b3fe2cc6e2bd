"""The bounded least squares against scipy's, and against its own conditions of optimality."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import lsq_linear

from composer.kinematics import bounded
from composer.kinematics.bounded import bounded_least_squares


@given(st.integers(0, 2**32 - 1), st.integers(1, 24), st.integers(0, 40))
def test_same_as_a_known_solver(seed: int, unknowns: int, more_rows: int) -> None:
    random = np.random.default_rng(seed)
    matrix = random.normal(size=(unknowns + more_rows, unknowns)) * random.choice([0.1, 1.0, 20.0], unknowns)
    matrix[:unknowns] += 0.3 * np.eye(unknowns)
    goal = random.normal(size=len(matrix)) * 100
    least = -random.uniform(0, 30, unknowns)
    most = random.uniform(0, 30, unknowns)
    ours = bounded_least_squares(matrix, goal, least, most)
    theirs = lsq_linear(matrix, goal, (least, most), method="bvls", tol=1e-12).x
    assert np.all(ours >= least - 1e-9)
    assert np.all(ours <= most + 1e-9)

    def cost(x: object) -> float:
        return float(np.sum((matrix @ x - goal) ** 2))

    assert cost(ours) <= cost(theirs) * (1 + 1e-7) + 1e-6


def test_exactly_at_a_bound_and_past_it() -> None:
    identity, goal = np.eye(2), np.array([1.0, 1.1])
    found = bounded_least_squares(identity, goal, np.zeros(2), np.ones(2))
    assert found.tolist() == [1.0, 1.0]


def test_equal_bounds_fix_an_unknown() -> None:
    matrix = np.array([[1.0, 1.0], [0.1, 0.0], [0.0, 0.1]])
    found = bounded_least_squares(matrix, np.array([5.0, 0.0, 0.0]), np.array([2.0, -9.0]), np.array([2.0, 9.0]))
    assert found[0] == 2.0
    assert abs(found[1] - 3.0 / 1.01) < 1e-9


def test_when_the_exchange_is_cut_short_a_known_solver_takes_over(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bounded, "MOST_ROUNDS", 0)
    found = bounded_least_squares(np.eye(2), np.array([0.5, 3.0]), np.zeros(2), np.ones(2))
    assert np.allclose(found, [0.5, 1.0], atol=1e-6)
