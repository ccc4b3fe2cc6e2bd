"""A room as in a mirror: the routine is composed again with the least change, checked, and comes back when undone."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from composer.brief import load_problem
from composer.cli.app import run
from composer.floor.model import Room
from composer.revise import Failed, Request, Revised, open_routine, revise
from composer.revise.asks import Ask, applied
from composer.revise.mirror import mirrored_facing, mirrored_room
from composer.revise.output import write_revision
from composer.verify import verify
from tests.builders import a_timeline
from tests.cli.conftest import cli
from tests.cli.speaking import Teller

__all__ = ["cli"]

ROOM: dict[str, Any] = {
    "style": "show",
    "width": "7 m",
    "depth": 5,
    "audience": "south",
    "obstacles": [
        {"name": "pillar", "x": 1.5, "y": "3 m", "radius": "20 cm"},
        {"name": "cake", "box": [[6, 4], [7, 5]]},
        {"name": "steps", "corners": [[0, 4], [1, 5], [0, 5]]},
    ],
    "doors": [{"name": "in", "ends": [[0, 1], [0, 2]], "clear": 0.5}],
    "start": {"x": 5, "y": 2},
}
BRIEF: dict[str, Any] = {
    "format": "brief/1",
    "title": "In the long room",
    "dance": "waltz",
    "music": {"tempo": 88, "bars": 8, "phrase_bars": 4},
    "couple": {"leader": {"level": 2}, "follower": {"level": 2}},
    "room": ROOM,
    "wishes": {"repeats": {"most": 3}, "closing": {"faces": "audience"}, "opening": {"faces": "LOD"}},
}


def room_in(folder: Path, data: dict[str, Any]) -> Room:
    (folder / "brief.yaml").write_text(yaml.safe_dump({**BRIEF, "room": data}), "utf-8")
    room = load_problem(folder / "brief.yaml").room
    assert room is not None
    return room


def test_everything_changes_sides(tmp_path: Path) -> None:
    before, after = room_in(tmp_path, ROOM), room_in(tmp_path, mirrored_room(ROOM, "east-west"))
    assert (after.width_mm, after.depth_mm, after.audience) == (7000, 5000, "south")
    assert (after.start_x_mm, after.start_y_mm) == (2000, 2000)
    assert [item.name for item in after.obstacles] == [item.name for item in before.obstacles]
    for one, other in zip(before.obstacles, after.obstacles, strict=True):
        assert {(7000 - x, y) for x, y in one.corners} == set(other.corners)
        assert one.radius_mm == other.radius_mm
    assert {(7000 - x, y) for x, y in before.doors[0].ends} == set(after.doors[0].ends)
    assert mirrored_room(ROOM, "north-south")["audience"] == "north"


@pytest.mark.parametrize("axis", ["east-west", "north-south"])
def test_twice_is_the_room_it_was(tmp_path: Path, axis: str) -> None:
    once = mirrored_room(ROOM, axis)
    assert room_in(tmp_path, mirrored_room(once, axis)) == room_in(tmp_path, ROOM)
    bent = {
        "style": "show",
        "audience": "west",
        "outline": [[0, 0], [6, 0], [6, 2], [3, 2], [3, 5], [0, 5]],
        "finish": {"x": 1, "y": 4},
    }
    there = mirrored_room(bent, axis)
    assert set(room_in(tmp_path, mirrored_room(there, axis)).outline) == set(room_in(tmp_path, bent).outline)
    assert room_in(tmp_path, there).finish != room_in(tmp_path, bent).finish


@given(st.integers(0, 7), st.sampled_from(["east-west", "north-south"]))
def test_directions_of_the_plan_twice_mirrored(faces: int, axis: str) -> None:
    from composer.units import alignment_from

    assert alignment_from(mirrored_facing(mirrored_facing(faces, axis), axis)) == faces
    assert mirrored_facing("audience", axis) == "audience"


def test_the_wish_for_a_direction_goes_with_the_room() -> None:
    mirrored = applied(BRIEF, "brief.yaml", [Ask("mirror", "east-west")], a_timeline()).data
    assert mirrored["wishes"]["opening"] == {"faces": "ALOD"}
    assert mirrored["wishes"]["closing"] == {"faces": "audience"}
    travelling = {**BRIEF, "room": {"style": "travelling", "width": 8, "depth": 5}}
    assert applied(travelling, "b", [Ask("mirror", "east-west")], a_timeline()).data["wishes"] == BRIEF["wishes"]
    bare = {key: value for key, value in BRIEF.items() if key != "room"}
    found = applied(bare, "b", [Ask("mirror", "east-west")], a_timeline())
    assert "room" not in found.data
    assert found.notes == ("without a room there is nothing to mirror",)


@pytest.mark.parametrize("axis", ["east-west", pytest.param("north-south", marks=pytest.mark.slow)])
def test_danced_again_in_the_mirrored_room_and_back(tmp_path: Path, axis: str) -> None:
    (tmp_path / "brief.yaml").write_text(yaml.safe_dump(BRIEF), "utf-8")
    assert run(["compose", str(tmp_path / "brief.yaml"), "--out", str(tmp_path / "out")]) == 0
    path = tmp_path / "out" / "routine.json"
    before, old = path.read_bytes(), open_routine(path).routine
    found = revise(open_routine(path), Request(asks=(Ask("mirror", axis),)))
    assert isinstance(found, Revised), found.outcome if isinstance(found, Failed) else found
    assert verify(found.problem, found.routine) == []
    assert found.breaches, "as it lay it does not fit the mirrored room"
    assert found.least_proven
    assert found.kept > 0, "the figures are not mirrored, so many may stay"
    assert len(found.routine.figures) >= len(old.figures) // 2
    write_revision(found)
    back = revise(open_routine(path), Request(asks=(Ask("mirror", axis),)))
    assert isinstance(back, Revised)
    assert back.how == "earlier version"
    write_revision(back)
    assert path.read_bytes() == before


def test_on_the_command_line(cli: Teller, tmp_path: Path) -> None:
    (tmp_path / "brief.yaml").write_text(yaml.safe_dump(BRIEF), "utf-8")
    assert cli("compose", "brief.yaml", "--out", "out").code == 0
    wrong = cli("revise", "out/routine.json", "--mirror", "upside-down")
    assert wrong.codes == ["CMD022"]
    said = cli("revise", "out/routine.json", "--mirror", "east-west")
    assert said.code == 0, said.err
    assert "changes" in said.out or "change;" in said.out
    assert "left and right of the plan exchanged" in cli("history", "out").out.replace("\n", " ")
