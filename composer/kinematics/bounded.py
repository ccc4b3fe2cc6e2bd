"""Bounded linear least squares for small dense systems, without the start-up cost of a numerical library.

Minimises ``|A x - b|^2`` with ``least <= x <= most``. The columns of ``A`` are independent (every unknown has
its own weak pull to a natural value), so the solution is unique. Method: guess which unknowns sit at a bound,
solve for the rest, exchange all wrong guesses at once (block pivoting); when that does not settle, exchange one at
a time, the last wrong one, which always ends (Judice and Pires 1994; Portugal, Judice and Vicente 1994; from memory).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Vector = NDArray[np.float64]
    Matrix = NDArray[np.float64]

MOST_ROUNDS = 500


def bounded_least_squares(matrix: Matrix, goal: Vector, least: Vector, most: Vector) -> Vector:
    """Solve; shapes (m, n), (m,), (n,), (n,) -> (n,).

    Should the exchange not end within ``MOST_ROUNDS`` (it is finite, but may be long), scipy solves it.
    """
    import numpy as np

    normal, pull = matrix.T @ matrix, matrix.T @ goal
    scale = float(np.max(np.abs(pull))) if pull.size else 0.0
    slack = 1e-9 * max(1.0, scale)
    state = np.zeros(len(pull), dtype=np.int8)
    best_wrong, patience = len(pull) + 1, 6
    for _ in range(MOST_ROUNDS):
        x = np.where(state < 0, least, most)
        free = state == 0
        if free.any():
            fixed = ~free
            rest = pull[free] - normal[np.ix_(free, fixed)] @ x[fixed]
            x[free] = np.linalg.solve(normal[np.ix_(free, free)], rest)
        slope = normal @ x - pull
        below, above = free & (x < least - 1e-9), free & (x > most + 1e-9)
        let_go = ((state < 0) & (slope < -slack)) | ((state > 0) & (slope > slack))
        wrong = np.flatnonzero(below | above | let_go)
        if not len(wrong):
            return np.asarray(np.clip(x, least, most))
        if len(wrong) < best_wrong:
            best_wrong, patience = len(wrong), 6
        else:
            patience -= 1
        change = wrong if patience > 0 else wrong[-1:]
        for index in change:
            state[index] = -1 if below[index] else (1 if above[index] else 0)
    from scipy.optimize import lsq_linear

    return np.asarray(lsq_linear(matrix, goal, (least, np.maximum(most, least + 1e-6))).x)
