"""Off a travelling floor a figure danced larger or smaller grows along x and y alike: rows, checker, replay, search.

A walk of 1 m ahead and 0.5 m aside, strides of 90 to 110 %: it may end anywhere on the line from 0.9 m and 0.45 m to
1.1 m and 0.55 m, and nowhere beside it. Ground is right to less than a millimetre. The replay
allows strides of any part and two millimetres.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from composer.catalogue.model import Figure
from composer.floor.placing import keeps_scale
from composer.network.build import build
from composer.outcome import Found, NoRoutine
from composer.problem import Problem
from composer.routine import Routine
from composer.rules import breaches_of, room
from composer.rules.places import more_name, place_name
from composer.solve import solve
from composer.verify import space, verify
from tests.builders import a_figure, a_problem, a_routine, a_timeline
from tests.rules.judge import Judge

ROOM: dict[str, Any] = {"style": "show", "width": 6, "depth": 6, "stride": {"least": 0.9, "most": 1.1}}
PLAIN = {"protect": "nothing", "opening": {"faces": "LOD"}}


def supple(name: str, beats: int = 4, **kinds: Any) -> Figure:
    """A figure whose strides may shrink and grow by a fifth without straying."""
    figure = a_figure(name, beats, **kinds)
    return replace(figure, motion=replace(figure.motion, shortest_scale=0.8, longest_scale=1.2))


def taking(problem: Problem, more: tuple[int, int]) -> Routine:
    routine = a_routine(problem, ["slant"], at=(2000, 3000))
    return replace(routine, figures=(replace(routine.figures[0], more_x_mm=more[0], more_y_mm=more[1]),))


def faults(problem: Problem, routine: Routine) -> tuple[list[str], list[str]]:
    """What the rules' checker says about ground, and what the replay says."""
    mine = [item.key for item in breaches_of(problem, routine) if item.key.startswith("room:")]
    return mine, [item.key for item in space.walls(problem, routine)]


# facing east, half a metre to the right is south
@pytest.mark.parametrize(
    ("more", "rules", "replay"),
    [
        ((100, -50), True, True), ((-100, 50), True, True), ((0, 0), True, True), ((50, -25), True, True),
        ((100, 50), False, False), ((100, 0), False, False), ((0, -50), False, False),
        ((101, -50), False, True),  # a millimetre past the strides: within what the replay tolerates
        ((104, -52), False, False),
        ((90, -45), True, True),
        ((91, -45), True, True),  # half a millimetre off the line
        ((91, -44), False, True),  # a millimetre and a half
        ((100, -49), True, True), ((100, -48), False, True),
        ((100, -46), False, False),
    ],
)  # fmt: skip
def test_ground_on_the_line_and_a_step_beside_it(more: tuple[int, int], rules: bool, replay: bool) -> None:
    problem = a_problem([supple("slant", travel=(1000, 500))], PLAIN, ROOM, timeline=a_timeline(1))
    mine, played = faults(problem, taking(problem, more))
    assert mine == ([] if rules else ["room:ground"])
    assert played == ([] if replay else ["replay:ground"])


def test_a_travelling_couple_keeps_its_line() -> None:
    hall = {**ROOM, "style": "travelling"}
    problem = a_problem([supple("slant", travel=(1000, 500))], PLAIN, hall, timeline=a_timeline(1))
    for more, fine in (((100, 0), True), ((37, 0), True), ((100, -50), False), ((0, -50), False)):
        mine, played = faults(problem, taking(problem, more))
        assert (mine == []) is fine, more
        assert (played == []) is fine, more


@pytest.mark.parametrize(("percents", "found"), [((90, 110), True), ((91, 110), False)])
def test_where_the_couple_ends_takes_one_scale(percents: tuple[int, int], found: bool) -> None:
    """From 2 m and 3 m to exactly 2.9 m and 2.55 m (90 %), and with strides that shrink by a percent less."""
    place = {"start": {"x": 2, "y": 3}, "finish": {"x": 2.9, "y": 2.55, "within": "1 mm"}}
    stride = {"least": percents[0] / 100, "most": percents[1] / 100}
    problem = a_problem(
        [supple("slant", travel=(1000, 500))], PLAIN, {**ROOM, **place, "stride": stride}, timeline=a_timeline(1)
    )
    outcome = solve(problem)
    assert isinstance(outcome, Found if found else NoRoutine)
    if isinstance(outcome, Found):
        assert verify(problem, outcome.routine) == []
    # 90 % one way and 110 % the other was possible as long as both were chosen by themselves
    other = {"start": {"x": 2, "y": 3}, "finish": {"x": 2.9, "y": 2.45, "within": "1 mm"}}
    outcome = solve(a_problem([supple("slant", travel=(1000, 500))], PLAIN, {**ROOM, **other}, timeline=a_timeline(1)))
    assert isinstance(outcome, NoRoutine)


@settings(deadline=None, max_examples=40, suppress_health_check=[HealthCheck.too_slow])
@given(
    st.lists(
        st.tuples(
            st.sampled_from([1000, 700, -900, 0, 37, 6]), st.sampled_from([500, 0, -333, 8]), st.sampled_from([0, 2, 1])
        ),
        min_size=1,
        max_size=3,
    ),
    st.sampled_from([(0.9, 1.1), (0.9, 1.0), (1.0, 1.05)]),
    st.lists(st.tuples(st.integers(-130, 130), st.integers(-130, 130)), min_size=4, max_size=4),
    st.integers(-12, 12),
)
def test_rows_hold_exactly_where_the_checker_finds_nothing(
    moves: list[tuple[int, int, int]],
    strides: tuple[float, float],
    grounds: list[tuple[int, int]],
    percent: int,
) -> None:
    """The unknown ground of the last figure is set to many values; what rows allow is what the checker allows."""
    figures = [
        supple(name, 4, travel=(ahead, aside), turn=turn)
        for name, (ahead, aside, turn) in zip("abc", moves, strict=False)
    ]
    hall = {**ROOM, "width": 12, "depth": 12, "stride": {"least": strides[0], "most": strides[1]}}
    problem = a_problem(figures, {"protect": "nothing"}, hall, timeline=a_timeline(1))
    assert problem.room is not None
    network = build(problem)
    stated = room.state(problem, network)
    given_unknowns = {unknown.name: unknown for unknown in stated.unknowns}
    for arc in network.arcs:
        if not arc.figure:
            continue
        motion = problem.catalogue.figures[arc.figure].motion
        on_line = a_place(motion.travel_forward_mm, motion.travel_right_mm, arc.faces, percent)
        for more in (*grounds, on_line, (on_line[0] + 1, on_line[1])):
            held = {place_name("x", 0): 6000, place_name("y", 0): 6000}
            held |= {more_name(axis, arc.end): more[index] for index, axis in enumerate("xy")}
            known = {name: value for name, value in held.items() if name in given_unknowns}
            possible = all(value == 0 for name, value in held.items() if name not in given_unknowns) and all(
                given_unknowns[name].least <= value <= given_unknowns[name].most for name, value in known.items()
            )
            unknowns = tuple(
                replace(unknown, least=known[unknown.name], most=known[unknown.name])
                if unknown.name in known
                else unknown
                for unknown in stated.unknowns
            )
            if possible:
                judge = Judge(replace(stated, unknowns=unknowns), [arc])
                possible = judge.solve(()) is not None
            placed = replace(
                a_routine(problem, [arc.figure], faces=arc.faces, at=(6000, 6000)).figures[0],
                more_x_mm=more[0],
                more_y_mm=more[1],
            )
            routine = Routine("one", problem.brief.dances, problem.length_ticks, (placed,))
            wrong = [item.key for item in room.breaches(problem, routine) if item.key == "room:ground"]
            assert possible == (not wrong), (arc, more)


def a_place(ahead: int, aside: int, faces: int, percent: int) -> tuple[int, int]:
    """Ground of a scale, cut off to whole millimetres."""
    from composer.floor.placing import placed

    x, y = placed(ahead, aside, faces)
    return int(x * percent / 100), int(y * percent / 100)


def test_every_scale_of_a_figure_has_its_ground() -> None:
    problem = a_problem([supple("slant", travel=(1234, -777))], PLAIN, ROOM, timeline=a_timeline(1))
    assert problem.room is not None
    motion = problem.catalogue.figures["test/slant"].motion
    for faces in range(8):
        for percent in range(-10, 11):
            assert keeps_scale(problem.room, motion, faces, a_place(1234, -777, faces, percent))
