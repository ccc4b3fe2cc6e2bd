"""The sheet says what the routine, the charts and the music say."""

from __future__ import annotations

import cmath
import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from composer.report import sheet_from
from composer.report.model import Sheet
from composer.routine import Routine
from tests.builders import a_timeline
from tests.report.samples import ORDER, SHOW_ROOM, a_dance, a_sheet


def test_every_figure_stands_once_in_the_phrase_where_it_begins() -> None:
    sheet = a_sheet()
    assert [n for phrase in sheet.phrases for n in phrase.figures] == [1, 2, 3, 4, 5, 6]
    assert sheet.phrases[0].figures == (1, 2, 3)
    assert sheet.phrases[1].figures == (4, 5, 6)
    assert [f.counts for f in sheet.figures] == ["1–6", "7–10", "11–16", "17–20", "21–26", "27–32"]
    assert [f.clock for f in sheet.figures][:3] == ["0:00.0", "0:03.0", "0:05.0"]
    assert sheet.figures[1].same_as is None
    # Danced again, but after a quarter turn: not "the same as before".
    assert sheet.figures[2].same_as is None
    assert sheet.figures[5].same_as == 5


def test_a_figure_across_a_phrase_says_so_on_both_sides() -> None:
    sheet = a_sheet(order=("plain-six", "plain-six", "plain-six", "plain-six", "curving-four", "curving-four"))
    third = sheet.figures[2]
    assert third.runs_on == "runs on into phrase 2"
    assert third.phrase_counts == "phrase 1, counts 13–16, then phrase 2, counts 1–2"
    assert sheet.phrases[1].carried == "begins with the end of 3. Plain six"


def test_peaks_meet_hits_by_the_tick() -> None:
    sheet = a_sheet()
    # The peak of figure 2 is its third count, count 9 of the routine, where the music has a hit; the other hit,
    # count 20, is one past the peak of figure 4 (count 19).
    assert [(a.count, a.met_by) for a in sheet.accents] == [("9", 2), ("20", None)]
    assert sheet.figures[1].on_hit
    assert "on the hit" in sheet.figures[1].peak
    assert sheet.figures[3].peak == "peak on 3"


def test_step_lines_carry_both_charts_in_order() -> None:
    figure = a_sheet().figures[0]
    assert [s.count for s in figure.leader] == ["1", "2", "3", "3&", "4", "5", "5&", "6"]
    assert [s.foot for s in figure.leader] == list("LRLRLRLR")
    assert [s.foot for s in figure.follower] == list("RLRLRLRL")
    assert figure.leader[0].footwork_words == "heel"
    assert figure.leader[3].tick == 30
    assert figure.lead[0].text == "Begin with the body."


def test_directions_of_steps_are_those_of_the_simulated_bodies() -> None:
    figure = a_sheet(order=("curving-four",) * 8).figures[0]
    assert [s.ends for s in figure.leader] == ["facing DC", "backing DWA", "backing W", "facing C"]
    assert [s.ends for s in figure.follower] == ["backing DC", "facing DWA", "facing W", "backing C"]


@given(
    faces=st.integers(0, 7),
    x=st.integers(4000, 8000),
    y=st.integers(4000, 6000),
    more=st.tuples(st.integers(-300, 300), st.integers(-300, 300)),
)
def test_stills_are_the_motion_turned_and_moved(faces: int, x: int, y: int, more: tuple[int, int]) -> None:
    problem, routine = a_dance(SHOW_ROOM, faces=faces, at=(x, y))
    longer = tuple(
        replace(
            p, more_x_mm=more[0], more_y_mm=more[1], x_mm=(p.x_mm or 0) + n * more[0], y_mm=(p.y_mm or 0) + n * more[1]
        )
        for n, p in enumerate(routine.figures)
    )
    routine = replace(routine, figures=longer)
    sheet = sheet_from(problem, routine)
    for placed, line in zip(routine.figures, sheet.figures, strict=True):
        motion = problem.catalogue.figures[placed.figure].motion
        start = complex(placed.x_mm or 0, placed.y_mm or 0)
        for moment, still in zip(motion.moments, line.stills, strict=True):
            for pose, spot in ((moment.leader, still.leader), (moment.follower, still.follower)):
                # Forward is the direction faced, clockwise from east; right is a quarter clockwise of it. Ground
                # beyond the natural travel is spread evenly over the figure.
                ahead = cmath.exp(-1j * math.pi / 4 * placed.faces)
                wanted = start + pose.forward_mm * ahead + pose.right_mm * ahead * -1j
                wanted += complex(*more) * moment.tick / motion.length_ticks
                assert abs(complex(spot.x_mm, spot.y_mm) - wanted) <= 1.5
                assert (spot.facing16 - pose.facing16 - 2 * placed.faces) % 16 == 0
        # A foot that stands does not slide, however the strides are stretched.
        for before, after in zip(
            zip(motion.moments, line.stills, strict=True),
            zip(motion.moments[1:], line.stills[1:], strict=True),
            strict=False,
        ):
            if before[0].leader.left == after[0].leader.left:
                a, b = before[1].leader.left, after[1].leader.left
                assert (a.x_mm, a.y_mm) == (b.x_mm, b.y_mm)


def test_longer_and_shorter_strides_are_said() -> None:
    problem, routine = a_dance(SHOW_ROOM, at=(6000, 5000))
    first = routine.figures[0]
    travel = problem.catalogue.figures[first.figure].motion.travel_forward_mm
    for more, words in ((travel // 10, "10 % longer"), (-travel // 5, "20 % shorter"), (0, "")):
        changed = replace(routine, figures=(replace(first, more_x_mm=more), *routine.figures[1:]))
        text = sheet_from(problem, changed).figures[0].sums_up
        assert words in text
        assert ("than usual" in text) == bool(words)


def test_the_ways_join_and_facings_never_jump() -> None:
    sheet = a_sheet(order=("curving-four",) * 8, timeline=a_timeline(8, 4))
    assert [s.tick for s in sheet.stills] == sorted({s.tick for s in sheet.stills})
    assert sheet.stills[-1].tick == sheet.length_ticks
    for before, after in zip(sheet.figures, sheet.figures[1:], strict=False):
        for role in ("leader", "follower"):
            a, b = getattr(before.stills[-1], role), getattr(after.stills[0], role)
            assert math.dist((a.x_mm, a.y_mm), (b.x_mm, b.y_mm)) <= 10
            assert a.facing16 == b.facing16
    assert sheet.stills[-1].leader.facing16 - sheet.stills[0].leader.facing16 == -8 * 4


def test_proof_is_said_honestly() -> None:
    problem, best = a_dance()
    assert "Proven best" in sheet_from(problem, best).proof
    good = _with(best, status="good", bound=50)
    assert sheet_from(problem, good).proof_short == "good, not proven best"
    assert "50" in sheet_from(problem, good).proof
    assert "by hand" in sheet_from(problem, _with(best, status="by hand")).proof


def _with(routine: Routine, **changes: object) -> Routine:
    return replace(routine, **changes)  # type: ignore[arg-type]


def test_cautions_name_the_figures_they_are_for() -> None:
    cautions = a_sheet().cautions
    assert any("paper plan" in c for c in cautions)
    assert any("fast spin" in c.lower() and "Curving four" in c for c in cautions)
    assert not any("dip" in c.lower() for c in cautions)


def test_score_card_and_points_per_figure() -> None:
    sheet = a_sheet()
    assert [(r.term, r.points) for r in sheet.score_rows] == [("music", 30), ("variety", 12)]
    assert [f.points for f in sheet.figures] == [0, 10, 0, 20, 0, 0]


def test_show_rooms_speak_of_the_audience_and_others_of_the_line() -> None:
    show = a_sheet(SHOW_ROOM, faces=2, at=(6000, 8000))
    assert show.figures[0].entry.leader_faces == "facing the audience"
    assert show.figures[0].entry.follower_faces == "back to the audience"
    assert a_sheet().figures[0].entry.leader_faces == "facing line of dance"


def test_corners_turn_the_line_of_dance_and_not_the_couple() -> None:
    problem, routine = a_dance({"style": "travelling", "width": 12, "depth": 10}, faces=6, at=(6000, 5000))
    turned = _with(routine, figures=tuple(replace(p, corners=1) for p in routine.figures))
    # North is line of dance on the east side, after one corner; before it, it is the centre of the room.
    assert sheet_from(problem, routine).figures[0].entry.leader_faces == "facing centre"
    first = sheet_from(problem, turned).figures[0]
    assert first.entry.leader_faces == "facing line of dance"
    assert first.leader[0].ends == "facing LOD"
    assert first.follower[0].ends == "backing LOD"


@pytest.mark.parametrize("lengths", ["metres", "feet"])
def test_lengths_follow_the_reader(lengths: str) -> None:
    problem, routine = a_dance(SHOW_ROOM, at=(6000, 5000))
    sheet: Sheet = sheet_from(problem, routine, lengths=lengths)  # type: ignore[arg-type]
    room = next(fact.text for fact in sheet.facts if fact.label == "Room")
    assert room.startswith("12 m wide" if lengths == "metres" else "39 ft 4 in wide")


def test_the_order_of_the_sheet_is_the_order_of_the_routine() -> None:
    assert [f.id for f in a_sheet().figures] == [f"test/{name}" for name in ORDER]
