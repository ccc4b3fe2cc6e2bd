"""The model that decides, in CP-SAT: one 0/1 unknown per usable arc, flow at every node, the stated rows.

One worker, a fixed seed and deterministic time limits: the same input gives the same answer on a busy machine and
on an idle one. The wall clock is only a net far above the deterministic limit; where it cuts in, nothing is
claimed. Linearization level 2 was the fastest of those measured (DEVELOPERS.md).
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from composer.solve.fitted import without_the_impossible
from composer.solve.linear import OPEN, Flags, Ints, Linear

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

Verdict = Literal["best", "good", "none", "unknown"]
Watch = Callable[[int, int], None]


@dataclass(frozen=True)
class Answer:
    """What an engine says: ``best`` (proved), ``good`` (a solution, no proof), ``none`` (proved), ``unknown``.

    ``bound`` is an upper bound on the points of any solution the engine was asked about (None when it has none).
    """

    verdict: Verdict
    arcs: tuple[int, ...] = ()
    values: Mapping[str, int] = field(default_factory=dict)
    score: int = 0
    bound: int | None = None
    deterministic_time: float = 0.0
    missed: int = 0
    """By how much soft rows are broken in all; 0 without soft rows."""


@dataclass(frozen=True)
class Limits:
    """How long an engine may run: ``work`` in deterministic seconds, ``wall_s`` as the safety net."""

    work: float
    wall_s: float
    seed: int = 0
    workers: int = 1
    linearization: int = 2
    deadline: float = math.inf
    """On the monotonic clock; ``wall_s`` is cut to what is left."""

    @property
    def wall_left_s(self) -> float:
        """Seconds on the wall clock that one run may take from now on."""
        return max(0.01, min(self.wall_s, self.deadline - time.monotonic()))


class Built:
    """A CP-SAT model of a :class:`Linear` with its variables."""

    def __init__(
        self,
        linear: Linear,
        *,
        guards: Sequence[str] = (),
        objective: bool = True,
        floor: int | None = None,
        ceiling: int | None = None,
        soft: Flags | None = None,
    ):
        """Build the model.

        Parameters
        ----------
        guards : demands that hold only if their literal is true.
        floor : only solutions with at least so many points.
        ceiling : points that are proved not to be exceeded; lets the search stop as soon as it gets there.
        soft : rows that may be broken; then the objective is to break them by as little as possible in all.
        """
        from ortools.sat.python import cp_model

        self.linear = linear = without_the_impossible(linear)
        self.model = cp_model.CpModel()
        self.ids = np.flatnonzero(linear.usable).tolist()
        self.arc: dict[int, cp_model.IntVar] = {i: self.model.new_bool_var(f"a{i}") for i in self.ids}
        self.unknown = [
            self.model.new_int_var(int(lo), int(hi), name)
            for name, lo, hi in zip(linear.names, linear.low, linear.high, strict=True)
        ]
        self.guard = {key: self.model.new_bool_var(key) for key in guards}
        self.soft = soft
        self.broken: list[Any] = []
        self._flow()
        self._rows()
        score = self._score()
        if floor is not None:
            self.model.add(score >= floor)
        if ceiling is not None:
            self.model.add(score <= ceiling)
        if soft is not None:
            self.model.minimize(sum(self.broken))
        elif objective:
            self.model.maximize(score)

    @property
    def size(self) -> int:
        """Variables and rows."""
        proto = self.model.proto
        return len(proto.variables) + len(proto.constraints)

    def _flow(self) -> None:
        into: dict[int, list[Any]] = {}
        out: dict[int, list[Any]] = {}
        tail, head = self.linear.tail, self.linear.head
        for i in self.ids:
            out.setdefault(int(tail[i]), []).append(self.arc[i])
            into.setdefault(int(head[i]), []).append(self.arc[i])
        self.model.add_exactly_one(out.get(0, []))
        self.model.add_exactly_one(into.get(self.linear.sink, []))
        for node in sorted(out.keys() - {0}):
            self.model.add(sum(into[node]) == sum(out[node]))

    def _rows(self) -> None:
        linear = self.linear
        on_arcs = linear.on_arcs[:, self.ids]
        for row in _binding(linear, on_arcs).tolist():
            least, most = int(linear.least[row]), int(linear.most[row])
            start, end = on_arcs.indptr[row : row + 2]
            variables: list[Any] = [self.arc[self.ids[c]] for c in on_arcs.indices[start:end].tolist()]
            weights: list[int] = on_arcs.data[start:end].tolist()
            start, end = linear.on_unknowns.indptr[row : row + 2]
            variables += [self.unknown[c] for c in linear.on_unknowns.indices[start:end].tolist()]
            weights += linear.on_unknowns.data[start:end].tolist()
            if self.soft is not None and self.soft[row]:
                for side, weight in ((least, 1), (most, -1)):
                    if abs(side) != OPEN:
                        slack = self.model.new_int_var(0, 1 << 20, f"broken{row}")
                        self.broken.append(slack)
                        variables, weights = [*variables, slack], [*weights, weight]
            self._row(int(linear.owner[row]), variables, weights, least, most)

    def _row(self, owner: int, variables: list[Any], weights: list[int], least: int, most: int) -> None:
        from ortools.sat.python import cp_model

        guard = self.guard.get(self.linear.demands[owner].key) if owner >= 0 else None
        if not variables:
            if not least <= 0 <= most:
                self.model.add_bool_or([] if guard is None else [guard.negated()])
            return
        total = cp_model.LinearExpr.weighted_sum(variables, weights)
        low = cp_model.INT_MIN if least == -OPEN else least
        high = cp_model.INT_MAX if most == OPEN else most
        posted = self.model.add_linear_expression_in_domain(total, cp_model.Domain(low, high))
        if guard is not None:
            posted.only_enforce_if(guard)

    def _score(self) -> Any:
        from ortools.sat.python import cp_model

        linear = self.linear
        scored = [i for i in self.ids if linear.points[i]]
        extra = [j for j, points in enumerate(linear.unknown_points.tolist()) if points]
        return cp_model.LinearExpr.weighted_sum(
            [self.arc[i] for i in scored] + [self.unknown[j] for j in extra],
            [int(linear.points[i]) for i in scored] + [int(linear.unknown_points[j]) for j in extra],
        )

    def hint(self, arcs: Sequence[int], values: Mapping[str, int]) -> None:
        """Where to look first."""
        used = set(arcs)
        for i in self.ids:
            self.model.add_hint(self.arc[i], i in used)
        for name, variable in zip(self.linear.names, self.unknown, strict=True):
            if name in values:
                self.model.add_hint(variable, values[name])

    def solve(self, limits: Limits, watch: Watch | None = None) -> Answer:
        """Run within the limits; ``watch(score, bound)`` hears of every better solution."""
        from ortools.sat.python import cp_model

        solver = cp_model.CpSolver()
        parameters = solver.parameters
        parameters.num_workers = limits.workers
        parameters.linearization_level = limits.linearization
        parameters.random_seed = limits.seed
        parameters.max_deterministic_time = max(limits.work, 1e-6)
        parameters.max_time_in_seconds = limits.wall_left_s
        stopped: list[BaseException] = []
        status = solver.solve(self.model, None if watch is None else _listener(watch, stopped))
        if stopped:
            raise stopped[0]
        work = float(solver.response_proto.deterministic_time)
        if status == cp_model.INFEASIBLE:
            return Answer("none", deterministic_time=work)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            # a search cut off early reports a bound of 0 that nobody proved: none is claimed
            return Answer("unknown", deterministic_time=work)
        arcs = tuple(i for i in self.ids if solver.boolean_value(self.arc[i]))
        missed = sum(solver.value(slack) for slack in self.broken)
        values = {n: solver.value(v) for n, v in zip(self.linear.names, self.unknown, strict=True)}
        score = self.linear.score_of(arcs, values)
        bound = _whole(solver.best_objective_bound) if self.model.has_objective() else None
        if self.soft is not None:
            bound = None
        return Answer("best" if status == cp_model.OPTIMAL else "good", arcs, values, score, bound, work, missed)


def _binding(linear: Linear, on_arcs: Any) -> Ints:
    """Rows that some choice of arcs and unknowns could break: the others need not be posted."""
    more, less = linear.on_unknowns.maximum(0), linear.on_unknowns.minimum(0)
    low = np.asarray(on_arcs.minimum(0).sum(axis=1)).ravel() + more @ linear.low + less @ linear.high
    high = np.asarray(on_arcs.maximum(0).sum(axis=1)).ravel() + more @ linear.high + less @ linear.low
    kept: Ints = np.flatnonzero((low < linear.least) | (high > linear.most))
    return kept


def _whole(bound: float | None) -> int | None:
    """CP-SAT reports a whole-number bound as a float; nothing above 2**53 is claimed."""
    return None if bound is None or abs(bound) > 2**52 else round(bound)


def _listener(watch: Watch, stopped: list[BaseException]) -> cp_model.CpSolverSolutionCallback:
    """Tells ``watch`` of solutions; what it raises ends the search and is kept for the caller."""
    from ortools.sat.python import cp_model

    class Listener(cp_model.CpSolverSolutionCallback):
        def on_solution_callback(self) -> None:
            try:
                watch(round(self.objective_value), round(self.best_objective_bound))
            except BaseException as problem:
                stopped.append(problem)
                self.stop_search()

    return Listener()
