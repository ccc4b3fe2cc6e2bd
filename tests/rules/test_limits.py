"""Cases exactly at a limit and one past it that the families' examples do not show."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from composer.network.build import build
from composer.network.model import Arc
from composer.routine import Placed, Routine
from composer.rules import (
    accents,
    breaches_of,
    continuity,
    learned,
    length,
    line_of_dance,
    motif,
    opening_closing,
    phrasing,
    points_of,
    room,
)
from composer.rules.look import listed, moment_text, said, stretches
from composer.units import TICKS_PER_BEAT
from tests.builders import a_figure, a_problem, a_routine, a_timeline
from tests.rules.judge import Judge, paths


@given(
    st.lists(st.integers(0, 30), min_size=1, max_size=12, unique=True),
    st.integers(1, 6),
    st.integers(1, 9),
    st.data(),
)
def test_windows_say_exactly_how_far_apart(starts: list[int], beats: int, apart: int, data: st.DataObject) -> None:
    """Any choice of beginnings that do not overlap passes all windows exactly when no two lie too close."""
    length_ticks, gap = beats * TICKS_PER_BEAT, apart * TICKS_PER_BEAT
    begun = [s * TICKS_PER_BEAT for s in sorted(starts)]
    arcs = [Arc(i, "f", s, s + length_ticks, 0, 0, 0) for i, s in enumerate(begun)]
    chosen = data.draw(st.lists(st.sampled_from(arcs), max_size=5, unique=True))
    if any(abs(a.start - b.start) < length_ticks for a, b in combinations(chosen, 2)):
        return  # no path dances two figures at once
    ids = {arc.id for arc in chosen}
    own = (np.array([getattr(arc, part) for arc in arcs], dtype=np.int32) for part in ("id", "start"))
    rows = list(stretches(*own, length_ticks + gap, length_ticks))
    passes = all(sum(w for key, w in row.items() if key in ids) <= 1 for row in rows)
    assert passes == all(abs(a.start - b.start) >= length_ticks + gap for a, b in combinations(chosen, 2))
    assert len(rows) <= len(starts)


def test_a_routine_that_names_nothing_known_is_told_so_and_scores_nothing() -> None:
    problem = a_problem([a_figure("basic", 4)], {"weights": {"variety": 0}}, timeline=a_timeline(2))
    routine = Routine("x", ("test",), 96, (Placed("test/basik", 0, 48, 0), Placed("waltz/whisk", 48, 96, 0)))
    first, second = continuity.breaches(problem, routine)
    assert first.message == "'test/basik' is not a figure of this catalogue. Did you mean 'test/basic'?"
    assert second.count == 5
    assert all(points.total == 0 for points in points_of(problem, routine))


@pytest.mark.parametrize(("start", "end"), [(-12, 36), (0, 480), (6, 54), (10**9, 10**9 + 48), (0, 10**15)])
def test_nonsense_times_are_breaches_never_errors(start: int, end: int) -> None:
    problem = a_problem([a_figure("basic", 4)], timeline=a_timeline(1), room={"width": 3, "depth": 3})
    routine = Routine("x", ("test",), 48, (Placed("test/basic", start, end, 0, 1500, 1500),))
    assert "length:fills" in {breach.key for breach in breaches_of(problem, routine)}
    points_of(problem, routine)


def test_a_gap_an_overlap_and_a_wrong_length_are_three_findings() -> None:
    problem = a_problem([a_figure("basic", 4)], timeline=a_timeline(4))
    times = [(0, 48), (60, 108), (96, 132), (132, 180)]
    routine = Routine("x", ("test",), 192, tuple(Placed("test/basic", a, b, 0) for a, b in times))
    messages = [breach.message for breach in length.breaches(problem, routine)]
    assert [m.split(" before")[0] for m in messages[:2]] == ["there is a gap", "there is an overlap"]
    assert messages[2] == "basic takes 4 counts"
    assert messages[3] == "the routine is 1 counts too short: the music has 16 counts"


def test_a_corner_is_turned_one_at_a_time_and_renames_alignments() -> None:
    """Turning a corner adds two eighths (tests use the same convention as the alignment pairs in the trade)."""
    figures = [a_figure("on", 4, faces=(1,)), a_figure("round", 4, faces=(3,))]
    problem = a_problem(figures, room={"style": "travelling", "width": 9, "depth": 9}, timeline=a_timeline(2))

    def routine(corners: int) -> Routine:
        return Routine("x", ("test",), 96, (
            Placed("test/on", 0, 48, 1), Placed("test/round", 48, 96, 1, corners=corners)))  # fmt: skip

    assert continuity.breaches(problem, routine(1)) == []
    assert [b.key for b in continuity.breaches(problem, routine(0))] == ["continuity:alignment"]
    assert {b.key for b in continuity.breaches(problem, routine(2))} == {"continuity:alignment", "continuity:corner"}


def test_two_hits_one_peak() -> None:
    problem = a_problem(
        [a_figure("kick", 4, peak=3), a_figure("walk", 4)], {"hits": "must"}, timeline=a_timeline(2, hits=[3, 4])
    )
    routine = a_routine(problem, ["kick", "walk"])
    assert [b.count for b in accents.breaches(problem, routine)] == [4]
    assert next(p for p in points_of(problem, routine) if p.term == "hits").by_figure == (18, 0)


def test_the_first_figure_may_run_across_unprotected_phrases_at_a_price() -> None:
    problem = a_problem([a_figure("six", 6), a_figure("ten", 10)], timeline=a_timeline(4, 4, 1))
    (music,) = (p for p in phrasing.points(problem, a_routine(problem, ["six", "ten"])))
    assert music.by_figure == (3 * (4 - 2), 3 * (0 - 2 * 2))


def test_a_level_can_be_zero_and_names_are_told() -> None:
    problem = a_problem(
        [a_figure("basic", 4), a_figure("spin", 4, level=3)],
        couple={"leader": {"level": 0, "knows": ["test/basic"]}},
        timeline=a_timeline(1),
    )
    network = build(problem)
    first = learned.state(problem, network).demands[0]
    assert first.sentence == "The leader has learned figures up to level 0 and knows basic"
    assert first.where is not None
    assert first.where.key == "couple.leader.level"
    assert [network.arcs[i].figure for i in first.forbids] == ["test/spin"]


def test_a_room_exactly_as_long_as_the_walk_leaves_one_place() -> None:
    """300 mm of body on each side, 1000 mm of walk, the follower 380 mm ahead: 1.98 m is enough, 1.97 m is not."""
    walk, stay = a_figure("walk", 4, travel=(1000, 0), faces=(0,)), a_figure("stay", 4, faces=(0,))
    for width, fits in (("1980 mm", True), ("1979 mm", False)):
        problem = a_problem(
            [walk, stay],
            {"opening": {"faces": "LOD"}, "must": [{"figure": "test/walk"}]},
            {"style": "travelling", "width": width, "depth": 3},
            timeline=a_timeline(2),
        )
        network = build(problem)
        stated = room.state(problem, network)
        arcs = {a.figure: a for a in network.arcs if a.figure and a.start == 0 and not a.corners}
        follow = next(a for a in network.arcs if a.tail == arcs["test/walk"].head and a.figure == "test/stay")
        judge = Judge(stated, (arcs["test/walk"], follow))
        values = judge.solve(row for demand in stated.demands for row in demand.rows)
        assert (values is not None) == fits
        if values is not None:
            assert values["room:x@0"] == 300
            assert room.breaches(problem, a_routine(problem, ["walk", "stay"], at=(300, 1500))) == []
            assert room.breaches(problem, a_routine(problem, ["walk", "stay"], at=(301, 1500)))


def test_a_figure_cannot_jump_across_the_floor() -> None:
    problem = a_problem([a_figure("stay", 4)], room={"width": 4, "depth": 4}, timeline=a_timeline(2))
    routine = Routine("x", ("test",), 96, (
        Placed("test/stay", 0, 48, 0, 1500, 2000), Placed("test/stay", 48, 96, 0, 1501, 2000)))  # fmt: skip
    (breach,) = room.breaches(problem, routine)
    assert (breach.key, breach.law, breach.count) == ("room:place", True, 5)


def test_words() -> None:
    problem = a_problem([a_figure("a", 4)], {"protect": "phrases"}, timeline=a_timeline(8, 4, 2))
    assert moment_text(problem, 4 * TICKS_PER_BEAT) == "count 5 (bar 2)"
    assert moment_text(problem, 5 * TICKS_PER_BEAT) == "count 6"
    assert said(problem, "wishes", "hits") is None
    assert said(problem, "wishes", "must", 0) is None
    where = said(problem, "wishes", "protect")
    assert where is not None
    assert (where.line, where.key) == (9, "wishes.protect")
    assert listed(["a"]) == "a"
    assert listed(["a", "b", "c"]) == "a, b and c"
    assert listed(list("abcdef")) == "a, b, c and 3 more"


def test_an_ending_along_the_second_side_is_named_along_that_side_but_the_audience_sits_still() -> None:
    """After one corner the line of dance runs north: a leader who faces north faces it, and not the east."""
    hall = {"style": "travelling", "width": 9, "depth": 9, "audience": "north"}
    figures = [a_figure("on", 4), a_figure("round", 4, turn=-2)]
    for wish, first, ends_well in (("LOD", 0, True), ("LOD", 2, False), ("audience", 0, True), ("audience", 2, False)):
        problem = a_problem(figures, {"closing": {"faces": wish}}, hall, timeline=a_timeline(2))
        routine = Routine("x", ("test",), 96, (
            Placed("test/on", 0, 48, first), Placed("test/round", 48, 96, first, corners=1)))  # fmt: skip
        assert (not opening_closing.breaches(problem, routine)) == ends_well
    for corners, ends_well in ((0, False), (1, True)):
        problem = a_problem(figures, {"closing": {"faces": "LOD"}}, hall, timeline=a_timeline(2))
        routine = Routine("x", ("test",), 96, (
            Placed("test/on", 0, 48, 0), Placed("test/round", 48, 96, 0, corners=corners)))  # fmt: skip
        assert (not opening_closing.breaches(problem, routine)) == ends_well


def test_lanes_go_round_the_room_counter_clockwise() -> None:
    """South side eastwards, then the east, north and west sides: the wall is always on the right."""
    problem = a_problem([a_figure("stay", 4)], room={"style": "travelling", "width": 10, "depth": 6, "lane": 1})
    the_room = problem.room
    assert the_room is not None
    assert [the_room.lane(corners) for corners in range(5)] == [
        (300, 300, 9700, 1300),
        (8700, 300, 9700, 5700),
        (300, 4700, 9700, 5700),
        (300, 300, 1300, 5700),
        (300, 300, 9700, 1300),
    ]
    wide = a_problem([a_figure("stay", 4)], room={"style": "travelling", "width": 10, "depth": 6}).room
    assert wide is not None
    assert wide.lane_depth_mm == 2700


def test_half_metres_along_the_line_of_dance_count_on_every_side() -> None:
    walk = a_figure("walk", 4, travel=(1300, 0), starts_on=(1,))
    problem = a_problem([walk], room={"style": "travelling", "width": 9, "depth": 9}, timeline=a_timeline(2))
    for faces, corners, half_metres in ((0, 0, 3), (6, 1, 3), (4, 2, 3), (2, 3, 3), (4, 0, -3), (0, 1, 0), (2, 4, 0)):
        placed = Placed("test/walk", 0, 48, faces, 4000, 4000, corners)
        (points,) = line_of_dance.points(problem, Routine("x", ("test",), 96, (placed,)))
        assert points.by_figure == (half_metres,), (faces, corners)


@pytest.mark.parametrize(
    ("danced", "given"), [(["a", "b", "a", "b"], (0, 0, 8, 8)), (["a", "b", "b", "b"], (0, 0, 0, 8))]
)
def test_memory_counts_what_comes_again_on_the_same_count(danced: list[str], given: tuple[int, ...]) -> None:
    music = a_timeline(4, sections=[(2, "A", None), (2, "A", None)])
    problem = a_problem([a_figure("a", 4), a_figure("b", 4)], {"weights": {"memory": 2}}, timeline=music)
    routine = a_routine(problem, danced)
    (points,) = motif.points(problem, routine)
    assert points.by_figure == given
    network = build(problem)
    way = next(w for w in paths(network, 99) if [a.figure for a in w] == [p.figure for p in routine.figures])
    assert Judge(motif.state(problem, network), way).worth("memory") == sum(given)
