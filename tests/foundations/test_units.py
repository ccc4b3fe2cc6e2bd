"""Counts, lengths, alignments and frames."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from composer.units import (
    ALIGNMENTS,
    alignment_from,
    count_from,
    count_text,
    local_from_world,
    millimetres,
    ticks_from_beats,
    world_from_local,
)


@pytest.mark.parametrize(
    ("text", "count"),
    [
        ("3", Fraction(3)),
        ("3&", Fraction(7, 2)),
        ("1a", Fraction(7, 4)),
        ("2e", Fraction(9, 4)),
        ("3 1/3", Fraction(10, 3)),
    ],
)
def test_counts_are_read_as_dancers_say_them(text: str, count: Fraction) -> None:
    assert count_from(text) == count
    assert count_text(count) == text


@pytest.mark.parametrize("text", ["", "0", "&", "3b", "3 4/3", "3 1/0", "-1", "1.5", "3 &&"])
def test_what_is_no_count_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="is not a count"):
        count_from(text)


@given(st.integers(1, 200), st.integers(0, 11))
def test_every_tick_count_survives_writing_and_reading(beat: int, twelfth: int) -> None:
    count = beat + Fraction(twelfth, 12)
    assert count_from(count_text(count)) == count
    assert ticks_from_beats(count - 1) == (beat - 1) * 12 + twelfth


def test_a_fifth_of_a_beat_is_no_whole_number_of_ticks() -> None:
    with pytest.raises(ValueError, match="twelfths"):
        ticks_from_beats(Fraction(1, 5))


@pytest.mark.parametrize(
    ("text", "mm"),
    [("5 m", 5000), ("5", 5000), (4.5, 4500), ("1 ft", 305), ("60 ft", 18288), ("12in", 305), ("30 cm", 300)],
)
def test_lengths(text: str | float, mm: int) -> None:
    # 60 ft = 18.29 m: the published competition minimum as converted in tests/facts/floor_sizes.csv
    assert millimetres(text) == mm


@pytest.mark.parametrize("text", ["", "five", "5 yd", "nan", "inf", "1e9", "5 m 2"])
def test_what_is_no_length_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="not a length"):
        millimetres(text)


def test_facing_one_way_is_backing_the_opposite() -> None:
    # The eight pairs are published in alignment tables (yumpu 12147166 p. 26; Moore, Ballroom Dancing, 10th ed.).
    pairs = {"LOD": "ALOD", "DW": "DCA", "W": "C", "DWA": "DC", "ALOD": "LOD", "DCA": "DW", "C": "W", "DC": "DWA"}
    for number, name in enumerate(ALIGNMENTS):
        assert alignment_from(f"facing {name}") == number
        assert alignment_from(f"backing {pairs[name]}") == number


@given(st.floats(-5000, 5000), st.floats(-5000, 5000), st.integers(0, 15))
def test_frames_turn_there_and_back(forward: float, right: float, facing16: int) -> None:
    x, y = world_from_local(forward, right, facing16)
    back = local_from_world(x, y, facing16)
    assert back == pytest.approx((forward, right), abs=1e-6)


def test_wall_is_on_the_right_of_line_of_dance() -> None:
    # Counter-clockwise laps, wall on the right: U Michigan and lbdc.ca alignment pages.
    assert world_from_local(0, 1, 0) == pytest.approx((0, -1))
    assert world_from_local(1, 0, 4) == pytest.approx((0, -1))
    assert alignment_from("W") == 2
