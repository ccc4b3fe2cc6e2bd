"""Rows and checker of the floor families say the same, for floors of every kind: random paths, places tried by hand.

Where the rows hold for some place, the checker accepts the routine from that place, more ground included. Where the
couple begins at a place given in the brief and takes its natural ground, rows and checker agree both ways, key by key.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from composer.floor.placing import moved
from composer.floor.shape import blocks
from composer.network.build import build
from composer.network.model import Arc
from composer.outcome import Found, NoRoutine
from composer.problem import Problem
from composer.routine import Routine
from composer.rules import FAMILIES, breaches_of, points_of, state_all
from composer.solve import solve
from composer.solve.cpsat import Limits
from composer.solve.read import Judges
from composer.solve.solve import solve_stated
from composer.verify import verify
from tests.builders import a_figure, a_problem, a_timeline
from tests.rules.judge import Judge, paths, routine_of

SOME = settings(deadline=None, max_examples=10, suppress_health_check=[HealthCheck.too_slow])
JUDGES = Judges(breaches_of, points_of)
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
    strays = draw(st.sampled_from([(0, 0), (40, 60)]))
    scales = {"shortest_scale": 0.8, "longest_scale": 1.2, "scaled_percents": (80, 120), "strays_mm": strays}
    figures = [replace(f, motion=replace(f.motion, **scales)) for f in figures]
    room: dict[str, Any] = {"style": "travelling" if travels else "show", "closed": draw(st.booleans())}
    if draw(st.booleans()):
        room |= {"width": 5, "depth": 4}
    else:
        room |= {"outline": [[0, 0], [5, 0], [5, 2], [3, 2.5], [2.5, 4], [0, 4]]}
    if travels:
        room |= {"lane": draw(st.sampled_from([0.8, 2, None])), "corner_figures": draw(st.booleans())}
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
    for way in paths(network, 5):
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


@SOME
@given(problems())
def test_the_short_statements_lie_on_either_side(problem: Problem) -> None:
    """A place that the stricter one has the whole one has, and what the whole one has the looser one has."""
    network = build(problem)
    stated = state_all(problem, network)
    assert (stated.stricter is None) == (stated.looser is None) == (not blocks_of(problem))
    if stated.stricter is None or stated.looser is None:
        return
    for way in paths(network, 4):
        answers = []
        for one in (stated.stricter, stated, stated.looser):
            demands = [demand for demand in one.demands if demand.key.startswith(KEYS)]
            forbidden = any(demand.forbids & {arc.id for arc in way} for demand in demands)
            values = None if forbidden else Judge(one, way).solve(row for demand in demands for row in demand.rows)
            answers.append(values is not None)
        assert answers == sorted(answers), [arc.figure for arc in way]


@pytest.mark.slow
@SOME
@given(problems())
def test_by_shortcuts_the_answer_is_that_of_the_whole_statement(problem: Problem) -> None:
    network = build(problem)
    stated = state_all(problem, network)
    limits = Limits(work=10, wall_s=60)
    with_shortcuts = solve_stated(problem, network, stated, JUDGES, limits)
    whole = solve_stated(problem, network, replace(stated, stricter=None, looser=None), JUDGES, limits)
    assert type(with_shortcuts) is type(whole)
    if isinstance(with_shortcuts, Found) and isinstance(whole, Found):
        assert with_shortcuts.proven_best
        assert with_shortcuts.routine.score == whole.routine.score


@SOME
@given(problems(), st.integers(1, 3))
def test_points_for_use_of_the_floor_are_those_of_the_checker(problem: Problem, weight: int) -> None:
    """For places that the rows allow, whatever the search was told to prefer: the unknowns follow from the place."""
    assert problem.room is not None
    room, wishes = {**problem.document.data["room"], "style": "spot"}, problem.document.data["wishes"]
    for name in ("lane", "corner", "laps", "corner_figures"):
        room.pop(name, None)
    own = a_problem(
        [*problem.catalogue.figures.values()],
        {**wishes, "weights": {"spread": weight}},
        room,
        timeline=problem.timeline,
    )
    network = build(own)
    stated = state_all(own, network)
    (term,) = (term for term in stated.terms if term.key == "spread")
    demands = [demand for demand in stated.demands if demand.key.startswith(KEYS)]
    for way in paths(network, 2):
        for least in (True, False):
            aim = replace(term, weights={name: points if least else -points for name, points in term.weights.items()})
            judge = Judge(replace(stated, terms=(aim,)), way)
            values = judge.solve((row for demand in demands for row in demand.rows), maximise="spread")
            if values is not None:
                routine = with_ground(own, routine_of(own, network, way), way, values)
                (counted,) = (item for item in points_of(own, routine) if item.term == "spread")
                assert counted.total == sum(values[str(name)] * points for name, points in term.weights.items())
                assert counted.total == sum(counted.by_figure)


def test_a_show_spreads_over_the_floor_when_points_are_given_for_it() -> None:
    figures = [a_figure("walk", 4, travel=(1500, 0)), a_figure("turn", 4, turn=2)]
    room = {"style": "show", "width": 5, "depth": 5}
    silent = {"protect": "nothing", "weights": {"music": 0, "variety": 0, "energy": 0, "flow": 0, "spread": 2}}
    for bars, quarters in ((1, 1), (2, 2), (3, 3), (8, 4)):  # slantwise two walks cross three quarters
        problem = a_problem(figures, silent, room, timeline=a_timeline(bars))
        outcome = solve(problem, time_limit_s=20)
        assert isinstance(outcome, Found)
        assert outcome.proven_best
        (line,) = (line for line in outcome.routine.score_card if line.term == "spread")
        assert line.points == 2 * 10 * quarters


def blocks_of(problem: Problem) -> bool:
    """Whether anything is to be passed on this floor, and can be."""
    assert problem.room is not None
    found = blocks(problem.room)
    return bool(found) and all(block.lines for block in found)


def test_a_figure_may_wind_round_a_pillar_and_only_the_whole_statement_knows() -> None:
    """Half way round a post in the middle of a floor that leaves no other way: no line lies beyond the whole figure."""
    path = [(6 * k, round(700 * math.sin(k * math.pi / 8)), -round(700 - 700 * math.cos(k * math.pi / 8)))
            for k in range(1, 8)]  # fmt: skip
    figure = a_figure("round", 4, travel=(0, -1400), turn=-4, path=path)
    room = {"width": 2.3, "depth": 3.2, "obstacles": [{"name": "post", "x": 0.75, "y": 1.6, "radius": 0.02}]}
    problem = a_problem([figure], {"protect": "nothing", "opening": {"faces": "LOD"}}, room, timeline=a_timeline(1))
    network = build(problem)
    stated = state_all(problem, network)
    assert stated.stricter is not None
    limits = Limits(work=10, wall_s=60)
    narrow = solve_stated(problem, network, stated.stricter, JUDGES, limits)
    outcome = solve_stated(problem, network, stated, JUDGES, limits)
    assert isinstance(narrow, NoRoutine)
    assert isinstance(outcome, Found)
    assert verify(problem, outcome.routine) == []
    post = replace_post(problem, 0.5)
    again = build(post)
    assert isinstance(solve_stated(post, again, state_all(post, again), JUDGES, limits), NoRoutine)


def replace_post(problem: Problem, radius: float) -> Problem:
    """The same with a stouter post."""
    assert problem.room is not None
    (post,) = problem.room.obstacles
    return replace(problem, room=replace(problem.room, obstacles=(replace(post, radius_mm=round(1000 * radius)),)))
