"""Explanations on a small travelling floor with the shipped waltz: decided where walks decide, else honestly open."""

from __future__ import annotations

from pathlib import Path

from composer.brief import load_problem
from composer.cli.whytell import brief_data, told_brief
from composer.explain.why import Open, Possible, why
from composer.outcome import NoRoutine
from composer.problem import Problem

BRIEF = """\
format: brief/1
title: Round a small room
dance: waltz
music: {{tempo: 88, bars: 16, phrase_bars: 4}}
couple:
  leader: {{level: {level}}}
  follower: {{level: {level}}}
room: {{style: travelling, width: 6, depth: 5}}
wishes:
  protect: phrases
"""


def in_a_small_room(folder: Path, more: str = "", level: int = 1) -> Problem:
    file = folder / "small.yaml"
    file.write_text(BRIEF.format(level=level) + more, "utf-8")
    return load_problem(file)


def test_a_walk_decides_a_room_of_six_by_five_with_protected_phrases(tmp_path: Path) -> None:
    assert why(in_a_small_room(tmp_path)) == Possible()


def test_a_figure_across_a_protected_phrase_is_explained_there_too(tmp_path: Path) -> None:
    found = why(in_a_small_room(tmp_path, "  must: [{figure: natural turn, at: 10}]\n", level=2), time_limit_s=30)
    assert isinstance(found, NoRoutine)
    ((*members,),) = (clash.members for clash in found.clashes)
    assert {m.key for m in members} == {"must_never:must-waltz/natural-turn@10", "phrasing:across-13"}
    assert found.clashes[0].minimal
    assert any("begin on count 7 instead of 10" in remedy.sentence for remedy in found.remedies), found.remedies


def test_what_stays_open_says_what_is_known_and_what_to_try(tmp_path: Path) -> None:
    more = "  repeats: {most: 2}\n  at_least_different: 9\n  must: [natural turn, whisk]\n"
    problem = in_a_small_room(tmp_path, more, level=2)
    found = why(problem, time_limit_s=0.5)
    assert isinstance(found, Open)
    assert "without any of the wishes there is a routine" in found.known
    assert found.try_next[-1] == "give more time with --time-limit"
    told = told_brief(problem, found)
    assert told.answer.startswith("Undecided")
    assert "proved" not in told.answer
    assert [part.heading for part in told.parts] == ["What is known so far", "What to try"]
    assert brief_data(found)["status"] == "undecided"
