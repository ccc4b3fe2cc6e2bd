"""The travelling dances against charts and routines printed elsewhere.

``tests/facts/published_charts.csv`` holds step charts row by row, ``tests/facts/worked_loops.csv`` two waltz
routines made to be repeated; both name a source on every row. Facings there are those of the feet.
"""

from __future__ import annotations

import csv
from collections.abc import Sequence
from pathlib import Path

import pytest

from composer.catalogue import Catalogue, Figure, Stand, load_catalogue
from composer.charts import Action, Step
from composer.units import ALIGNMENTS

FACTS = Path(__file__).parents[1] / "facts"
Row = dict[str, str]

STEMS = {
    "Natural Turn": "waltz/natural-turn",
    "Reverse Turn": "waltz/reverse-turn",
    "Natural Spin Turn": "waltz/natural-spin-turn",
    "RF Closed Change (natural to reverse)": "waltz/right-foot-closed-change",
    "RF Closed Change": "waltz/right-foot-closed-change",
    "LF Closed Change": "waltz/left-foot-closed-change",
    "Whisk": "waltz/whisk",
    "Chasse from PP": "waltz/chasse-from-promenade",
    "Progressive Chasse to R": "waltz/progressive-chasse-to-right",
    "4-6 Reverse Turn": "waltz/reverse-turn-4-6",
    "Hesitation Change": "waltz/hesitation-change",
    "Outside Change ended PP": "waltz/outside-change-ended-promenade",
    "Outside Change": "waltz/outside-change",
    "Basic Weave": "waltz/basic-weave",
    "Back Lock": "waltz/back-lock",
    "Turning Lock": "waltz/turning-lock",
    "Wing": "waltz/wing",
    "Closed Impetus & Feather Finish": "foxtrot/closed-impetus-and-feather-finish",
    "Feather Step": "foxtrot/feather-step",
    "Three Step": "foxtrot/three-step",
    "Natural Weave": "foxtrot/natural-weave",
    "Forward Change natural to reverse": "viennese-waltz/forward-change-natural-to-reverse",
}
PLACES: dict[str, set[Action]] = {
    "side & slightly fwd": {"side-and-forward"},
    "side & slightly back": {"side-and-back"},
    "back & slightly side": {"back-and-side"},
    "diag fwd": {"diagonal-forward"},
    "diag back": {"diagonal-back"},
    "crosses behind": {"cross-behind"},
    "crosses in front": {"cross-in-front"},
    "closes without weight": {"brush"},
    "starts to close": {"brush"},
    "closes": {"close"},
    "side": {"side"},
    "fwd": {"forward", "forward-across"},
    "back": {"back"},
}


def rows(name: str) -> list[Row]:
    with (FACTS / name).open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return load_catalogue(dances=["waltz", "foxtrot", "viennese-waltz"])


def charts() -> list[tuple[str, str]]:
    return sorted({(r["figure"], r["role"]) for r in rows("published_charts.csv")})


def first_facing(figure: Figure, role: str, stance16: int) -> int:
    assert figure.chart.entry.faces is not None
    leader = figure.chart.entry.faces[0]
    return leader if role == "leader" else (leader + stance16 // 2) % 8


@pytest.mark.parametrize(("name", "role"), charts())
def test_chart_agrees_with_print(catalogue: Catalogue, name: str, role: str) -> None:
    printed = [r for r in rows("published_charts.csv") if (r["figure"], r["role"]) == (name, role)]
    figure = catalogue.figures[STEMS[name]]
    steps: Sequence[Step] = getattr(figure.chart, role)
    assert len(steps) == len(printed)
    stance = catalogue.stances[catalogue.holds[figure.chart.entry.hold].stance]
    feet16 = 2 * first_facing(figure, role, stance.facing)
    for step, row in zip(steps, printed, strict=True):
        where = f"{name}, {role}, step {row['step']} ({row['source']})"
        feet16 += step.turn
        foot, _, place = row["foot"].partition("F ")
        assert step.foot == foot, where
        wanted = next(actions for word, actions in PLACES.items() if place.startswith(word))
        assert step.do in wanted, where
        assert step.turn == 2 * int(row["turn_eighths"]), where
        assert feet16 % 16 == 2 * int(row["facing_eighth"]), where


@pytest.mark.parametrize("loop", ["beginner waltz loop", "bronze waltz loop"])
def test_printed_loop_joins_and_closes(catalogue: Catalogue, loop: str) -> None:
    stand: Stand | None = None
    printed = [r for r in rows("worked_loops.csv") if r["routine"] == loop]
    for row in [*printed, printed[0]]:
        figure = catalogue.figures[STEMS[row["figure"]]]
        word = row["commencing_alignment"]
        faces = (ALIGNMENTS.index(word[1:]) + (4 if word[0] == "B" else 0)) % 8
        entry = figure.chart.entry
        assert figure.chart.beats == int(row["beats"])
        assert entry.faces is None or faces in entry.faces, row["figure"]
        if stand is not None:
            assert stand.faces == faces, row["figure"]
            assert catalogue.joins(stand, figure), row["figure"]
        stand = figure.end_of(faces)
