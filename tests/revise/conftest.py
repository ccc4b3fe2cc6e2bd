"""Composed scenarios to revise: each is composed once and copied for every test that needs files."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from composer.brief import load_problem
from composer.outcome import Found
from composer.problem import Problem
from composer.resources import shipped
from composer.routine import Routine, as_data
from composer.solve import solve
from composer.textfiles import json_text, write_text

Composed = Callable[[str], tuple[Problem, Routine]]


@pytest.fixture(scope="session")
def composed() -> Composed:
    """A scenario's problem and its best routine."""
    known: dict[str, tuple[Problem, Routine]] = {}

    def get(name: str) -> tuple[Problem, Routine]:
        if name not in known:
            problem = load_problem(shipped("scenarios") / name)
            outcome = solve(problem)
            assert isinstance(outcome, Found)
            known[name] = problem, outcome.routine
        return known[name]

    return get


@pytest.fixture
def folder(tmp_path: Path, composed: Composed) -> Callable[[str], Path]:
    """``routine.json`` of a scenario in a folder of its own."""

    def make(name: str) -> Path:
        home = tmp_path / f"{name}-routine"
        shutil.rmtree(home, ignore_errors=True)
        home.mkdir()
        write_text(home / "routine.json", json_text(as_data(composed(name)[1])))
        write_text(home / ".routine-composer.json", json_text({"format": "output/1", "files": ["routine.json"]}))
        return home / "routine.json"

    return make
