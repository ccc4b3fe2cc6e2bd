"""Several clashes at once: the combination found first is the cheapest there is, by brute force over every choice."""

from __future__ import annotations

from functools import cache
from itertools import product
from math import prod

import pytest

from composer.explain.clashes import enumerate_clashes
from composer.explain.combined import helps, ladders_of, line_of, rungs_of
from composer.explain.degrees import Ladder, Rung
from composer.explain.oracle import Budget, Oracle
from composer.explain.trying import Search
from composer.explain.why import why
from composer.outcome import NoRoutine
from composer.problem import Problem
from composer.routine import Routine
from composer.rules.base import Change, Swap
from composer.rules.changes import changed
from composer.verify import verify
from tests.builders import a_figure, a_problem, a_timeline
from tests.explain.pages import three_clashes
from tests.explain.tiny import the_tiny
from tests.solve.brute import is_broken, sequences

CHOICES = 1000
"""Briefs with more choices than this take too long by brute force."""


@cache
def several_at_once() -> tuple[int, ...]:
    """Tiny briefs that no single wish given up makes possible, with few enough choices."""
    found = []
    for number, (problem, corrections) in enumerate(the_tiny(100)):
        ladders = ladders_of(problem, sorted({key for keys in corrections for key in keys}))
        if all(len(keys) > 1 for keys in corrections) and prod(len(x.rungs) + 1 for x in ladders) <= CHOICES:
            found.append(number)
    return tuple(found)


def cost_of(ladders: list[Ladder], choice: tuple[int, ...]) -> int:
    return sum(rung.cost for rung in rungs_of(ladders, choice))


def one_rung_per_line(ladders: list[Ladder], choice: tuple[int, ...]) -> bool:
    lines = [line_of(ladder) for ladder, at in zip(ladders, choice, strict=True) if at]
    return len(set(lines)) == len(lines)


def applied(problem: Problem, rungs: tuple[Rung, ...]) -> Problem:
    return changed(problem, [change for rung in rungs for change in rung.changes])


def cheapest_by_brute_force(problem: Problem, ladders: list[Ladder]) -> int | None:
    """The least cost of any choice of rungs with which some sequence of figures keeps every wish."""
    every = [
        Routine("brute", problem.brief.dances, problem.length_ticks, placed) for placed in sequences(problem, 3000)
    ]
    choices = product(*(range(len(ladder.rungs) + 1) for ladder in ladders))
    for choice in sorted((c for c in choices if one_rung_per_line(ladders, c)), key=lambda c: cost_of(ladders, c)):
        softened = applied(problem, rungs_of(ladders, choice))
        if any(not is_broken(softened, routine) for routine in every):
            return cost_of(ladders, choice)
    return None


def test_there_are_enough_of_them() -> None:
    assert len(several_at_once()) >= 50


@pytest.mark.parametrize("at", range(50))
def test_the_cheapest_combination_is_brute_forces(at: int) -> None:
    problem, corrections = the_tiny(100)[several_at_once()[at]]
    oracle = Oracle.of(problem, Budget.of(60))
    clashes = [core.keys for core in enumerate_clashes(oracle).clashes]
    ladders = ladders_of(problem, [k for k in oracle.wishes if any(k in keys for keys in corrections)])
    wanted = cheapest_by_brute_force(problem, ladders)
    found = helps(Search(oracle), ladders, clashes, oracle.budget, most=6)
    if wanted is None:
        assert not found
        return
    assert found[0].cheapest
    assert found[0].cost == wanted
    search = Search(oracle)
    told: set[str] = set()
    for one in found:
        tried = search.tried(*one.rungs)
        assert tried.routine is not None
        assert verify(applied(problem, one.rungs), tried.routine) == []
        kinds = {rung.kind for rung in one.rungs}
        assert kinds - told  # something new every time
        told |= kinds
        for left_out in one.rungs if len(one.rungs) > 1 else ():
            rest = tuple(rung for rung in one.rungs if rung is not left_out)
            assert search.tried(*rest).routine is None


@pytest.mark.parametrize("at", range(0, 50, 3))
def test_why_offers_something_at_most_as_dear(at: int) -> None:
    """Figures to learn and nearer counts can only make it cheaper."""
    problem, corrections = the_tiny(100)[several_at_once()[at]]
    ladders = ladders_of(problem, sorted({key for keys in corrections for key in keys}))
    wanted = cheapest_by_brute_force(problem, ladders)
    found = why(problem, time_limit_s=60)
    assert isinstance(found, NoRoutine)
    if wanted is not None:
        assert found.remedies
        assert found.remedies[0].cost <= wanted
    assert [remedy.cost for remedy in found.remedies] == sorted(remedy.cost for remedy in found.remedies)
    assert all(remedy.verified for remedy in found.remedies)


def test_three_clashes_get_one_remedy_that_meets_all_three() -> None:
    found = why(three_clashes())
    assert isinstance(found, NoRoutine)
    assert len(found.clashes) == 3
    assert found.remedies
    for remedy in found.remedies:
        assert remedy.sentence.count(", and ") == 2, remedy.sentence
        assert "dip" in remedy.sentence
        assert "eight" in remedy.sentence or "section" in remedy.sentence
        assert "four" in remedy.sentence or "times" in remedy.sentence
    assert "Let eight begin on count" in found.remedies[0].sentence or "let eight begin" in found.remedies[0].sentence


def test_no_remedy_repeats_what_the_earlier_ones_said_already() -> None:
    found = why(three_clashes())
    assert isinstance(found, NoRoutine)
    told: set[str] = set()
    for remedy in sorted(found.remedies, key=lambda r: r.cost):
        parts = set(remedy.sentence.rstrip(".").lower().split(", and "))
        assert parts - told
        told |= parts


def test_two_items_of_one_list_are_two_lines_of_the_brief() -> None:
    figures = [a_figure("four", beats=4, cautions=("dip",)), a_figure("side", beats=4, cautions=("wrap",))]
    couple = {"avoid": ["wrap"]}
    problem = a_problem(figures, {"must": ["four", "side"]}, None, couple, a_timeline(2))
    one = Change("a:b", "one", ("couple", "accept"), Swap(new="dip"), 7)
    other = Change("a:c", "other", ("couple", "accept"), Swap(new="lift"), 7)
    lines = [line_of(Ladder("k", (Rung("k", c.sentence, 7, (c,)),))) for c in (one, other)]
    assert lines[0] != lines[1]
    found = why(problem)
    assert isinstance(found, NoRoutine)
    assert found.remedies


def test_learning_is_narrowed_to_figures_in_a_combination_too() -> None:
    figures = [a_figure("four", beats=4), a_figure("hard", beats=4, level=3), a_figure("dip", beats=4)]
    wishes = {"must": ["hard", "dip"], "never": ["dip"]}
    found = why(a_problem(figures, wishes, None, {"leader": {"level": 1}, "follower": {"level": 1}}, a_timeline(4)))
    assert isinstance(found, NoRoutine)
    assert any("earn hard (level 3)" in r.sentence and "dip" in r.sentence for r in found.remedies), found.remedies


def test_less_in_two_places_is_offered_where_it_asks_less_than_much_in_one() -> None:
    figures = [a_figure("four", beats=4), a_figure("long", beats=16)]
    wishes = {"must": [{"figure": "long", "at": 9}], "protect": "phrases"}
    music = a_timeline(8, 4, 2, sections=[(4, "A", None), (4, "B", None)])
    found = why(a_problem(figures, wishes, None, None, music))
    assert isinstance(found, NoRoutine)
    first, *others = found.remedies
    assert set(first.sentence.rstrip(".").lower().split(", and ")) == {
        "let long begin on count 1 instead of 9", "let figures run across phrases, though not sections",
    }  # fmt: skip
    assert others
    assert all(first.cost < remedy.cost for remedy in others)
    assert any(", and " not in remedy.sentence for remedy in others)
