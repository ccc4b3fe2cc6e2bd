"""East and west coast swing: rhythms, turns, tempi and the slot against published figures, and how figures join.

``tests/facts/swing_figures.csv``, ``swing_tempi.csv`` and ``swing_slot.csv`` name a source on every row. That every
figure can be reached and left at its level, and that beginners can fill the usual lengths, is common practice, no
source.
"""

from __future__ import annotations

import csv
import re
from pathlib import Path

import pytest

from composer.catalogue import Catalogue, Figure, Stand, load_catalogue
from composer.charts import OPT_IN_CAUTIONS, Step
from composer.units import count_from, count_text
from tests.catalogue.test_ballroom_graphs import figures_of, onward, reached
from tests.catalogue.test_country_dances import weight_changes

FACTS = Path(__file__).parents[1] / "facts"
EAST, WEST = "east-coast-swing", "west-coast-swing"
DANCES = (EAST, WEST)
LEAST_FIGURES = {EAST: 18, WEST: 20}
LENGTHS = (16, 32, 48, 96)
LEVELS = (1, 2, 3, 4)
MM_PER_FOOT = 304.8
STAYS = ("whip", "whip-outside-turn", "whip-inside-turn", "basket-whip", "continuous-whip", "sugar-push", "sugar-tuck")
CHANGES = ("left-side-pass", "right-side-pass", "tuck-turn", "half-whip", "free-spin", "inside-roll", "throw-out")


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return load_catalogue(dances=DANCES)


def fact(name: str) -> dict[str, str]:
    with (FACTS / "swing_figures.csv").open(encoding="utf-8", newline="") as stream:
        return next(r for r in csv.DictReader(stream) if r["figure"] == name)


def begin(catalogue: Catalogue, dance: str) -> Stand:
    return Stand(catalogue.dances[dance].usual_hold, 0, "L", "R")


def allowed(catalogue: Catalogue, dance: str, level: int, *, opted: bool = True) -> list[Figure]:
    """Figures of a level between opening and ending; without those that a brief must ask for when not ``opted``."""
    return [
        f
        for f in figures_of(catalogue, dance, level)
        if not {"opening", "ending"} & set(f.chart.good_for) and (opted or not set(f.chart.cautions) & OPT_IN_CAUTIONS)
    ]


def counts_of(timing: str) -> list[str]:
    """``1&2 3&4 5 6`` as the counts 1, 1&, 2, 3, 3&, 4, 5, 6."""
    found: list[str] = []
    for word in re.findall(r"\d+|&", timing):
        found.append(word if word != "&" else f"{found[-1]}&")
    return found


@pytest.mark.parametrize("dance", DANCES)
@pytest.mark.parametrize("level", LEVELS)
@pytest.mark.parametrize("opted", [True, False])
def test_every_stand_leads_back_to_the_first(catalogue: Catalogue, dance: str, level: int, opted: bool) -> None:
    first = begin(catalogue, dance)
    graph = reached(catalogue, allowed(catalogue, dance, level, opted=opted), first)
    back: set[Stand] = {first}
    while more := {s for s, after in graph.items() if s not in back and after & back}:
        back |= more
    assert set(graph) == back
    assert len({s.hold for s in graph}) > 1


@pytest.mark.parametrize("dance", DANCES)
@pytest.mark.parametrize("level", LEVELS)
def test_every_figure_is_reached_at_its_level(catalogue: Catalogue, dance: str, level: int) -> None:
    figures = [f for f in figures_of(catalogue, dance, level) if "opening" not in f.chart.good_for]
    used = {
        f.id
        for stand in reached(catalogue, figures, begin(catalogue, dance))
        for f, _ in onward(catalogue, figures, stand)
    }
    assert {f.id for f in figures} == used


@pytest.mark.parametrize("dance", DANCES)
@pytest.mark.parametrize("beats", LENGTHS)
def test_beginners_fill_the_usual_lengths_from_opening_to_pose(catalogue: Catalogue, dance: str, beats: int) -> None:
    figures = figures_of(catalogue, dance, 1)
    bar = catalogue.dances[dance].beats_per_bar
    at: list[set[Stand]] = [set() for _ in range(beats + 1)]
    at[0] = {Stand("apart", 0, "L", "R")}
    posed = False
    for beat in range(beats):
        for stand in at[beat]:
            for figure, after in onward(catalogue, figures, stand):
                end = beat + figure.chart.beats
                if end <= beats and beat % bar + 1 in figure.chart.starts_on:
                    ends = "ending" in figure.chart.good_for
                    posed = posed or (ends and end == beats)
                    if not ends:
                        at[end].add(after)
    assert posed


@pytest.mark.parametrize("dance", DANCES)
def test_the_dance_is_well_stocked(catalogue: Catalogue, dance: str) -> None:
    figures = figures_of(catalogue, dance, 5)
    page = catalogue.dances[dance]
    assert len(figures) >= LEAST_FIGURES[dance]
    assert all(catalogue.figures[f"{dance}/{stem}"].chart.level == 1 for stem in page.starts_with)
    assert {g for f in figures for g in f.chart.good_for} >= {"opening", "ending"}
    assert {f.chart.beats for f in figures if f.chart.level == 1} >= {2, 4, 6}
    for figure in figures:
        for name in figure.chart.needs:
            needed = catalogue.figures[name]
            assert needed.chart.level <= figure.chart.level, f"{figure.id} needs {name}"


@pytest.mark.parametrize(
    ("published", "figure"),
    [
        ("east coast swing basic", f"{EAST}/basic"),
        ("east coast swing basic", f"{EAST}/one-hand-basic"),
        ("WCS push/pass", f"{WEST}/sugar-push"),
        ("WCS push/pass", f"{WEST}/left-side-pass"),
        ("WCS push/pass", f"{WEST}/right-side-pass"),
        ("WCS whip", f"{WEST}/whip"),
    ],
)
def test_rhythm_is_the_published_one(catalogue: Catalogue, published: str, figure: str) -> None:
    row, chart = fact(published), catalogue.figures[figure].chart
    assert chart.beats == int(row["beats"]), row["source"]
    for steps in (chart.leader, chart.follower):
        assert weight_changes(steps) == int(row["steps"]), row["source"]
        assert [count_text(s.at) for s in steps] == [count_text(count_from(c)) for c in counts_of(row["timing"])]


def test_net_turns_are_the_published_ones(catalogue: Catalogue) -> None:
    def turns(figure: str) -> tuple[int, int]:
        motion = catalogue.figures[figure].motion
        return motion.leader_turn16 // 2, motion.follower_turn16 // 2

    assert fact("east coast swing basic")["turn_eighths_per_step"].startswith("0")
    assert turns(f"{EAST}/basic") == (0, 0)
    assert all(s.turn == 0 for s in catalogue.figures[f"{EAST}/one-hand-basic"].chart.follower)
    assert fact("WCS push/pass")["turn_eighths_per_step"] == "push 0; pass follower 4 (half)"
    assert turns(f"{WEST}/sugar-push") == (0, 0)
    for stem in ("left-side-pass", "right-side-pass"):
        assert abs(turns(f"{WEST}/{stem}")[1]) == 4
    assert fact("WCS whip")["turn_eighths_per_step"].startswith("follower 8 net")
    assert turns(f"{WEST}/whip")[1] == 8


def end_of_slot(figure: Figure) -> int:
    """+1 when the follower ends at the side of the leader where she began (along his first facing), -1 at the other."""
    last = figure.motion.moments[-1]
    return 1 if last.follower.forward_mm > last.leader.forward_mm else -1


@pytest.mark.parametrize(("stem", "side"), [*((s, 1) for s in STAYS), *((s, -1) for s in CHANGES)])
def test_follower_ends_at_the_right_end_of_the_slot(catalogue: Catalogue, stem: str, side: int) -> None:
    """The whip ends at the same end (``swing_figures.csv``); pushes stay, passes change (common practice)."""
    assert end_of_slot(catalogue.figures[f"{WEST}/{stem}"]) == side


def test_the_slot_is_kept(catalogue: Catalogue) -> None:
    """The follower needs no more than the nine feet of ``swing_slot.csv``; facings close on the line of the slot.

    That her body wanders no more than half a metre across it is our reading of "one line".
    """
    with (FACTS / "swing_slot.csv").open(encoding="utf-8", newline="") as stream:
        feet = re.findall(r"\d+", next(csv.DictReader(stream))["value"])
    longest = MM_PER_FOOT * int(feet[1])
    for figure in figures_of(catalogue, WEST, 5):
        motion = figure.motion
        along = [m.follower.forward_mm for m in motion.moments]
        across = [m.follower.right_mm for m in motion.moments]
        assert max(along) - min(along) <= longest, figure.id
        assert max(abs(place - across[0]) for place in across) <= 500, figure.id
        assert motion.leader_turn16 % 8 == 0, figure.id
        assert motion.follower_turn16 % 8 == 0, figure.id


@pytest.mark.parametrize("stem", ["left-side-pass", "right-side-pass", "half-whip", "whip"])
def test_leader_leaves_the_slot_while_she_passes(catalogue: Catalogue, stem: str) -> None:
    """On count 2 he stands to the side of her line, looking across it."""
    motion = catalogue.figures[f"{WEST}/{stem}"].motion
    passing = next(m for m in motion.moments if m.at_tick == 12)
    assert abs(passing.leader.right_mm - passing.follower.right_mm) >= 300
    assert abs(passing.leader.forward_mm - passing.follower.forward_mm) <= 150
    assert abs(passing.leader.facing16) == 4


def test_six_count_units_leave_the_same_feet_free(catalogue: Catalogue) -> None:
    """Two single steps and two triples: eight weight changes in six beats (common practice, no source)."""
    units = 0
    for dance in DANCES:
        for figure in allowed(catalogue, dance, 5):
            chart = figure.chart
            assert (chart.entry.leader_free, chart.entry.follower_free) == ("L", "R"), figure.id
            assert (chart.exit.leader_free, chart.exit.follower_free) == ("L", "R"), figure.id
            if chart.beats == 6:
                units += 1
                assert (weight_changes(chart.leader), weight_changes(chart.follower)) == (8, 8), figure.id
                assert set(chart.starts_on) == {1, 3}, figure.id
    assert units > 40


def test_partners_step_with_opposite_feet(catalogue: Catalogue) -> None:
    """Where both take weight on one count they use opposite feet (common practice, no source)."""

    def feet(steps: tuple[Step, ...]) -> dict[int, str]:
        return {s.tick: s.foot for s in steps if s.takes_weight}

    for dance in DANCES:
        for figure in figures_of(catalogue, dance, 5):
            one, two = feet(figure.chart.leader), feet(figure.chart.follower)
            assert not any(one[tick] == two[tick] for tick in one.keys() & two.keys()), figure.id


@pytest.mark.parametrize(("dance", "words"), [(EAST, "east coast"), (WEST, "west coast swing")])
def test_tempo_is_the_published_one(catalogue: Catalogue, dance: str, words: str) -> None:
    """The page spans what the sources of ``swing_tempi.csv`` span together."""
    ranges = []
    with (FACTS / "swing_tempi.csv").open(encoding="utf-8", newline="") as stream:
        for row in csv.DictReader(stream):
            if words in row["item"]:
                per_bar = 4 if row["unit"] == "bars/min" else 1
                least, most = (per_bar * int(n) for n in re.findall(r"\d+", row["value"])[:2])
                ranges.append((least, most))
    tempo = catalogue.dances[dance].tempo
    assert (tempo.least, tempo.most) == (min(a for a, _ in ranges), max(b for _, b in ranges))
