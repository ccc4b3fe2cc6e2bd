"""Remedies by degrees: each works, none milder of its kind does (by brute force), and giving up is last."""

from __future__ import annotations

from dataclasses import replace

import pytest

from composer.brief.music import timeline_from
from composer.explain.clashes import enumerate_clashes
from composer.explain.degrees import ladders_for, learning
from composer.explain.music import bars_rungs, longer, shorter
from composer.explain.oracle import Budget, Oracle
from composer.explain.trying import Search
from composer.explain.why import why
from composer.outcome import NoRoutine
from composer.problem import Problem
from composer.timeline.model import faults
from composer.verify import verify
from tests.builders import a_figure, a_problem, a_timeline
from tests.explain.brute import broken_sets
from tests.explain.tiny import the_tiny
from tests.solve.brute import TooMany


def brute_possible(problem: Problem) -> bool:
    return frozenset() in broken_sets(problem, 6000)


@pytest.mark.parametrize("number", range(30))
def test_the_lowest_degree_that_helps_is_brute_forces(number: int) -> None:
    problem, corrections = the_tiny(100)[number]
    oracle = Oracle.of(problem, Budget.of(60))
    search = Search(oracle)
    for key in sorted({next(iter(keys)) for keys in corrections if len(keys) == 1}):
        for ladder in ladders_for(problem, key):
            try:
                helps = [brute_possible(rung.applied(problem)) for rung in ladder.rungs]
            except TooMany:
                continue
            lowest = search.lowest(ladder)
            if True not in helps:
                assert lowest is None
                continue
            assert lowest is not None
            assert lowest.rung == ladder.rungs[helps.index(True)]
            assert lowest.routine is not None
            assert verify(lowest.rung.applied(problem), lowest.routine) == []


@pytest.mark.parametrize("number", range(30))
def test_some_remedy_is_found_wherever_one_wish_given_up_is_enough(number: int) -> None:
    problem, corrections = the_tiny(100)[number]
    found = why(problem, time_limit_s=60)
    assert isinstance(found, NoRoutine)
    keys = {next(iter(keys)) for keys in corrections if len(keys) == 1}
    if any(ladder.rungs for key in keys for ladder in ladders_for(problem, key)):
        softened = {key for key in keys for ladder in ladders_for(problem, key)
                    for rung in ladder.rungs[-1:] if brute_possible(rung.applied(problem))}  # fmt: skip
        assert bool(found.remedies) or not softened


def test_the_figures_to_learn_are_chosen() -> None:
    figures = [
        a_figure("a", beats=6),
        a_figure("b", beats=6),
        a_figure("hard-eight", beats=8, level=3),
        a_figure("harder-eight", beats=8, level=4),
        a_figure("nine", beats=9, level=2),
    ]
    found = why(a_problem(figures, None, None, {"leader": {"level": 1}, "follower": {"level": 1}}, a_timeline(8)))
    assert isinstance(found, NoRoutine)
    sentences = [remedy.sentence for remedy in found.remedies]
    assert any(text == "Learn hard-eight (level 3)." for text in sentences), sentences
    assert any(
        "take 6 counts" in reason and "32 counts cannot be made of sixes, 30 and 36 can" in reason
        for clash in found.clashes for reason in clash.reasons
    )  # fmt: skip
    assert any("a figure of 8 counts would make them up" in r for clash in found.clashes for r in clash.reasons)


def test_learning_says_who_learns() -> None:
    figures = [a_figure("a"), a_figure("b", level=3)]
    couple = {"leader": {"level": 3}, "follower": {"level": 1, "not_yet": ["test/b"]}}
    rung = learning(a_problem(figures, couple=couple), ["test/b"])
    assert rung.sentence == "let the follower learn b (level 3)"
    changed = rung.applied(a_problem(figures, couple=couple))
    assert changed.brief.couple.follower.knows == ("test/b",)
    assert changed.brief.couple.follower.not_yet == ()
    assert changed.brief.couple.leader.knows == ()


def test_a_brief_with_two_separate_conflicts_gets_a_remedy_for_both() -> None:
    figures = [a_figure("a", beats=4), a_figure("b", beats=4), a_figure("c", beats=4)]
    wishes = {"must": ["test/a", "test/b"], "never": ["test/a", "test/b"]}
    found = why(a_problem(figures, wishes, None, None, a_timeline(4)))
    assert isinstance(found, NoRoutine)
    assert len(found.clashes) == 2
    assert all("a" in r.sentence and "b" in r.sentence for r in found.remedies)
    assert found.remedies


@pytest.mark.parametrize("bars", [1, 3])
def test_shorter_and_longer_music_is_sound(bars: int) -> None:
    music = a_timeline(8, 4, 4, sections=[(6, "A", None), (2, "B", None)], hits=[1, 29])
    short, long = shorter(music, bars), longer(music, bars)
    assert short.length_beats == 32 - 4 * bars
    assert long.length_beats == 32 + 4 * bars
    assert faults(short) == faults(long) == []
    assert [accent.tick for accent in short.accents] == [0]
    assert long.beat_in_bar((32 + 1) * 12) == 2
    assert long.beats_per_minute == pytest.approx(music.beats_per_minute)


def test_counts_are_dropped_or_added_by_whole_bars() -> None:
    found = why(a_problem([a_figure("a", beats=6)], None, None, None, a_timeline(8)))
    assert isinstance(found, NoRoutine)
    sentences = [remedy.sentence for remedy in found.remedies]
    assert "Dance 2 bars (8 counts) less, 24 counts in all." in sentences
    assert "Dance 1 bar (4 counts) more, 36 counts in all." in sentences


def sentences_of(problem: Problem) -> list[str]:
    found = why(problem)
    assert isinstance(found, NoRoutine)
    assert all(remedy.verified for remedy in found.remedies)
    return [remedy.sentence for remedy in found.remedies]


def test_the_beginning_and_a_phrase_can_be_left_out_too() -> None:
    music = a_timeline(8, 4, 2)  # where bars are left out a section begins anew: sixes have to run across the seam
    said = sentences_of(a_problem([a_figure("a", beats=6)], {"protect": "nothing"}, None, None, music))
    assert "Dance 2 bars (8 counts) less, 24 counts in all." in said
    assert "Begin 2 bars (8 counts) later in the music, 24 counts in all." in said
    assert "Leave out bars 3 to 4 of the music (8 counts), 24 counts in all." in said


def test_bars_the_brief_cut_off_can_come_back() -> None:
    problem = a_problem([a_figure("a", beats=6)], None, None, None, a_timeline(8))
    cut = problem.brief.music.model_copy(update={"bars": 16, "first_bar": 4, "last_bar": 11})
    music = timeline_from(cut, problem.document)
    said = sentences_of(replace(problem, brief=problem.brief.model_copy(update={"music": cut}), timeline=music))
    assert "Dance 1 bar (4 counts) more, 36 counts in all." in said
    assert "Begin 1 bar (4 counts) earlier in the music, 36 counts in all." in said
    whole = problem.brief.music.model_copy(update={"bars": 8, "last_bar": 8})
    said = sentences_of(replace(problem, brief=problem.brief.model_copy(update={"music": whole})))
    assert not any("more" in text or "earlier" in text for text in said)  # there is no ninth bar


def test_variants_of_one_change_are_told_as_one() -> None:
    figures = [a_figure(name, beats=4) for name in ("four", "side", "box", "walk")]
    wishes = {"must": ["four", "side", "box"], "at_most_different": 2}
    said = sentences_of(a_problem(figures, wishes, None, None, a_timeline(4)))
    assert sum("without" in text for text in said) == 1
    assert "Do without box, four or side (one of them is enough)." in said
    assert len(said) == 2


def test_music_begun_later_moves_its_phrases() -> None:
    figures = [a_figure("four", beats=4), a_figure("eight", beats=8)]
    wishes = {"must": [{"figure": "eight", "at": 5}], "protect": "phrases"}
    said = sentences_of(a_problem(figures, wishes, None, None, a_timeline(8, 4, 2)))
    assert "Begin 1 bar (4 counts) later in the music, 28 counts in all." in said
    assert not any("less" in text for text in said)  # the end is not what is in the way


@pytest.mark.parametrize("bars", [-1, -2, -3, 1, 2])
def test_every_way_to_change_the_music_is_sound_and_as_long_as_it_says(bars: int) -> None:
    problem = a_problem([a_figure("a")], None, None, None, a_timeline(12, 4, 3, hits=[2, 20, 47]))
    rungs = bars_rungs(problem, {bars})
    assert {rung.kind for rung in rungs} >= ({"fewer counts", "begin later"} if bars < 0 else {"more counts"})
    assert ("a phrase less" in {rung.kind for rung in rungs}) is (bars == -3)
    for rung in rungs:
        assert rung.music is not None
        assert faults(rung.music) == []
        assert rung.music.length_beats == 48 + 4 * bars
        assert f"{48 + 4 * bars} counts in all" in rung.sentence


def test_corrections_come_with_the_clashes() -> None:
    problem, corrections = the_tiny(100)[1]
    found = enumerate_clashes(Oracle.of(problem, Budget.of(30)), most=1, most_corrections=1)
    assert found.corrections
    assert set(found.corrections) <= set(corrections)
