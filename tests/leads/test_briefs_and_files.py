"""What a brief may say about leading, and who leads in routine files: by hand, in records, in schemas."""

from __future__ import annotations

from pathlib import Path

import pytest

from composer.brief import load_problem
from composer.brief.schema import Couple
from composer.errors import BadInput
from composer.routine import as_data
from composer.routinefile import load_routine
from composer.textfiles import json_text
from composer.verify import verify
from composer.versions import record_of, routine_from_record

BRIEF = """\
format: brief/1
title: Turn and turn about
dance: cha-cha
music: {tempo: 112, bars: 8, phrase_bars: 4, sections: [{bars: 4, label: A}, {bars: 4, label: B}]}
couple:
  leader: {name: Robin, level: 2, other_role: {level: 1, knows: [alemana]}}
  follower: {name: Kim, level: 2}
  both_lead: BOTH
"""
BY_HAND = """\
format: routine/1
dance: cha-cha
figures: [open half forward, open half back, fence line right, fence line left, change lead, new york left,
          {figure: hand to hand left}, {figure: half basic forward, leads: leader}]
"""


def a_brief(folder: Path, both: str) -> Path:
    """A brief with this under ``both_lead``."""
    file = folder / "brief.yaml"
    file.write_text(BRIEF.replace("BOTH", both), "utf-8")
    return file


@pytest.mark.parametrize(
    ("given", "least", "most", "at_a_time"),
    [
        ("true", None, None, 8),
        ("{changes: 2}", 2, 2, 8),
        ("{changes: {most: 3}, at_a_time: 16}", None, 3, 16),
        ("{begins: Kim, parts: [{leads: robin, section: b}, {leads: Kim, first: 1, last: 9}]}", None, None, 8),
    ],
)  # fmt: skip
def test_ways_to_ask(tmp_path: Path, given: str, least: int | None, most: int | None, at_a_time: int) -> None:
    problem = load_problem(a_brief(tmp_path, given))
    wish = problem.brief.couple.both_lead
    assert problem.both_lead
    assert wish is not None
    changes = (None, None) if wish.changes is None else (wish.changes.least, wish.changes.most)
    assert (changes, wish.at_a_time) == ((least, most), at_a_time)
    other = problem.brief.couple.leader.other_role
    assert other is not None
    assert other.knows == ("cha-cha/alemana",), "names are looked up there too"


def test_no_is_no() -> None:
    assert Couple.model_validate({"both_lead": False}).both_lead is None
    assert Couple.model_validate({}).both_lead is None


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ("{changes: {least: 3, most: 2}}", "most is less than least"),
        ("{changes: 0}", "changes"),
        ("{share: 51}", "share"),
        ("{begins: Alex}", "'Alex' is not one of the couple; write one of leader, follower, Robin, Kim"),
        ("{parts: [{leads: Kim}]}", "say where"),
        ("{parts: [{leads: Kim, section: A, first: 1, last: 4}]}", "say where"),
        ("{parts: [{leads: Kim, first: 9, last: 4}]}", "the first not after the last"),
        ("{parts: [{leads: Kim, section: Bridge}]}", "the music has no section 'Bridge'"),
        ("{parts: [{leads: Kim, first: 33, last: 40}]}", "the music has 32 counts; count 33 lies beyond it"),
        ("{change: 2}", "change"),
    ],
)
def test_what_is_wrong_is_said(tmp_path: Path, given: str, words: str) -> None:
    with pytest.raises(BadInput) as bad:
        load_problem(a_brief(tmp_path, given))
    assert any(words in str(item) for item in bad.value.diagnostics), [str(item) for item in bad.value.diagnostics]
    assert all(item.where is not None and item.where.line is not None for item in bad.value.diagnostics)


def test_the_other_role_without_both_leading_is_refused(tmp_path: Path) -> None:
    file = a_brief(tmp_path, "false")
    with pytest.raises(BadInput) as bad:
        load_problem(file)
    assert "add both_lead: true" in str(bad.value.diagnostics[0])


def test_by_hand_and_back_from_the_record(tmp_path: Path) -> None:
    brief = a_brief(tmp_path, "{at_a_time: 4}")
    hand = tmp_path / "hand.yaml"
    hand.write_text(BY_HAND, "utf-8")
    problem, routine = load_routine(hand, brief)
    assert [p.swapped for p in routine.figures] == [False] * 4 + [True] * 2 + [False]
    assert routine.figures[4].faces == (routine.figures[3].faces + 4) % 8, "in two hands the new leader looks back"
    data = as_data(routine)
    assert [figure.get("leads") for figure in data["figures"]] == [None] * 4 + ["follower"] * 2 + [None]
    record = tmp_path / "routine.json"
    record.write_text(json_text(data), "utf-8")
    again = load_routine(record, brief)[1]
    assert again.figures == routine.figures
    assert routine_from_record(record_of(routine)).figures == routine.figures
    keys = {breach.key for breach in verify(problem, routine)}
    assert "continuity:hold" in keys, "a closed hold is not taken in no time"


@pytest.mark.parametrize("taken_out", [True, False])
def test_a_lead_taken_out_of_the_record_or_put_in_is_refused(tmp_path: Path, taken_out: bool) -> None:
    brief = a_brief(tmp_path, "{at_a_time: 4}")
    hand = tmp_path / "hand.yaml"
    hand.write_text(
        "format: routine/1\ndance: cha-cha\nfigures: [fence line right, fence line left, change lead, "
        "new york left, hand to hand left, change lead, fence line right, fence line left, fence line right, "
        "fence line left]\n",
        "utf-8",
    )
    problem, routine = load_routine(hand, brief)
    assert not [breach for breach in verify(problem, routine) if breach.law]
    data = as_data(routine)
    if taken_out:
        del data["figures"][3]["leads"]
    else:
        data["figures"][1]["leads"] = "follower"
    record = tmp_path / "routine.json"
    record.write_text(json_text(data), "utf-8")
    laws = [breach for breach in verify(*load_routine(record, brief)) if breach.law]
    assert laws
    assert {"continuity:leader-foot", "continuity:facing"} <= {breach.key for breach in laws}
