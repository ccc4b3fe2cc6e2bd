"""Cuts: at phrase boundaries, with the end kept, into published windows; song forms give the sections to cut at.

Outside facts: tests/facts/competition_time_rules.csv (rulebooks) and tests/facts/phrasing.csv (song forms).
"""

from __future__ import annotations

import csv
import re
from itertools import combinations
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from composer.errors import BadInput
from composer.problem import Problem
from composer.revise.cut import Cut, Fitted, Unfitted, candidates, fit, seconds_of, window_from, with_cut
from composer.rules.look import hits, phrase_starts
from composer.solve import solve
from composer.timeline.leftout import bar_starts, without_bars
from composer.timeline.model import Timeline, faults
from composer.units import TICKS_PER_BEAT
from composer.verify import verify
from tests.builders import a_figure, a_problem, a_timeline

FACTS = Path(__file__).resolve().parents[1] / "facts"


def published(name: str) -> dict[str, dict[str, str]]:
    with (FACTS / name).open(encoding="utf-8") as stream:
        return {row["item"]: row for row in csv.DictReader(stream)}


def published_windows() -> list[str]:
    """Every row that gives a range of minutes and seconds."""
    rows = published("competition_time_rules.csv").values()
    return sorted({m[0] for row in rows if (m := re.match(r"\d:\d\d-\d:\d\d", row["value"]))})


def a_track(bpm: float = 120.0, bars: int = 95, phrase_bars: int = 8) -> Timeline:
    """3:10 of 4/4: 95 bars, the last hit on the last bar."""
    sections = [(8, "Intro", 1), *[(16, label, 3) for label in "ABABC"], (7, "End", 5)]
    return a_timeline(bars, 4, phrase_bars, sections=sections, hits=[(377, 3)], bpm=bpm)


def test_the_published_windows_are_there() -> None:
    assert published_windows() == ["1:00-1:30", "1:20-1:30", "1:30-2:00", "2:30-4:00", "2:45-3:30"]


@pytest.mark.parametrize("window", published_windows())
def test_a_track_of_3_10_ends_on_a_phrase_and_on_the_final_hit(window: str) -> None:
    track = a_track()
    assert seconds_of(track) == pytest.approx(190.0)
    asked = window_from(window)
    found = candidates(track, asked)
    lengths = [14 + 16 * phrases for phrases in range(12)]  # phrases of 16 s, the last one of 14 s
    assert {round(cut.seconds) for cut in found} == {n for n in lengths if asked.least_s <= n <= asked.most_s}
    assert found or window == "1:20-1:30", "78 s is too short and 94 s too long: only this window has none"
    whole_bars = set(bar_starts(track).values())
    starts = {p.start for p in track.phrases} | {track.length_beats}
    by_bar = bar_starts(track)
    for cut in found:
        left = without_bars(track, cut.leave_out)
        assert faults(left) == []
        assert asked.least_s <= seconds_of(left) <= asked.most_s
        assert seconds_of(left) == pytest.approx(cut.seconds)
        assert left.accents[-1].tick == left.length_ticks - 4 * TICKS_PER_BEAT, (
            "the final hit, four counts from the end"
        )
        for first, last in cut.leave_out:
            assert by_bar[first] in starts
            assert by_bar[last + 1] in starts & whole_bars


def test_the_window_holds_at_its_ends_and_not_one_step_past() -> None:
    track = a_timeline(16, 4, 4, bpm=120.0)  # four phrases of eight seconds
    assert {cut.seconds for cut in candidates(track, window_from("0:16-0:24"))} == {16.0, 24.0}
    assert {cut.seconds for cut in candidates(track, window_from("0:17-0:23"))} == set()
    assert [cut.leave_out for cut in candidates(track, window_from("0:32-0:32"))] == [()]


def test_every_choice_of_one_run_and_a_late_beginning_is_a_candidate() -> None:
    track = a_timeline(20, 4, 4, bpm=120.0)
    listed = {cut.leave_out for cut in candidates(track, window_from("0:00-1:00"))}
    phrases = [(1 + 4 * i, 4 + 4 * i) for i in range(5)]
    wanted = set()
    for begin in range(5):
        head = ((1, 4 * begin),) if begin else ()
        wanted.add(head)
        for a, b in combinations(range(begin + 1, 5), 2):
            wanted.add((*head, (phrases[a][0], phrases[b - 1][1])))
    assert listed == wanted


@given(st.sets(st.integers(0, 4), min_size=1, max_size=4))
@settings(max_examples=30)
def test_what_is_left_keeps_its_order_and_time(out: set[int]) -> None:
    track = a_timeline(20, 4, 4, sections=[(8, "A", 1), (8, "B", 2), (4, "A", 3)], hits=[1, 30, 65], bpm=90.0)
    left = without_bars(track, [(4 * i + 1, 4 * i + 4) for i in out])
    assert faults(left) == []
    kept = [b for b in range(80) if b // 16 not in out]
    assert [beat.in_bar for beat in left.beats] == [track.beats[b].in_bar for b in kept]
    steps = [b.at_s - a.at_s for a, b in zip(left.beats, left.beats[1:], strict=False)]
    assert all(step == pytest.approx(60 / 90) for step in steps)
    assert [a.tick // TICKS_PER_BEAT for a in left.accents] == [kept.index(b) for b in (0, 29, 64) if b in kept]
    labels = [next(s.label for s in track.sections if s.start <= b < s.start + s.beats) for b in kept]
    assert [
        next(s.label for s in left.sections if s.start <= i < s.start + s.beats) for i in range(len(kept))
    ] == labels


def test_bars_that_are_not_there_are_refused() -> None:
    track = a_timeline(4, 4)
    for spans in ([(0, 1)], [(4, 5)], [(1, 2), (2, 3)], [(1, 4)]):
        with pytest.raises(ValueError, match=r"bars|nothing"):
            without_bars(track, spans)


@pytest.mark.parametrize(
    ("form", "sections", "counts", "seams"),
    [
        ("AABA", [(8, "A"), (8, "A"), (8, "B"), (8, "A")], 128, {0, 32, 64, 96}),
        ("12-bar blues", [(4, "a"), (4, "b"), (4, "c")], 48, {0, 16, 32}),
        ("contra tune AABB", [(4, "A"), (4, "A"), (4, "B"), (4, "B")], 64, {0, 16, 32, 48}),
    ],
)
def test_song_forms_are_cut_at_their_sections(
    form: str, sections: list[tuple[int, str]], counts: int, seams: set[int]
) -> None:
    """A chorus of AABA is 32 bars, twelve bars of blues 48 beats, a contra tune 64 beats: cuts come at their parts."""
    row = published("phrasing.csv")[form]["value"]
    said = int(re.findall(r"= (\d+)", row)[0]) * (4 if "32 bars" in row and form == "AABA" else 1)
    assert counts == said
    track = a_timeline(counts // 4, 4, sections[0][0], sections=[(n, label, None) for n, label in sections])
    assert {p.start for p in track.phrases} == seams
    for cut in candidates(track, window_from("0:00-9:00")):
        for first, last in cut.leave_out:
            assert 4 * (first - 1) in seams
            assert 4 * last in seams | {counts}


def a_short_problem() -> Problem:
    figures = [a_figure("four", 4), a_figure("strike", 4, peak=1), a_figure("eight", 8, energy=4)]
    music = a_timeline(12, 4, 4, sections=[(4, "A", 1), (4, "B", 4), (4, "C", 2)], hits=[(25, 3), (45, 3)], bpm=120.0)
    return a_problem(figures, {"weights": {"music": 5, "energy": 5}}, timeline=music)


def test_the_best_cut_is_that_of_trying_each() -> None:
    problem = a_short_problem()
    window = window_from("0:08-0:16")
    worths = []
    for cut in candidates(problem.timeline, window):
        outcome = solve(with_cut(problem, cut))
        worths.append(outcome.routine.score - cut.cost)  # type: ignore[union-attr]
    found = fit(problem, window)
    assert isinstance(found, Fitted)
    assert found.proven
    assert found.candidates == len(worths)
    assert found.worth == max(worths)
    assert verify(found.problem, found.routine) == []
    assert found.problem.length_ticks in phrase_starts(problem) or found.cut.seconds in (8.0, 16.0)
    assert max(hits(found.problem)) == found.problem.length_ticks - 4 * TICKS_PER_BEAT


def test_no_cut_of_that_length() -> None:
    found = fit(a_short_problem(), window_from("0:09-0:10"))
    assert found == Unfitted(0, True)


@pytest.mark.parametrize("text", ["", "-", "2:00-1:30", "soon", "1:75x", "90"])
def test_windows_that_are_none(text: str) -> None:
    with pytest.raises(BadInput, match="CMD018"):
        window_from(text)


def test_windows_may_be_open() -> None:
    assert window_from("-4:00").most_s == 240
    assert window_from("1:30-").least_s == 90
    assert Cut((), 1.0, 0).leave_out == ()
