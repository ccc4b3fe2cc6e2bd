"""The same seed gives the same bytes, whether the machine is idle or busy: limits count work, not seconds."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

HERE = Path(__file__).resolve().parents[2]
COMPOSE = """
import json, sys
from composer.routine import as_data
from composer.solve import solve
from composer.solve.decide import Effort
from tests.benchmarks.instances import Case
counts, figures, room, variant = map(int, sys.argv[1:5])
effort = Effort()
problem = Case(counts, figures, bool(room), variant, sys.argv[6]).problem()
outcome = solve(problem, seed=variant, time_limit_s=float(sys.argv[5]), effort=effort)
routine = getattr(outcome, "routine", None)
print(type(outcome).__name__, getattr(outcome, "proven_best", None), getattr(outcome, "bound", None), effort)
print(None if routine is None else json.dumps(as_data(routine)))
"""
BUSY = "while True: sum(range(100000))"
LOAD = 4
"""So many processes that do nothing but use the machine."""


def composed(*case: object) -> bytes:
    """What a search in a process of its own tells: kind of outcome, bound, effort, routine."""
    command = [sys.executable, "-c", COMPOSE, *map(str, case)]
    done = subprocess.run(command, capture_output=True, check=True, timeout=900, cwd=HERE)
    return done.stdout


@contextmanager
def busy_machine() -> Iterator[None]:
    """Others use the machine meanwhile."""
    others = [subprocess.Popen([sys.executable, "-c", BUSY]) for _ in range(LOAD)]
    try:
        yield
    finally:
        for other in others:
            other.kill()
        for other in others:
            other.wait()


@pytest.mark.slow
@pytest.mark.parametrize(
    "case",
    [
        (64, 60, 0, 0, 60, "usual"),  # proved
        (96, 100, 0, 1, 1, "all"),  # the work is used up before anything is proved
        (96, 100, 1, 0, 1, "usual"),  # ... with a room
    ],
    ids=["proved", "cut off", "cut off in a room"],
)
def test_busy_and_idle_machine_give_the_same_bytes(case: tuple[object, ...]) -> None:
    quiet = composed(*case)
    with busy_machine():
        assert composed(*case) == quiet
    assert quiet.startswith((b"Found", b"Undecided"))


def test_same_bytes_twice() -> None:
    first, second = (composed(64, 60, 0, 0, 20, "usual") for _ in range(2))
    assert first == second
    assert first.startswith(b"Found True")


@pytest.mark.slow
def test_other_seeds_may_differ_in_the_routine_never_in_the_best_score() -> None:
    scores = set()
    for seed in range(3):
        script = COMPOSE.replace("seed=variant", f"seed={seed}")
        done = subprocess.run(
            [sys.executable, "-c", script, "64", "60", "0", "0", "20", "usual"],
            capture_output=True, check=True, timeout=600, cwd=HERE,
        )  # fmt: skip
        kind, proven, bound, _ = done.stdout.split(maxsplit=3)
        assert (kind, proven) == (b"Found", b"True")
        scores.add(bound)
    assert len(scores) == 1
