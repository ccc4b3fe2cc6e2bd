"""Lanes follow the walls of a floor of any shape: whole numbers against shapely, and laps danced by the catalogue."""

from __future__ import annotations

import random
from typing import Any

import pytest
from shapely.geometry import Point, Polygon

from composer.floor.lanes import in_strip, strips
from composer.outcome import Found, NoRoutine
from composer.rules import breaches_of
from composer.solve import solve
from composer.verify import space, verify
from tests.builders import a_figure, a_problem, a_routine, a_timeline

L_SHAPE = [[0, 0], [9, 0], [9, 4], [4, 4], [4, 9], [0, 9]]
U_SHAPE = [[0, 0], [9, 0], [9, 8], [6, 8], [6, 3], [3, 3], [3, 8], [0, 8]]
SLANTED = [[0, 1], [2, 0], [9, 0.5], [8, 6], [3, 7], [0, 5]]
TRIANGLE = [[0, 0], [9, 0], [0, 7]]


def in_room(outline: list[list[float]], **more: Any) -> Any:
    room = {"style": "travelling", "outline": outline, "lane": 1.2, **more}
    return a_problem([a_figure("still", 4)], {"protect": "nothing"}, room, timeline=a_timeline(1))


@pytest.mark.parametrize("outline", [L_SHAPE, U_SHAPE, SLANTED, TRIANGLE])
def test_strips_are_what_shapely_draws_along_the_walls(outline: list[list[float]]) -> None:
    rng, problem, inside = random.Random(5), in_room(outline), 0
    room = problem.room
    assert room is not None
    floor = Polygon(room.outline).buffer(-room.edge_mm)
    lanes = space._lanes(room)
    for _ in range(1_500):
        place = (rng.randrange(0, 9_000), rng.randrange(0, 9_000))
        if not floor.covers(Point(place)):
            continue
        for side in range(4):
            ours = any(in_strip(strip, place) for strip in strips(room, side, 1_200))
            inside += ours
            if ours:
                assert lanes[side].covers(Point(place)), (place, side)
            else:
                assert not lanes[side].buffer(-5).covers(Point(place)), (place, side)
    assert inside > 100


@pytest.mark.parametrize(
    ("corners", "place", "good"),
    [
        # the north side of the L is the wall at 4 m of its right arm and the wall at 9 m of the other
        (2, (7.0, 3.0), True), (2, (7.0, 2.4), False), (2, (2.0, 8.0), True), (2, (2.0, 3.5), False),
        (1, (8.0, 2.0), True), (1, (3.0, 7.0), True), (1, (2.4, 7.0), False), (3, (1.0, 5.0), True),
        (0, (5.0, 1.4), True), (0, (5.0, 1.6), False),
    ],
)  # fmt: skip
def test_the_lane_of_an_l_lies_along_its_own_walls(corners: int, place: tuple[float, float], good: bool) -> None:
    problem = in_room(L_SHAPE)
    at = (round(1000 * place[0]), round(1000 * place[1]))
    from dataclasses import replace

    routine = a_routine(problem, ["still"], at=at)
    routine = replace(routine, figures=tuple(replace(item, corners=corners) for item in routine.figures))
    keys = {item.key for item in breaches_of(problem, routine)}
    assert ("line_of_dance:lane" not in keys) == good
    assert ("replay:lane" not in {item.key for item in space.walls(problem, routine)}) == good


def round_the_l(**more: Any) -> Any:
    """A lap of eight walks of 1.5 m, two along each side."""
    figures = [a_figure("on", 4, travel=(1500, 0)), a_figure("side", 4, travel=(1500, 0), turn=-2)]
    room = {"style": "travelling", "outline": L_SHAPE, "laps": 1, **more}
    return a_problem(figures, {"protect": "nothing"}, room, timeline=a_timeline(8))


def test_an_l_has_room_for_a_small_lap_of_its_own_and_none_along_all_its_walls() -> None:
    free, along = round_the_l(), round_the_l(lane=0.5)
    outcome = solve(free)
    assert isinstance(outcome, Found)
    assert verify(free, outcome.routine) == []
    assert isinstance(solve(along), NoRoutine)
