"""The lines of a floor against an independent geometry (shapely): 2,000 random paths, and outlines of every shape.

A path is what two bodies do in one figure. Lines and shapely agree to 2 cm, on the safe side: within walls, and past
pillars, tables and inward corners for whole figures, shipped ones and made-up ones, which may wind round a pillar.
"""

from __future__ import annotations

import math
import random
from collections import Counter

import pytest
from shapely.geometry import LineString, Polygon
from shapely.geometry import Point as PointOf
from shapely.geometry.base import BaseGeometry

from composer.catalogue import load_catalogue
from composer.catalogue.model import Figure
from composer.floor.model import BODY_RADIUS_MM, Obstacle, Place, Room
from composer.floor.passing import Passing, lacking
from composer.floor.shape import (
    GAP_DEGREES,
    LOSS_MM,
    Block,
    Line,
    area2,
    blocks,
    convex_pieces,
    crosses_itself,
    gap_degrees,
    hull,
    pockets,
    walls,
)
from composer.floor.stations import longest_edge, stations, step_for
from composer.routine import Placed
from composer.verify.space import couples
from tests.builders import a_figure

SAFE_MM = 20
ROUNDING_MM = 1


def a_path(rng: random.Random, start: Place, steps: int, longest: int) -> tuple[list[Place], list[Place]]:
    """Two bodies that keep a distance and walk together."""
    apart = rng.uniform(0, math.tau)
    leader, follower = [start], [(round(start[0] + 380 * math.cos(apart)), round(start[1] + 380 * math.sin(apart)))]
    for _ in range(steps):
        way, apart = rng.uniform(0, math.tau), apart + rng.uniform(-1, 1)
        far = rng.uniform(0, longest)
        here = (round(leader[-1][0] + far * math.cos(way)), round(leader[-1][1] + far * math.sin(way)))
        leader.append(here)
        follower.append((round(here[0] + 380 * math.cos(apart)), round(here[1] + 380 * math.sin(apart))))
    return leader, follower


def keeps_in(lines: tuple[Line, ...], path: list[Place]) -> bool:
    return all(line.at(place) <= line.c for line in lines for place in path)


def passes(block: Block, path: list[Place]) -> bool:
    return any(all(line.at(place) >= line.c for place in path) for line in block.lines)


def swept(run: list[Place], more_mm: float = 0) -> BaseGeometry:
    line = LineString(run) if len(set(run)) > 1 else PointOf(run[0])
    return line.buffer(BODY_RADIUS_MM + more_mm, quad_segs=64)


def convex_rooms(rng: random.Random) -> Room:
    corners = hull((rng.randrange(0, 12_000), rng.randrange(0, 9_000)) for _ in range(rng.randrange(4, 9)))
    x0, y0 = min(x for x, _ in corners), min(y for _, y in corners)
    corners = tuple((x - x0, y - y0) for x, y in corners)
    wide, deep = max(x for x, _ in corners), max(y for _, y in corners)
    return Room("spot", wide, deep, rng.choice([0, 200]), outline=corners)


def test_two_thousand_random_paths_between_walls_agree_with_shapely_to_two_centimetres() -> None:
    rng, inside = random.Random(7), 0
    for number in range(2_000):
        room = convex_rooms(rng) if number % 2 else Room("spot", rng.randrange(2_000, 9_000), 4_000, 100)
        floor = Polygon(room.outer).buffer(-room.margin_mm, join_style="mitre")
        lines = walls(room)
        middle = Polygon(room.outer).centroid
        start = (round(rng.gauss(middle.x, 900)), round(rng.gauss(middle.y, 900)))
        leader, follower = a_path(rng, start, rng.randrange(0, 5), 700)
        accepted = keeps_in(lines, leader + follower)
        inside += accepted
        bodies = [swept(leader), swept(follower)]
        if accepted:
            assert all(floor.buffer(ROUNDING_MM).covers(body) for body in bodies)
        else:
            # buffers of shapely are inscribed: a radius larger by 1 mm makes up for it
            assert not all(floor.covers(swept(run, SAFE_MM + ROUNDING_MM)) for run in (leader, follower))
    assert 400 < inside < 1_600, "both answers are tried often"


def an_obstacle(rng: random.Random) -> Obstacle:
    if rng.random() < 0.5:
        return Obstacle("pillar", ((5_000, 5_000),), rng.choice([0, 150, 400]))
    while True:
        corners = hull((rng.randrange(4_300, 5_700), rng.randrange(4_300, 5_700)) for _ in range(rng.randrange(3, 7)))
        if area2(corners) > 100_000:
            return Obstacle("table", corners)


def shape_of(obstacle: Obstacle) -> BaseGeometry:
    if len(obstacle.corners) == 1:
        middle = PointOf(obstacle.corners[0])
        return middle.buffer(obstacle.radius_mm, quad_segs=64) if obstacle.radius_mm else middle
    return Polygon(obstacle.corners)


BENT = ((0, 0), (10_000, 0), (10_000, 4_800), (5_200, 5_000), (5_000, 10_000), (0, 10_000))
NOOK = (
    (0, 0),
    (10_000, 0),
    (10_000, 10_000),
    (5_600, 10_000),
    (5_300, 5_000),
    (4_600, 5_200),
    (4_400, 10_000),
    (0, 10_000),
)


def a_room(rng: random.Random) -> Room:
    kind = rng.randrange(5)
    if kind < 3:
        return Room("spot", 10_000, 10_000, 0, obstacles=tuple(an_obstacle(rng) for _ in range(rng.randrange(1, 3))))
    return Room("spot", 10_000, 10_000, rng.choice([0, 150]), outline=BENT if kind == 3 else NOOK)


def made_up(rng: random.Random) -> Figure:
    """One to four beats with a bend or two, long or short, turning up to one and a half times."""
    beats = rng.randrange(1, 5)
    bends = sorted(rng.sample(range(3, 12 * beats, 3), rng.randrange(0, min(3, 2 * beats - 1))))
    way = [(rng.randrange(-900, 900), rng.randrange(-900, 900)) for _ in (*bends, 0)]
    path = [(tick, *place) for tick, place in zip(bends, way, strict=False)]
    hold = rng.choice(["closed", "closed", "two-hands", "promenade"])
    return a_figure("made", beats, hold, turn=rng.randrange(-6, 7), travel=way[-1], path=path)


def round_the_middle(rng: random.Random) -> tuple[Figure, Place]:
    """A figure that goes eastwards round the middle of the room from the south, and where it begins."""
    radius, sweep = rng.randrange(600, 1_300), math.radians(rng.randrange(60, 271))
    turns = [sweep * k / 8 for k in range(1, 9)]
    path = [(6 * k, round(radius * math.sin(turn)), -round(radius - radius * math.cos(turn))) for k, turn in
            enumerate(turns, 1)]  # fmt: skip
    turn = -round(4 * sweep / math.pi)
    return a_figure("round", 4, turn=turn, travel=path[-1][1:], path=path[:-1]), (5_000, 5_000 - radius)


@pytest.fixture(scope="module")
def shipped_figures() -> list[Figure]:
    return list(load_catalogue(dances=["waltz", "foxtrot", "rumba", "east-coast-swing"]).figures.values())


def away(room: Room, taken: list[BaseGeometry], clear_mm: float) -> bool:
    """Whether shapely finds the couple (bodies and all between them, half a beat at a time) clear of everything."""
    floor = Polygon(room.outer).buffer(-room.margin_mm, quad_segs=64)
    whole = [piece.buffer(clear_mm, quad_segs=32) for piece in taken]
    return all(
        floor.covers(piece) and not any(shape_of(item).intersects(piece) for item in room.obstacles) for piece in whole
    )


@pytest.mark.slow
def test_two_thousand_whole_figures_past_anything_agree_with_shapely_to_two_centimetres(
    shipped_figures: list[Figure],
) -> None:
    """Accepted: clear by a body. Refused: with a body of 2 cm more it would not be clear. Walls are far away."""
    rng, passed = random.Random(11), Counter[bool]()
    wound = 0
    while sum(passed.values()) < 2_000:
        figure = made_up(rng) if rng.random() < 0.5 else rng.choice(shipped_figures)
        room, faces = a_room(rng), rng.randrange(8)
        step = step_for([figure.motion])
        way, far = rng.uniform(0, math.tau), rng.uniform(200, 1_800)
        here = (round(5_000 + far * math.cos(way)), round(5_000 + far * math.sin(way)))
        if rng.random() < 0.15:
            (figure, here), faces = round_the_middle(rng), 0
        pairs = [tuple((x + here[0], y + here[1]) for x, y in pair) for pair in stations(figure.motion, faces, step)]
        if not all(line.at(place) <= line.c for line in walls(room) for pair in pairs for place in pair):
            continue  # walls have a test of their own
        given = Passing(blocks(room, longest_edge([figure.motion], step)), step)
        accepted = not list(lacking(given, pairs, ((0, 0), (0, 0))))
        placed = Placed(figure.id, 0, figure.length_ticks, faces, *here)
        taken = [piece for _, piece in couples(placed, figure)]
        passed[accepted] += 1
        if accepted:
            assert away(room, taken, BODY_RADIUS_MM - ROUNDING_MM), (figure.id, faces, here)
            whole = [place for pair in pairs for place in pair]
            wound += any(not passes(block, whole) for block in given.blocks)
        else:
            assert not away(room, taken, BODY_RADIUS_MM + SAFE_MM), (figure.id, faces, here)
    assert min(passed.values()) > 400, "both answers are tried often"
    assert wound > 40, "figures that wind round something are accepted"


@pytest.mark.parametrize("edge", [0, 383, 900, 1_326])
@pytest.mark.parametrize("clear", [300, 700, 1_500])
def test_lines_are_so_near_in_direction_that_little_is_lost(edge: int, clear: int) -> None:
    gap = gap_degrees(edge, clear)
    half = math.radians(gap / 2)
    assert edge / 2 * math.tan(half) + clear * (1 / math.cos(half) - 1) <= LOSS_MM
    assert gap <= GAP_DEGREES
    room = Room("spot", 20_000, 20_000, 0, obstacles=(Obstacle("pillar", ((10_000, 10_000),), clear - 300),))
    (coarse,), (fine,) = blocks(room), blocks(room, edge)
    assert set(coarse.lines) <= set(fine.lines)
    assert len(fine.lines) >= 360 / gap


@pytest.mark.parametrize(
    "outline",
    [
        ((0, 0), (6000, 0), (6000, 2000), (3000, 2000), (3000, 5000), (0, 5000)),
        ((0, 0), (9000, 0), (9000, 5000), (6000, 5000), (6000, 2000), (3000, 2000), (3000, 5000), (0, 5000)),
        ((0, 0), (8000, 0), (5000, 3000), (8000, 6000), (0, 6000), (2000, 3000)),
        ((0, 0), (4000, 1000), (8000, 0), (8000, 4000), (4000, 3200), (2000, 3600), (0, 4000)),
    ],
)
def test_an_outline_is_its_hull_less_convex_pockets(outline: tuple[Place, ...]) -> None:
    whole = Polygon(hull(outline))
    pieces = [Polygon(piece) for piece in pockets(outline)]
    assert sum(piece.area for piece in pieces) + Polygon(outline).area == pytest.approx(whole.area)
    assert all(piece.convex_hull.area == pytest.approx(piece.area) for piece in pieces)
    assert all(piece.intersection(Polygon(outline)).area == pytest.approx(0) for piece in pieces)


def test_a_bent_obstacle_is_cut_into_convex_pieces() -> None:
    bent = ((0, 0), (6000, 0), (6000, 2000), (3000, 2000), (3000, 5000), (0, 5000))
    pieces = [Polygon(piece) for piece in convex_pieces(bent)]
    assert sum(piece.area for piece in pieces) == pytest.approx(Polygon(bent).area)


def test_whether_an_outline_crosses_itself_is_what_shapely_says() -> None:
    rng, wrong = random.Random(3), 0
    for _ in range(500):
        corners = [(rng.randrange(8), rng.randrange(8)) for _ in range(rng.randrange(3, 7))]
        if len(set(corners)) < len(corners) or area2(corners) == 0:
            continue
        ours = crosses_itself(corners)
        wrong += ours
        assert ours == (not Polygon(corners).is_valid), corners
    assert wrong > 50


def test_a_rectangle_has_four_walls_and_a_wall_line_is_exact() -> None:
    found = {line.name: (line.a, line.b, line.c) for line in walls(Room("spot", 5000, 4000, 100))}
    assert found == {"west": (-1, 0, -400), "east": (1, 0, 4600), "south": (0, -1, -400), "north": (0, 1, 3600)}
    same = walls(Room("spot", 5000, 4000, 100, outline=((0, 0), (5000, 0), (5000, 4000), (0, 4000))))
    assert {(line.a, line.b, line.c) for line in same} == set(found.values())
