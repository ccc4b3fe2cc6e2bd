"""The arithmetic behind the tables; nothing is measured here."""

from __future__ import annotations

from typing import Any

import pytest

from composer.network import build
from composer.network.kept import build_anew
from tests.benchmarks.instances import Case
from tests.benchmarks.measure import Heard, gap
from tests.benchmarks.page import filled, peers_table
from tests.benchmarks.promises import exponent, promises
from tests.benchmarks.suites import CORE, GROWTH, REAL, turns
from tests.benchmarks.summary import duels, grown, kinds, ratios


def entry(
    variant: int, cpu: float, *, verdict: str = "best", highs: float | None = None, **more: Any
) -> dict[str, Any]:
    case = Case(96, 100, True, variant)
    ours = {
        "verdict": verdict, "score": 10, "bound": 10, "cpu": cpu, "clock": 2 * cpu, "first cpu": cpu / 2, "work": 1.0,
        "usable arcs": 50, "arcs in last band": 5, "peak MB": 100, "gap at 5": 0.0, "gap at 15": 0.0, "gap at 60": 0.0,
        **more,
    }  # fmt: skip
    sizes = {"arcs": 100, "build cpu": 0.1, "state cpu": 0.1, "arrays cpu": 0.1, "counts": 96, "figures": 100}
    engines: dict[str, Any] = {"ours": ours, "stages": sizes}
    if highs is not None:
        engines["highs"] = {**sizes, "verdict": "unknown", "score": None, "bound": None, "cpu": highs, "clock": highs}
    return {
        "name": case.name, "suite": "core", "kind": case.name.split(", #")[0], "room": True, "floor": case.floor,
        "area m2": 20, "engines": engines,
    }  # fmt: skip


def test_medians_over_the_instances_of_a_kind() -> None:
    (kind,) = kinds([entry(0, 1.0), entry(1, 9.0), entry(2, 2.0, verdict="good")], "core")
    assert (kind.instances, kind.proved, kind.total_s, kind.first_s) == (3, 2, 2.0, 1.0)


def test_no_routine_is_the_worst_of_all_times_and_gaps() -> None:
    late = {"first cpu": None, "gap at 5": None}
    (kind,) = kinds([entry(0, 1.0), entry(1, 2.0, **late), entry(2, 3.0, **late)], "core")
    assert kind.first_s is None
    assert kind.gaps[0] is None
    assert kind.gaps[1] == 0.0


def test_ratios_count_only_where_everything_was_proved_and_say_at_least() -> None:
    found = duels([entry(0, 1.0, highs=60.0), entry(1, 2.0, highs=60.0), entry(2, 3.0, highs=60.0)])
    assert ratios(found, "highs") == [("96 counts, 100 figures, 5 x 4 m", 3, 15.0, True)]
    assert "at least 30.0" in peers_table(found)
    assert ratios(duels([entry(0, 1.0, highs=60.0), entry(1, 1.0, verdict="good", highs=60.0)]), "highs") == []


def test_promises_are_broken_by_one_instance_that_is_not_proved() -> None:
    proved = promises([entry(0, 1.0), entry(1, 1.0)], {})
    open_one = promises([entry(0, 1.0), entry(1, 1.0, verdict="good")], {})
    slow = promises([entry(0, 2.1), entry(1, 2.1)], {})
    assert [p[2].reached for p in (proved, open_one, slow)] == [True, False, False]
    assert proved[0].reached is None  # nothing with all rules was measured


def test_exponent_of_growth() -> None:
    assert exponent([(10, 1), (100, 10), (1000, 100)]) == pytest.approx(1)
    assert exponent([(10, 1), (100, 100)]) == pytest.approx(2)


def test_only_first_instances_with_the_usual_rules_show_growth() -> None:
    assert [p.name for p in grown([entry(0, 1.0), entry(1, 1.0)])] == ["96 counts, 100 figures, 5 x 4 m, #0"]


def test_what_was_heard_by_a_moment() -> None:
    heard = Heard()
    heard.lines = [(0.1, 0.1, None, None), (2.0, 2.0, 80, 100), (4.0, 4.0, 70, 100), (7.0, 7.0, 100, 100)]
    assert heard.first() == (2.0, 2.0)
    assert heard.gap_at(1) is None
    assert heard.gap_at(5) == 0.25
    assert heard.gap_at(60) == 0.0
    assert heard.near() == 7.0
    assert gap(None, 3) is None


def test_blocks_of_the_page_are_replaced_and_the_rest_is_kept() -> None:
    text = "before\n<!-- one -->\nold\n<!-- end one -->\nafter\n"
    once = filled(text, {"one": "new \\1", "two": "not there"})
    assert once == "before\n<!-- one -->\nnew \\1\n<!-- end one -->\nafter\n"
    assert filled(once, {"one": "new \\1"}) == once


def test_names_are_unique_and_every_engine_begins_in_turn() -> None:
    cases = [*CORE, *GROWTH, *REAL]
    assert len({case.name for case in cases}) == len(cases)
    assert len(CORE) >= 24
    order = turns("core", peers=True)
    assert {turn.engines[0] for turn in order if len(turn.engines) == 3} == {"ours", "highs", "cpsat"}


@pytest.mark.parametrize("rules", ["usual", "all"])
def test_an_instance_is_the_same_every_time(rules: Any) -> None:
    case = Case(48, 60, True, 1, rules)
    first, second = case.problem(), case.problem()
    assert (first.brief, first.timeline, first.room) == (second.brief, second.timeline, second.room)
    assert build(first) == build_anew(second)
