"""Words and numbers on the floor plan cover neither each other nor the marks of the dancers: boxes read back from SVG.

A letter is taken to be 0.56 of its size wide (see :mod:`composer.report.labels`), a number to be its circle.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET
from itertools import combinations
from typing import Any

import pytest

from composer.brief import load_problem
from composer.floor.model import Door, Obstacle
from composer.outcome import Found
from composer.report import sheet_from
from composer.report.labels import Labels, meet, shared, text_box
from composer.report.plan import plan_pictures
from composer.solve import solve
from tests.builders import a_figure, a_problem, a_routine, a_timeline

OVER = 0.5
"""Boxes are rounded to a tenth in the file."""
Box = tuple[float, float, float, float]


def boxes(svg: str) -> dict[str, Box]:
    """Boxes of all level words on a picture, by their words and a running number; numbers in circles by the circle."""
    found: dict[str, Box] = {}

    def walk(node: ET.Element, dx: float, dy: float, before: ET.Element | None) -> None:
        move = node.get("transform", "")
        if move.startswith("translate(") and "rotate" not in move:
            x, y = move[len("translate(") : -1].split()
            dx, dy = dx + float(x), dy + float(y)
        tag = node.tag.rsplit("}", 1)[-1]
        if tag == "text" and "rotate" not in move:
            words, x, y = node.text or "", float(node.get("x", 0)) + dx, float(node.get("y", 0)) + dy
            if words.isdigit() and before is not None and before.tag.endswith("circle"):
                box = (x - 10.5, y - 14.5, x + 10.5, y + 6.5)
            else:
                box = text_box(words, x, y, float(node.get("font-size", 0)))
                if node.get("text-anchor") != "middle":
                    half = (box[2] - box[0]) / 2
                    box = (box[0] + half, box[1], box[2] + half, box[3])
            found[f"{words} {len(found)}"] = box
        last = None
        for child in node:
            walk(child, dx, dy, last)
            last = child

    walk(ET.fromstring(svg), 0, 0, None)
    return found


def round_corners(one: str, two: str) -> bool:
    """Whether both are numbers: their circles may come nearer than their boxes."""
    return one.split()[0].isdigit() and two.split()[0].isdigit()


def assert_nothing_covered(svg: str) -> None:
    for (one, here), (two, there) in combinations(boxes(svg).items(), 2):
        near = (here[0] + OVER, here[1] + OVER, here[2] - OVER, here[3] - OVER)
        if round_corners(one, two):
            across = ((here[0] - there[0]) ** 2 + (here[1] - there[1]) ** 2) ** 0.5
            assert across >= 20, (one, two)
        else:
            assert not meet(near, there), (one, here, two, there)


WALKS = [
    a_figure("walk", 4, travel=(1100, 0)),
    a_figure("turn", 4, travel=(300, 300), turn=4),
    a_figure("still", 4),
]
ROUTINES = (
    ["walk", "walk", "walk"],
    ["still"] * 6,
    ["walk", "turn", "walk", "turn", "walk", "turn"],
    ["walk", "turn", "still", "still", "walk", "turn", "walk"],
)
TABLE = {"name": "the table with the cake", "box": [[2.2, 1.4], [3.2, 2.4]]}
BENCH = {"name": "a bench", "corners": [[3, 0], [5, 0], [5, 3], [4.6, 3], [4.6, 0.4], [3, 0.4]]}
DOOR = {"name": "the door", "ends": [[0.3, 0], [1.2, 0]], "clear": 0.9}
KITCHEN = {"name": "kitchen", "ends": [[1.6, 0], [2.4, 0]], "clear": 0.6}
PILLARS = [{"name": f"pillar {n}", "x": 1 + 0.5 * n, "y": 2, "radius": 0.1} for n in range(4)]


@pytest.mark.parametrize("figures", ROUTINES)
@pytest.mark.parametrize(
    "room",
    [
        {}, {"obstacles": [TABLE]}, {"doors": [DOOR, KITCHEN]}, {"obstacles": [TABLE, BENCH], "doors": [DOOR, KITCHEN]},
        {"obstacles": PILLARS, "doors": [DOOR], "audience": "north"},
        {"style": "travelling", "obstacles": [TABLE], "doors": [DOOR], "lane": 2},
    ],
)  # fmt: skip
@pytest.mark.parametrize("at", [(600, 600), (1500, 1900), (3000, 400)])
def test_words_on_a_plan_cover_nothing(figures: list[str], room: dict[str, Any], at: tuple[int, int]) -> None:
    """Places where nobody could dance are drawn as well: the pictures know nothing of rules."""
    problem = a_problem(WALKS, room={"width": 5, "depth": 3.4, **room}, timeline=a_timeline(len(figures)))
    sheet = sheet_from(problem, a_routine(problem, figures, at=at))
    for _, svg in plan_pictures(sheet):
        assert_nothing_covered(svg)


def test_an_obstacle_in_pieces_has_one_name_and_a_door_and_its_way_have_two() -> None:
    room = {"width": 5, "depth": 3.4, "obstacles": [BENCH], "doors": [DOOR]}
    problem = a_problem(WALKS, room=room, timeline=a_timeline(1))
    assert problem.room is not None
    assert len(problem.room.obstacles) > 2
    words = [key.rsplit(" ", 1)[0] for _, svg in plan_pictures(
        sheet_from(problem, a_routine(problem, ["still"], at=(2000, 2000)))) for key in boxes(svg)]  # fmt: skip
    assert sorted(word for word in words if word in ("a bench", "the door", "the way to the door")) == [
        "a bench", "the door", "the way to the door",
    ]  # fmt: skip


@pytest.mark.parametrize("name", ["first-dance", "turn-about"])
def test_words_on_the_plans_of_the_scenarios_cover_nothing(name: str) -> None:
    problem = load_problem(name)
    outcome = solve(problem, time_limit_s=10)
    assert isinstance(outcome, Found)
    for _, svg in plan_pictures(sheet_from(problem, outcome.routine)):
        assert_nothing_covered(svg)
    assert problem.room is not None
    from dataclasses import replace

    wide = problem.room.width_mm
    room = replace(
        problem.room,
        obstacles=(Obstacle("the cake table", ((wide // 2, 2000),), 300), Obstacle("the way to the garden", (
            (1000, 0), (2000, 0), (2000, 900), (1000, 900)))),
        doors=(Door("the garden", ((1000, 0), (2000, 0))),),
    )  # fmt: skip
    for _, svg in plan_pictures(sheet_from(replace(problem, room=room), outcome.routine)):
        assert_nothing_covered(svg)


def test_boxes_that_touch_do_not_cover_each_other_and_one_step_on_they_do() -> None:
    assert not meet((0, 0, 10, 10), (10, 0, 20, 10))
    assert meet((0, 0, 10, 10), (9.9, 0, 20, 10))
    assert shared((0, 0, 10, 10), (8, 5, 20, 20)) == 10
    labels = Labels(200, 100)
    first = labels.put("one", 100, 50, 10)
    assert first == (100, 50)
    second = labels.put("two", 100, 50, 10)
    assert not meet(text_box("one", *first, 10), text_box("two", *second, 10))
    assert labels.put("x", -50, 500, 10) == pytest.approx((3.8, 97.0)), "words stay on the picture"
