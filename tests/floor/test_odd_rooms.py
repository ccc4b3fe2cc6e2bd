"""Real rooms from the shipped catalogue: an L, a pillar, a wedding floor of 3.2 x 3 m, a slot, a show with an audience.

Every answer is a routine the checker accepts, or a proof that there is none. The wedding couple knows a dozen figures.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml
from shapely.geometry import Polygon

from composer.brief import load_problem
from composer.floor.model import SIDE_FACING
from composer.outcome import Found, NoRoutine
from composer.problem import Problem
from composer.report import sheet_from
from composer.report.plan import plan_svg
from composer.routine import Routine
from composer.routinefile import load_routine
from composer.solve import solve
from composer.verify import verify

WEDDING = [
    "box-step", "open-box-step", "underarm-turn-right", "box-left-half", "box-right-half", "hesitation-left",
    "hesitation-right", "step-apart", "come-together", "bow-and-curtsey", "balance-apart-and-together",
]  # fmt: skip


def problem_in(tmp_path: Path, room: dict[str, Any], *, bars: int = 8, dance: str = "waltz", **wishes: Any) -> Problem:
    beginner = {"level": 0, "knows": WEDDING} if dance == "waltz" else {"level": 1}
    beats = 3 if dance == "waltz" else 4
    brief = {
        "format": "brief/1",
        "title": "an odd room",
        "dance": dance,
        "music": {"tempo": 87 if dance == "waltz" else 112, "bars": bars, "beats_per_bar": beats, "phrase_bars": 4},
        "couple": {"leader": beginner, "follower": {"level": 1}},
        "room": room,
        "wishes": {"protect": "nothing", "weights": {"music": 0, "flow": 0}, **wishes},
    }
    file = tmp_path / "brief.yaml"
    file.write_text(yaml.safe_dump(brief, sort_keys=False), "utf-8")
    return load_problem(file)


def composed(problem: Problem) -> Routine:
    outcome = solve(problem, time_limit_s=20)
    assert isinstance(outcome, Found), outcome
    assert verify(problem, outcome.routine) == []
    assert "<svg" in plan_svg(sheet_from(problem, outcome.routine))
    return outcome.routine


def test_a_wedding_couple_on_three_metres(tmp_path: Path) -> None:
    composed(problem_in(tmp_path, {"width": "3.2 m", "depth": "3 m"}, bars=16))


def test_a_wedding_couple_cannot_dance_what_they_have_not_learned_and_that_is_proved(tmp_path: Path) -> None:
    room = {"width": "3.2 m", "depth": "3 m", "margin": "20 cm"}
    problem = problem_in(tmp_path, {**room, "style": "show"}, must=["progressive-chasse-to-right"])
    assert isinstance(solve(problem, time_limit_s=20), NoRoutine)


def test_a_bent_floor_is_kept_to(tmp_path: Path) -> None:
    bent = [[0, 0], [6, 0], [6, 2.5], [2.5, 2.5], [2.5, 6], [0, 6]]
    problem = problem_in(tmp_path, {"outline": bent, "margin": "10 cm", "start": {"x": 4.5, "y": 1.2}})
    routine = composed(problem)
    floor = Polygon([(1000 * x, 1000 * y) for x, y in bent])
    assert all(floor.contains_properly(_point(item)) for item in routine.figures)


def _point(item: Any) -> Any:
    from shapely.geometry import Point

    return Point(item.x_mm, item.y_mm)


def test_a_pillar_in_the_middle_is_danced_round(tmp_path: Path) -> None:
    room = {"width": 5, "depth": 4, "obstacles": [{"name": "pillar", "x": 2.5, "y": 2, "radius": "20 cm"}]}
    routine = composed(problem_in(tmp_path, room))
    assert all(_point(item).distance(_middle()) >= 500 for item in routine.figures)


def _middle() -> Any:
    from shapely.geometry import Point

    return Point(2500, 2000)


def test_a_room_full_of_tables_leaves_no_routine_and_that_is_proved(tmp_path: Path) -> None:
    """Centres have 2 x 60 cm along two walls: in closed hold they are 5 cm apart across, in open hold 90 cm along."""
    tables = [{"name": "tables", "box": [[0.62, 0.62], [1.2, 1.2]]}]
    problem = problem_in(tmp_path, {"width": 1.2, "depth": 1.2, "obstacles": tables}, bars=4)
    assert isinstance(solve(problem, time_limit_s=20), NoRoutine)


@pytest.mark.parametrize("side", ["south", "east"])
def test_a_show_uses_the_floor_and_ends_towards_the_audience(tmp_path: Path, side: str) -> None:
    room = {"style": "show", "width": 7, "depth": 5, "audience": side, "start": {"x": 1.5, "y": 1.5}}
    problem = problem_in(tmp_path, room, bars=16, spread=2, closing={"faces": "audience"})
    problem = load_problem(_levelled(tmp_path))
    outcome = solve(problem, time_limit_s=20)
    assert isinstance(outcome, Found), outcome
    routine = outcome.routine
    assert verify(problem, routine) == []
    first, last = routine.figures[0], routine.figures[-1]
    assert (first.x_mm, first.y_mm) == (1500, 1500)
    assert problem.catalogue.figures[last.figure].end_of(last.faces).faces == SIDE_FACING[side]  # type: ignore[index]


def _levelled(tmp_path: Path) -> Path:
    """The brief just written, for a couple that travels: level 1."""
    file = tmp_path / "brief.yaml"
    data = yaml.safe_load(file.read_text("utf-8"))
    data["couple"] = {"leader": {"level": 1}, "follower": {"level": 1}}
    data["wishes"]["weights"] = {"music": 0, "flow": 0, "variety": 0, "energy": 0}
    file.write_text(yaml.safe_dump(data, sort_keys=False), "utf-8")
    return file


def test_a_slot_of_nine_feet_by_a_body_and_a_half(tmp_path: Path) -> None:
    """Published slot length 8 to 9 ft (tests/facts/floor_sizes.csv) for the steps; whole bodies need some more."""
    room = {"style": "slot", "width": "13 ft", "depth": "8 ft"}
    composed(problem_in(tmp_path, room, dance="west-coast-swing"))


def test_a_routine_written_by_hand_is_put_beside_the_pillar(tmp_path: Path) -> None:
    room = {"width": 4, "depth": 4, "obstacles": [{"name": "pillar", "x": 2, "y": 2, "radius": "20 cm"}]}
    problem_in(tmp_path, room, bars=8)
    written = tmp_path / "routine.yaml"
    written.write_text("format: routine/1\ndance: waltz\nfigures: [box-step, box-step, box-step, box-step]\n", "utf-8")
    problem, routine = load_routine(written, tmp_path / "brief.yaml")
    assert [item.key for item in verify(problem, routine) if item.key.startswith(("room:", "replay:room"))] == []
