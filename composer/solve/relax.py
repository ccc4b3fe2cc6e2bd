"""Multipliers from the linear relaxation: HiGHS, interior point, no crossover, one thread.

Its numbers are floats and only *advice*: :mod:`composer.solve.longest` rounds them and proves its bounds exactly.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from composer.solve.linear import OPEN, Linear

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Relaxed:
    """Multipliers per row, value per arc (0..1, zero for arcs not usable) and per unknown, and the LP's value."""

    multipliers: Floats
    arc_values: Floats
    unknown_values: Floats
    value: float


def program(linear: Linear, *, integer: bool = False) -> tuple[Any, Any, int]:
    """(HiGHS model, ids of its arc columns, number of flow rows): minimize minus the points over the usable arcs.

    Rows: one flow balance per node that the usable arcs touch (the sink's is left out, it follows), then the stated
    rows. Columns: the usable arcs, then the unknowns.
    """
    import highspy
    from scipy.sparse import coo_matrix, hstack, vstack

    ids = np.flatnonzero(linear.usable)
    count = len(ids)
    nodes = np.unique(np.concatenate([linear.tail[ids], linear.head[ids]]))
    place = np.full(len(linear.network.nodes), -1, dtype=np.int64)
    place[nodes] = np.arange(len(nodes))
    columns = np.arange(count)
    flow = coo_matrix(
        (
            np.concatenate([np.ones(count), -np.ones(count)]),
            (np.concatenate([place[linear.tail[ids]], place[linear.head[ids]]]), np.concatenate([columns, columns])),
        ),
        shape=(len(nodes), count),
    ).tocsr()[: len(nodes) - 1]
    balance = np.zeros(len(nodes) - 1)
    balance[place[linear.network.source]] = 1
    unknowns = len(linear.names)
    matrix = vstack(
        [
            hstack([flow, coo_matrix((flow.shape[0], unknowns))]),
            hstack([linear.on_arcs[:, ids], linear.on_unknowns]),
        ]
    ).tocsc()
    model = highspy.HighsLp()
    model.num_col_, model.num_row_ = count + unknowns, matrix.shape[0]
    model.col_cost_ = -np.concatenate([linear.points[ids], linear.unknown_points]).astype(np.float64)
    model.col_lower_ = np.concatenate([np.zeros(count), linear.low]).astype(np.float64)
    model.col_upper_ = np.concatenate([np.ones(count), linear.high]).astype(np.float64)
    infinite = highspy.kHighsInf
    model.row_lower_ = np.concatenate([balance, np.where(linear.least == -OPEN, -infinite, linear.least)])
    model.row_upper_ = np.concatenate([balance, np.where(linear.most == OPEN, infinite, linear.most)])
    model.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    model.a_matrix_.start_, model.a_matrix_.index_ = matrix.indptr, matrix.indices
    model.a_matrix_.value_ = matrix.data.astype(np.float64)
    if integer:
        model.integrality_ = [highspy.HighsVarType.kInteger] * model.num_col_
    return model, ids, flow.shape[0]


def relaxed(linear: Linear, *, iterations: int = 200) -> Relaxed | None:
    """The relaxation's advice; None when HiGHS has none (no claim about the problem is made then)."""
    import highspy

    if not linear.feasible_path:
        return None
    model, ids, flow_rows = program(linear)
    solver: Any = highspy.Highs()  # type: ignore[no-untyped-call]
    for name, value in (
        ("output_flag", False),
        ("solver", "ipm"),
        ("run_crossover", "off"),
        ("threads", 1),
        ("ipm_iteration_limit", iterations),
    ):
        solver.setOptionValue(name, value)
    solver.passModel(model)
    solver.run()
    solution = solver.getSolution()
    if not solution.dual_valid:
        return None
    columns = np.asarray(solution.col_value, dtype=np.float64)
    duals = np.asarray(solution.row_dual, dtype=np.float64)[flow_rows:]
    arc_values = np.zeros(len(linear.points))
    arc_values[ids] = np.clip(columns[: len(ids)], 0.0, 1.0)
    return Relaxed(-duals, arc_values, columns[len(ids) :], -solver.getInfo().objective_function_value)
