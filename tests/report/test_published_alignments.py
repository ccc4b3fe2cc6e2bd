"""Alignments on our sheets against printed charts (rows and sources: ``tests/facts/published_charts.csv``).

Only the *words* are compared here (facing, backing, pointing and which way); feet and amounts of turn have their own
tests with the catalogue.
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from composer.catalogue import Catalogue, load_catalogue
from composer.report.directions import Compass
from composer.report.steps import step_lines
from composer.routine import Placed
from composer.units import ALIGNMENTS
from tests.catalogue.test_published_charts import STEMS

FACTS = Path(__file__).parents[1] / "facts" / "published_charts.csv"
WORDS = {"F": "facing", "B": "backing", "P": "pointing"}
# Rows where our word differs from the printed one, with the reason; the direction itself agrees in all of them.
OTHER_WORD = {
    ("Basic Weave", "leader", "2"): "print names this small step by the back steps that follow it",
    ("Basic Weave", "follower", "2"): "print names this small step by the forward steps that follow it",
    ("Basic Weave", "leader", "6"): "our chart gives no body turn apart from the foot, so the foot does not point",
    ("Outside Change", "leader", "3"): "as above",
    ("Turning Lock", "leader", "4"): "as above",
    ("Wing", "leader", "1"): "as above",
    ("Closed Impetus & Feather Finish", "leader", "2"): "a heel turn: print says where it ends, ours how it goes on",
    ("Wing", "leader", "2"): "print says what the step goes towards, which is no alignment of the body",
}


def printed() -> dict[tuple[str, str], list[dict[str, str]]]:
    found: dict[tuple[str, str], list[dict[str, str]]] = {}
    with FACTS.open(encoding="utf-8", newline="") as stream:
        for row in csv.DictReader(stream):
            if row["alignment"]:
                found.setdefault((row["figure"], row["role"]), []).append(row)
    return found


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return load_catalogue(dances=["waltz", "foxtrot", "viennese-waltz"])


@pytest.mark.parametrize(("name", "role"), sorted(printed()))
def test_alignment_words_agree_with_print(catalogue: Catalogue, name: str, role: str) -> None:
    rows = printed()[name, role]
    figure = catalogue.figures[STEMS[name]]
    faces = (figure.chart.entry.faces or (0,))[0]
    lines = step_lines(figure, Placed(figure.id, 0, figure.length_ticks, faces), role, Compass("line", 0))  # type: ignore[arg-type]
    for row in rows:
        ends = lines[int(row["step"]) - 1].ends
        if (name, role, row["step"]) == ("Wing", "leader", "2"):
            continue
        assert _way(ends) == _way(f"{WORDS[row['alignment'][0]]} {row['alignment'][1:]}"), row
        same = ends == f"{WORDS[row['alignment'][0]]} {row['alignment'][1:]}"
        assert same == ((name, role, row["step"]) not in OTHER_WORD), (row, ends)


def _way(words: str) -> int:
    """The direction that is meant, in eighths: backing X is facing the opposite of X."""
    how, where = words.split()
    return (ALIGNMENTS.index(where) + (4 if how == "backing" else 0)) % 8
