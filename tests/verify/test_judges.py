"""The two judges of a routine: each sees every kind of fault, and they agree on what they both look at."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from composer.floor.placing import extent_of
from composer.problem import Problem
from composer.routine import Placed, Routine, ScoreLine
from composer.rules import breaches_of, points_of
from composer.rules.base import Breach
from composer.verify import replay, space, verify
from tests.builders import a_catalogue, a_figure, a_problem, a_routine, a_timeline, tiny_problems


def keys(breaches: Sequence[Breach]) -> set[str]:
    return {breach.key for breach in breaches}


def a_case(names: Sequence[str] = ("a", "b", "a"), bars: int = 5) -> tuple[Problem, Routine]:
    """6 + 8 + 6 counts in five bars of four: nothing is wrong with it."""
    problem = a_problem(timeline=a_timeline(bars))
    return problem, a_routine(problem, names)


def moved(routine: Routine, index: int, **changes: object) -> Routine:
    figures = list(routine.figures)
    figures[index] = replace(figures[index], **changes)  # type: ignore[arg-type]
    return replace(routine, figures=tuple(figures))


def test_a_routine_that_fits_has_no_breach() -> None:
    problem, routine = a_case()
    assert verify(problem, routine) == []
    assert list(replay.chain(problem, routine)) == []
    assert list(replay.clock(problem, routine)) == []


@pytest.mark.parametrize(
    ("index", "changes", "subject"),
    [
        (1, {"faces": 1}, "facing"),
        (1, {"faces": 4}, "facing"),
        (1, {"figure": "test/nowhere"}, "figure"),
        (1, {"start_tick": 71}, "clock"),
        (1, {"start_tick": 73}, "clock"),
        (2, {"end_tick": 239}, "clock"),
        (2, {"end_tick": 241}, "clock"),
    ],
)
def test_the_replay_alone_sees_a_fault_one_step_past_right(
    index: int, changes: dict[str, object], subject: str
) -> None:
    problem, routine = a_case()
    wrong = moved(routine, index, **changes)
    found = [*replay.chain(problem, wrong), *replay.clock(problem, wrong)]
    assert f"replay:{subject}" in keys(found)
    assert verify(problem, wrong) != []


def test_a_fault_both_judges_see_is_told_once() -> None:
    problem, routine = a_case()
    found = verify(problem, moved(routine, 1, faces=1))
    assert [breach.key for breach in found if breach.key.endswith("facing")].count("continuity:facing") == 2
    assert not [breach for breach in found if breach.key.startswith("replay:")]


@pytest.mark.parametrize(("feet", "subject"), [("RR", "leader-foot"), ("LL", "follower-foot")])
def test_a_figure_on_the_wrong_foot_is_seen_by_weight(feet: str, subject: str) -> None:
    figures = [a_figure("a"), a_figure("other", feet=feet)]
    problem = a_problem(figures, timeline=a_timeline(3))
    routine = a_routine(problem, ["a", "other"])
    assert keys(list(replay.chain(problem, routine))) == {f"replay:{subject}"}
    assert keys(verify(problem, routine)) == {f"continuity:{subject}"}


def test_the_replay_judges_every_pair_of_holds_as_the_catalogue_does() -> None:
    catalogue = a_catalogue([])
    fitting = 0
    for have in catalogue.holds:
        figures = [a_figure("first", entry=have), *(a_figure(f"to-{need}", entry=need) for need in catalogue.holds)]
        problem = a_problem(figures, timeline=a_timeline(3))
        for need in catalogue.holds:
            told = keys(list(replay.chain(problem, a_routine(problem, ["first", f"to-{need}"]))))
            assert ("replay:hold" in told) is not catalogue.fits(have, need), (have, need)
            fitting += catalogue.fits(have, need)
    assert fitting > len(catalogue.holds)  # some fit because they have more than is needed


def test_a_figure_whose_last_step_is_cut_off_is_seen() -> None:
    problem, routine = a_case(["a", "b", "a"])
    # the made-up figures step on count 1 only; their length is cut to nothing, the next begins at once
    whole = [p for p in replay.clock(problem, moved(routine, 0, end_tick=1)) if "cut off" in p.message]
    cut = [p for p in replay.clock(problem, moved(routine, 0, end_tick=0)) if "cut off" in p.message]
    assert (len(whole), len(cut)) == (0, 1)


def test_a_routine_longer_or_shorter_than_the_music_to_be_danced() -> None:
    _, routine = a_case()
    for cut in (a_problem(timeline=a_timeline(5, drop_last=1)), a_problem(timeline=a_timeline(6))):
        assert keys(list(replay.clock(cut, routine))) == {"replay:clock"}


@pytest.mark.parametrize("faces", range(8))
@pytest.mark.parametrize("side", [0, 1, 2, 3])
def test_every_facing_may_come_to_every_wall_and_not_beyond(faces: int, side: int) -> None:
    figure = a_figure("walk", beats=4, travel=(1500, 700), turn=3)
    problem = a_problem([figure], room={"style": "spot", "width": 9, "depth": 8}, timeline=a_timeline(1))
    assert problem.room is not None
    inside, extent = problem.room.inside, extent_of(figure.motion, faces)
    at = [4500, 4000]
    at[side % 2] = inside[side] - extent[side]  # this wall is touched, exactly

    def off_floor(place: list[int]) -> bool:
        routine = a_routine(problem, ["walk"], faces=faces, at=(place[0], place[1]))
        return bool(list(space.walls(problem, routine)))

    assert not off_floor(at)
    at[side % 2] += -4 if side < 2 else 4
    assert off_floor(at)


# walking 1.5 m forward in closed hold: the follower's centre begins 0.38 m ahead and ends 1.88 m ahead of the start
HALL = {"style": "spot", "width": 3, "depth": 2}


@pytest.mark.parametrize(("x", "fits"), [(820, True), (822, True), (823, False), (300, True), (297, False)])
def test_the_follower_may_come_to_the_wall_and_not_beyond(x: int, fits: bool) -> None:
    # 3000 mm less 300 mm for a body is 2700; 820 + 1500 + 380 = 2700 exactly; 2 mm of rounding are forgiven
    problem = a_problem([a_figure("walk", beats=4, travel=(1500, 0))], room=HALL, timeline=a_timeline(1))
    routine = a_routine(problem, ["walk"], at=(x, 1000))
    assert (list(space.walls(problem, routine)) == []) is fits


def test_a_path_that_leaves_the_floor_and_comes_back_is_seen() -> None:
    figure = a_figure("out", beats=4, travel=(0, 0), path=[(24, 2600, 0)])
    problem = a_problem([figure], room=HALL, timeline=a_timeline(1))
    found = list(space.walls(problem, a_routine(problem, ["out"], at=(500, 1000))))
    assert keys(found) == {"replay:room"}
    assert found[0].count in (2, 3)


def test_a_jump_and_a_wrong_first_place_are_seen() -> None:
    room = {**HALL, "start": {"x": 1, "y": 1}}
    problem = a_problem([a_figure("still", beats=4)], room=room, timeline=a_timeline(2))
    routine = a_routine(problem, ["still", "still"], at=(1000, 1000))
    assert list(space.walls(problem, routine)) == []
    assert len(list(space.walls(problem, moved(routine, 1, x_mm=1003)))) == 1
    assert list(space.walls(problem, moved(routine, 1, x_mm=1002))) == []
    assert len(list(space.walls(problem, a_routine(problem, ["still", "still"], at=(1003, 1000))))) == 1
    assert len(list(space.walls(problem, moved(routine, 1, x_mm=None)))) == 1


def with_card(problem: Problem, routine: Routine) -> Routine:
    card = tuple(ScoreLine(p.term, "made up", p.total, p.by_figure) for p in points_of(problem, routine))
    return replace(routine, score_card=card, score=sum(line.points for line in card))


def test_a_score_card_is_counted_again() -> None:
    problem, routine = a_case()
    right = with_card(problem, routine)
    assert right.score_card
    assert verify(problem, right) == []
    first = right.score_card[0]
    flattered = replace(right, score_card=(replace(first, points=first.points + 1), *right.score_card[1:]))
    assert keys(verify(problem, flattered)) == {"replay:score"}
    assert keys(verify(problem, replace(right, score=right.score + 1))) == {"replay:score"}


@given(problem=tiny_problems(), data=st.data())
def test_both_judges_agree_on_random_routines(problem: Problem, data: st.DataObject) -> None:
    """Rules look at declared entries and exits, the replay at simulated moments; the builder keeps them consistent."""
    names = sorted(problem.catalogue.figures)
    chosen = data.draw(st.lists(st.sampled_from(names), min_size=1, max_size=5))
    at = None if problem.room is None else (data.draw(st.integers(0, 4000)), data.draw(st.integers(0, 4000)))
    routine = a_routine(problem, chosen, faces=data.draw(st.integers(0, 7)), at=at)
    if data.draw(st.booleans()):
        index = data.draw(st.integers(0, len(chosen) - 1))
        routine = moved(routine, index, faces=data.draw(st.integers(0, 7)))
    rules = keys(breaches_of(problem, routine))
    again = keys([*replay.chain(problem, routine), *replay.clock(problem, routine)])
    for subject in ("hold", "leader-foot", "follower-foot", "facing", "alignment"):
        assert (f"continuity:{subject}" in rules) == (f"replay:{subject}" in again), subject
    assert ("length:fills" in rules) == ("replay:clock" in again)


@given(problem=tiny_problems(), data=st.data())
def test_shapely_and_whole_numbers_agree_on_walls(problem: Problem, data: st.DataObject) -> None:
    """Apart from the two millimetres that the floating-point replay forgives."""
    if problem.room is None:
        return
    names = sorted(problem.catalogue.figures)
    chosen = data.draw(st.lists(st.sampled_from(names), min_size=1, max_size=3))
    at = (data.draw(st.integers(0, 8000)), data.draw(st.integers(0, 5000)))
    routine = a_routine(problem, chosen, faces=data.draw(st.integers(0, 7)), at=at)
    outside = space.walls(problem, routine)
    exact = {key for key in keys(breaches_of(problem, routine)) if key == "room:walls"}
    wider = replace(problem, room=replace(problem.room, margin_mm=problem.room.margin_mm + 4))
    stricter = {key for key in keys(breaches_of(wider, routine)) if key == "room:walls"}
    found = list(outside)
    off_floor = {breach.key for breach in found if "off the floor" in breach.message}
    if problem.room.style == "travelling":
        lanes = "line_of_dance:lane" in keys(breaches_of(problem, routine))
        assert lanes or "replay:lane" not in keys(found)
    assert not off_floor or exact  # what shapely sees, the rules see
    if exact and not off_floor:  # seen by the rules only: within the tolerance
        looser = replace(problem, room=replace(problem.room, margin_mm=problem.room.margin_mm - 4))
        assert "room:walls" not in keys(breaches_of(looser, routine))
    assert stricter or not exact


@pytest.mark.parametrize(("corners", "at", "inwards"), [
    # 10 x 8 m: centres of bodies from 300 mm; a lane of half the shorter side, 3700 mm
    (0, (5000, 4000), (0, 1)), (1, (6000, 4000), (-1, 0)), (2, (5000, 4000), (0, -1)), (3, (4000, 4000), (1, 0)),
    (4, (5000, 4000), (0, 1)), (7, (4000, 4000), (1, 0)),
])  # fmt: skip
def test_a_figure_begins_in_the_lane_of_its_side(corners: int, at: tuple[int, int], inwards: tuple[int, int]) -> None:
    room = {"style": "travelling", "width": 10, "depth": 8, "lane": 3.7}
    problem = a_problem([a_figure("still", beats=4)], room=room, timeline=a_timeline(1))

    def judged(over: int) -> tuple[set[str], set[str]]:
        """Keys of the replay and of everything, with the couple ``over`` mm beyond the edge of its lane."""
        place = (at[0] + over * inwards[0], at[1] + over * inwards[1])
        routine = moved(a_routine(problem, ["still"], at=place), 0, corners=corners)
        return keys(list(space.walls(problem, routine))), keys(verify(problem, routine))

    assert judged(0) == (set(), set())
    assert judged(1) == (set(), {"line_of_dance:lane"})  # within what the replay forgives
    assert judged(3) == ({"replay:lane"}, {"line_of_dance:lane"})


PILLAR = {"style": "spot", "width": 6, "depth": 4, "obstacles": [{"name": "pillar", "x": 3, "y": 1, "radius": 0.2}]}
TABLE = {"style": "spot", "width": 6, "depth": 4, "obstacles": [{"name": "table", "box": [[2.5, 0.5], [3.5, 1.2]]}]}
BENT = {"style": "spot", "outline": [[0, 0], [6, 0], [6, 2], [3, 2], [3, 5], [0, 5]]}


@pytest.mark.parametrize(
    ("room", "at", "fits"),
    [
        # the walk goes 1.5 m east; the follower is 38 cm ahead and 5 cm to the south: 1000 + 200 + 300 + 50 = 1550 mm
        (PILLAR, (2200, 1550), True), (PILLAR, (2200, 1545), False), (PILLAR, (500, 1000), True),
        (PILLAR, (630, 1000), False), (PILLAR, (2200, 700), False),
        (TABLE, (2200, 1550), True), (TABLE, (2200, 1545), False),
        (BENT, (3000, 1000), True), (BENT, (2000, 2500), False), (BENT, (500, 3000), True),
        (BENT, (826, 3000), False),
    ],
)  # fmt: skip
def test_nobody_walks_into_what_stands_there_or_round_an_inner_corner(
    room: dict[str, object], at: tuple[int, int], fits: bool
) -> None:
    problem = a_problem([a_figure("walk", beats=4, travel=(1500, 0))], room=room, timeline=a_timeline(1))
    routine = a_routine(problem, ["walk"], at=at)
    assert (list(space.walls(problem, routine)) == []) is fits
    assert (verify(problem, routine) == []) is fits
    assert {key.split(":")[0] for key in keys(verify(problem, routine))} <= {"room"}  # told once, by the rules


@pytest.mark.parametrize(
    ("style", "faces", "more", "fits"),
    [
        ("spot", 0, (150, 0), True), ("spot", 0, (155, 0), False), ("spot", 0, (-300, 0), True),
        ("spot", 0, (-305, 0), False), ("spot", 0, (0, 5), False), ("spot", 2, (0, -150), True),
        ("spot", 2, (0, 150), True), ("spot", 2, (0, 305), False), ("spot", 1, (105, -105), True),
        ("travelling", 0, (150, 0), True), ("travelling", 2, (0, -150), False),
    ],
)  # fmt: skip
def test_ground_beyond_the_natural_travel_keeps_to_the_strides_of_the_brief(
    style: str, faces: int, more: tuple[int, int], fits: bool
) -> None:
    # 1.5 m of natural travel, strides from 0.8 to 1.1: up to 150 mm more or 300 mm less
    figure = a_figure("walk", beats=4, travel=(1500, 0))
    figure = replace(figure, motion=replace(figure.motion, shortest_scale=0.5, longest_scale=1.5))
    room = {"style": style, "width": 12, "depth": 12, "lane": 6, "stride": {"least": 0.8, "most": 1.1}}
    room = room if style == "travelling" else {key: value for key, value in room.items() if key != "lane"}
    problem = a_problem([figure], room=room, timeline=a_timeline(1))
    routine = moved(a_routine(problem, ["walk"], faces=faces, at=(4000, 4000)), 0, more_x_mm=more[0], more_y_mm=more[1])
    assert keys(list(space.walls(problem, routine))) == (set() if fits else {"replay:ground"})
    assert (verify(problem, routine) == []) is fits


def test_ground_that_was_taken_counts_for_the_next_place_and_the_finish() -> None:
    figure = a_figure("walk", beats=4, travel=(1500, 0))
    figure = replace(figure, motion=replace(figure.motion, shortest_scale=0.5, longest_scale=1.5))
    room = {"style": "spot", "width": 9, "depth": 4, "stride": {"least": 0.8, "most": 1.1},
            "finish": {"x": 4, "y": 2, "within": "5 cm"}}  # fmt: skip
    problem = a_problem([figure], room=room, timeline=a_timeline(2))
    routine = moved(a_routine(problem, ["walk", "walk"], at=(1000, 2000)), 0, more_x_mm=100)
    assert keys(list(space.walls(problem, routine))) == {"replay:room"}
    follows = moved(routine, 1, x_mm=2600)
    assert keys(list(space.walls(problem, follows))) == {"replay:finish"}  # 4100 is not within 50 of 4000
    assert keys(verify(problem, follows)) == {"room:finish"}
    assert verify(problem, moved(follows, 1, x_mm=2600, more_x_mm=-60)) == []


def test_a_placed_figure_knows_its_alignment() -> None:
    assert Placed("a/b", 0, 12, faces=7, corners=1).alignment == 1
    assert Placed("a/b", 0, 12, faces=1).alignment == 1


def test_breaches_come_in_the_order_of_the_dance() -> None:
    problem, routine = a_case()
    wrong = moved(moved(routine, 2, faces=3), 0, start_tick=1)
    counts = [breach.count for breach in verify(problem, wrong) if breach.count is not None]
    assert counts == sorted(counts)
    assert len(counts) >= 2


def test_a_catalogue_without_the_dance_asked_for_is_a_breach_not_a_crash() -> None:
    catalogue = a_catalogue([a_figure("else/b")])
    problem = a_problem(catalogue=catalogue, timeline=a_timeline(2))
    routine = Routine("t", ("test",), problem.length_ticks, (Placed("else/b", 0, 72, 0),))
    assert "continuity:figure" in keys(verify(problem, routine))
