"""Words, directions and counts of the sheet."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from composer.charts import Step
from composer.floor.model import SIDE_FACING, Room
from composer.report.counting import Counting, counts_text
from composer.report.directions import compass_for, goes_back
from composer.report.words import clean, clock, length_text, step_plain, turn_chart, turn_plain
from composer.units import world_from_local
from tests.builders import a_timeline


@pytest.mark.parametrize(
    ("sixteenths", "chart", "plain"),
    [
        (0, "", ""),
        (1, "1/16 right", "a sixteenth to the right"),
        (-2, "1/8 left", "an eighth to the left"),
        (6, "3/8 right", "three eighths to the right"),
        (8, "1/2 right", "half a turn to the right"),
        (-16, "1 left", "one full turn to the left"),
        (24, "1 1/2 right", "one and a half turns to the right"),
        (18, "1 1/8 right", "1 1/8 turns to the right"),
    ],
)
def test_turns_are_said_both_ways(sixteenths: int, chart: str, plain: str) -> None:
    assert turn_chart(sixteenths) == chart
    assert turn_plain(sixteenths) == plain


@pytest.mark.parametrize(
    ("seconds", "text"), [(0, "0:00.0"), (59.94, "0:59.9"), (59.96, "1:00.0"), (61.25, "1:01.2"), (754.0, "12:34.0")]
)
def test_clock_times_round_to_tenths_and_carry(seconds: float, text: str) -> None:
    assert clock(seconds) == text


@pytest.mark.parametrize(
    ("mm", "metres", "feet"), [(5000, "5 m", "16 ft 5 in"), (4880, "4.88 m", "16 ft"), (300, "0.3 m", "1 ft")]
)
def test_lengths_in_metres_and_feet(mm: int, metres: str, feet: str) -> None:
    assert (length_text(mm, "metres"), length_text(mm, "feet")) == (metres, feet)


def test_plain_words_name_side_size_and_turn_of_the_body() -> None:
    step = Step(at="2", foot="R", do="side", turn="3", body="2", size="small")  # type: ignore[arg-type]
    assert step_plain(step) == "Step to the right with the right foot, a small step, turning a quarter to the right."
    waiting = Step(at="3", foot="L", do="hold", size="small")  # type: ignore[arg-type]
    assert step_plain(waiting) == "Wait, no step."


def test_user_text_loses_only_what_no_format_can_carry() -> None:
    assert clean("\u202eabc\u202c \u2067x") == "abc x"
    assert clean("a\x00b\n\ud800c é 💃 שלום") == "a b c é 💃 שלום"


@given(facing16=st.integers(-40, 40), side=st.sampled_from(["south", "east", "north", "west"]))
def test_audience_words_agree_with_geometry(facing16: int, side: str) -> None:
    room = Room("show", 8000, 6000, 0, audience=side)  # type: ignore[arg-type]
    words = compass_for(room, False).words(facing16)
    ahead = world_from_local(1, 0, facing16)
    left = world_from_local(0, -1, facing16)
    towards = world_from_local(1, 0, 2 * SIDE_FACING[side])  # type: ignore[index]
    forward, sideways = (sum(a * b for a, b in zip(v, towards, strict=True)) for v in (ahead, left))
    if forward > 0.99:
        assert words == "facing the audience"
    elif forward < -0.99:
        assert words == "back to the audience"
    elif facing16 % 2 == 0:
        assert ("left" in words) == (sideways > 0)
        assert ("ahead" in words) == (forward > 0.1)
        assert ("behind" in words) == (forward < -0.1)
    else:
        assert " / " in words
    assert math.hypot(forward, sideways) == pytest.approx(1)


def test_alignment_words_follow_the_line_of_dance() -> None:
    compass = compass_for(None, True)
    assert compass.words(0) == "facing line of dance"
    assert compass.words(2) == "facing diagonal wall"
    assert compass.words(-2) == "facing diagonal centre"
    # Moving back while facing against line of dance is backing line of dance, as charts say.
    assert compass.step_ends(8, 8, backing=True) == "backing LOD"
    assert compass.step_ends(2, 2) == "facing DW"
    assert compass.step_ends(2, 0) == "pointing LOD"


def test_side_steps_look_ahead_to_the_next_step_that_goes_somewhere() -> None:
    def steps(*actions: str) -> list[Step]:
        return [Step(at=str(i), foot="L", do=do) for i, do in enumerate(actions, 1)]  # type: ignore[arg-type]

    natural = steps("forward", "side", "close", "back", "side", "close")
    assert goes_back(natural) == (False, True, True, True, False, False)
    assert goes_back(natural, otherwise=True)[-2:] == (True, True)
    assert goes_back(natural, steps("side", "back"))[-2:] == (True, True)
    assert goes_back(natural, steps("forward"), otherwise=True)[-2:] == (False, False)


def test_counts_and_phrases_split_at_the_boundary() -> None:
    counting = Counting(a_timeline(4, 4, 2))
    assert counts_text(0, 72) == "1–6"
    assert counts_text(12, 24) == "2"
    assert counting.phrase_counts(0, 96) == "phrase 1, counts 1–8"
    assert counting.phrase_counts(0, 97) == "phrase 1, counts 1–8, then phrase 2, count 1"
    assert counting.phrase_counts(72, 144) == "phrase 1, counts 7–8, then phrase 2, counts 1–4"
    assert counting.bars_text(0, 48) == "bar 1"
    assert counting.bars_text(36, 60) == "bars 1–2"
