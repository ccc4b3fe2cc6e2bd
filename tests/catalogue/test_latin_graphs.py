"""The cha cha and the rumba: steps and turns against published figures, tempi, and how figures tile the bars.

``tests/facts/latin_figures.csv`` and ``latin_tempi.csv`` name a source on every row. That every figure can be reached
and left, that beginners can fill the usual phrases, and that side, break, replace and triple alternate the free feet,
is common practice, no source.

Both dances are written in whole bars from beat 1. In the rumba 1 is the settling after the step on 4; in the cha cha
the step on 1 is the last of the triple begun in the bar before, so a published row 2 3 4&1 ends with the first step of
the next figure.
"""

from __future__ import annotations

import csv
import re
from fractions import Fraction
from pathlib import Path

import pytest

from composer.catalogue import Catalogue, Figure, Stand, load_catalogue
from composer.charts import OPT_IN_CAUTIONS, WEIGHT_TAKING, Step
from composer.kinematics.simulate import simulate
from composer.resources import shipped
from composer.textfiles import read_yaml, validated
from tests.catalogue.test_ballroom_graphs import figures_of, onward, reached

FACTS = Path(__file__).parents[1] / "facts"
LEAST_FIGURES = {"cha-cha": 40, "rumba": 40}
DANCES = tuple(LEAST_FIGURES)
LEVELS = (1, 2, 3, 4)
PHRASES = (16, 32, 48, 96)
BEGIN = Stand("closed", 0, "L", "R")
CHA_CHA_COUNTS = tuple(Fraction(n, 2) for n in (2, 4, 6, 8, 9))
LINES = frozenset({"point", "pose"})


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return load_catalogue(dances=list(DANCES))


def rows(name: str) -> list[dict[str, str]]:
    with (FACTS / name).open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def published(figure: str, role: str) -> dict[str, str]:
    return next(r for r in rows("latin_figures.csv") if r["figure"] == figure and r["role"] == role)


def taken(steps: tuple[Step, ...]) -> list[Step]:
    return [step for step in steps if step.do in WEIGHT_TAKING]


def turns(row: dict[str, str]) -> list[int]:
    return [int(part) for part in row["turn_eighths_per_step"].split()]


@pytest.mark.parametrize("dance", DANCES)
@pytest.mark.parametrize("level", LEVELS)
def test_every_stand_reached_leads_back_to_the_first(catalogue: Catalogue, dance: str, level: int) -> None:
    graph = reached(catalogue, figures_of(catalogue, dance, level), BEGIN)
    back = {BEGIN}
    while more := {s for s, after in graph.items() if s not in back and after & back}:
        back |= more
    assert set(graph) == back


@pytest.mark.parametrize("dance", DANCES)
def test_beginners_get_from_every_stand_to_every_other_without_openings_and_endings(
    catalogue: Catalogue, dance: str
) -> None:
    figures = [f for f in figures_of(catalogue, dance, 1) if not {"opening", "ending"} & set(f.chart.good_for)]
    stands = set(reached(catalogue, figures, BEGIN))
    assert {s.hold for s in stands} >= {"closed", "two-hands", "left-to-right"}
    assert {s.leader_free for s in stands} == {"L", "R"}
    for stand in stands:
        assert set(reached(catalogue, figures, stand)) == stands, stand


@pytest.mark.parametrize("dance", DANCES)
@pytest.mark.parametrize("level", LEVELS)
def test_every_figure_is_reached_at_its_level(catalogue: Catalogue, dance: str, level: int) -> None:
    figures = figures_of(catalogue, dance, level)
    firsts = (BEGIN, Stand("apart", 0, "L", "R"))
    used = {f.id for one in firsts for s in reached(catalogue, figures, one) for f, _ in onward(catalogue, figures, s)}
    assert used == {f.id for f in figures}


@pytest.mark.parametrize("dance", DANCES)
@pytest.mark.parametrize("beats", PHRASES)
@pytest.mark.parametrize("first", [BEGIN, Stand("apart", 0, "L", "R")])
def test_beginners_fill_the_usual_phrases_and_end_on_a_pose(
    catalogue: Catalogue, dance: str, beats: int, first: Stand
) -> None:
    """No figure straddles a phrase of sixteen, and from no hold the first figure is an opening."""
    figures = figures_of(catalogue, dance, 1)
    at: list[set[Stand]] = [set() for _ in range(beats + 1)]
    at[0] = {first}
    posed = False
    for beat in range(beats):
        for stand in at[beat]:
            for figure, after in onward(catalogue, figures, stand):
                end, good = beat + figure.chart.beats, figure.chart.good_for
                if end > beats or beat % 4 + 1 not in figure.chart.starts_on or beat // 16 != (end - 1) // 16:
                    continue
                if first.hold == "apart" and ("opening" in good) != (beat == 0):
                    continue
                at[end].add(after)
                posed = posed or (end == beats and "ending" in good)
    assert at[beats]
    assert posed


@pytest.mark.parametrize("dance", DANCES)
def test_the_dance_is_well_stocked(catalogue: Catalogue, dance: str) -> None:
    figures = figures_of(catalogue, dance, 5)
    page = catalogue.dances[dance]
    assert len(figures) >= LEAST_FIGURES[dance]
    assert all(catalogue.figures[f"{dance}/{stem}"].chart.level == 1 for stem in page.starts_with)
    for free in ("L", "R"):
        assert any("ending" in f.chart.good_for and f.chart.entry.leader_free == free for f in figures)
    for figure in figures:
        for need in figure.chart.needs:
            assert catalogue.figures[need].chart.level <= figure.chart.level, f"{figure.id} needs {need}"
        assert figure.styles == ("spot",) or "spot" in figure.styles, figure.id
        assert figure.chart.entry.faces is None, figure.id
        assert not set(figure.chart.cautions) & OPT_IN_CAUTIONS, figure.id


@pytest.mark.parametrize(("dance", "published_name"), [("rumba", "rumba basic"), ("cha-cha", "cha cha basic")])
def test_basics_have_the_published_steps_and_no_turn(catalogue: Catalogue, dance: str, published_name: str) -> None:
    row = published(published_name, "both")
    chart = catalogue.figures[f"{dance}/basic"].chart
    assert chart.beats == int(row["beats"])
    for steps in (chart.leader, chart.follower):
        assert len(taken(steps)) == int(row["steps"])
        assert all(step.turn == 0 for step in steps)


@pytest.mark.parametrize("role", ["leader", "follower"])
def test_the_rumba_new_york_turns_as_published(catalogue: Catalogue, role: str) -> None:
    row = published("rumba New York", role)
    chart = catalogue.figures["rumba/new-york-right"].chart
    steps = taken(getattr(chart, role))
    assert chart.beats == int(row["beats"])
    assert [step.at for step in steps] == [2, 3, 4]
    assert [step.turn // 2 for step in steps] == turns(row)


@pytest.mark.parametrize("role", ["leader", "follower"])
def test_the_cha_cha_new_york_to_the_other_side_turns_as_published(catalogue: Catalogue, role: str) -> None:
    """The row begins on 2 and ends on the next 1: our first step of any figure that follows, here the same one."""
    row = published("cha cha New York to the other side", role)
    chart = catalogue.figures["cha-cha/new-york-left"].chart
    steps = taken(getattr(chart, role))
    assert chart.beats == int(row["beats"])
    assert tuple(step.at for step in steps) == CHA_CHA_COUNTS
    assert [step.turn // 2 for step in (*steps[1:], steps[0])] == turns(row)


@pytest.mark.parametrize(
    ("dance", "here", "there"),
    [(d, f"{a}-left", f"{a}-right") for d in DANCES for a in ("new-york", "hand-to-hand", "spot-turn", "fence-line")]
    + [("cha-cha", "cuban-break-left", "cuban-break-right"), ("cha-cha", "time-step-left", "time-step-right")],
)
def test_both_sides_of_a_figure_mirror_each_other(catalogue: Catalogue, dance: str, here: str, there: str) -> None:
    one, two = (catalogue.figures[f"{dance}/{stem}"].chart for stem in (here, there))
    for role in ("leader", "follower"):
        left, right = ([(s.at, s.do, s.size) for s in getattr(c, role)] for c in (one, two))
        assert left == right
        assert [s.turn for s in getattr(one, role)] == [-s.turn for s in getattr(two, role)]
        assert all(a.foot != b.foot for a, b in zip(getattr(one, role), getattr(two, role), strict=True))


def whole_bars(figures: list[Figure]) -> None:
    for figure in figures:
        chart = figure.chart
        assert chart.starts_on == (1,), figure.id
        assert chart.beats % 4 == 0, figure.id
        assert {chart.entry.leader_free, chart.entry.follower_free} == {"L", "R"}, figure.id
        assert {chart.exit.leader_free, chart.exit.follower_free} == {"L", "R"}, figure.id


def test_the_rumba_settles_on_one_and_steps_on_two_three_four(catalogue: Catalogue) -> None:
    figures = figures_of(catalogue, "rumba", 5)
    whole_bars(figures)
    for figure in figures:
        ending, opening = ("ending" in figure.chart.good_for, "opening" in figure.chart.good_for)
        for steps in (figure.chart.leader, figure.chart.follower):
            counts = {step.at for step in taken(steps)}
            every = {Fraction(n) for n in range(1, figure.chart.beats + 1) if n % 4 != 1}
            assert counts <= every, figure.id
            assert ending or opening or counts == every, figure.id
            assert all(step.do == "hold" for step in steps if step.at % 4 == 1), figure.id


def test_the_cha_cha_has_five_weight_changes_in_every_plain_bar(catalogue: Catalogue) -> None:
    """The exceptions: poses, the runs of triples (6 in their second bar) and the split Cuban breaks (6)."""
    figures = figures_of(catalogue, "cha-cha", 5)
    whole_bars(figures)
    more = {"cha-cha/three-cha-chas-back", "cha-cha/three-cha-chas-forward"}
    split = {"cha-cha/cuban-break-left", "cha-cha/cuban-break-right"}
    for figure in figures:
        for steps in (figure.chart.leader, figure.chart.follower):
            counts = [step.at for step in taken(steps)]
            if "ending" in figure.chart.good_for:
                continue
            if figure.id in split:
                assert len(counts) == 6, figure.id
            elif figure.id in more:
                assert len(counts) == 11, figure.id
            else:
                plain = [4 * bar + count for bar in range(figure.chart.beats // 4) for count in CHA_CHA_COUNTS]
                assert counts == plain, figure.id


def test_a_triple_with_a_missing_close_is_refused() -> None:
    """Without the close on 4& the declared free foot is wrong: the checks behind the charts do bite."""
    from composer.charts import FigureFile, HoldsFile

    holds = validated(HoldsFile, read_yaml(shipped("catalog") / "holds.yaml"), code="HLD")
    document = read_yaml(shipped("catalog") / "cha-cha" / "half-basic-back.yaml")
    chart = validated(FigureFile, document, code="FIG")
    assert simulate(chart, holds, document.where, tempo_most=128)[1] == []
    short = chart.model_copy(update={"leader": chart.leader[:-1]})
    assert "FIG014" in {fault.code for fault in simulate(short, holds, document.where, tempo_most=128)[1]}


@pytest.mark.parametrize("dance", DANCES)
def test_endings_stop_on_a_line_that_falls_within_the_last_bar(catalogue: Catalogue, dance: str) -> None:
    endings = [f.chart for f in figures_of(catalogue, dance, 5) if "ending" in f.chart.good_for]
    assert endings
    for chart in endings:
        assert chart.peak is not None
        assert chart.beats - 4 < chart.peak, chart.name
        for steps in (chart.leader, chart.follower):
            assert steps[-1].do in LINES, chart.name
            assert steps[-1].at >= chart.peak, chart.name


@pytest.mark.parametrize("dance", DANCES)
def test_tempo_lies_within_what_is_published(catalogue: Catalogue, dance: str) -> None:
    ranges = []
    for row in rows("latin_tempi.csv"):
        if row["item"].startswith(dance.replace("-", " ")):
            least, most = (float(n) for n in re.findall(r"\d+", row["value"])[:2])
            per_bar = 4 if row["unit"] == "bars/min" else 1
            ranges.append((least * per_bar, most * per_bar))
    tempo = catalogue.dances[dance].tempo
    assert min(least for least, _ in ranges) <= tempo.least < tempo.most <= max(most for _, most in ranges)
