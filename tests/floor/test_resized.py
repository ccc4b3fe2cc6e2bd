"""The smallest room with what stands in it: things keep their distance from the walls they stand nearest to.

Least sizes worked out by hand, and looked for by brute force on a raster, where the rules' checker alone decides. The
couple is a leader and a follower 38 cm ahead and 5 cm to the right, each 30 cm round: 98 x 65 cm facing east.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import product
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from composer.floor.model import Door, Obstacle, Room
from composer.floor.placing import travel_of
from composer.floor.resized import gaps, least_sides, resized, things
from composer.problem import Problem
from composer.roomsize import figures_that_fit, room_of_size, smallest
from composer.routine import Routine
from composer.rules import room as room_rule
from composer.verify import verify
from tests.builders import a_figure, a_problem, a_routine, a_timeline

STILL = a_figure("still", 4)
WALK = a_figure("walk", 4, travel=(1000, 0))


def a_place_for(room: dict[str, Any], figure: Any = STILL, faces: int = 0) -> tuple[Problem, Routine]:
    problem = a_problem([figure], room={"style": "spot", **room}, timeline=a_timeline(1))
    return problem, a_routine(problem, [figure.id], faces=faces)


def pillar(x: float, y: float, radius: float = 0.2, name: str = "pillar") -> dict[str, Any]:
    return {"name": name, "x": x, "y": y, "radius": radius}


@pytest.mark.parametrize(
    ("obstacles", "size"),
    [
        ([], (980, 650)),
        # north of the pillar, 50 cm from the line between the bodies, which falls by 5 cm on 38: at the pillar's x it
        # lies 200 * 50 / 380 = 26 mm lower than the leader, so he stands 500 + 26 + 500 / cos 7.5 = 1031 mm up
        ([pillar(0.5, 0.5)], (980, 1331)), ([pillar(0.5, 3.5)], (980, 1329)),
        ([pillar(3.5, 0.5)], (980, 1329)), ([pillar(3.5, 3.5)], (980, 1331)),
        ([pillar(1.2, 0.5)], (1400, 700)),  # west of it, in a room that still holds it
        # a bar all along the south wall, a table along the west one, a stand that reaches 20 cm into the room
        ([{"name": "bar", "box": [[0, 0], [4, 0.6]]}], (4000, 1250)),
        ([{"name": "table", "box": [[0, 0], [1, 1.9]]}], (1000, 2550)),
        ([{"name": "stand", "box": [[-0.5, 1], [0.2, 1.2]]}], (980, 1200)),
    ],
)  # fmt: skip
def test_least_rooms_worked_out_by_hand(obstacles: list[dict[str, Any]], size: tuple[int, int]) -> None:
    problem, routine = a_place_for({"width": 4, "depth": 4, "obstacles": obstacles})
    found = smallest(problem, routine)
    assert (found.width_mm + found.depth_mm, found.less_mm) == (sum(size), 0), (found.width_mm, found.depth_mm)
    assert verify(replace(problem, room=room_of_size(problem, found)), found.routine) == []


def test_two_things_never_come_to_stand_in_one_place() -> None:
    """From 6 m the room may shrink until both boxes meet; the couple stands west of them."""
    obstacles = [{"name": "one", "box": [[1.5, 0], [2, 0.4]]}, {"name": "two", "box": [[4, 0], [4.5, 0.4]]}]
    problem, routine = a_place_for({"width": 6, "depth": 4, "obstacles": obstacles})
    found = smallest(problem, routine)
    assert (found.width_mm, found.depth_mm) == (4000, 650)
    # further apart along y by themselves they may pass each other
    apart = [obstacles[0], {"name": "two", "box": [[4, 1], [4.5, 1.2]]}]
    assert problem.room is not None
    assert list(gaps(problem.room)) == [((0, 2000),)]
    other, _ = a_place_for({"width": 6, "depth": 4, "obstacles": apart})
    assert other.room is not None
    assert list(gaps(other.room)) == []


def test_pieces_of_one_obstacle_go_together_and_doors_with_their_ways() -> None:
    angle = {"name": "bench", "corners": [[2.2, 0], [4, 0], [4, 3], [3.6, 3], [3.6, 0.4], [2.2, 0.4]]}
    door = {"name": "the door", "ends": [[4.2, 4], [5, 4]], "clear": 0.9}
    problem, _ = a_place_for({"width": 6, "depth": 4, "obstacles": [angle, pillar(2, 2)], "doors": [door]})
    room = problem.room
    assert room is not None
    found = {thing.name: thing for thing in things(room)}
    assert len(found["bench"].pieces) > 1
    assert [(thing.east, thing.north) for thing in found.values()] == [(True, False), (False, False), (True, True)]
    smaller = resized(room, 5000, 3000)
    assert smaller.doors == (Door("the door", ((3200, 3000), (4000, 3000))),)
    assert {corner for item in smaller.obstacles if item.name == "bench" for corner in item.corners} == {
        (x - 1000, y) for item in room.obstacles if item.name == "bench" for x, y in item.corners
    }
    assert smaller.obstacles[-1].corners == tuple((x - 1000, y - 1000) for x, y in room.obstacles[-1].corners)
    assert resized(room, room.width_mm, room.depth_mm) == room
    assert least_sides(room) == (6000 - 2200, 3000)


def test_two_pillars_of_one_name_are_two_things() -> None:
    room = Room("spot", 6000, 4000, 0, obstacles=(Obstacle("pillar", ((500, 500),), 100),) * 1 + (
        Obstacle("pillar", ((5500, 500),), 100),))  # fmt: skip
    assert [thing.east for thing in things(room)] == [False, True]


def smaller_rooms(problem: Problem, routine: Routine, found: int, percents: list[int]) -> Iterator[tuple[int, int]]:
    """Rooms of a raster, smaller than found, in which the one figure has a place of the raster (20 cm)."""
    given, figure = problem.room, routine.figures[0]
    assert given is not None
    least, motion = least_sides(given), problem.catalogue.figures[figure.figure].motion
    for width, depth in product(range(600, 3000, 200), repeat=2):
        less = (given.width_mm - width, given.depth_mm - depth)
        apart = all(any(less[axis] <= most for axis, most in ways) for ways in gaps(given))
        if width + depth >= found or width < least[0] or depth < least[1] or not apart:
            continue
        inside = replace(problem, room=resized(given, width, depth))
        for x, y, percent in product(range(300, width - 299, 200), range(300, depth - 299, 200), percents):
            dx, dy = (int(percent * far / 100) for far in travel_of(motion, figure.faces))
            placed = replace(figure, x_mm=x, y_mm=y, more_x_mm=dx, more_y_mm=dy)
            if not room_rule.breaches(inside, replace(routine, figures=(placed,))):
                yield width, depth


@pytest.mark.slow
@settings(deadline=None, max_examples=6, suppress_health_check=[HealthCheck.too_slow])
@given(
    st.lists(
        st.tuples(st.sampled_from([0.3, 0.8, 1.2, 1.7]), st.sampled_from([0.2, 0.9, 1.4, 1.8])),
        min_size=1,
        max_size=2,
        unique=True,
    ),
    st.sampled_from([STILL, WALK]),
    st.integers(0, 7),
    st.sampled_from([(100, 100), (80, 100), (90, 110)]),
)
def test_no_smaller_room_is_found_by_brute_force(
    places: list[tuple[float, float]], figure: Any, faces: int, stride: tuple[int, int]
) -> None:
    supple = replace(figure, motion=replace(figure.motion, shortest_scale=0.7, longest_scale=1.3))
    room: dict[str, Any] = {
        "width": 2,
        "depth": 2,
        "obstacles": [pillar(x, y, 0.1, name) for name, (x, y) in zip(("one", "two"), places, strict=False)],
        "stride": {"least": stride[0] / 100, "most": stride[1] / 100},
    }
    problem, routine = a_place_for(room, supple, faces)
    found = smallest(problem, routine, stride)
    assert found.less_mm == 0
    assert verify(replace(problem, room=room_of_size(problem, found)), found.routine) == []
    percents = list(range(stride[0] - 100, stride[1] - 99, 10))
    assert not list(smaller_rooms(problem, routine, found.width_mm + found.depth_mm, percents))
    # and the raster does find the room when it may look beyond what was found
    assert any(smaller_rooms(problem, routine, found.width_mm + found.depth_mm + 1000, percents))


def test_what_fits_keeps_the_strides_of_the_brief() -> None:
    """A walk of 1 m needs 1.98 m; with strides of nine tenths 1.88 m; beside a pillar with both."""
    supple = replace(WALK, motion=replace(WALK.motion, shortest_scale=0.7))

    def facings(width: float, **room: Any) -> tuple[int, ...]:
        problem, _ = a_place_for({"width": width, "depth": 0.65, **room}, supple)
        return figures_that_fit(problem)[0].faces

    stride = {"stride": {"least": 0.9}}
    assert facings(1.98) == (0, 4)
    assert facings(1.979) == ()
    assert facings(1.88, **stride) == (0, 4)
    assert facings(1.879, **stride) == ()
    bar = {"obstacles": [{"name": "bar", "box": [[0, 0], [0.5, 0.65]]}]}
    assert facings(2.38, **stride, **bar) == (0, 4)
    assert facings(2.379, **stride, **bar) == ()
    assert facings(2.47, **bar) == ()


BRIEF = """format: brief/1
title: a small floor
dance: waltz
music: {tempo: 87, bars: 2, beats_per_bar: 3, phrase_bars: 2}
room:
  width: 5
  depth: 4
  obstacles: [{name: the cake table, x: 4.4, y: 3.6, radius: 20 cm}]
"""


def test_the_command_says_what_stays_where_and_what_is_left_out(
    tmp_path: Path, said: Callable[..., tuple[int, str]]
) -> None:
    brief, file = tmp_path / "brief.yaml", tmp_path / "two.yaml"
    brief.write_text(BRIEF, "utf-8")
    file.write_text("format: routine/1\ndance: waltz\nfigures: [box step]\n", "utf-8")
    code, out = said("room", "smallest", str(file), "--brief", str(brief))
    assert code == 0, out
    assert out.count("(proved)") == 3
    assert "The cake table stays 0.4 m from the east wall and 0.2 m from the north wall." in out
    data = json.loads(said("room", "smallest", str(file), "--brief", str(brief), "--json")[1])
    assert data["kept"] == [{"name": "the cake table", "from_mm": {"east": 400, "north": 200}}]
    assert not data["outline_left_out"]
    size = "outline: [[0, 0], [5, 0], [5, 2], [3, 2], [3, 4], [0, 4]]"
    brief.write_text(BRIEF.replace("width: 5\n  depth: 4", size).replace("x: 4.4, y: 3.6", "x: 0.4, y: 3.6"), "utf-8")
    out = said("room", "smallest", str(file), "--brief", str(brief))[1]
    assert "The outline of the floor is left out: these are rectangles." in out
    assert "The cake table stays 0.2 m from the west wall and 0.2 m from the north wall." in out


def test_a_room_that_does_is_looked_for_with_everything_in_it(
    tmp_path: Path, said: Callable[..., tuple[int, str]]
) -> None:
    """In 1.2 m there is no room beside the table; on a larger floor it stands in the same corner."""
    brief = tmp_path / "brief.yaml"
    text = BRIEF.replace("width: 5\n  depth: 4", "width: 1.2\n  depth: 1.2").replace("x: 4.4, y: 3.6", "x: 0.8, y: 0.8")
    text += "couple: {leader: {level: 0, knows: [box-step]}, follower: {level: 1}}\nwishes: {protect: nothing}\n"
    brief.write_text(text, "utf-8")
    code, out = said("room", "fits", str(brief), "--time-limit", "5")
    assert code == 3, out
    assert "The room as it is: no routine fits (proved)." in out
    assert "a routine fits." in out
    assert "The routine found would do with" in out
    assert "The cake table stays 0.2 m from the east wall and 0.2 m from the north wall." in out
