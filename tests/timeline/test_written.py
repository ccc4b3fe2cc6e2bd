"""Written measures become bars: metre, pickups, odd bars, tempo, sections. No score library takes part."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from composer.timeline import assemble, faults
from composer.timeline.metre import metre_of
from composer.timeline.written import Written, perform


def m(length: str | int = 4, top: int = 4, bottom: int = 4, **more: object) -> Written:
    return Written(Fraction(length), metre_of(top, bottom), **more)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("top", "bottom", "beats", "beat"),
    [
        (4, 4, 4, "1"), (3, 4, 3, "1"), (2, 4, 2, "1"), (2, 2, 2, "2"), (6, 8, 2, "3/2"), (9, 8, 3, "3/2"),
        (12, 8, 4, "3/2"), (3, 8, 3, "1/2"), (6, 4, 2, "3"), (5, 4, 5, "1"), (7, 8, 7, "1/2"), (3, 2, 3, "2"),
    ],
)  # fmt: skip
def test_what_dancers_count(top: int, bottom: int, beats: int, beat: str):
    metre = metre_of(top, bottom)
    assert (metre.beats, metre.beat) == (beats, Fraction(beat))
    assert metre.bar == Fraction(4 * top, bottom)


def test_counting_otherwise():
    assert metre_of(6, 8, 6).beat == Fraction(1, 2)
    assert metre_of(4, 4, 2).beat == 2
    with pytest.raises(ValueError, match="cannot be counted in 3"):
        metre_of(4, 4, 3)
    with pytest.raises(ValueError, match="not a time signature"):
        metre_of(4, 3)


def test_a_jig_has_two_beats_to_the_bar():
    bars = perform([m(3, 6, 8)] * 32, range(32), title="", tempo=116)
    timeline = assemble(bars)
    assert timeline.length_beats == 64
    assert timeline.beats_per_minute == pytest.approx(116)


def test_a_pickup_completes_the_bar_before_the_repeat():
    written = [m("1/2"), m(), m(), m("7/2")]
    bars = perform(written, [0, 1, 2, 3, 0, 1, 2, 3], title="", tempo=60)
    assert [len(bar) for bar in bars.bars] == [4] * 6
    assert bars.pickup == ()
    assert bars.bars[0][0] == 0.5
    assert bars.bars[-1][-1] == 23.5
    assert bars.notes == ()


def test_a_pickup_of_whole_beats_is_kept_before_the_dance():
    bars = perform([m(2), m(), m()], range(3), title="", tempo=60)
    timeline = assemble(bars)
    assert [(b.at_s, b.in_bar) for b in timeline.before] == [(0.0, 3), (1.0, 4)]
    assert timeline.beats[0].at_s == 2.0


def test_a_repeated_pickup_takes_no_time_after_a_full_bar():
    written = [m(1), m(), m(), m()]
    bars = perform(written, [0, 1, 2, 3, 0, 1, 2, 3], title="", tempo=60)
    assert len(bars.bars) == 6
    assert "overlap" in bars.notes[0]


@pytest.mark.parametrize(
    ("length", "beats", "said"), [("15/4", 4, 0), ("17/4", 4, 1), (3, 3, 1), (5, 5, 1), ("9/2", 4, 1)]
)
def test_odd_bars_count_whole_beats(length: str | int, beats: int, said: int):
    bars = perform([m(), m(length), m(), m()], range(4), title="", tempo=60)
    assert [len(bar) for bar in bars.bars] == [4, beats, 4, 4]
    assert len(bars.notes) == said


def test_a_tempo_change_inside_a_bar():
    change = m(tempos=((Fraction(2), Fraction(120)),))
    bars = perform([m(tempos=((Fraction(0), Fraction(60)),)), change, m()], range(3), title="")
    assert bars.bars[1] == (4.0, 5.0, 6.0, 6.5)
    assert bars.bars[2][0] == 7.0
    assert bars.end_s == 9.0


def test_the_briefs_tempo_replaces_the_opening_and_keeps_proportions():
    slow_then_fast = [m(tempos=((Fraction(0), Fraction(60)),)), m(tempos=((Fraction(0), Fraction(120)),))]
    bars = perform(slow_then_fast, range(2), title="", tempo=30)
    assert bars.bars[0] == (0.0, 2.0, 4.0, 6.0)
    assert bars.bars[1] == (8.0, 9.0, 10.0, 11.0)


def test_a_repeat_goes_back_to_the_tempo_written_there():
    first, second = m(tempos=((Fraction(0), Fraction(60)),)), m(tempos=((Fraction(0), Fraction(120)),))
    bars = perform([first, second], [0, 1, 0, 1], title="")
    assert [bar[0] for bar in bars.bars] == [0.0, 4.0, 6.0, 10.0]


def test_no_tempo_asks_for_one():
    with pytest.raises(ValueError, match=r"music\.tempo"):
        perform([m()], [0], title="")


@pytest.mark.parametrize(("tempo", "good"), [(20, True), (19.9, False), (400, True), (400.1, False)])
def test_tempo_limits(tempo: float, good: bool):
    if good:
        perform([m()], [0], title="", tempo=tempo)
    else:
        with pytest.raises(ValueError, match="cannot be danced"):
            perform([m()], [0], title="", tempo=tempo)


def test_nothing_to_play():
    with pytest.raises(ValueError, match="not one full bar"):
        perform([m(0)], [0], title="", tempo=60)


def phrase(seed: int, bars: int = 8, **first: object) -> list[Written]:
    return [
        m(content=((Fraction(0), seed * 100 + i),), **(first if i == 0 else {}))  # type: ignore[arg-type]
        for i in range(bars)
    ]


def labels(written: list[Written], order: list[int] | None = None) -> str:
    timeline = assemble(perform(written, order or range(len(written)), title="", tempo=100))
    return " ".join(f"{s.label}{s.beats // 4}" for s in timeline.sections)


def test_repeats_share_a_letter():
    written = phrase(1) + phrase(2, begins=True)
    order = [*range(8), *range(8), *range(8, 16), *range(8, 16)]
    assert labels(written, order) == "A8 A8 B8 B8"


def test_first_and_second_endings_stay_in_their_section():
    written = [*phrase(1, 7), m(ending=True), m(ending=True, begins=True), *phrase(2, begins=True)]
    order = [*range(8), *range(7), 8, *range(9, 17)]
    assert labels(written, order) == "A8 A8 B8"


def test_music_without_marks_is_read_from_its_notes():
    assert labels(phrase(1) + phrase(1) + phrase(2) + phrase(1)) == "A8 A8 B8 A8"


def test_double_bars_part_sections():
    assert labels(phrase(1, 12) + phrase(2, 4, begins=True)) == "A12 B4"


def test_rehearsal_marks_keep_their_names_and_rule():
    written = phrase(1, mark="Intro") + phrase(2, mark="Verse") + phrase(3, begins=True)
    assert labels(written) == "Intro8 Verse16"
    assert labels(written, [*range(24), *range(8, 24)]) == "Intro8 Verse16 Verse16"


def test_a_different_quarter_still_counts_as_the_same_section():
    almost = phrase(1, 6) + phrase(7, 2)
    different = phrase(1, 5) + phrase(7, 3)
    assert labels(phrase(1) + almost) == "A8 A8"
    assert labels(phrase(1) + different) == "A8 B8"


lengths = st.sampled_from(["1/8", "1/2", "1", "3/2", "2", "3", "7/2", "4", "4", "4", "4", "9/2", "6"])


@given(written=st.lists(lengths, min_size=1, max_size=40), repeats=st.integers(1, 3), tempo=st.integers(20, 400))
def test_any_bars_give_a_sound_timeline(written: list[str], repeats: int, tempo: int):
    measures = [m(length) for length in written]
    order = list(range(len(measures))) * repeats
    try:
        bars = perform(measures, order, title="", tempo=tempo)
    except ValueError as problem:
        assert "not one full bar" in str(problem)  # noqa: PT017
        return
    timeline = assemble(bars)
    assert faults(timeline) == []
    gaps = [b.at_s - a.at_s for a, b in pairwise(timeline.beats)]
    assert gaps == pytest.approx([60 / tempo] * len(gaps))
