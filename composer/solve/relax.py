"""Multipliers from the linear relaxation: HiGHS, interior point, no crossover, one thread.

Its numbers are floats and only *advice*: :mod:`composer.solve.longest` rounds them and proves its bounds exactly.
"""

from __future__ import annotations

import math
import sys
from dataclasses import dataclass, replace
from importlib import import_module
from threading import Thread
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from composer.solve.linear import OPEN, Flags, Ints, Linear
from composer.solve.sight import CLOSE, Sight

Floats = NDArray[np.float64]
CPSAT: Final = "ortools.sat.python.cp_model_helper"
USED: Final = 1e-6
"""Interior point leaves a little of every arc."""
MANY_ROWS: Final = 50
"""Demands with more rows than this are brought in row by row."""


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

    from composer.solve.sparse import coo_matrix, hstack, vstack

    ids = np.flatnonzero(linear.usable)
    count = len(ids)
    nodes = np.unique(np.concatenate([linear.tail[ids], linear.head[ids]]))
    place = np.full(len(linear.tick), -1, dtype=np.int64)
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
    balance[place[0]] = 1
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


def relaxed(linear: Linear, *, rounds: int = 12, iterations: int = 200) -> Relaxed | None:
    """The relaxation's advice; None when HiGHS has none (no claim about the problem is made then).

    Families with many rows (windows of repeats, walls) are left out at first and only the violated ones brought in,
    round by round: of thousands a handful bind, and interior point pays for every row. Of many arcs few are in sight
    (:mod:`composer.solve.sight`).
    """
    if not linear.feasible_path:
        return None
    active, sight = ~_lazy(linear), Sight(linear)
    advice, least = None, math.inf  # the value of the last advice that held
    for _ in range(rounds):
        rows = np.flatnonzero(active)
        part = _once(sight.part.with_rows(rows), iterations, last_resort=sight.whole and least == math.inf)
        if part is None:
            if sight.widen():
                continue
            return advice
        advice = replace(part, multipliers=_wide(linear, rows, part))
        broken = _broken(linear, advice) & ~active
        if sight.holds(advice.multipliers, advice.value, advice.arc_values > USED):
            if not broken.any() or least - advice.value < CLOSE:
                break
            least = advice.value
        active |= broken
    return advice


def _wide(linear: Linear, rows: Ints, part: Relaxed) -> Floats:
    """Multipliers of some rows as multipliers of all."""
    wide = np.zeros(len(linear.least))
    wide[rows] = part.multipliers
    return wide


def _lazy(linear: Linear) -> Flags:
    """Rows of demands that state very many of them."""
    if not len(linear.least):
        return np.zeros(0, dtype=np.bool_)
    number = np.bincount(linear.owner + 1)
    many: Flags = (number[linear.owner + 1] > MANY_ROWS) & (linear.owner >= 0)
    return many


def _broken(linear: Linear, part: Relaxed) -> Flags:
    """Rows the fractional values break by more than the noise of the method."""
    value = linear.on_arcs @ part.arc_values + linear.on_unknowns @ part.unknown_values
    slack = 1e-3 * np.maximum(1.0, np.abs(value))
    broken: Flags = (value > linear.most + slack) | (value < linear.least - slack)
    return broken


def silent_solver() -> Any:
    """A HiGHS solver that writes nothing; the wrapping class prints a banner to standard output when it is made."""
    import highspy

    solver: Any = highspy.Highs.__bases__[0]()
    solver.setOptionValue("output_flag", False)
    return solver


def _load_the_next() -> None:
    """Load CP-SAT's module, which is wanted next, on the second core beside HiGHS: it takes a tenth of a second."""
    if CPSAT not in sys.modules:
        Thread(target=import_module, args=(CPSAT,)).start()


def _once(linear: Linear, iterations: int, *, last_resort: bool = True) -> Relaxed | None:
    """One relaxation; as a last resort with crossover, which is slower, where interior point alone does not settle."""
    import highspy

    model, ids, flow_rows = program(linear)
    for crossover in ("off", "on") if last_resort else ("off",):
        solver = silent_solver()
        for name, value in (
            ("solver", "ipm"),
            ("run_crossover", crossover),
            ("threads", 1),
            ("ipm_iteration_limit", iterations),
        ):
            solver.setOptionValue(name, value)
        solver.passModel(model)
        _load_the_next()
        solver.run()
        status = solver.getModelStatus()
        if status == highspy.HighsModelStatus.kInfeasible:
            return None
        if status == highspy.HighsModelStatus.kOptimal:
            solution = solver.getSolution()
            columns = np.asarray(solution.col_value, dtype=np.float64)
            duals = np.asarray(solution.row_dual, dtype=np.float64)[flow_rows:]
            arc_values = np.zeros(len(linear.points))
            arc_values[ids] = np.clip(columns[: len(ids)], 0.0, 1.0)
            worth = -float(solver.getInfo().objective_function_value)
            return Relaxed(-duals, arc_values, columns[len(ids) :], worth)
    return None
