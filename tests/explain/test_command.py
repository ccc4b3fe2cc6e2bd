"""``routine-composer why`` from outside: exit codes, JSON, the page, bad input."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.speaking import Teller

BRIEF = """\
format: brief/1
title: Two bars
dance: waltz
music: {tempo: 88, bars: 4}
wishes:
  must: [box step]
"""


@pytest.fixture
def brief(tmp_path: Path) -> Path:
    file = tmp_path / "two.yaml"
    file.write_text(BRIEF, "utf-8")
    return file


@pytest.fixture
def clashing(tmp_path: Path) -> Path:
    file = tmp_path / "clashing.yaml"
    file.write_text(BRIEF + "  never: [box step]\n", "utf-8")
    return file


def test_a_brief_with_a_routine_has_nothing_to_explain(cli: Teller, brief: Path) -> None:
    said = cli("why", brief)
    assert said.code == 0
    assert "There is one" in said.out


def test_a_clash_is_told_with_lines_and_remedies_and_written_as_a_page(
    cli: Teller, clashing: Path, tmp_path: Path
) -> None:
    said = cli("why", clashing, "--out", "why.html")
    assert said.code == 3
    assert "clashing.yaml:6 wishes.must[0]" in said.out
    assert "clashing.yaml:7 wishes.never[0]" in said.out
    assert "What would help" in said.out
    page = (tmp_path / "why.html").read_text("utf-8")
    assert "proved" in page
    assert "wishes.never[0]" in page


def test_json_has_members_and_verified_remedies(cli: Teller, clashing: Path) -> None:
    said = cli("why", clashing, "--json")
    assert said.code == 3
    assert said.document["status"] == "no-routine"
    (clash,) = said.document["clashes"]
    assert clash["minimal"] is True
    assert len(clash["wishes"]) == 2
    assert said.document["remedies"]
    assert all(remedy["verified"] for remedy in said.document["remedies"])


def test_compose_tells_the_same(cli: Teller, clashing: Path) -> None:
    said = cli("compose", clashing, "--json")
    assert said.code == 3
    told = cli("why", clashing, "--json").document
    assert said.document["clashes"] == told["clashes"]
    assert said.document["remedies"] == told["remedies"]


def test_a_figure_and_a_count(cli: Teller, brief: Path, tmp_path: Path) -> None:
    said = cli("why", brief, "--figure", "hesitation left", "--json")
    assert said.code in (0, 3)
    assert said.document["figure"] == "waltz/hesitation-left"
    assert cli("compose", brief, "--out", "out").code == 0
    said = cli("why", tmp_path / "out" / "routine.json", "--count", "3", "--brief", brief, "--json")
    assert said.code == 0
    assert said.document["status"] == "answered"
    assert cli("why", tmp_path / "out" / "routine.json", "--count", "3").code == 0


@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        (("--figure", "box stepp"), "CMD021"),
        (("--at", "3"), "CMD010"),
        (("--count", "3"), "CMD010"),
        (("--figure", "box step", "--at", "400"), "CMD011"),
        (("--out", "."), "OUT002"),
    ],
)
def test_bad_questions_are_refused(cli: Teller, brief: Path, arguments: tuple[str, ...], code: str) -> None:
    said = cli("why", brief, *arguments)
    assert said.code == 2
    assert code in said.err


def test_too_little_time_is_never_a_proof(cli: Teller) -> None:
    said = cli("why", "showcase", "--time-limit", "0.1", "--json")
    assert said.code in (0, 4)
    assert said.document["status"] in ("possible", "undecided")
