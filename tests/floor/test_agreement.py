"""Rows and checker of the floor families say the same, for floors of every kind: random paths, places tried by hand.

Where the rows hold for some place, the checker accepts the routine from that place, more ground included. Where the
couple begins at a place given in the brief and takes its natural ground, rows and checker agree both ways, key by key.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from composer.floor.placing import moved
from composer.network.build import build
from composer.network.model import Arc
from composer.problem import Problem
from composer.routine import Routine
from composer.rules import FAMILIES, state_all
from tests.builders import a_figure, a_problem, a_timeline
from tests.rules.judge import Judge, paths, routine_of

SOME = settings(deadline=None, max_examples=60, suppress_health_check=[HealthCheck.too_slow])
KEYS = ("room:", "line_of_dance:", "loop:", "spread:")
SPREAD = st.sampled_from([{}, {"spread": 2}, {"spread": 3}])
FLOOR = [family for family in FAMILIES if f"{family.NAME}:" in KEYS]


@st.composite
def problems(draw: st.DrawFn) -> Problem:
    """Two or three figures on a floor with a little of everything."""
    travels = draw(st.booleans())
    figures = [
        a_figure(
            "abc"[index],
            beats=4,
            travel=(draw(st.sampled_from([0, 800, 1500, -900])), draw(st.sampled_from([0, 400]))),
            turn=draw(st.sampled_from([0, 0, 2, -2, 4])),
            good_for=draw(st.sampled_from([(), ("corner",)])),
            path=[(12, 900, 500)] if draw(st.booleans()) else (),
        )
        for index in range(draw(st.integers(2, 3)))
    ]
    figures = [replace(f, motion=replace(f.motion, shortest_scale=0.8, longest_scale=1.2)) for f in figures]
    room: dict[str, Any] = {"style": "travelling" if travels else "show", "closed": draw(st.booleans())}
    if draw(st.booleans()):
        room |= {"width": 5, "depth": 4}
    else:
        room |= {"outline": [[0, 0], [5, 0], [5, 2], [3, 2.5], [2.5, 4], [0, 4]]}
    if travels:
        room |= {"lane": draw(st.sampled_from([0.8, 2])), "corner_figures": draw(st.booleans())}
        room |= draw(st.sampled_from([{}, {"laps": 0.5}, {"laps": 1}, {"corner": 0.6}]))
    if draw(st.booleans()):
        room["obstacles"] = [{"name": "pillar", "x": 2, "y": 2, "radius": 0.1}]
    if draw(st.booleans()):
        room["stride"] = {"least": 0.9, "most": 1.1}
    if not room["closed"] and draw(st.booleans()):
        room["finish"] = {"x": 2.5, "y": 1, "within": "60 cm"}
    if draw(st.booleans()):
        room["start"] = {"x": draw(st.sampled_from([0.5, 1.2, 2.5])), "y": draw(st.sampled_from([0.4, 1.0]))}
    return a_problem(figures, {"protect": "nothing", **draw(SPREAD)}, room, timeline=a_timeline(3))


def keys_of(problem: Problem, routine: Routine) -> set[str]:
    return {breach.key for family in FLOOR for breach in family.breaches(problem, routine)}


def with_ground(problem: Problem, routine: Routine, way: tuple[Arc, ...], values: dict[str, int]) -> Routine:
    """The routine with the ground the rows take."""
    place = (values["room:x@0"], values["room:y@0"])
    placed = []
    for item, arc in zip(routine.figures, way, strict=True):
        more = (values.get(f"room:more-x@{arc.end}", 0), values.get(f"room:more-y@{arc.end}", 0))
        placed.append(replace(item, x_mm=place[0], y_mm=place[1], more_x_mm=more[0], more_y_mm=more[1]))
        place = moved(place, problem.catalogue.figures[item.figure].motion, item.faces, more)
    return replace(routine, figures=tuple(placed))


@SOME
@given(problems())
def test_where_the_rows_hold_the_checker_agrees(problem: Problem) -> None:
    network = build(problem)
    stated = state_all(problem, network)
    demands = [demand for demand in stated.demands if demand.key.startswith(KEYS)]
    for way in paths(network, 12):
        judge = Judge(stated, way)
        values = judge.solve(row for demand in demands for row in demand.rows)
        if values is not None:
            assert keys_of(problem, with_ground(problem, routine_of(problem, network, way), way, values)) == set()


@SOME
@given(problems())
def test_from_a_given_place_rows_and_checker_agree_key_by_key(problem: Problem) -> None:
    room = problem.room
    if room is None or room.start_x_mm is None or room.start_y_mm is None or room.stretches:
        return
    network = build(problem)
    stated = state_all(problem, network)
    demands = {demand.key: demand for demand in stated.demands if demand.key.startswith(KEYS)}
    for way in paths(network, 12):
        judge = Judge(stated, way)
        start = demands["room:start"]
        broken = {key for key, demand in demands.items() if not judge.holds(demand, start)}
        routine = routine_of(problem, network, way, (room.start_x_mm, room.start_y_mm))
        assert broken == keys_of(problem, routine), [arc.figure for arc in way]
