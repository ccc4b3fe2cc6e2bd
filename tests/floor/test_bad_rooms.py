"""Rooms that cannot be meant are refused with a code, the line, and what would be right; all at once."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import yaml

from composer.brief import load_problem
from composer.brief.room import room_of
from composer.errors import BadInput, Diagnostic
from tests.builders import a_problem, a_timeline

BASE: dict[str, Any] = {"format": "brief/1", "title": "t", "dance": "polka", "music": {"tempo": 110, "bars": 8}}


def faults(tmp_path: Path, room: dict[str, Any], **more: Any) -> list[tuple[str, str]]:
    file = tmp_path / "brief.yaml"
    file.write_text(yaml.safe_dump({**BASE, **more, "room": room}, sort_keys=False), "utf-8")
    try:
        load_problem(file)
    except BadInput as bad:
        found = bad.diagnostics
    else:
        return []
    assert all(item.where.line is not None for item in found)
    assert all(item.remedy or item.code.startswith("BRF") for item in found)
    return [(item.code, str(item)) for item in found]


GOOD: list[dict[str, Any]] = [
    {"width": 5, "depth": 4},
    {"width": "16 ft", "depth": "13 ft"},
    {"outline": [[0, 0], [6, 0], [6, 3], [0, 3]]},
    {"outline": [[0, 3], [6, 3], [6, 0], [0, 0]]},  # the other way round
    {"outline": [[0, 0], ["20 ft", 0], ["20 ft", "8 ft"], ["10 ft", "8 ft"], ["10 ft", "20 ft"], [0, "20 ft"]]},
    {"width": 5, "depth": 4, "obstacles": [{"name": "pillar", "x": 2, "y": 2, "radius": 0.3}]},
    {"width": 5, "depth": 4, "obstacles": [{"box": [[0, 0], [1, 1]]}, {"corners": [[4, 0], [5, 0], [5, 1]]}]},
    {"width": 5, "depth": 4, "doors": [{"ends": [[1, 0], [2, 0]], "clear": "1 m"}]},
    {"width": 5, "depth": 4, "start": {"x": 0.3, "y": 0.3}, "finish": {"x": 4.7, "y": 3.7}},
    {"style": "travelling", "width": 12, "depth": 8, "laps": 2, "closed": True, "stride": {"least": 0.9}},
    {"width": 0.6, "depth": 0.6},  # exactly one body
]


@pytest.mark.parametrize("room", GOOD)
def test_a_good_room_is_no_fault(tmp_path: Path, room: dict[str, Any]) -> None:
    assert faults(tmp_path, room) == []


BAD: list[tuple[dict[str, Any], str, str]] = [
    ({"outline": [[0, 0], [5, 4], [5, 0], [0, 4]]}, "ROM004", "crosses itself"),
    ({"outline": [[0, 0], [5, 0], [5, 4], [5, 0], [0, 4]]}, "ROM004", "(5 m, 0 m) twice"),
    ({"outline": [[0, 0], [5, 0], [9, 0]]}, "ROM00", "outline"),
    ({"outline": [[1, 0], [5, 0], [5, 4]]}, "ROM006", "Take 1 m off every x"),
    ({"width": 5, "depth": 4, "margin": 2}, "ROM001", "no floor is left"),
    ({"width": 0.599, "depth": 4}, "ROM001", "at least 0.6 m"),
    ({"outline": [[0, 0], [5, 0], [5, 4], [0, 4]], "margin": 2}, "ROM001", "between the margins"),
    ({"width": 3, "depth": 3, "obstacles": [{"x": 1.5, "y": 1.5, "radius": 2}]}, "ROM001", "beside the obstacles"),
    ({"width": 5, "depth": 4, "start": {"x": 0.299, "y": 1}}, "ROM002", "outside the floor"),
    ({"width": 5, "depth": 4, "finish": {"x": 4.701, "y": 1}}, "ROM011", "finishing place"),
    ({"width": 5, "depth": 4, "obstacles": [{"name": "cake table", "x": 2, "y": 2, "radius": 0.4}],
      "start": {"x": 2, "y": 2.5}}, "ROM008", "too close to cake table"),
    ({"width": 5, "depth": 4, "obstacles": [{"corners": [[1, 1], [2, 2], [2, 1], [1, 2]]}]}, "ROM007", "crosses"),
    ({"width": 5, "depth": 4, "doors": [{"ends": [[1, 1], [2, 1]]}]}, "ROM009", "in no wall"),
    ({"style": "travelling", "width": 12, "depth": 8, "laps": 1.5, "closed": True}, "ROM010", "1.5 laps"),
    ({"width": 5, "depth": 4, "closed": True, "finish": {"x": 2, "y": 2}}, "ROM013", "otherwise"),
    ({"width": 5}, "BRF00", "width and depth"),
    ({"width": 5, "depth": 4, "outline": [[0, 0], [5, 0], [5, 4]]}, "BRF00", "leave out width"),
    ({"width": 5, "depth": 4, "laps": 1}, "BRF00", "travelling"),
    ({"width": 5, "depth": 4, "obstacles": [{"x": 1, "y": 1}]}, "BRF00", "radius"),
    ({"style": "travelling", "width": 5, "depth": 4, "laps": 1.1}, "BRF00", "0.25"),
]  # fmt: skip


@pytest.mark.parametrize(("room", "code", "words"), BAD)
def test_a_bad_room_is_told(tmp_path: Path, room: dict[str, Any], code: str, words: str) -> None:
    found = faults(tmp_path, room)
    assert any(given.startswith(code) and words in text for given, text in found), found


def test_all_faults_of_a_room_come_at_once(tmp_path: Path) -> None:
    room = {
        "width": 5,
        "depth": 4,
        "start": {"x": 9, "y": 1},
        "obstacles": [{"corners": [[1, 1], [2, 2], [2, 1], [1, 2]]}],
        "doors": [{"ends": [[1, 1], [2, 1]]}],
    }
    assert sorted(code for code, _ in faults(tmp_path, room)) == ["ROM002", "ROM007", "ROM009"]


@pytest.mark.parametrize(("beats", "codes"), [(8, []), (7, ["ROM012"])])
def test_a_lap_cannot_close_within_a_bar(beats: int, codes: list[str]) -> None:
    problem = a_problem(room={"width": 5, "depth": 4, "closed": True}, timeline=a_timeline(2))
    music = replace(problem.timeline, usable=(0, beats))
    found: list[Diagnostic] = []
    room_of(problem.brief, problem.document, found, music)
    assert [item.code for item in found] == codes
