"""The whole way with the real solver: composed, proved, checked, written; the same brief twice gives the same bytes."""

from __future__ import annotations

from pathlib import Path

import pytest

from composer.compose import run
from composer.outcome import Found
from composer.verify import verify
from tests.cli.speaking import Teller, process, tree

SMALL = """\
format: brief/1
title: Eight bars
dance: waltz
music: {tempo: 88, bars: 8, phrase_bars: 4}
room: {style: show, width: 8 m, depth: 8 m, audience: south}
wishes:
  must: [box step]
  repeats: {most: 3}
  closing: {faces: audience}
"""


TINY = SMALL.replace("bars: 8, phrase_bars: 4", "bars: 2").replace("  closing: {faces: audience}\n", "")


@pytest.fixture
def brief(tmp_path: Path) -> Path:
    file = tmp_path / "eight.yaml"
    file.write_text(SMALL, "utf-8")
    return file


def test_a_small_brief_is_composed_proved_and_checked_twice_alike(cli: Teller, brief: Path, tmp_path: Path) -> None:
    said = cli("compose", brief, "--out", "one", "--json")
    assert said.code == 0, said.err
    assert said.document["proven_best"] is True
    written = {name for name in tree(tmp_path / "one") if not name.startswith("versions")}
    assert {Path(name).name for name in said.document["files"]} == written - {".routine-composer.json"}
    names = [item["figure"] for item in said.document["routine"]["figures"]]
    assert "waltz/box-step" in names
    assert cli("verify", "one/routine.json", "--brief", brief).code == 0
    assert cli("compose", brief, "--out", "two", "--json").code == 0
    files = [path.relative_to(tmp_path / "one") for path in (tmp_path / "one").rglob("*") if path.is_file()]
    assert any(path.parts[0] == "versions" for path in files)
    for name in files:
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes(), name


def test_the_score_card_of_a_composed_routine_is_what_the_checker_counts(brief: Path) -> None:
    done = run(brief)
    assert isinstance(done.outcome, Found)
    routine = done.outcome.routine
    assert routine.score == sum(line.points for line in routine.score_card) <= done.outcome.bound
    assert verify(done.problem, routine) == []


def test_wishes_that_contradict_each_other_are_proved_impossible_and_named(cli: Teller, brief: Path) -> None:
    brief.write_text(TINY + "  never: [box step]\n", "utf-8")
    said = cli("compose", brief, "--out", "out", "--json")
    assert said.code == 3
    keys = {wish["key"] for clash in said.document["clashes"] for wish in clash["wishes"]}
    assert any(key.startswith("must") for key in keys)
    assert any(key.startswith("never") or "never" in key for key in keys)


def test_a_room_too_small_to_turn_in_is_proved_impossible(cli: Teller, brief: Path) -> None:
    brief.write_text(TINY.replace("width: 8 m, depth: 8 m", "width: 0.7 m, depth: 0.7 m"), "utf-8")
    said = cli("compose", brief, "--out", "out")
    assert said.code == 3
    assert "proved" in said.out


def test_as_a_real_process_the_json_is_pure(brief: Path, tmp_path: Path) -> None:
    said = process("compose", brief, "--json", "--out", tmp_path / "out")
    assert said.code == 0
    assert said.document["status"] == "found"
    assert "Traceback" not in said.err
