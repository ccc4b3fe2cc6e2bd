"""Advice on the sheet: crowded floors (published: tests/facts/floor_sizes.csv), smaller floors, strides."""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path

import pytest

from composer.floor.crowd import COMPETITION_M2, PARTY_M2, crowd_words, m2_per_couple
from composer.floor.model import Room
from composer.report.roomadvice import room_facts
from tests.builders import a_figure, a_problem, a_routine, a_timeline

FACTS = Path(__file__).parents[1] / "facts" / "floor_sizes.csv"


def published(item: str) -> str:
    with FACTS.open(encoding="utf-8", newline="") as stream:
        return next(row["value"] for row in csv.DictReader(stream) if row["item"] == item)


def test_the_numbers_are_those_published() -> None:
    assert tuple(float(part) for part in published("competition heat density").split("-")) == COMPETITION_M2
    square_feet = float(published("party floor per person / couple").split("/")[1])
    assert pytest.approx(square_feet * 0.3048 * 0.3048) == PARTY_M2


@pytest.mark.parametrize(
    ("couples", "words"),
    [
        (None, ""),
        (10, "20.1 m² to each: roomier"),
        (11, "18.2 m² to each: like competition"),
        (12, "16.7 m² to each: like competition"),
        (13, "15.4 m² to each: closer"),
        (240, "0.8 m² to each: closer"),
        (241, "0.8 m² to each: less than a party floor"),
    ],
)
def test_the_smallest_competition_floor_with_more_and_more_couples(couples: int | None, words: str) -> None:
    """18.29 x 10.97 m are 200.7 m2 (published); 9 sq ft are 0.836 m2."""
    room = Room("travelling", 18288, 10973, 0, couples=couples)
    assert words in crowd_words(room)
    if couples:
        assert m2_per_couple(room) == pytest.approx(200.7 / couples, abs=0.1)


def test_a_bent_floor_counts_its_own_area() -> None:
    bent = ((0, 0), (6000, 0), (6000, 2000), (3000, 2000), (3000, 5000), (0, 5000))
    assert m2_per_couple(Room("spot", 6000, 5000, 0, outline=bent, couples=3)) == pytest.approx(7.0)


def test_the_sheet_says_how_far_strides_shrink_and_what_takes_the_most_room() -> None:
    walk = a_figure("walk", 4, travel=(2000, 0))
    walk = replace(walk, motion=replace(walk.motion, shortest_scale=0.8, longest_scale=1.2))
    stiff = a_figure("stiff", 4, travel=(900, 0))
    room = {"style": "travelling", "width": 9, "depth": 3, "stride": {"least": 0.9}, "couples": 2}
    problem = a_problem([walk, stiff, a_figure("still", 4)], room=room, timeline=a_timeline(3))
    routine = a_routine(problem, ["walk", "stiff", "still"], at=(1000, 1000))
    first = replace(routine.figures[0], more_x_mm=-200)
    facts = {f.label: f.text for f in room_facts(problem, replace(routine, figures=(first, *routine.figures[1:])))}
    assert "20 % shorter" in facts["On a smaller floor"]
    assert "keeps its size" in facts["On a smaller floor"]
    assert facts["On a smaller floor"].index("walk") < facts["On a smaller floor"].rindex("stiff")
    assert "south side -7 %" in facts["Strides"]  # 200 of 2900 mm
    assert "13.5 m²" in facts["Other couples"]
    still = a_routine(problem, ["still"], at=(1000, 1000))
    assert "on the spot" in {f.label: f.text for f in room_facts(problem, still)}["On a smaller floor"]
