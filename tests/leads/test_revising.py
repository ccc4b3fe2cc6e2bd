"""Revising where both lead: what stays is a figure led by the same partner; least change is brute force's."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from random import Random
from typing import Any

from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from composer.cli.app import run
from composer.outcome import NoRoutine
from composer.problem import Problem
from composer.revise import Request, Revised, open_routine, revise
from composer.revise.asks import Ask, applied
from composer.revise.difference import difference
from composer.revise.kept import changed_counts, keeping, kept_worth
from composer.revise.leastchange import Least, least_change
from composer.revise.opened import untimed
from composer.revise.output import write_revision
from composer.routine import Routine
from composer.rules import points_of
from composer.verify import verify
from composer.versions import record_of
from tests.builders import a_figure, a_problem, a_routine, a_timeline, tiny_problems
from tests.leads.test_end_to_end import BRIEF
from tests.solve.brute import TooMany, is_broken, sequences, with_places


@given(tiny_problems(both_lead=True, most_beats=12), st.integers(0, 10**6))
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_keeps_as_much_as_any_routine_can(problem: Problem, seed: int) -> None:
    counts = [must.at for must in problem.brief.wishes.must if must.at is not None]
    assume(max(counts, default=1) <= problem.timeline.length_beats)  # such a brief is refused when it is read
    try:
        everything = list(sequences(problem, 3000))
    except TooMany:
        assume(False)
        return
    assume(everything)
    chosen = Random(seed).choice(everything)
    old = Routine("old", problem.brief.dances, problem.length_ticks, chosen)
    kept = keeping(old, problem.length_ticks)
    best: tuple[int, int] | None = None
    for placed in everything:
        routine = replace(old, figures=with_places(problem, placed))
        if not is_broken(problem, routine):
            mark = kept_worth(kept, routine)[0], sum(p.total for p in points_of(problem, routine))
            best = mark if best is None else max(best, mark)
    found = least_change(problem, kept)
    if best is None:
        assert isinstance(found, NoRoutine)
        return
    assert isinstance(found, Least)
    assert (found.kept, found.routine.score) == best


def test_the_same_figure_led_by_the_other_is_a_change() -> None:
    problem = a_problem([a_figure("a", 4, "two-hands")], None, None, {"both_lead": True}, a_timeline(2))
    old, new = a_routine(problem, ["a", "a"]), a_routine(problem, ["a", "~a"])
    assert changed_counts(old, old) == ()
    assert changed_counts(old, new) == (5, 6, 7, 8)
    told = difference(problem, old, new)
    assert [(line.before, line.after, line.same) for line in told.lines] == [
        ("a", "a", True),
        ("a", "a (partner B leads)", False),
    ]


def test_one_figure_fewer_and_back_again(tmp_path: Path) -> None:
    (tmp_path / "brief.yaml").write_text(BRIEF, "utf-8")
    assert run(["compose", str(tmp_path / "brief.yaml"), "--out", str(tmp_path / "out")]) == 0
    path = tmp_path / "out" / "routine.json"
    before = path.read_bytes()
    opened = open_routine(path)
    figure = next(p.figure for p in reversed(opened.routine.figures) if p.swapped)
    found = revise(opened, Request(asks=(Ask("forbid", figure),)))
    assert isinstance(found, Revised)
    assert found.least_proven
    assert verify(found.problem, found.routine) == []
    assert figure not in {p.figure for p in found.routine.figures}
    assert any(p.swapped for p in found.routine.figures)
    write_revision(found)
    back = revise(open_routine(path), Request(asks=(Ask("allow", figure),)))
    assert isinstance(back, Revised)
    write_revision(back)
    assert path.read_bytes() == before


def test_changing_roles_throughout_twice_is_nothing() -> None:
    data: dict[str, Any] = {
        "couple": {
            "leader": {"name": "Robin", "level": 2, "other_role": {"level": 1, "avoid": ["dip"]}},
            "follower": {"name": "Kim", "level": 3, "knows": ["waltz/whisk"]},
            "both_lead": True,
        }
    }
    once = applied(data, "brief.yaml", [Ask("swap-roles")], a_timeline()).data
    assert once["couple"]["leader"] == {"name": "Kim", "level": 3, "knows": ["waltz/whisk"]}
    assert once["couple"]["follower"] == {"name": "Robin", "level": 1, "avoid": ["dip"], "other_role": {"level": 2}}
    assert applied(data, "brief.yaml", [Ask("swap-roles")] * 2, a_timeline()).data == data


def test_a_record_read_without_its_times_keeps_who_leads() -> None:
    problem = a_problem([a_figure("a", 4, "two-hands")], None, None, {"both_lead": True}, a_timeline(3))
    data = untimed(record_of(a_routine(problem, ["a", "~a", "a"])))
    assert [figure["leads"] for figure in data["figures"]] == ["leader", "follower", "leader"]
    plain = untimed(record_of(a_routine(problem, ["a", "a"])))
    assert all("leads" not in figure for figure in plain["figures"])


def test_both_lead_asked_of_a_routine_with_one_leader(tmp_path: Path) -> None:
    """The routine stays as far as hands and feet let it, and each leads some of it; taken back it is the old one."""
    plain = BRIEF.replace(
        "  both_lead: {changes: 1, parts: [{leads: Robin, section: A}, {leads: Kim, section: B}]}\n", ""
    )
    plain = plain.replace(", other_role: {level: 1}", "")
    (tmp_path / "brief.yaml").write_text(plain, "utf-8")
    assert run(["compose", str(tmp_path / "brief.yaml"), "--out", str(tmp_path / "out")]) == 0
    path = tmp_path / "out" / "routine.json"
    before = path.read_bytes()
    assert b'"leads"' not in before
    assert run(["revise", str(path), "--both-lead"]) == 0
    opened = open_routine(path)
    assert {placed.swapped for placed in opened.routine.figures} == {False, True}
    assert verify(opened.problem, opened.routine) == []
    assert run(["revise", str(path), "--take-back", "both-lead"]) == 0
    assert path.read_bytes() == before
