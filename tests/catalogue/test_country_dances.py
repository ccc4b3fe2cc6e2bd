"""The country dances: rhythms and turns against published figures, tempi, and whether a routine can be built.

``tests/facts/country_figures.csv`` and ``country_tempi.csv`` name a source on every row. That every figure can be
reached and left, and that beginners can fill the usual phrases, is common practice, no source.
"""

from __future__ import annotations

import csv
import re
from collections import defaultdict
from pathlib import Path

import pytest

from composer.catalogue import Catalogue, Figure, Stand, load_catalogue
from composer.charts import OPT_IN_CAUTIONS, WEIGHT_TAKING, Step

FACTS = Path(__file__).parents[1] / "facts"
DANCES = ("triple-two", "two-step", "polka", "nightclub-two-step")
LEAST_FIGURES = {"triple-two": 28, "two-step": 18, "polka": 12, "nightclub-two-step": 15}
PHRASES = (16, 32, 48, 96)


def rows(name: str) -> list[dict[str, str]]:
    with (FACTS / name).open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return load_catalogue(dances=DANCES)


def weight_changes(steps: tuple[Step, ...]) -> int:
    return sum(step.do in WEIGHT_TAKING for step in steps)


def figures_of(catalogue: Catalogue, dance: str, level: int = 5, *, opted: bool = True) -> list[Figure]:
    return [
        f
        for f in catalogue.figures.values()
        if f.chart.dance == dance and f.chart.level <= level and (opted or not set(f.chart.cautions) & OPT_IN_CAUTIONS)
    ]


def onward(catalogue: Catalogue, figures: list[Figure], stand: Stand) -> list[tuple[Figure, Stand]]:
    """Figures that can begin in a stand, and how they leave the couple (no corner turned before)."""
    return [
        (f, f.end_of(stand.faces))
        for f in figures
        if catalogue.joins(stand, f) and (f.chart.entry.faces is None or stand.faces in f.chart.entry.faces)
    ]


def ways(catalogue: Catalogue, figures: list[Figure], first: Stand, *, corners: bool) -> dict[Stand, set[Stand]]:
    """Every stand that can be reached and where it leads; a corner of the room renames the alignment by +2."""
    result: dict[Stand, set[Stand]] = {}
    todo = [first]
    while todo:
        here = todo.pop()
        if here in result:
            continue
        result[here] = {after for _, after in onward(catalogue, figures, here)}
        if corners:
            renamed = Stand(here.hold, (here.faces + 2) % 8, here.leader_free, here.follower_free)
            result[here] |= {after for _, after in onward(catalogue, figures, renamed)}
        todo += result[here]
    return result


def begin(catalogue: Catalogue, dance: str) -> Stand:
    return Stand(catalogue.dances[dance].usual_hold, 0, "L", "R")


@pytest.mark.parametrize("dance", DANCES)
@pytest.mark.parametrize("level", [1, 2, 3, 4])
@pytest.mark.parametrize("opted", [True, False])
def test_no_stand_is_a_dead_end_at_any_level(catalogue: Catalogue, dance: str, level: int, opted: bool) -> None:
    first = begin(catalogue, dance)
    graph = ways(catalogue, figures_of(catalogue, dance, level, opted=opted), first, corners=False)
    back = {first}
    grown = True
    while grown:
        more = {s for s, after in graph.items() if s not in back and after & back}
        back |= more
        grown = bool(more)
    assert not set(graph) - back


@pytest.mark.parametrize("dance", DANCES)
@pytest.mark.parametrize("level", [1, 2, 3, 4])
def test_every_figure_can_be_danced_at_its_level(catalogue: Catalogue, dance: str, level: int) -> None:
    figures = figures_of(catalogue, dance, level)
    reached = ways(catalogue, figures, begin(catalogue, dance), corners=True)
    used = set()
    for stand in reached:
        for turned in (0, 2):
            here = Stand(stand.hold, (stand.faces + turned) % 8, stand.leader_free, stand.follower_free)
            used |= {f.id for f, _ in onward(catalogue, figures, here)}
    assert used == {f.id for f in figures}


@pytest.mark.parametrize("dance", DANCES)
def test_beginners_can_fill_the_usual_phrases(catalogue: Catalogue, dance: str) -> None:
    figures = figures_of(catalogue, dance, 1)
    bar = catalogue.dances[dance].beats_per_bar
    at: list[dict[Stand, int]] = [defaultdict(int) for _ in range(PHRASES[-1] + 65)]
    at[0][begin(catalogue, dance)] = 1
    for beat in range(PHRASES[-1]):
        for stand, number in at[beat].items():
            for figure, after in onward(catalogue, figures, stand):
                if beat % bar + 1 in figure.chart.starts_on:
                    at[beat + figure.chart.beats][after] += number
    for beats in PHRASES:
        assert sum(at[beats].values()) > 1, f"{dance} cannot fill {beats} counts at level 1"


@pytest.mark.parametrize("dance", DANCES)
def test_the_dance_is_well_stocked(catalogue: Catalogue, dance: str) -> None:
    figures = figures_of(catalogue, dance)
    stems = {f.id.split("/")[1] for f in figures}
    page = catalogue.dances[dance]
    assert len(figures) >= LEAST_FIGURES[dance]
    assert set(page.starts_with) <= stems
    assert all(catalogue.figures[f"{dance}/{stem}"].chart.level == 1 for stem in page.starts_with)
    assert any("opening" in f.chart.good_for for f in figures)
    assert any("ending" in f.chart.good_for for f in figures)


@pytest.mark.parametrize(
    ("published", "figure"),
    [
        ("triple two basic", "triple-two/basic"),
        ("country two step basic", "two-step/basic"),
        ("nightclub basic", "nightclub-two-step/basic"),
    ],
)
def test_basics_have_the_published_steps_and_no_turn(catalogue: Catalogue, published: str, figure: str) -> None:
    row = next(r for r in rows("country_figures.csv") if r["figure"] == published)
    chart = catalogue.figures[figure].chart
    half_beats = "half-beats" in row["beats"]
    assert chart.beats * (2 if half_beats else 1) == int(re.findall(r"\d+", row["beats"])[0])
    for steps in (chart.leader, chart.follower):
        assert weight_changes(steps) == int(row["steps"])
        assert all(step.turn == 0 for step in steps)


def test_two_step_outside_turn_is_split_as_published(catalogue: Catalogue) -> None:
    """Half on the last slow, the other half across the two quicks."""
    row = next(r for r in rows("country_figures.csv") if r["figure"] == "country two step outside turn")
    assert row["turn_eighths_per_step"].startswith("0 0 0 +4 | +4 over QQ | 0 0")
    chart = catalogue.figures["two-step/underarm-turn"].chart
    turns = [step.turn // 2 for step in chart.follower]
    assert len(turns) == int(row["steps"])
    assert chart.beats == int(row["beats"])
    assert [turns[:4], sum(turns[4:6]), turns[6:]] == [[0, 0, 0, 4], 4, [0, 0]]


def test_six_count_units_leave_the_same_feet_free(catalogue: Catalogue) -> None:
    """Two walks and two triples: eight weight changes in six beats (common practice, no source)."""
    units = 0
    for figure in figures_of(catalogue, "triple-two"):
        chart = figure.chart
        assert (chart.entry.leader_free, chart.entry.follower_free) == ("L", "R"), figure.id
        assert (chart.exit.leader_free, chart.exit.follower_free) == ("L", "R"), figure.id
        if chart.beats == 6 and "ending" not in chart.good_for:
            units += 1
            assert (weight_changes(chart.leader), weight_changes(chart.follower)) == (8, 8), figure.id
    assert units > 60


@pytest.mark.parametrize("dance", ["two-step", "polka", "nightclub-two-step"])
def test_tempo_lies_within_what_is_published(catalogue: Catalogue, dance: str) -> None:
    names = {"two-step": "country two step", "polka": "polka", "nightclub-two-step": "nightclub two step"}
    published = [r for r in rows("country_tempi.csv") if r["item"].endswith(names[dance])]
    ranges = []
    for row in published:
        least, most = (float(n) for n in re.findall(r"\d+", row["value"])[:2])
        per_bar = 4 if row["unit"] == "bars/min" else 1
        ranges.append((least * per_bar, most * per_bar))
    tempo = catalogue.dances[dance].tempo
    assert min(least for least, _ in ranges) <= tempo.least
    assert tempo.most <= max(most for _, most in ranges)
