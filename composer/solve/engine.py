"""A CP-SAT model written in its own format, and the solver that reads it.

``CpModelProto`` is the documented form in which every interface of CP-SAT hands a model to the solver. It is written
here without the usual Python front, which loads a library of tables that nothing here uses: a third of a second in
every search. ``tests/solve/test_engine.py`` reads the same models through that front and compares.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any, Final

Heard = Callable[[int, int], None]
LEAST: Final = -(1 << 63)
MOST: Final = (1 << 63) - 1
"""No side of a row: the ends of a whole number of 64 bits."""


class Model:
    """Unknowns are numbered as they come; rows are sums of whole multiples of them."""

    def __init__(self) -> None:
        from ortools.sat.python import cp_model_helper

        self.proto: Any = cp_model_helper.CpModelProto()

    def unknown(self, low: int, high: int) -> int:
        """The number of a new whole unknown between two values."""
        self.proto.variables.add().domain.extend((low, high))
        return len(self.proto.variables) - 1

    def exactly_one(self, unknowns: Sequence[int]) -> None:
        """Of these 0/1 unknowns one is 1."""
        self.proto.constraints.add().exactly_one.literals.extend(unknowns)

    def at_most_one(self, unknowns: Sequence[int]) -> None:
        """Of these 0/1 unknowns one at most is 1."""
        self.proto.constraints.add().at_most_one.literals.extend(unknowns)

    def some(self, ones: Iterable[int] = (), zeros: Iterable[int] = ()) -> None:
        """One of these 0/1 unknowns is 1, or one of those is 0."""
        self.proto.constraints.add().bool_or.literals.extend([*ones, *(-unknown - 1 for unknown in zeros)])

    def impossible(self) -> None:
        """A row that nothing fulfils."""
        self.some()

    def row(
        self,
        unknowns: Sequence[int],
        weights: Sequence[int],
        least: int = LEAST,
        most: int = MOST,
        *,
        where: int | None = None,
    ) -> None:
        """The sum lies within two whole numbers, ``where`` a 0/1 unknown is 1 if one is given."""
        row = self.proto.constraints.add()
        if where is not None:
            row.enforcement_literal.append(where)
        linear = row.linear
        linear.vars.extend(unknowns)
        linear.coeffs.extend(weights)
        linear.domain.extend((least, most))

    def aim(self, unknowns: Sequence[int], weights: Sequence[int], *, high: bool) -> None:
        """The sum is to be as high, or as low, as can be; CP-SAT itself only knows how to make a sum low."""
        goal = self.proto.objective
        goal.vars.extend(unknowns)
        goal.coeffs.extend([-weight for weight in weights] if high else weights)
        goal.scaling_factor = -1.0 if high else 1.0

    def hint(self, unknown: int, value: int) -> None:
        """Where to look first."""
        self.proto.solution_hint.vars.append(unknown)
        self.proto.solution_hint.values.append(value)

    def solved(self, heard: Heard | None = None, **parameters: Any) -> Solution:
        """Run the solver; ``heard(value, bound)`` hears of every better solution, and what it raises ends the search.

        Parameters
        ----------
        parameters : fields of ``SatParameters``.
        """
        from ortools.sat.python import cp_model_helper

        asked: Any = cp_model_helper.SatParameters()
        for name, value in parameters.items():
            setattr(asked, name, value)
        run: Any = cp_model_helper.SolveWrapper()
        run.set_parameters(asked)
        stopped: list[BaseException] = []
        listener = None if heard is None else _listener(heard, stopped)
        if listener is not None:
            run.add_solution_callback(listener)
        response = run.solve(self.proto)
        if listener is not None:
            run.clear_solution_callback(listener)
        if stopped:
            raise stopped[0]
        return Solution(response, self.proto.has_objective())


class Solution:
    """What the solver said."""

    def __init__(self, response: Any, aimed: bool):
        from ortools.sat.python import cp_model_helper

        status: Any = cp_model_helper.CpSolverStatus
        self.proved = response.status == status.OPTIMAL
        """The values are best, or were only asked to exist."""
        self.none = response.status == status.INFEASIBLE
        """Proved that there is no solution."""
        self.values: tuple[int, ...] = ()
        """Of every unknown, if there is a solution."""
        if self.proved or response.status == status.FEASIBLE:
            self.values = tuple(response.solution)
        self.work = float(response.deterministic_time)
        """Deterministic seconds."""
        self.bound: float | None = response.best_objective_bound if aimed else None


def _listener(heard: Heard, stopped: list[BaseException]) -> Any:
    """Tells ``heard`` of solutions; what it raises ends the search and is kept for the caller."""
    from ortools.sat.python import cp_model_helper

    class Listener(cp_model_helper.SolutionCallback):
        def OnSolutionCallback(self) -> None:  # noqa: N802 the name the library calls
            try:
                heard(round(self.ObjectiveValue()), round(self.BestObjectiveBound()))
            except BaseException as problem:
                stopped.append(problem)
                self.StopSearch()

    return Listener()
