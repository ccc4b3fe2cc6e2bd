"""What a search that knows places reads from the rows: the way to the body that leads from a change on is in it."""

from __future__ import annotations

from itertools import accumulate, pairwise

from composer.floor.placing import moved
from composer.network.build import build
from composer.outcome import Found
from composer.rules import state_all
from composer.solve import solve
from composer.solve.ground import ground_of
from composer.solve.linear import linear_from
from tests.builders import a_figure, a_problem, a_timeline


def test_places_add_up_arc_by_arc() -> None:
    figures = [
        a_figure("stay", 4, "two-hands", travel=(300, 100)),
        a_figure("step", 4, "two-hands", feet_after="RL", travel=(-500, 0), turn=2),
    ]
    room = {"style": "show", "width": 6, "depth": 6}
    couple = {"both_lead": {"at_a_time": 4, "changes": 2}}
    problem = a_problem(figures, {"weights": {"variety": 1}}, room, couple, a_timeline(6))
    outcome = solve(problem)
    assert isinstance(outcome, Found)
    danced = outcome.routine.figures
    assert sum(a.swapped != b.swapped for a, b in pairwise(danced)) == 2
    network = build(problem)
    ground = ground_of(linear_from(network, state_all(problem, network)))
    assert ground is not None
    node, way = network.source, []
    for placed in danced:
        step = (placed.figure, placed.start_tick, placed.faces, placed.swapped)
        arc = next(a for a in network.arcs if a.tail == node and (a.figure, a.start, a.faces, a.swapped) == step)
        way.append(arc.id)
        node = arc.head
    first = danced[0]
    assert first.x_mm is not None
    assert first.y_mm is not None
    assert (ground.taken[:, 0, way] == ground.taken[:, 1, way]).all(), "no strides to choose"
    xs = list(accumulate(ground.taken[0, 0, way].tolist(), initial=first.x_mm))
    ys = list(accumulate(ground.taken[1, 0, way].tolist(), initial=first.y_mm))
    for placed, x, y in zip(danced[:-1], xs[1:-1], ys[1:-1], strict=True):  # nothing asks where the last one ends
        here = (placed.x_mm or 0, placed.y_mm or 0)
        assert moved(here, problem.catalogue.figures[placed.figure].motion, placed.faces) == (x, y)
    for arc, *place in zip(way, xs, ys, strict=False):
        for axis in (0, 1):
            assert ground.begins[axis, 0, arc] <= place[axis] <= ground.begins[axis, 1, arc]
