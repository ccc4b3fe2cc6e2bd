"""Where an obstacle is in the way: the sentence names the figure, the obstacle and the centimetres that are missing.

The couple standing still is 98 x 65 cm facing along a wall (tests/floor/test_resized.py), a walk of a metre 198 x 65.
"""

from __future__ import annotations

from typing import Any

import pytest

from composer.explain.obstaclefacts import _beside, _lacking
from composer.explain.why import why
from composer.outcome import NoRoutine
from composer.problem import Problem
from tests.builders import a_figure, a_problem, a_timeline

STRAIGHT = frozenset({(0, 0)})
ALL = frozenset((faces, 0) for faces in range(8))


def hall(obstacles: list[dict[str, Any]], wishes: dict[str, Any] | None = None, **room: Any) -> Problem:
    figures = [a_figure("still", 4), a_figure("walk", 4, travel=(1000, 0))]
    asked = {"protect": "nothing", **(wishes or {})}
    return a_problem(figures, asked, {"width": 3, "depth": 1.5, "obstacles": obstacles, **room}, timeline=a_timeline(1))


def bar(deep: float, name: str = "the bar") -> dict[str, Any]:
    return {"name": name, "box": [[0, 0], [3, deep]]}


def lacking(problem: Problem, name: str, ways: frozenset[tuple[int, int]] = STRAIGHT) -> int | None:
    assert problem.room is not None
    return _lacking(problem, problem.room, f"test/{name}", ways)


# 1.5 m less the bar leave 65 cm exactly, then a millimetre less, then ten centimetres less
@pytest.mark.parametrize(("deep", "lack"), [(0.85, 0), (0.851, 1), (0.95, 100)])
def test_so_many_millimetres_are_missing_beside_a_bar(deep: float, lack: int) -> None:
    assert lacking(hall([bar(deep)]), "still") == lack
    assert lacking(hall([bar(deep)]), "walk") == lack


def test_where_even_the_walls_leave_no_place_nothing_is_said_of_obstacles() -> None:
    assert lacking(hall([bar(0.2)], width=1.9), "walk") is None
    assert lacking(hall([bar(0.2)], width=1.9), "walk", ALL) is None


def test_those_are_named_that_are_in_the_way_alone_else_all() -> None:
    problem = hall([bar(0.95), {"name": "a vase", "x": 0.1, "y": 1.4, "radius": 0.05}])
    assert problem.room is not None
    assert _beside(problem, problem.room, "test/still", STRAIGHT) == "the bar"
    other = {"name": "the stage", "box": [[0, 1.2], [3, 1.5]]}
    both = hall([bar(0.6), other])
    assert both.room is not None
    assert lacking(both, "still") == 25, "650 mm are needed, 600 are there: half of it on each side"
    assert _beside(both, both.room, "test/still", STRAIGHT) == "the bar and the stage"


def test_the_explanation_says_it_short() -> None:
    problem = hall([bar(0.95)], {"must": ["walk"]})
    found = why(problem)
    assert isinstance(found, NoRoutine)
    walls = [clash for clash in found.clashes if any(member.key == "room:walls" for member in clash.members)]
    assert walls
    sentence = next(member.sentence for member in walls[0].members if member.key == "room:walls")
    assert sentence == "Both partners stay on the 3 x 1.5 m floor, off the bar"
    assert any("lacks 10 cm beside the bar" in reason for clash in walls for reason in clash.reasons)
