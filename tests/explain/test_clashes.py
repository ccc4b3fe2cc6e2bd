"""Clashes and corrections against brute force over every sequence of figures."""

from __future__ import annotations

import pytest

from composer.cli.whytell import brief_data, told_brief
from composer.explain.clashes import enumerate_clashes, reduced
from composer.explain.oracle import Budget, Oracle
from composer.explain.why import Open, why
from composer.outcome import NoRoutine
from composer.problem import Problem
from tests.builders import a_figure, a_problem, a_timeline
from tests.explain.brute import clashes_from, is_smallest_clash, naive_deletion, wishes_of
from tests.explain.tiny import the_tiny

ALL = list(range(100))


def an_oracle(problem: Problem) -> Oracle:
    return Oracle.of(problem, Budget.of(30))


@pytest.mark.parametrize("number", ALL)
def test_a_reduced_clash_is_as_small_as_naive_deletion_makes_it(number: int) -> None:
    problem, corrections = the_tiny(len(ALL))[number]
    oracle = an_oracle(problem)
    assert oracle.possible(oracle.wishes) is False
    core = reduced(oracle, oracle.wishes)
    assert core.minimal
    assert is_smallest_clash(core.keys, set(corrections))
    every = clashes_from(set(corrections))
    assert core.keys in every
    assert naive_deletion(wishes_of(problem), set(corrections)) in every
    if len(every) == 1:
        assert core.keys == naive_deletion(wishes_of(problem), set(corrections))


@pytest.mark.parametrize("number", ALL[:30])
def test_all_clashes_and_all_corrections_are_brute_forces(number: int) -> None:
    problem, corrections = the_tiny(len(ALL))[number]
    found = enumerate_clashes(an_oracle(problem))
    assert found.complete
    assert set(found.corrections) == set(corrections)
    assert {core.keys for core in found.clashes} == clashes_from(set(corrections))
    assert all(core.minimal for core in found.clashes)


def test_members_are_told_with_file_and_line() -> None:
    figures = [a_figure("a", beats=4), a_figure("b", beats=4)]
    problem = a_problem(figures, {"must": ["a"], "never": ["a"]}, None, None, a_timeline(2))
    found = why(problem)
    assert isinstance(found, NoRoutine)
    keys = {member.key: member.where for clash in found.clashes for member in clash.members}
    assert {"must_never:must-test/a", "must_never:never-test/a"} <= set(keys)
    assert all(where is not None and where.file == "brief.yaml" and where.line for where in keys.values())


def test_without_any_wish_the_music_itself_is_named() -> None:
    found = why(a_problem([a_figure("a", beats=6)], None, None, None, a_timeline(2)))
    assert isinstance(found, NoRoutine)
    (clash,) = found.clashes
    assert [member.key for member in clash.members] == ["length:fills"]
    assert any("8 counts cannot be made of sixes, 6 and 12 can" in reason for reason in clash.reasons)


def test_out_of_budget_nothing_is_claimed() -> None:
    problem, _ = the_tiny(len(ALL))[0]
    oracle = Oracle.of(problem, Budget(0.0, 0.0))
    assert oracle.possible(oracle.wishes) is None
    found = enumerate_clashes(oracle)
    assert not found.complete
    assert found.undecided
    assert found.clashes == found.corrections == []


def test_undecided_stays_undecided_and_tells_what_is_known() -> None:
    figures = [a_figure("a", beats=4), a_figure("b", beats=4)]
    problem = a_problem(figures, {"at_least_different": 2, "must": ["test/a"]}, None, None, a_timeline(2))
    found = why(problem, time_limit_s=0.0)
    assert isinstance(found, Open)
    assert "without any of the wishes there is a routine" in found.known
    assert any("--time-limit" in text for text in found.try_next)
    assert brief_data(found)["status"] == "undecided"
    assert "neither a routine nor a proof" in told_brief(problem, found).answer
