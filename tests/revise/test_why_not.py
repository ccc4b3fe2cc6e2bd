"""Why a revision cannot be: the clashes over everything asked are smallest, shown by brute force and by deletion."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import assume, event, given, settings
from hypothesis import strategies as st

from composer.explain.oracle import Budget
from composer.network import build
from composer.outcome import NoRoutine
from composer.problem import Problem
from composer.revise import Failed, Request, open_routine, revise
from composer.revise.asks import Ask
from composer.revise.kept import Piece, keeping
from composer.revise.leastchange import Least, least_change
from composer.revise.places import danced_within, extra_demands, staying
from composer.revise.whynot import oracle_of, why_not
from composer.routine import Routine
from composer.rules import breaches_of
from tests.builders import a_figure, a_problem, a_routine, a_timeline, tiny_problems
from tests.explain.brute import clashes_from, smallest
from tests.revise.test_least_change import the_routine
from tests.solve.brute import TooMany, sequences

Folder = Callable[[str], Path]


def wishes_broken(problem: Problem, judge: Callable[[Routine], list], limit: int = 3000) -> set[frozenset[str]]:
    """For every sequence that can be danced, the wishes of brief and revision that it breaks."""
    found = set()
    for placed in sequences(problem, limit):
        routine = the_routine(problem, placed)
        found.add(frozenset(b.key for b in (*breaches_of(problem, routine), *judge(routine)) if not b.law))
    return found


@given(tiny_problems(most_beats=12, rooms=False), st.randoms(use_true_random=False))
@settings(max_examples=settings.default.max_examples)
def test_every_clash_is_a_smallest_one(problem: Problem, random) -> None:
    """Keeps and replacements drawn at random over a routine that can be danced, with whatever the brief wishes."""
    try:
        everything = list(sequences(problem, 3000))
    except TooMany:
        assume(False)
        return
    assume(everything)
    assume(all(must.at is None or must.at <= problem.length_ticks // 12 for must in problem.brief.wishes.must))
    old = the_routine(problem, random.choice(everything))
    counts = problem.length_ticks // 12
    stretches = [
        (a, min(counts, a + random.randrange(4))) for a in random.sample(range(1, counts + 1), k=min(2, counts))
    ]
    asks = [Ask("replace", f"{a}-{b}", danced_within(old, (a, b))) for a, b in stretches[:1]]
    extra = extra_demands(staying(old, stretches[1:], (), problem), asks)
    judge = extra(build(problem)).judge
    corrections = smallest(wishes_broken(problem, judge))
    impossible = frozenset() not in corrections
    found = least_change(problem, keeping(old, problem.length_ticks), extra)
    assert isinstance(found, NoRoutine) == impossible
    if not isinstance(found, NoRoutine):
        assert isinstance(found, Least)
        return
    every = clashes_from(corrections)
    members = [frozenset(m.key for m in clash.members) for clash in found.clashes]
    asked = any(key.startswith("revise:") for clash in members for key in clash)
    event(f"{len(members)} clashes, with the revision's own {asked}")
    assert members
    for clash, keys in zip(found.clashes, members, strict=True):
        assert clash.minimal
        assert keys in every


def test_deleting_any_member_makes_it_possible() -> None:
    """A figure that must stay, a figure that must come and a limit: two of the three hold, all three do not."""
    figures = [a_figure("four", 4), a_figure("other", 4), a_figure("long", 8)]
    problem = a_problem(figures, {"must": ["long", "other"], "at_most_different": 2}, timeline=a_timeline(4))
    old = a_routine(problem, ["four", "four", "four", "four"])
    extra = extra_demands(staying(old, [(1, 4)], (), problem), ())
    found = least_change(problem, keeping(old, problem.length_ticks), extra)
    assert isinstance(found, NoRoutine)
    (clash,) = found.clashes
    assert clash.minimal
    keys = {member.key for member in clash.members}
    assert {key.split(":")[0] for key in keys} == {"revise", "must_never", "variety"}
    oracle = oracle_of(problem, extra, Budget.of(20))
    assert oracle.possible(keys) is False
    for key in keys:
        assert oracle.possible(keys - {key}) is True, key
    assert any(remedy.verified for remedy in found.remedies)


def test_a_smaller_room_and_what_stays_clash_and_nothing_else_is_blamed() -> None:
    """Three metres are danced along a floor of eight, not along one of two and a half."""
    figures = [a_figure("far", 4, travel=(3000, 0)), a_figure("near", 4, travel=(200, 0)), a_figure("spot", 4)]
    wishes = {"must": ["near"], "at_least_different": 2}
    large, small = (
        a_problem(figures, wishes, {"style": "show", "width": w, "depth": w}, timeline=a_timeline(2)) for w in (8, 2.5)
    )
    old = a_routine(large, ["far", "near"], at=(1500, 1500))
    extra = extra_demands(staying(old, [(1, 4)], (), small), ())
    assert isinstance(least_change(large, keeping(old, large.length_ticks), extra), Least)
    assert isinstance(least_change(small, keeping(old, small.length_ticks)), Least)
    found = least_change(small, keeping(old, small.length_ticks), extra)
    assert isinstance(found, NoRoutine)
    (clash,) = found.clashes
    assert clash.minimal
    assert {member.key for member in clash.members} == {"room:walls", "revise:keep-1-4"}
    assert any("floor" in remedy.sentence and remedy.verified for remedy in found.remedies)


def test_a_lower_level_and_what_stays_clash() -> None:
    figures = [a_figure("hard", 4, level=3), a_figure("easy", 4), a_figure("other", 4)]
    couples = [{"leader": {"level": 3}, "follower": {"level": level}} for level in (3, 2)]
    able, less = (a_problem(figures, {"must": ["other"]}, None, c, a_timeline(2)) for c in couples)
    old = a_routine(able, ["hard", "other"])
    extra = extra_demands(staying(old, [(1, 4)], (), less), ())
    found = least_change(less, keeping(old, less.length_ticks), extra)
    assert isinstance(found, NoRoutine)
    (clash,) = found.clashes
    assert clash.minimal
    assert {member.key for member in clash.members} == {"learned:follower-level", "revise:keep-1-4"}


def test_music_too_short_for_what_stays_clashes() -> None:
    """The music now ends in the middle of what must stay: that alone cannot be."""
    figures = [a_figure("eight", 8), a_figure("four", 4)]
    long, short = (a_problem(figures, timeline=a_timeline(bars)) for bars in (4, 3))
    old = a_routine(long, ["eight", "eight"])
    pieces = (Piece(0, 0, short.length_ticks),)
    extra = extra_demands(staying(old, [(9, 16)], pieces, short), ())
    found = least_change(short, keeping(old, short.length_ticks, pieces), extra)
    assert isinstance(found, NoRoutine)
    (clash,) = found.clashes
    assert (clash.minimal, [m.key for m in clash.members]) == (True, ["revise:keep-9-16"])


@pytest.mark.parametrize("asked", ["forbid", "require"])
def test_what_is_forbidden_or_required_against_what_stays(folder: Folder, asked: str) -> None:
    opened = open_routine(folder("first-dance"))
    first = opened.routine.figures[1]
    counts = (first.start_tick // 12 + 1, first.end_tick // 12)
    other = next(p.figure for p in opened.routine.figures if p.figure != first.figure and p.start_tick > first.end_tick)
    ask = Ask("forbid", first.figure) if asked == "forbid" else Ask("require", f"{other}@{counts[0]}")
    found = revise(opened, Request(asks=(ask,), keep=(counts,)))
    assert isinstance(found, Failed)
    assert isinstance(found.outcome, NoRoutine)
    (clash,) = found.outcome.clashes[:1]
    assert clash.minimal
    assert {member.key.split(":")[0] for member in clash.members} == {"revise", "must_never"}


def test_out_of_time_a_clash_is_not_called_smallest() -> None:
    figures = [a_figure("four", 4), a_figure("other", 4), a_figure("long", 8)]
    problem = a_problem(figures, {"must": ["long", "other"], "at_most_different": 2}, timeline=a_timeline(4))
    old = a_routine(problem, ["four", "four", "four", "four"])
    extra = extra_demands(staying(old, [(1, 4)], (), problem), ())
    found = why_not(problem, extra, 0.0)
    assert all(not clash.minimal for clash in found.clashes)
    assert replace(found, clashes=()).remedies == ()
