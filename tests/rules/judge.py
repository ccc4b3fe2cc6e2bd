"""Reads demands as data for one fixed path of a network: which hold, and what the score terms give.

Independent of the tool's own solver: the arcs of the path are numbers here, only the extra unknowns are searched.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ortools.sat.python import cp_model

from composer.network.model import Arc, Network
from composer.problem import Problem
from composer.routine import Placed, Routine
from composer.rules.base import Demand, Row, Stated


def paths(network: Network, most: int) -> Iterator[tuple[Arc, ...]]:
    """Up to ``most`` paths from source to sink (figures only), spread by taking branches in turn."""
    out: dict[int, list[Arc]] = {}
    for arc in network.arcs:
        out.setdefault(arc.tail, []).append(arc)
    found = 0
    stack: list[tuple[int, tuple[Arc, ...]]] = [(network.source, ())]
    while stack and found < most:
        node, way = stack.pop()
        if node == network.sink:
            found += 1
            yield tuple(arc for arc in way if arc.figure)
            continue
        arcs = out.get(node, [])
        turn = len(way) % max(1, len(arcs))
        stack += [(arc.head, (*way, arc)) for arc in arcs[turn:] + arcs[:turn]]


def routine_of(problem: Problem, network: Network, way: tuple[Arc, ...], at: tuple[int, int] | None = None) -> Routine:
    """The routine of a path; facings are added up from the first, places follow from ``at``."""
    from composer.floor.placing import handed, travel_of

    placed: list[Placed] = []
    corners = 0
    faces = way[0].faces if way else 0
    for arc in way:
        figure = problem.catalogue.figures[arc.figure]
        corners += (arc.corners - corners) % 4
        if placed and placed[-1].swapped != arc.swapped:
            hold = problem.catalogue.figures[placed[-1].figure].chart.exit.hold
            stance = problem.catalogue.stances[problem.catalogue.holds[hold].stance]
            at = None if at is None else handed(at, stance, faces)
            faces = (faces + stance.facing // 2) % 8
        x, y = at or (None, None)
        placed.append(Placed(arc.figure, arc.start, arc.end, faces, x, y, corners, swapped=arc.swapped))
        if at is not None:
            dx, dy = travel_of(figure.motion, faces)
            at = (at[0] + dx, at[1] + dy)
        faces = figure.end_of(faces).faces
    return Routine("a path", problem.brief.dances, problem.length_ticks, tuple(placed))


class Judge:
    """Demands and terms of one statement under a path."""

    def __init__(self, stated: Stated, way: Iterable[Arc]) -> None:
        self.stated = stated
        self.used = {arc.id for arc in way}

    def holds(self, *demands: Demand) -> bool:
        """Whether these demands hold together for some value of the unknowns."""
        if any(demand.forbids & self.used for demand in demands):
            return False
        rows = [row for demand in demands for row in demand.rows]
        plain = [row for row in rows if not any(isinstance(key, str) for key in row.weights)]
        if not all(self.plainly(row) for row in plain):
            return False
        return len(plain) == len(rows) or self.solve(rows) is not None

    def plainly(self, row: Row) -> bool:
        """Whether a row without unknowns holds."""
        total = sum(weight for key, weight in row.weights.items() if key in self.used)
        return (row.least is None or total >= row.least) and (row.most is None or total <= row.most)

    def solve(self, rows: Iterable[Row], maximise: str | None = None) -> dict[str, int] | None:
        """Values of the unknowns under these rows and those that always hold; None when there are none."""
        model = cp_model.CpModel()
        values = {u.name: model.new_int_var(u.least, u.most, u.name) for u in self.stated.unknowns}
        for row in (*self.stated.unknown_rows, *rows):
            fixed = sum(w for key, w in row.weights.items() if key in self.used)
            free = [(w, values[key]) for key, w in row.weights.items() if isinstance(key, str)]
            least = -(10**12) if row.least is None else row.least - fixed
            most = 10**12 if row.most is None else row.most - fixed
            if not free:
                if not least <= 0 <= most:
                    return None
                continue
            model.add_linear_constraint(sum(w * v for w, v in free), least, most)
        if maximise is not None:
            term = next(t for t in self.stated.terms if t.key == maximise)
            model.maximize(sum(w * values[key] for key, w in term.weights.items() if isinstance(key, str)))
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        status = solver.solve(model)
        if status == cp_model.INFEASIBLE:
            return None
        assert status == cp_model.OPTIMAL
        return {name: solver.value(value) for name, value in values.items()}

    def worth(self, term: str) -> int:
        """The most a term can give under the path."""
        weights = next(t for t in self.stated.terms if t.key == term).weights
        arcs = sum(w for key, w in weights.items() if key in self.used)
        if not any(isinstance(key, str) for key in weights):
            return arcs
        values = self.solve((), maximise=term)
        assert values is not None
        return arcs + sum(w * values[key] for key, w in weights.items() if isinstance(key, str))
