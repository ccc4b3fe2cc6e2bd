"""The practise command: one folder with everything, clear refusals."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner

from composer.cli import practisecommands
from composer.cli.practising import Asked, practise_command
from composer.errors import BadInput

BY_HAND = """
format: routine/1
title: Practised by hand
dances: [waltz]
figures: [left-foot-closed-change, natural-turn, right-foot-closed-change, reverse-turn]
"""


@pytest.fixture
def routine(tmp_path: Path) -> Path:
    path = tmp_path / "routine.yaml"
    path.write_text(BY_HAND, encoding="utf-8")
    return path


def test_one_folder_with_everything(routine: Path, capsys: pytest.CaptureFixture[str]) -> None:
    asked = Asked(speeds=(100, 70), voice=False, first=date(2027, 1, 4), until=date(2027, 2, 1), minutes=30)
    assert practise_command(routine, asked, brief=None, out=None, as_json=True) == 0
    told = json.loads(capsys.readouterr().out)
    names = {Path(f).name for f in told["files"]}
    assert {"practice-100.wav", "practice-70.vtt", "practice.ics", "sheet.html", "sheet.pdf", "practice.html"} <= names
    assert all(Path(f).is_file() and Path(f).parent == routine.parent / "practice" for f in told["files"])
    assert "2027-02-01" in told["plan"]
    # Again into the same folder: our own files may be replaced.
    assert practise_command(routine, Asked(speeds=(50,), voice=False), brief=None, out=None, as_json=False) == 0
    assert "practice-50.wav" in capsys.readouterr().out
    assert not (routine.parent / "practice" / "practice.ics").exists()


def test_every_fault_of_the_options_at_once(routine: Path) -> None:
    wrong = Asked(lengths="cubits", first=date(2027, 1, 4), track=routine.with_name("none.ogg"))
    with pytest.raises(BadInput) as caught:
        practise_command(routine, wrong, brief=None, out=None, as_json=False)
    assert len(caught.value.diagnostics) == 3
    late = Asked(first=date(2027, 1, 4), until=date(2027, 1, 3))
    with pytest.raises(BadInput, match="before the first"):
        practise_command(routine, late, brief=None, out=None, as_json=False)
    assert not (routine.parent / "practice").exists()


def test_options_reach_the_work(routine: Path, tmp_path: Path) -> None:
    app = typer.Typer()
    practisecommands.register(app)
    given = [
        str(routine),
        "--out",
        str(tmp_path / "p"),
        "--speed",
        "60",
        "--ogg",
        "--no-voice",
        "--lengths",
        "feet",
        "--json",
    ]
    done = CliRunner().invoke(app, given)
    assert done.exit_code == 0, done.output
    assert (tmp_path / "p" / "practice-60.ogg").is_file()
    assert CliRunner().invoke(app, [str(routine), "--speed", "39"]).exit_code == 2
    assert CliRunner().invoke(app, [str(routine), "--until", "soon"]).exit_code == 2
