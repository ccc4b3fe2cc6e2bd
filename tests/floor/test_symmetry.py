"""Turning or mirroring the room turns or mirrors what is possible; a larger floor never loses a routine.

Feasibility is decided by the whole solver on small made-up problems, impossible ones included. Turning a travelling
room turns the side the couple begins along (``begins``) with it, and alignments with the sides. A mirror would have the
couple go round clockwise, which no floor allows, so travelling rooms are not mirrored; rooms for a spot, a slot or a
show are, with their audience and with left and right exchanged in the figures. In a larger room a couple may dance the
same laps, unless ``lane`` or ``corner`` tie them to the walls: then a larger room is a longer way (shown).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from composer.catalogue.model import Figure
from composer.kinematics.motion import FootMark, Motion, Pose
from composer.outcome import Found, NoRoutine
from composer.problem import Problem
from composer.solve import solve
from composer.units import ALIGNMENTS
from composer.verify import verify
from tests.builders import a_figure, a_problem, a_timeline

SOME = settings(deadline=None, max_examples=25, suppress_health_check=[HealthCheck.too_slow])
SIZES = (1.0, 1.6, 2.4, 3.2, 4.4)
SIDES = ("south", "east", "north", "west")


@st.composite
def figures(draw: st.DrawFn) -> list[Figure]:
    """One to three figures that carry the couple somewhere and turn it."""
    return [
        a_figure(
            "abc"[index],
            beats=draw(st.sampled_from([4, 4, 8])),
            travel=(draw(st.sampled_from([0, 700, 1500, -900])), draw(st.sampled_from([0, 400, -800]))),
            turn=draw(st.sampled_from([0, 2, 4, -2, 1])),
            path=[(12, 900, 500)] if draw(st.booleans()) else (),
        )
        for index in range(draw(st.integers(1, 3)))
    ]


@st.composite
def rooms(draw: st.DrawFn) -> dict[str, Any]:
    """A small floor, often with something on it or a corner missing."""
    wide, deep = draw(st.sampled_from(SIZES)), draw(st.sampled_from(SIZES))
    room: dict[str, Any] = {"style": "spot", "outline": [[0, 0], [wide, 0], [wide, deep], [0, deep]]}
    if draw(st.booleans()):
        room["obstacles"] = [{"name": "pillar", "x": wide / 2, "y": deep / 4, "radius": 0.1}]
    elif wide > 2 and deep > 2 and draw(st.booleans()):
        room["outline"] = [[0, 0], [wide, 0], [wide, deep / 2], [wide / 2, deep / 2], [wide / 2, deep], [0, deep]]
    if draw(st.booleans()):
        room["margin"] = 0.1
    return room


def problem_of(moves: Sequence[Figure], room: dict[str, Any]) -> Problem | None:
    """None where the room itself is refused."""
    problem = a_problem(moves, {"protect": "nothing", "at_least_different": len(moves)}, room, timeline=a_timeline(3))
    return problem if problem.room is not None else None


def possible(moves: Sequence[Figure], room: dict[str, Any]) -> bool:
    problem = problem_of(moves, room)
    assert problem is not None
    outcome = solve(problem, time_limit_s=5)
    assert isinstance(outcome, (Found, NoRoutine))
    if isinstance(outcome, Found):
        assert verify(problem, outcome.routine) == []
    return isinstance(outcome, Found)


def transformed(room: dict[str, Any], turn: bool) -> dict[str, Any]:
    """The room a quarter turned to the left, or seen in a mirror (east and west change places)."""
    wide, deep = (max(place[axis] for place in room["outline"]) for axis in (0, 1))

    def at(x: float, y: float) -> list[float]:
        return [round(deep - y, 4), x] if turn else [round(wide - x, 4), y]

    new = {**room, "outline": [at(*place) for place in room["outline"]]}
    if "obstacles" in room:
        x, y = at(room["obstacles"][0]["x"], room["obstacles"][0]["y"])
        new["obstacles"] = [{**room["obstacles"][0], "x": x, "y": y}]
    return new


@SOME
@given(figures(), rooms())
def test_a_quarter_turn_of_the_room_changes_nothing(moves: list[Figure], room: dict[str, Any]) -> None:
    assert possible(moves, room) == possible(moves, transformed(room, turn=True))


@SOME
@given(figures(), rooms())
def test_a_mirrored_room_allows_the_mirrored_figures(moves: list[Figure], room: dict[str, Any]) -> None:
    seen = [replace(figure, motion=in_a_mirror(figure.motion)) for figure in moves]
    assert possible(moves, room) == possible(seen, transformed(room, turn=False))


@SOME
@given(figures(), rooms(), st.sampled_from([0.1, 0.5, 2.0]))
def test_a_larger_floor_never_loses_a_routine(moves: list[Figure], room: dict[str, Any], more: float) -> None:
    """The east wall moves outwards, what stands there stays where it was."""
    wide = max(place[0] for place in room["outline"])
    larger = {
        **room,
        "outline": [[place[0] + (more if place[0] == wide else 0), place[1]] for place in room["outline"]],
    }
    if possible(moves, room):
        assert possible(moves, larger)


@st.composite
def laps(draw: st.DrawFn) -> tuple[list[Figure], dict[str, Any]]:
    """Figures that may go round a hall, and the hall."""
    moves = [
        a_figure("side", 4, travel=(draw(st.sampled_from([700, 1500, 2200])), 0), turn=-2, good_for=("corner",)),
        a_figure("on", 4, travel=(draw(st.sampled_from([400, 900])), draw(st.sampled_from([0, 300])))),
    ]
    sizes = st.sampled_from([1.4, 2.0, 2.8, 3.6])
    room: dict[str, Any] = {"style": "travelling", "width": draw(sizes), "depth": draw(sizes)}
    room |= draw(st.sampled_from([{"laps": 1}, {"laps": 1, "closed": True}, {"laps": 0.75}, {"corner_figures": True}]))
    return moves, room


@SOME
@given(laps(), st.sampled_from(["width", "depth"]), st.sampled_from([0.1, 1.0, 6.0]))
def test_a_larger_floor_never_loses_a_lap(
    given_lap: tuple[list[Figure], dict[str, Any]], way: str, more: float
) -> None:
    moves, room = given_lap

    def lap_possible(hall: dict[str, Any]) -> bool:
        problem = a_problem(moves, {"protect": "nothing"}, hall, timeline=a_timeline(4))
        outcome = solve(problem, time_limit_s=5)
        assert isinstance(outcome, (Found, NoRoutine))
        assert not isinstance(outcome, Found) or verify(problem, outcome.routine) == []
        return isinstance(outcome, Found)

    if lap_possible(room):
        assert lap_possible({**room, way: room[way] + more})


def test_a_lane_along_the_walls_makes_a_larger_room_a_longer_way() -> None:
    """Four sides of 3 m fit within 1.5 m of the walls of 5 x 5 m; in 9 x 9 m only round a middle of their own."""
    moves = [a_figure("side", 4, travel=(3000, 0), turn=-2)]
    for size, lane, found in ((5, 1.5, True), (9, 1.5, False), (9, None, True)):
        room = {"style": "travelling", "width": size, "depth": size, "laps": 1, "lane": lane}
        outcome = solve(a_problem(moves, {"protect": "nothing"}, room, timeline=a_timeline(4)))
        assert isinstance(outcome, Found if found else NoRoutine)


@st.composite
def halls(draw: st.DrawFn) -> tuple[list[Figure], dict[str, Any]]:
    """Figures that may go round, and a hall in which much binds them: lanes, laps, places, a pillar, alignments."""
    moves, room = draw(laps())
    if draw(st.booleans()):
        moves = [moves[0], replace_faces(moves[1], (0,))]
    wide, deep = room["width"], room["depth"]
    room |= draw(st.sampled_from([{}, {"lane": 0.5}, {"lane": 1.0}, {"lane": 0.8, "corner": 0.5}]))
    if draw(st.booleans()):
        room["start"] = {"x": round(wide / 2, 3), "y": 0.45}
    if draw(st.booleans()) and not room.get("closed"):
        room["finish"] = {"x": round(wide / 2, 3), "y": round(deep / 3, 3), "within": 0.8}
    if draw(st.booleans()):
        room["obstacles"] = [{"name": "pillar", "x": round(wide / 2, 3), "y": round(deep * 0.6, 3), "radius": 0.05}]
    room["begins"] = draw(st.sampled_from(SIDES))
    return moves, room


def replace_faces(figure: Figure, faces: tuple[int, ...]) -> Figure:
    return a_figure(
        figure.chart.name,
        4,
        travel=(figure.motion.travel_forward_mm, figure.motion.travel_right_mm),
        faces=faces,
    )


def turned_hall(room: dict[str, Any]) -> dict[str, Any]:
    """A quarter turn to the left: the side danced along first becomes the next one."""
    deep = room["depth"]

    def at(place: dict[str, Any]) -> dict[str, Any]:
        return {**place, "x": round(deep - place["y"], 4), "y": place["x"]}

    new = {**room, "width": room["depth"], "depth": room["width"]}
    new["begins"] = SIDES[(SIDES.index(room["begins"]) + 1) % 4]
    for name in {"start", "finish"} & room.keys():
        new[name] = at(room[name])
    if "obstacles" in room:
        new["obstacles"] = [at(item) for item in room["obstacles"]]
    return new


def goes_round(moves: list[Figure], hall: dict[str, Any]) -> bool | None:
    """Whether there is a routine, one that passes the replay; None where the room itself is refused."""
    problem = a_problem(moves, {"protect": "nothing"}, hall, timeline=a_timeline(3))
    if problem.room is None:
        return None
    outcome = solve(problem, time_limit_s=8)
    assert isinstance(outcome, (Found, NoRoutine))
    if isinstance(outcome, Found):
        assert verify(problem, outcome.routine) == []
        assert outcome.routine.figures[0].corners == problem.room.begins
    return isinstance(outcome, Found)


@SOME
@given(halls())
def test_turning_a_hall_all_the_way_round_changes_nothing(given_hall: tuple[list[Figure], dict[str, Any]]) -> None:
    moves, hall = given_hall
    first = goes_round(moves, hall)
    for _ in range(3):
        hall = turned_hall(hall)
        assert goes_round(moves, hall) == first


@SOME
@given(figures(), rooms(), st.sampled_from(SIDES), st.sampled_from([0, 2, 1]))
def test_an_audience_is_turned_and_mirrored_with_its_room(
    moves: list[Figure], room: dict[str, Any], side: str, faces: int
) -> None:
    """The routine is to begin towards the audience and to end in a direction of the plan."""

    def shown(moves: Sequence[Figure], room: dict[str, Any], side: str, faces: int) -> bool:
        wishes = {
            "protect": "nothing",
            "opening": {"faces": "audience"},
            "closing": {"faces": ALIGNMENTS[faces % 8]},
        }
        problem = a_problem(moves, wishes, {**room, "style": "show", "audience": side}, timeline=a_timeline(2))
        outcome = solve(problem, time_limit_s=5)
        assert isinstance(outcome, (Found, NoRoutine))
        assert not isinstance(outcome, Found) or verify(problem, outcome.routine) == []
        return isinstance(outcome, Found)

    found = shown(moves, room, side, faces)
    turned = SIDES[(SIDES.index(side) + 1) % 4]
    assert shown(moves, transformed(room, turn=True), turned, faces - 2) == found
    mirrored = {"east": "west", "west": "east"}.get(side, side)
    seen = [replace(figure, motion=in_a_mirror(figure.motion)) for figure in moves]
    assert shown(seen, transformed(room, turn=False), mirrored, 4 - faces) == found


@SOME
@given(figures(), rooms(), st.sampled_from(["east", "north"]), st.sampled_from([0.1, 0.5, 2.0]))
def test_a_wall_moved_away_from_what_stands_at_the_others_loses_nothing(
    moves: list[Figure], room: dict[str, Any], wall: str, more: float
) -> None:
    """Everything that stands there keeps its distance from the west and the south wall."""
    axis = ("east", "north").index(wall)
    far = max(place[axis] for place in room["outline"])
    larger = {
        **room,
        "outline": [
            [*place[:axis], place[axis] + (more if place[axis] == far else 0), *place[axis + 1 :]]
            for place in room["outline"]
        ],
    }
    if possible(moves, room):
        assert possible(moves, larger)


def in_a_mirror(motion: Motion) -> Motion:
    """Left and right changed: bodies, facings, turns."""
    moments = tuple(
        replace(moment, leader=_pose(moment.leader), follower=_pose(moment.follower)) for moment in motion.moments
    )
    return replace(
        motion,
        moments=moments,
        leader_turn16=-motion.leader_turn16,
        follower_turn16=-motion.follower_turn16,
        travel_right_mm=-motion.travel_right_mm,
    )


def _pose(pose: Pose) -> Pose:
    return replace(
        pose, right_mm=-pose.right_mm, facing16=-pose.facing16, left=_mark(pose.left), right=_mark(pose.right)
    )


def _mark(mark: FootMark) -> FootMark:
    return replace(mark, right_mm=-mark.right_mm, points16=-mark.points16)
