"""The lines of a floor against an independent geometry (shapely): 2,000 random paths, and outlines of every shape.

A path is what two bodies do in one figure. Within walls the lines and shapely agree to 2 cm, on the safe side. Past a
block a figure keeps to one side of one of the lines round it; it is always clear, and what it gives away is bounded:
2 cm for a couple that stands, and what half the angle between two lines takes off the length of a path.
"""

from __future__ import annotations

import math
import random

import pytest
from shapely.geometry import LineString, MultiPoint, Polygon
from shapely.geometry import Point as PointOf
from shapely.geometry.base import BaseGeometry

from composer.floor.model import BODY_RADIUS_MM, Obstacle, Place, Room
from composer.floor.shape import (
    GAP_DEGREES,
    Block,
    Line,
    area2,
    blocks,
    convex_pieces,
    crosses_itself,
    hull,
    pockets,
    walls,
)

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


def test_two_thousand_random_paths_past_a_block_are_clear_and_little_is_given_away() -> None:
    rng, clear = random.Random(11), 0
    for number in range(2_000):
        obstacle = an_obstacle(rng)
        room = Room("spot", 10_000, 10_000, 0, obstacles=(obstacle,))
        (block,) = blocks(room)
        way, far = rng.uniform(0, math.tau), rng.uniform(300, 2_000)
        start = (round(5_000 + far * math.cos(way)), round(5_000 + far * math.sin(way)))
        standing = number % 2 == 0
        leader, follower = a_path(rng, start, 0 if standing else rng.randrange(1, 4), 500)
        path = leader[:1] if standing else leader + follower
        taken = MultiPoint(path).convex_hull
        apart = shape_of(obstacle).distance(taken)
        if passes(block, path):
            clear += 1
            assert apart >= BODY_RADIUS_MM - ROUNDING_MM
            continue
        reach = max(math.dist(a, b) for a in path for b in path)
        given = SAFE_MM + reach * math.sin(math.radians(GAP_DEGREES / 2))
        assert apart < BODY_RADIUS_MM + given, (path, obstacle)
    assert 400 < clear < 1_600, "both answers are tried often"


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
