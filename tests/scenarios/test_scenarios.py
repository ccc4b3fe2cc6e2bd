"""The shipped scenarios, end to end as a user runs them: proven best, checked, the same twice, within a gigabyte."""

from __future__ import annotations

import json
import resource
import subprocess
import sys
from pathlib import Path

import pytest

from composer.brief import load_problem
from composer.routinefile import load_routine
from composer.verify import verify

SCENARIOS = ("first-dance", "showcase", "travelling", "turn-about")
SHEETS = {"routine.json", "sheet.html", "plan.svg", "timeline.svg"}
KIB_IN_A_GIB = 1024 * 1024


def composed(name: str, out: Path) -> bytes:
    """Run the command in a process of its own; the bytes of its routine."""
    command = [sys.executable, "-m", "composer", "compose", name, "--out", str(out), "--time-limit", "60"]
    done = subprocess.run(command, cwd=out.parent, capture_output=True, text=True, timeout=500, check=False)
    assert done.returncode == 0, done.stderr
    assert "proven best" in done.stdout
    assert {p.name for p in out.iterdir()} >= SHEETS
    return (out / "routine.json").read_bytes()


@pytest.mark.parametrize("name", SCENARIOS)
def test_a_scenario_is_proved_checked_and_the_same_twice(name: str, tmp_path: Path) -> None:
    first = composed(name, tmp_path / "one")
    assert composed(name, tmp_path / "two") == first
    data = json.loads(first)
    assert data["status"] == "best"
    assert data["bound"] == data["score"]
    problem, routine = load_routine(tmp_path / "one" / "routine.json", name)
    assert verify(problem, routine) == []
    assert resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss <= KIB_IN_A_GIB


def test_hits_of_the_showcase_are_danced(tmp_path: Path) -> None:
    """The strong hit of the tune (bar 41, beat 3) meets the peak of a figure."""
    data = json.loads(composed("showcase", tmp_path / "out"))
    problem = load_problem("showcase")
    bar_41_beat_3 = ((41 - 33) * 3 + 2) * 12
    peaks = {
        placed["start_tick"] + figure.peak_tick
        for placed in data["figures"]
        if (figure := problem.catalogue.figures[placed["figure"]]).peak_tick is not None
    }
    assert bar_41_beat_3 in peaks
