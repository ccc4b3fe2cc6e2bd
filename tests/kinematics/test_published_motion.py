"""Simulated waltz figures against published charts, step by step.

``tests/facts/published_charts.csv``, rows read on a page; the source stands in every row. The printed amounts of turn
are between the feet; *pointing* is printed where the foot points elsewhere than the body.
"""

from __future__ import annotations

import csv
import math
from functools import cache
from itertools import pairwise
from pathlib import Path

import pytest

from composer.catalogue import Catalogue, load_catalogue
from composer.kinematics.motion import Moment, Pose
from composer.units import TICKS_PER_BEAT

FACTS = Path(__file__).parents[1] / "facts"
STEMS = {
    "Natural Turn": "natural-turn",
    "Reverse Turn": "reverse-turn",
    "Natural Spin Turn": "natural-spin-turn",
    "RF Closed Change (natural to reverse)": "right-foot-closed-change",
    "Whisk": "whisk",
    "Chasse from PP": "chasse-from-promenade",
    "Progressive Chasse to R": "progressive-chasse-to-right",
}
Row = dict[str, str]


@cache
def waltz() -> Catalogue:
    return load_catalogue(dances=["waltz"])


def printed(status: str = "page") -> dict[tuple[str, str], list[Row]]:
    with (FACTS / "published_charts.csv").open(encoding="utf-8", newline="") as stream:
        rows = [r for r in csv.DictReader(stream) if r["figure"] in STEMS and r["dance"] == "waltz"]
    found: dict[tuple[str, str], list[Row]] = {}
    for row in rows:
        if row["status"] == status or status == "any":
            found.setdefault((row["figure"], row["role"]), []).append(row)
    return found


def stepped(name: str, role: str) -> tuple[list[Moment], int]:
    """Moments after each step of one partner, and the leader's alignment at the start (sixteenths)."""
    figure = waltz().figures[f"waltz/{STEMS[name]}"]
    steps = figure.chart.leader if role == "leader" else figure.chart.follower
    by_tick = {m.at_tick: m for m in figure.motion.moments if m.at_tick is not None}
    assert figure.chart.entry.faces is not None
    return [by_tick[step.tick] for step in steps], 2 * figure.chart.entry.faces[0]


def pose(moment: Moment, role: str) -> Pose:
    return moment.leader if role == "leader" else moment.follower


@pytest.mark.parametrize(("name", "role"), sorted(printed()))
def test_feet_point_where_the_chart_says(name: str, role: str) -> None:
    moments, start16 = stepped(name, role)
    for row in printed()[name, role]:
        here = pose(moments[int(row["step"]) - 1], role)
        foot = here.left if row["foot"][0] == "L" else here.right
        assert here.weight == row["foot"][0]
        assert (start16 + foot.points16) % 16 == 2 * int(row["facing_eighth"]), row["source"]
        ahead = foot.points16 - here.facing16
        assert abs(ahead) <= 2
        if row["alignment"].startswith("P"):
            assert ahead != 0, f"{name} {role} {row['step']}: pointing means the body faces elsewhere"


def test_spin_turn_turns_five_quarters_in_all() -> None:
    """Wikipedia 'Natural spin turn': total 5/4; half of it in one beat (261 degrees a second at 87 BPM, derived)."""
    motion = waltz().figures["waltz/natural-spin-turn"].motion
    assert motion.leader_turn16 == motion.follower_turn16 == 20
    facings = [m.leader.facing16 for m in motion.moments if m.at_tick is not None]
    most = max(b - a for a, b in pairwise(facings))
    degrees_per_s = most * 22.5 / (60 / 87)
    assert abs(degrees_per_s - 261) < 1


@pytest.mark.parametrize("name", ["natural-turn", "reverse-turn", "natural-spin-turn"])
def test_turns_travel_along_the_line_of_dance(name: str) -> None:
    """Six steps of a turning waltz figure go down the room, not across it (common practice, no source)."""
    figure = waltz().figures[f"waltz/{name}"]
    assert figure.chart.entry.faces is not None
    angle = figure.chart.entry.faces[0] * math.pi / 4
    forward, right = figure.motion.travel_forward_mm, figure.motion.travel_right_mm
    along = forward * math.cos(angle) - right * math.sin(angle)
    across = forward * math.sin(angle) + right * math.cos(angle)
    assert along > 1200
    assert abs(across) < along / 2


def test_waltz_is_danced_at_the_speed_people_dance() -> None:
    """Couples of the top twelve travel 2.09 m/s in the Viennese waltz (Prosen et al. 2013): none of ours is faster."""
    catalogue = load_catalogue(dances=["waltz", "viennese-waltz"])
    for figure in catalogue.figures.values():
        tempo = catalogue.dances[figure.chart.dance].tempo.most
        travel = math.hypot(figure.motion.travel_forward_mm, figure.motion.travel_right_mm)
        seconds = figure.length_ticks / TICKS_PER_BEAT * 60 / tempo
        assert travel / seconds <= 2100, figure.id
