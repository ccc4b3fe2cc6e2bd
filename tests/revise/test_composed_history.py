"""Composing keeps version 1; composing again never loses what was there."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from composer.brief.load import problem_from
from composer.compose import write_routine
from composer.outcome import Found
from composer.problem import Problem
from composer.resources import shipped
from composer.revise import Request, Revised, load_versions, open_routine, restore, revise, write_revision
from composer.revise.asks import Ask
from composer.routine import Routine
from composer.solve import solve
from composer.textfiles import Document, read_yaml
from tests.cli.speaking import tree
from tests.revise.conftest import Composed


@pytest.fixture
def first(composed: Composed) -> tuple[Problem, Routine]:
    return composed("first-dance")


def notes(home: Path) -> list[str]:
    versions, faults = load_versions(home)
    assert faults == []
    return [version.note for version in versions]


def test_a_composed_routine_is_version_1(first: tuple[Problem, Routine], tmp_path: Path) -> None:
    home = tmp_path / "out"
    write_routine(*first, home)
    assert notes(home) == ["Composed"]
    opened = open_routine(home / "routine.json")
    assert opened.current is not None
    assert opened.current.number == 1
    assert opened.problem.document == first[0].document, "the brief's lines are known again"
    assert "versions/v0001.json" not in json.loads((home / ".routine-composer.json").read_text("utf-8"))["files"]


def test_composing_the_same_again_changes_no_byte(first: tuple[Problem, Routine], tmp_path: Path) -> None:
    home = tmp_path / "out"
    write_routine(*first, home)
    before = {path: path.read_bytes() for path in home.rglob("*.json")}
    listed = tree(home)
    write_routine(*first, home)
    assert {path: path.read_bytes() for path in home.rglob("*.json")} == before
    assert tree(home).keys() == listed.keys()


def test_restore_1_after_a_revision_and_composing_over_it(first: tuple[Problem, Routine], tmp_path: Path) -> None:
    home = tmp_path / "out"
    path = home / "routine.json"
    write_routine(*first, home)
    before = path.read_bytes()
    found = revise(open_routine(path), Request(asks=(Ask("forbid", "waltz/box-quarter-left"),)))
    assert isinstance(found, Revised)
    write_revision(found)
    revised = path.read_bytes()
    assert len(notes(home)) == 2, "the composed one is not kept twice"
    write_routine(*first, home)
    assert path.read_bytes() == before
    assert len(notes(home)) == 2, "composed again it is version 1"
    restore(open_routine(path), load_versions(home)[0][1])
    assert path.read_bytes() == revised
    restore(open_routine(path), load_versions(home)[0][0])
    assert path.read_bytes() == before


def edited(path: Path, change: Any) -> None:
    data = json.loads(path.read_text("utf-8"))
    change(data)
    path.write_text(json.dumps(data), "utf-8")


def test_a_hand_edit_is_kept_when_composing_over_it(first: tuple[Problem, Routine], tmp_path: Path) -> None:
    home = tmp_path / "out"
    path = home / "routine.json"
    write_routine(*first, home)

    def swap(data: dict[str, Any]) -> None:
        data["figures"][0]["figure"], data["figures"][1]["figure"] = "waltz/whisk", "waltz/chasse"

    edited(path, swap)
    by_hand = json.loads(path.read_text("utf-8"))
    write_routine(*first, home)
    assert notes(home) == ["Composed", "Edited by hand"]
    assert load_versions(home)[0][1].routine == by_hand


def test_what_is_no_record_is_put_aside(first: tuple[Problem, Routine], tmp_path: Path) -> None:
    home = tmp_path / "out"
    path = home / "routine.json"
    write_routine(*first, home)
    for text in ('{"format": "routine/1", "figures": ["whisk"]}', "not even JSON", "[]", "not even JSON"):
        path.write_text(text, "utf-8")
        write_routine(*first, home)
    aside = {file.name: file.read_text("utf-8") for file in home.glob("routine-by-hand-*.json")}
    assert aside == {
        "routine-by-hand-1.json": '{"format": "routine/1", "figures": ["whisk"]}',
        "routine-by-hand-2.json": "not even JSON",
        "routine-by-hand-3.json": "[]",
    }
    assert notes(home) == ["Composed"]


def test_another_brief_over_the_same_folder_is_another_version(first: tuple[Problem, Routine], tmp_path: Path) -> None:
    home = tmp_path / "out"
    write_routine(*first, home)
    document = read_yaml(shipped("scenarios") / "first-dance" / "brief.yaml")
    other = problem_from(replace(document, data={**document.data, "title": "Another title"}))
    outcome = solve(other)
    assert isinstance(outcome, Found)
    write_routine(other, outcome.routine, home)
    assert notes(home) == ["Composed", "Composed"]
    assert open_routine(home / "routine.json").problem.brief.title == "Another title"
    restore(open_routine(home / "routine.json"), load_versions(home)[0][0])
    assert open_routine(home / "routine.json").problem.brief.title == first[0].brief.title


def test_a_brief_changed_since_is_remembered_as_it_was(tmp_path: Path) -> None:
    """The file of the brief says something else by now: the routine's own brief is what a revision starts from."""
    source = (shipped("scenarios") / "first-dance" / "brief.yaml").read_text("utf-8")
    file = tmp_path / "brief.yaml"
    for extra in shipped("scenarios").joinpath("first-dance").iterdir():
        (tmp_path / extra.name).write_bytes(extra.read_bytes())
    problem = problem_from(read_yaml(file))
    outcome = solve(problem)
    assert isinstance(outcome, Found)
    home = tmp_path / "out"
    write_routine(problem, outcome.routine, home)
    file.write_text(source.replace("title:", "title: Changed #"), "utf-8")
    assert open_routine(home / "routine.json").problem.brief.title == problem.brief.title
    file.unlink()
    opened = open_routine(home / "routine.json")
    assert opened.problem.document == Document(opened.problem.document.file, problem.document.data, {})
