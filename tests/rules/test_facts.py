"""Outside facts the rules rest on: tests/facts/phrasing.csv and tests/facts/floor_and_safety.csv (sources there)."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from composer.charts import OPT_IN_CAUTIONS
from composer.routine import Placed
from composer.rules import phrasing
from composer.units import ALIGNMENTS
from tests.builders import a_figure, a_problem, a_routine, a_timeline

FACTS = Path(__file__).parents[1] / "facts"


def _rows(name: str) -> dict[str, dict[str, str]]:
    with (FACTS / name).open(encoding="utf-8", newline="") as file:
        return {row["item"]: row for row in csv.DictReader(file)}


@pytest.mark.parametrize(("item", "accepted"), [("ACCEPT 4+2+2+8", True), ("REJECT 4+8+2+2", False)])
def test_halves_of_a_phrase_are_kept_as_a_caller_keeps_them(item: str, accepted: bool) -> None:
    """Phrases of eight beats: a figure of eight may not straddle the boundary in the middle of sixteen."""
    assert item in _rows("phrasing.csv")
    beats = [int(part) for part in item.split()[1].split("+")]
    figures = [a_figure(f"for-{number}", number) for number in sorted(set(beats))]
    problem = a_problem(figures, {"protect": "phrases"}, timeline=a_timeline(4, 4, 2))
    routine = a_routine(problem, [f"for-{number}" for number in beats])
    assert (not phrasing.breaches(problem, routine)) == accepted


def test_a_corner_renames_diagonal_centre_to_diagonal_wall() -> None:
    row = _rows("floor_and_safety.csv")["room has 4 LODs; corner re-labels alignment by +2 eighths"]
    old, new = (part.split()[0] for part in row["value"].split(" = "))
    placed = Placed("test/a", 0, 48, ALIGNMENTS.index(old), corners=1)
    assert ALIGNMENTS[placed.alignment] == new


def test_neck_wraps_drops_lifts_and_dips_need_consent() -> None:
    row = _rows("floor_and_safety.csv")["neck wraps, drops, aerials"]
    assert row["value"] == "never generate without an explicit opt-in"
    assert {"neck-wrap", "drop", "lift", "dip", "behind-the-back"} <= OPT_IN_CAUTIONS
