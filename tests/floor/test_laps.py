"""Two laps of a room, composed from the catalogue, proven and checked; the end leads back to the start within 5 cm.

Floor sizes: tests/facts/floor_sizes.csv (the published competition minimum, 60 x 36 ft). Couples that
score nothing have a routine as soon as one fits; with the usual weights of the score the best one is proven.
"""

from __future__ import annotations

import csv
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import yaml

from composer.brief import load_problem
from composer.floor.placing import moved
from composer.outcome import Found, NoRoutine
from composer.problem import Problem
from composer.routine import Routine
from composer.rules import breaches_of
from composer.solve import solve
from composer.verify import verify
from tests.builders import a_figure, a_problem, a_timeline

FACTS = Path(__file__).parents[1] / "facts" / "floor_sizes.csv"
KNOWN = [
    "natural-turn", "right-foot-closed-change", "reverse-turn", "left-foot-closed-change", "natural-spin-turn",
    "reverse-turn-4-6", "whisk", "chasse-from-promenade", "hesitation-change",
]  # fmt: skip
SILENT = {"protect": "nothing", "hits": "ignore", "weights": dict.fromkeys(("music", "variety", "energy", "flow"), 0)}


def laps(tmp_path: Path, bars: int, room: dict[str, Any], *, scored: bool = False, only: str | None = None) -> Problem:
    """A waltz for a couple that knows nine figures; ``scored`` by the usual weights, or by one term ``only``."""
    dancer = {"level": 0, "knows": KNOWN}
    brief: dict[str, Any] = {
        "format": "brief/1",
        "title": "laps",
        "dance": "waltz",
        "music": {"tempo": 87, "bars": bars, "beats_per_bar": 3, "phrase_bars": 8},
        "couple": {"leader": dancer, "follower": dancer},
        "room": {"style": "travelling", "laps": 2, "closed": True, "stride": {"least": 0.9, "most": 1.1}, **room},
        "wishes": {**SILENT, "weights": {**SILENT["weights"], "floor": 0}},  # type: ignore[dict-item]
    }
    if scored:
        del brief["wishes"]
    if only is not None:
        brief["wishes"]["weights"][only] = 1
    file = tmp_path / "brief.yaml"
    file.write_text(yaml.safe_dump(brief, sort_keys=False), "utf-8")
    return load_problem(file)


def composed(problem: Problem) -> Routine:
    outcome = solve(problem, time_limit_s=30)
    assert isinstance(outcome, Found)
    assert outcome.proven_best
    assert verify(problem, outcome.routine) == []
    return outcome.routine


def leads_back(problem: Problem, routine: Routine) -> None:
    """Entry state and place after the last figure, reckoned here from the record alone."""
    first, last = routine.figures[0], routine.figures[-1]
    opening, closing = (problem.catalogue.figures[item.figure] for item in (first, last))
    assert last.x_mm is not None
    assert last.y_mm is not None
    assert first.x_mm is not None
    assert first.y_mm is not None
    more = (last.more_x_mm, last.more_y_mm)
    end = moved((last.x_mm, last.y_mm), closing.motion, last.faces, more)
    assert math.dist(end, (first.x_mm, first.y_mm)) <= 50
    stand = closing.end_of(last.faces)
    assert stand.faces == first.faces
    assert problem.catalogue.joins(stand, opening)
    assert last.corners - first.corners in (7, 8)


def test_two_laps_of_a_hall_of_twelve_by_eight_metres(tmp_path: Path) -> None:
    problem = laps(tmp_path, 56, {"width": 12, "depth": 8, "lane": 2})
    leads_back(problem, composed(problem))


@pytest.mark.slow
def test_two_scored_laps_of_a_hall_of_twelve_by_eight_metres_are_proven_best(tmp_path: Path) -> None:
    problem = laps(tmp_path, 56, {"width": 12, "depth": 8, "lane": 2}, scored=True)
    routine = composed(problem)
    leads_back(problem, routine)
    assert {line.term for line in routine.score_card if line.points} == {"music", "floor", "variety"}


@pytest.mark.slow
@pytest.mark.parametrize("term", [None, "variety"])
def test_two_laps_of_the_smallest_competition_floor(tmp_path: Path, term: str | None) -> None:
    """Without points, and with the points for variety; with all usual points the best is found but not proven."""
    with FACTS.open(encoding="utf-8", newline="") as stream:
        (row,) = (row for row in csv.DictReader(stream) if row["item"] == "NDCA competition floor minimum")
    long, short = (part.strip() for part in row["value"].split("(")[0].split("x"))
    assert (long, short, row["unit"]) == ("60", "36", "ft")
    problem = laps(tmp_path, 72, {"width": f"{long} ft", "depth": f"{short} ft", "lane": 4}, only=term)
    assert problem.room is not None
    assert (problem.room.width_mm, problem.room.depth_mm) == (18288, 10973)
    routine = composed(problem)
    leads_back(problem, routine)
    sides = {item.corners for item in routine.figures}
    assert sides >= set(range(8)), "every side of both laps is danced along"


@pytest.mark.slow
@pytest.mark.parametrize("lane", [None, 2.5])
def test_a_lap_of_an_l_shaped_hall_round_its_own_middle_and_along_its_own_walls(
    tmp_path: Path, lane: float | None
) -> None:
    bent = [[0, 0], [10, 0], [10, 5], [5, 5], [5, 10], [0, 10]]
    problem = laps(tmp_path, 20, {"outline": bent, "laps": 1, "closed": False, "lane": lane})
    routine = composed(problem)
    assert {item.corners for item in routine.figures} >= set(range(4))


def lap_problem(**room: Any) -> Problem:
    """One made-up lap: four walks along the sides of a hall, the couple turned to the next side by each."""
    figures = [a_figure("side", 4, travel=(3000, 0), turn=-2), a_figure("still", 4)]
    given = {"style": "travelling", "width": 5, "depth": 5, "lane": 1.5, "laps": 1, **room}
    return a_problem(figures, {"protect": "nothing"}, given, timeline=a_timeline(4))


def made_up_lap(problem: Problem) -> Routine:
    outcome = solve(problem, time_limit_s=10)
    assert isinstance(outcome, Found), outcome
    assert verify(problem, outcome.routine) == []
    return outcome.routine


def test_a_lap_of_four_equal_sides_closes() -> None:
    routine = made_up_lap(lap_problem(closed=True))
    assert [item.corners for item in routine.figures] == [0, 1, 2, 3]
    assert [item.alignment for item in routine.figures] == [0, 0, 0, 0]


def test_a_corner_comes_only_near_the_end_of_the_side() -> None:
    """After 3 m from the middle of where it may begin the couple is 0.5 to 1 m from the wall line of bodies."""
    routine = made_up_lap(lap_problem(closed=True, corner=0.7))
    second = routine.figures[1]
    assert second.x_mm is not None
    assert 4700 - second.x_mm <= 700
    problem = lap_problem(closed=True, corner=0.5)
    assert isinstance(solve(problem), (Found, NoRoutine))


def test_more_laps_than_the_music_allows_are_impossible_and_proved_so() -> None:
    assert isinstance(solve(lap_problem(laps=2)), NoRoutine)


@pytest.mark.parametrize("good", [True, False])
def test_corners_only_after_figures_made_for_them(good: bool) -> None:
    figure = a_figure("side", 4, travel=(3000, 0), turn=-2, good_for=("corner",) if good else ())
    room = {"style": "travelling", "width": 5, "depth": 5, "lane": 1.5, "laps": 1, "corner_figures": True}
    problem = a_problem([figure, a_figure("still", 4)], {"protect": "nothing"}, room, timeline=a_timeline(4))
    outcome = solve(problem)
    assert isinstance(outcome, Found if good else NoRoutine)


def test_a_finish_is_reached_or_the_wish_is_told() -> None:
    figures = [a_figure("walk", 4, travel=(1000, 0)), a_figure("still", 4)]
    room: dict[str, Any] = {"width": 6, "depth": 2, "start": {"x": 0.5, "y": 1}}
    for x, found in ((2.5, True), (2.76, False)):
        wanted = {**room, "finish": {"x": x, "y": 1, "within": "25 cm"}}
        problem = a_problem(
            figures, {"protect": "nothing", "opening": {"faces": "LOD"}}, wanted, timeline=a_timeline(3)
        )
        outcome = solve(problem)
        assert isinstance(outcome, Found if found else NoRoutine)
        if isinstance(outcome, Found):
            assert sum(item.figure == "test/walk" for item in outcome.routine.figures) == 2


def test_strides_make_up_for_a_room_that_is_too_short() -> None:
    """Two walks of 2 m and the follower's 38 cm reach 4.38 m, the walls leave 4.2 m: 18 of 400 cm are given up."""
    figures = [replace_scale(a_figure("walk", 4, travel=(2000, 0)), 0.8, 1.2)]
    aligned = {"opening": {"faces": "LOD"}, "protect": "nothing"}
    for least, found in ((1.0, False), (0.96, False), (0.95, True)):
        room = {"style": "travelling", "width": 4.8, "depth": 2, "stride": {"least": least}}
        problem = a_problem(figures, aligned, room, timeline=a_timeline(2))
        outcome = solve(problem)
        assert isinstance(outcome, Found if found else NoRoutine), least
        if isinstance(outcome, Found):
            assert verify(problem, outcome.routine) == []
            assert sum(item.more_x_mm for item in outcome.routine.figures) <= -180


def replace_scale(figure: Any, shortest: float, longest: float) -> Any:
    return replace(figure, motion=replace(figure.motion, shortest_scale=shortest, longest_scale=longest))


def test_ground_beyond_a_couples_strides_is_a_breach() -> None:
    figure = replace_scale(a_figure("walk", 4, travel=(2000, 0)), 0.8, 1.05)
    problem = a_problem([figure], room={"width": 6, "depth": 2, "stride": {"most": 1.2}}, timeline=a_timeline(1))
    from tests.builders import a_routine

    routine = a_routine(problem, ["walk"], at=(1000, 1000))
    for more, keys in ((100, []), (101, ["room:ground"]), (-1, ["room:ground"])):
        own = replace(routine, figures=(replace(routine.figures[0], more_x_mm=more),))
        assert [item.key for item in breaches_of(problem, own)] == keys
