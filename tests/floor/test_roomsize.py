"""The smallest room of a routine, and which figures fit a room: proved, checked, and told on the command line."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from composer.roomsize import figures_that_fit, room_of_size, smallest
from composer.rules import breaches_of
from composer.verify import verify
from tests.builders import a_figure, a_problem, a_routine, a_timeline, tiny_figures

FLOOR = ("room:", "replay:room", "line_of_dance:lane", "replay:lane")


def on_the_floor(problem: Any, routine: Any) -> list[str]:
    return [item.key for item in verify(problem, routine) if item.key.startswith(FLOOR)]


def test_a_walk_of_two_metres_needs_just_its_length_and_two_bodies() -> None:
    problem = a_problem([a_figure("walk", 4, travel=(2000, 0))], timeline=a_timeline(1))
    found = smallest(problem, a_routine(problem, ["walk"]))
    # 2000 mm, the follower 380 mm ahead and 50 mm to the right, 300 mm of body on each side
    assert (found.width_mm, found.depth_mm) == (2980, 650)


@settings(deadline=None, max_examples=40, suppress_health_check=[HealthCheck.too_slow])
@given(tiny_figures(most=3, travels=True), st.integers(0, 7), st.sampled_from([(100, 100), (80, 110)]))
def test_the_smallest_room_is_large_enough_and_a_millimetre_less_is_not(
    figures: list[Any], faces: int, stride: tuple[int, int]
) -> None:
    figures = [replace(f, motion=replace(f.motion, shortest_scale=0.7, longest_scale=1.2)) for f in figures]
    problem = a_problem(figures, room={"width": 9, "depth": 9})
    routine = a_routine(problem, [figure.id for figure in figures], faces=faces)
    found = smallest(problem, routine, stride)
    room = room_of_size(problem, found)
    assert on_the_floor(replace(problem, room=room), found.routine) == []
    if stride == (100, 100):  # then places are fixed up to a shift: no shift helps
        first = found.routine.figures[0]
        for less in (replace(room, width_mm=room.width_mm - 1), replace(room, depth_mm=room.depth_mm - 1)):
            for dx, dy in ((0, 0), (-1, 0), (0, -1), (1, 0), (0, 1)):
                assert first.x_mm is not None
                assert first.y_mm is not None
                moved = a_routine(problem, [f.id for f in figures], faces=faces, at=(first.x_mm + dx, first.y_mm + dy))
                assert "room:walls" in {item.key for item in breaches_of(replace(problem, room=less), moved)}
    else:
        natural = smallest(problem, routine)
        assert found.width_mm <= natural.width_mm
        assert found.depth_mm <= natural.depth_mm


def test_figures_that_fit_beside_a_pillar_are_those_with_a_place() -> None:
    figures = [a_figure("walk", 4, travel=(2000, 0)), a_figure("still", 4)]
    free = {"width": 3, "depth": 3}
    pillar = [{"name": "pillar", "x": 1.5, "y": 1.5, "radius": 0.6}]

    def facings(room: dict[str, Any]) -> dict[str, tuple[int, ...]]:
        return {f.figure.id: f.faces for f in figures_that_fit(a_problem(figures, room=room))}

    assert facings(free) == {"test/still": tuple(range(8)), "test/walk": tuple(range(8))}
    # beside the pillar a strip of 0.6 m is left for the centre at the wall: not for the follower across it
    assert facings({**free, "obstacles": pillar})["test/walk"] == (0, 2, 4, 6)
    assert facings({"width": 2.5, "depth": 2.5})["test/walk"] == (1, 3, 5, 7)
    assert facings({"width": 0.91, "depth": 0.91})["test/still"] == (1, 3, 5, 7)


def test_the_command_tells_the_smallest_room_for_shorter_and_shorter_strides(
    tmp_path: Path, said: Callable[..., tuple[int, str]]
) -> None:
    file = tmp_path / "loop.yaml"
    file.write_text("format: routine/1\ndance: waltz\nfigures: [natural turn, right foot closed change]\n", "utf-8")
    code, out = said("room", "smallest", str(file), "--json")
    rooms = json.loads(out)["rooms"]
    assert code == 0
    assert [room["least_stride"] for room in rooms] == [1.0, 0.9, 0.8]
    assert all(room["proved"] for room in rooms)
    widths = [room["room"]["width_mm"] for room in rooms]
    assert widths == sorted(widths, reverse=True)
    assert widths[0] > widths[-1]
    code, out = said("room", "smallest", str(file), "--lengths", "feet")
    assert code == 0
    assert out.count("(proved)") == 3
    assert said("room", "smallest", str(file), "--lengths", "yards")[0] == 2


BRIEF = """format: brief/1
title: a small floor
dance: waltz
music: {{tempo: 87, bars: 8, beats_per_bar: 3, phrase_bars: 4}}
couple: {{leader: {{level: 0, knows: [box-step]}}, follower: {{level: 1}}}}
room: {{width: {width}, depth: {width}}}
wishes: {{protect: nothing}}
"""


@pytest.mark.parametrize(
    ("width", "code", "words"),
    [(2.4, 0, "The room as it is: a routine fits"), (0.9, 3, "The room as it is: no routine fits (proved)")],
)
def test_the_command_tells_what_fits_a_room(
    tmp_path: Path, said: Callable[..., tuple[int, str]], width: float, code: int, words: str
) -> None:
    file = tmp_path / "brief.yaml"
    file.write_text(BRIEF.format(width=width), "utf-8")
    given, out = said("room", "fits", str(file), "--time-limit", "5")
    assert given == code, out
    assert words in out
    if code:
        assert "A floor of" in out


def test_a_brief_without_a_room_is_told_so(tmp_path: Path, said: Callable[..., tuple[int, str]]) -> None:
    file = tmp_path / "brief.yaml"
    file.write_text("format: brief/1\ntitle: t\ndance: waltz\nmusic: {tempo: 87, bars: 8}\n", "utf-8")
    assert said("room", "fits", str(file))[0] == 2
