"""Tempo-only music and the form of any music: cut, phrases, sections, hits."""

from __future__ import annotations

import csv
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from composer.errors import BadInput
from composer.timeline import HitWish, SectionWish, Shape, assemble, faults, steady_bars

FACTS = Path(__file__).parents[1] / "facts"


def codes(problem: BadInput) -> list[str]:
    return [item.code for item in problem.diagnostics]


def phrasing() -> dict[str, dict[str, str]]:
    """tests/facts/phrasing.csv: form texts and phrasing posts, each row with its address."""
    with (FACTS / "phrasing.csv").open(encoding="utf-8") as stream:
        return {row["item"]: row for row in csv.DictReader(stream)}


def test_tempo_gives_beats_a_constant_time_apart():
    timeline = assemble(steady_bars(120, 2, 4))
    assert [beat.at_s for beat in timeline.beats] == [0.5 * i for i in range(8)]
    assert [beat.in_bar for beat in timeline.beats] == [1, 2, 3, 4] * 2
    assert timeline.end_s == 4.0
    assert timeline.beats_per_minute == pytest.approx(120)


def test_a_tempo_that_does_not_divide_does_not_drift():
    timeline = assemble(steady_bars(87.3, 500, 3))
    assert timeline.beats[-1].at_s == pytest.approx(1499 * 60 / 87.3, abs=1e-9)


def test_aaba_is_32_bars_of_four_phrases():
    assert phrasing()["AABA"]["value"] == "4 x 8 = 32 bars"
    sections = tuple(SectionWish(8, label) for label in "AABA")
    timeline = assemble(steady_bars(120, 32, 4), Shape(sections=sections))
    assert [(p.start, p.beats) for p in timeline.phrases] == [(0, 32), (32, 32), (64, 32), (96, 32)]
    assert [s.label for s in timeline.sections] == ["A", "A", "B", "A"]


def test_contra_tune_is_64_beats():
    assert phrasing()["contra tune AABB"]["value"] == "4 x 16 = 64 beats (32 bars)"
    sections = tuple(SectionWish(8, label) for label in "AABB")
    timeline = assemble(steady_bars(116, 32, 2), Shape(sections=sections))
    assert timeline.length_beats == 64
    assert {p.beats for p in timeline.phrases} == {16}


def test_twelve_bar_blues_is_48_beats_in_three_phrases():
    assert phrasing()["12-bar blues"]["value"] == "3 x 4 bars = 48 beats = six 8-counts"
    timeline = assemble(steady_bars(130, 12, 4), Shape(phrase_bars=4))
    assert timeline.length_beats == 48
    assert [p.beats for p in timeline.phrases] == [16, 16, 16]


def test_a_waltz_phrase_is_24_beats_without_being_told():
    assert phrasing()["waltz 8-bar phrase"]["value"] == "24"
    assert {p.beats for p in assemble(steady_bars(87, 32, 3)).phrases} == {24}


def test_what_is_left_of_a_section_is_a_shorter_phrase():
    shape = Shape(sections=(SectionWish(10, "A", 2), SectionWish(8, "B", 4)))
    timeline = assemble(steady_bars(90, 18, 3), shape)
    assert [(p.beats, p.label) for p in timeline.phrases] == [(24, "A1"), (6, "A2"), (24, "B")]
    assert [s.energy for s in timeline.sections] == [2, 4]


def test_the_cut_begins_at_beat_0_and_keeps_what_lies_before():
    timeline = assemble(steady_bars(60, 12, 4), Shape(first_bar=3, last_bar=10))
    assert timeline.usable == (0, 32)
    assert timeline.beats[0].at_s == 8.0
    assert timeline.first_bar == 3
    assert len(timeline.before) == 8
    assert timeline.seconds_at(timeline.length_ticks) == 40.0


@pytest.mark.parametrize(("first", "last", "good"), [(1, 12, True), (12, 12, True), (13, 13, False), (1, 13, False)])
def test_the_cut_stays_inside_the_music(first: int, last: int, good: bool):
    if good:
        assert assemble(steady_bars(60, 12, 4), Shape(first_bar=first, last_bar=last))
    else:
        with pytest.raises(BadInput, match=r"TML040.*the music has 12 bars"):
            assemble(steady_bars(60, 12, 4), Shape(first_bar=first, last_bar=last))


def test_sections_must_add_up():
    with pytest.raises(BadInput, match="sections add up to 7 bars, but 8 bars are danced"):
        assemble(steady_bars(60, 8, 4), Shape(sections=(SectionWish(7),)))


def test_hits_become_accents_counted_from_the_first_danced_beat():
    shape = Shape(first_bar=3, hits=(HitWish(3), HitWish(4, Fraction(5, 2), 3), HitWish(3, Fraction(1), 1)))
    timeline = assemble(steady_bars(60, 8, 4), shape)
    assert [(a.tick, a.strength) for a in timeline.accents] == [(0, 2), (66, 3)]


@pytest.mark.parametrize(
    ("hit", "code"),
    [
        (HitWish(2), "TML042"),
        (HitWish(9), "TML042"),
        (HitWish(3, Fraction(5)), "TML043"),
        (HitWish(3, Fraction(6, 5)), "TML043"),
    ],
)
def test_hits_outside_are_refused(hit: HitWish, code: str):
    with pytest.raises(BadInput) as caught:
        assemble(steady_bars(60, 8, 4), Shape(first_bar=3, hits=(hit,)))
    assert codes(caught.value) == [code]


def test_the_last_moment_of_a_bar_is_still_inside():
    timeline = assemble(steady_bars(60, 8, 4), Shape(hits=(HitWish(8, Fraction(59, 12)),)))
    assert timeline.accents[0].tick == timeline.length_ticks - 1


def test_every_fault_is_said_at_once():
    shape = Shape(sections=(SectionWish(7),), hits=(HitWish(9), HitWish(1, Fraction(5))))
    with pytest.raises(BadInput) as caught:
        assemble(steady_bars(60, 8, 4), shape)
    assert codes(caught.value) == ["TML041", "TML042", "TML043"]


@given(
    tempo=st.floats(21, 399),
    bars=st.integers(1, 90),
    metre=st.integers(2, 12),
    phrase=st.integers(1, 20),
    data=st.data(),
)
def test_any_cut_of_any_metronome_is_sound(tempo: float, bars: int, metre: int, phrase: int, data: st.DataObject):
    first = data.draw(st.integers(1, bars))
    last = data.draw(st.integers(first, bars))
    timeline = assemble(steady_bars(tempo, bars, metre), Shape(first, last, phrase))
    assert faults(timeline) == []
    assert timeline.length_beats == (last - first + 1) * metre
    assert all(p.beats % metre == 0 and p.beats <= phrase * metre for p in timeline.phrases)
    assert all(timeline.beat_in_bar(12 * p.start) == 1 for p in timeline.phrases)
