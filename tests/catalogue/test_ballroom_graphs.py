"""The ballroom dances: nothing is a dead end, every figure is reached, beginners can fill the usual lengths.

Common practice, no source. Tempo ranges are held to ``tests/facts/ballroom_tempi.csv``, which names its sources.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator, Sequence
from pathlib import Path

import pytest

from composer.catalogue import Catalogue, Figure, Stand, load_catalogue

FACTS = Path(__file__).parents[1] / "facts"
LEAST_FIGURES = {"waltz": 28, "viennese-waltz": 12, "foxtrot": 18, "quickstep": 18}
LEVELS = (1, 2, 3, 4)
LENGTHS = (24, 48, 96)
FIXED_STEMS = (
    "natural-turn", "reverse-turn", "reverse-turn-4-6", "natural-turn-1-3", "right-foot-closed-change",
    "left-foot-closed-change", "natural-spin-turn", "whisk", "chasse-from-promenade", "progressive-chasse-to-right",
    "outside-change", "outside-change-ended-promenade", "hesitation-change", "closed-impetus", "reverse-corte",
    "back-whisk", "double-reverse-spin", "weave-from-promenade", "basic-weave", "open-impetus", "outside-spin",
    "turning-lock", "drag-hesitation",
)  # fmt: skip


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return load_catalogue(dances=list(LEAST_FIGURES))


def figures_of(catalogue: Catalogue, dance: str, level: int, style: str | None = None) -> list[Figure]:
    return [
        f
        for f in catalogue.figures.values()
        if f.chart.dance == dance and f.chart.level <= level and (style is None or style in f.styles)
    ]


def onward(
    catalogue: Catalogue, figures: Sequence[Figure], stand: Stand, *, aligned: bool = True
) -> Iterator[tuple[Figure, Stand]]:
    for figure in figures:
        faces = figure.chart.entry.faces
        if catalogue.joins(stand, figure) and (not aligned or faces is None or stand.faces in faces):
            yield figure, figure.end_of(stand.faces)


def begin(dance: str) -> Stand:
    """Closed hold, the leader facing diagonally to the wall, left foot free."""
    return Stand("closed", 1, "L", "R")


def reached(catalogue: Catalogue, figures: Sequence[Figure], first: Stand) -> dict[Stand, set[Stand]]:
    graph: dict[Stand, set[Stand]] = {}
    todo = [first]
    while todo:
        here = todo.pop()
        if here not in graph:
            graph[here] = {after for _, after in onward(catalogue, figures, here)}
            todo += graph[here]
    return graph


@pytest.mark.parametrize("dance", LEAST_FIGURES)
@pytest.mark.parametrize("level", LEVELS)
def test_every_stand_leads_back_to_the_first(catalogue: Catalogue, dance: str, level: int) -> None:
    first = begin(dance)
    graph = reached(catalogue, figures_of(catalogue, dance, level), first)
    back: set[Stand] = {first}
    while more := {s for s, after in graph.items() if s not in back and after & back}:
        back |= more
    assert set(graph) == back


@pytest.mark.parametrize("dance", LEAST_FIGURES)
@pytest.mark.parametrize("level", LEVELS)
def test_every_figure_is_reached_at_its_level(catalogue: Catalogue, dance: str, level: int) -> None:
    figures = figures_of(catalogue, dance, level)
    used = {f.id for stand in reached(catalogue, figures, begin(dance)) for f, _ in onward(catalogue, figures, stand)}
    assert {f.id for f in figures} == used


@pytest.mark.parametrize("dance", LEAST_FIGURES)
@pytest.mark.parametrize("style", ["travelling", "spot"])
@pytest.mark.parametrize("beats", LENGTHS)
def test_beginners_fill_the_usual_lengths_and_end_on_a_pose(
    catalogue: Catalogue, dance: str, style: str, beats: int
) -> None:
    figures = figures_of(catalogue, dance, 1, style)
    bar = catalogue.dances[dance].beats_per_bar
    at: list[set[Stand]] = [set() for _ in range(beats + 1)]
    at[0] = {begin(dance)}
    posed = False
    for beat in range(beats):
        for stand in at[beat]:
            for figure, after in onward(catalogue, figures, stand, aligned=style == "travelling"):
                end = beat + figure.chart.beats
                if end <= beats and beat % bar + 1 in figure.chart.starts_on:
                    at[end].add(after)
                    posed = posed or (end == beats and "ending" in figure.chart.good_for)
    assert at[beats]
    assert posed


@pytest.mark.parametrize("dance", LEAST_FIGURES)
def test_the_dance_is_well_stocked(catalogue: Catalogue, dance: str) -> None:
    figures = figures_of(catalogue, dance, 5)
    page = catalogue.dances[dance]
    assert len(figures) >= LEAST_FIGURES[dance]
    assert all(catalogue.figures[f"{dance}/{stem}"].chart.level == 1 for stem in page.starts_with)
    assert any("opening" in f.chart.good_for for f in figures)
    for figure in figures:
        for name in figure.chart.needs:
            needed = catalogue.figures[name if "/" in name else f"{dance}/{name}"]
            assert needed.chart.level <= figure.chart.level, f"{figure.id} needs {name}"


@pytest.mark.parametrize("stem", FIXED_STEMS)
def test_the_usual_waltz_figures_are_there(catalogue: Catalogue, stem: str) -> None:
    assert f"waltz/{stem}" in catalogue.figures


@pytest.mark.parametrize("dance", LEAST_FIGURES)
def test_tempo_is_the_published_one(catalogue: Catalogue, dance: str) -> None:
    with (FACTS / "ballroom_tempi.csv").open(encoding="utf-8", newline="") as stream:
        row = next(r for r in csv.DictReader(stream) if r["dance"] == dance)
    bar = int(row["beats_per_bar"]) if row["unit"] == "bars/min" else 1
    least, most = (bar * int(part) for part in row["value"].split("-"))
    page = catalogue.dances[dance]
    assert (page.tempo.least, page.tempo.most) == (least, most)
