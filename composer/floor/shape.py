"""Lines of the floor in whole numbers: the walls round it and the ways past what stands in it.

A floor is its convex outline less *blocks*: the pockets of an outline with a corner that points inwards, and the
obstacles. A wall is one line, ``a*x + b*y <= c`` for every body centre. A block is passed piece by piece: from one
station of a figure to the next (:mod:`composer.floor.stations`) both bodies keep beyond at least one of the block's
lines, ``a*x + b*y >= c``, each piece beyond a line of its own. The couple counts as one with what is between the
partners (arms, lead): nobody takes a pillar between them. Lines lie along the block's edges and round its corners,
rounded away from the block, so that a centre beyond any of them is clear of it by at least a body. They are so near to
each other in direction (:func:`gap_degrees`) that a piece is kept off by at most ``LOSS_MM`` more than its bodies need.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from composer.floor.model import BODY_RADIUS_MM, Place, Room

FINE: Final = 1024
"""Longest normal of a line; a line along no axis is off by at most half in this."""
GAP_DEGREES: Final = 22.5
"""Lines round a corner are never further apart in direction."""
LOSS_MM: Final = 16
"""What lines may take away from a piece; with roundings it stays within 2 cm."""
COMPASS: Final = ("east", "north-east", "north", "north-west", "west", "south-west", "south", "south-east")


@dataclass(frozen=True)
class Line:
    """``a*x + b*y`` against ``c`` (millimetres); ``name`` says which wall, or where of a block."""

    a: int
    b: int
    c: int
    name: str

    def at(self, place: Place) -> int:
        """``a*x + b*y`` of a place."""
        return self.a * place[0] + self.b * place[1]

    def units(self, length_mm: int) -> int:
        """A distance in the units of the line, rounded up."""
        return math.ceil(length_mm * math.hypot(self.a, self.b))

    def over_mm(self, value: int) -> int:
        """How far a value lies from the line, in whole mm, rounded up."""
        return math.ceil(abs(value - self.c) / math.hypot(self.a, self.b))


@dataclass(frozen=True)
class Block:
    """Something to pass on one side; no lines means that nobody can be beyond it anywhere on this floor."""

    name: str
    lines: tuple[Line, ...]


def walls(room: Room) -> tuple[Line, ...]:
    """The lines every body centre keeps within: ``a*x + b*y <= c``. For a rectangle west, east, south, north."""
    if not room.outline:
        least_x, least_y, most_x, most_y = room.inside
        return (
            Line(-1, 0, -least_x, "west"),
            Line(1, 0, most_x, "east"),
            Line(0, -1, -least_y, "south"),
            Line(0, 1, most_y, "north"),
        )
    corners = hull(room.outline)
    found = []
    for here, there in zip(corners, (*corners[1:], corners[0]), strict=True):
        a, b = _short(there[1] - here[1], here[0] - there[0])
        reach = min(a * here[0] + b * here[1], a * there[0] + b * there[1])
        found.append(Line(a, b, reach - math.ceil(room.edge_mm * math.hypot(a, b)), _compass(a, b)))
    return tuple(found)


def blocks(room: Room, edge_mm: int | None = None) -> tuple[Block, ...]:
    """Everything to be passed, obstacles by name, inward corners as ``the inner corner``.

    Parameters
    ----------
    edge_mm : the longest straight line round a piece that is to pass (:func:`composer.floor.stations.longest_edge`);
        without it only every line that is needed to stay ``GAP_DEGREES`` apart, all of them among the others.
    """
    found = []
    for piece in pockets(room.outline):
        found.append(_block("the inner corner", piece, room.edge_mm, room, edge_mm))
    for obstacle in room.obstacles:
        clear = BODY_RADIUS_MM + obstacle.radius_mm
        found.append(_block(obstacle.name, obstacle.corners, clear, room, edge_mm))
    return tuple(found)


def gap_degrees(edge_mm: int, clear_mm: int) -> float:
    """How far apart in direction lines may be for a piece with such edges and a distance to be kept.

    Between two lines 2d apart a piece's edge of length e that lies just between them is kept off by e/2 tan d more than
    it needs, a corner by r (1 / cos d - 1).
    """
    gap = GAP_DEGREES
    while (
        edge_mm / 2 * math.tan(math.radians(gap / 2)) + clear_mm * (1 / math.cos(math.radians(gap / 2)) - 1) > LOSS_MM
    ):
        gap *= 0.98
    return gap


def _block(name: str, corners: Sequence[Place], clear_mm: int, room: Room, edge_mm: int | None) -> Block:
    """The lines round a convex block, less those beyond which no centre can be."""
    lines = []
    for line in lines_round(corners, clear_mm, edge_mm):
        size = math.hypot(line.a, line.b)
        if max(line.at(corner) for corner in room.outer) - math.ceil(room.edge_mm * size) >= line.c:
            lines.append(line)
    return Block(name, tuple(lines))


def lines_round(corners: Sequence[Place], clear_mm: int, edge_mm: int | None) -> Iterator[Line]:
    """All lines round a convex block, so far from it as is kept clear; ``edge_mm`` as for :func:`blocks`."""
    for a, b in _normals(corners, GAP_DEGREES if edge_mm is None else gap_degrees(edge_mm, clear_mm)):
        reach = max(a * x + b * y for x, y in corners) + math.ceil(clear_mm * math.hypot(a, b))
        yield Line(a, b, reach, _compass(a, b))


def _normals(corners: Sequence[Place], gap: float) -> list[tuple[int, int]]:
    """Outward normals along the edges and, round the corners, at most so many degrees apart.

    Those of a smaller gap are among them when the larger one is ``GAP_DEGREES``: it is divided evenly.
    """
    if len(corners) == 1:
        flat = [math.radians(GAP_DEGREES * k) for k in range(round(360 / GAP_DEGREES))]
    else:
        edges = zip(corners, (*corners[1:], corners[0]), strict=True)
        flat = sorted(math.atan2(p[0] - q[0], q[1] - p[1]) % math.tau for p, q in edges)
    ways = []
    for here, there in zip(flat, (*flat[1:], flat[0] + math.tau), strict=True):
        wide = math.degrees(there - here)
        parts = max(1, math.ceil(wide / GAP_DEGREES - 1e-9))
        parts *= max(1, math.ceil(wide / parts / gap - 1e-9))
        ways += [here + (there - here) * k / parts for k in range(parts)]
    return list(dict.fromkeys(_short(round(FINE * math.cos(w)), round(FINE * math.sin(w))) for w in ways))


def _short(a: int, b: int) -> tuple[int, int]:
    """The direction in whole numbers of at most ``FINE``."""
    size = math.hypot(a, b)
    if size > FINE and a and b:
        a, b = round(a * FINE / size), round(b * FINE / size)
    part = math.gcd(a, b)
    return a // part, b // part


def _compass(a: int, b: int) -> str:
    return COMPASS[round(math.atan2(b, a) / (math.pi / 4)) % 8]


def turn(o: Place, a: Place, b: Place) -> int:
    """Twice the area of a triangle, above zero when it runs counter-clockwise."""
    return (a[0] - o[0]) * (b[1] - o[1]) - (a[1] - o[1]) * (b[0] - o[0])


def area2(corners: Sequence[Place]) -> int:
    """Twice the area inside an outline, above zero when it runs counter-clockwise."""
    return sum(p[0] * q[1] - p[1] * q[0] for p, q in zip(corners, (*corners[1:], corners[0]), strict=True))


def hull(places: Iterable[Place]) -> tuple[Place, ...]:
    """Convex hull, counter-clockwise, without corners on a straight line."""
    ordered = sorted(set(places))
    if len(ordered) < 3:
        return tuple(ordered)
    halves = []
    for run in (ordered, ordered[::-1]):
        half: list[Place] = []
        for place in run:
            while len(half) > 1 and turn(half[-2], half[-1], place) <= 0:
                half.pop()
            half.append(place)
        halves.append(half[:-1])
    return tuple(halves[0] + halves[1])


def pockets(outline: Sequence[Place]) -> list[tuple[Place, ...]]:
    """What lies between an outline (counter-clockwise) and its convex hull, in convex pieces."""
    if not outline:
        return []
    outer = set(hull(outline))
    first = next(i for i, place in enumerate(outline) if place in outer)
    ring = [*outline[first:], *outline[:first], outline[first]]
    found: list[tuple[Place, ...]] = []
    run = [ring[0]]
    for place in ring[1:]:
        run.append(place)
        if place in outer:
            if len(run) > 2 and area2(run):
                found += convex_pieces(run[::-1])  # seen from outside it runs the other way
            run = [place]
    return found


def convex_pieces(corners: Sequence[Place]) -> list[tuple[Place, ...]]:
    """A simple outline (counter-clockwise) as one convex piece, or cut into triangles."""
    ring = [p for p, q in zip(corners, (*corners[1:], corners[0]), strict=True) if p != q]
    if all(turn(ring[i - 2], ring[i - 1], ring[i]) >= 0 for i in range(len(ring))):
        return [hull(ring)]
    found: list[tuple[Place, ...]] = []
    while len(ring) > 3:
        for i in range(len(ring)):
            a, b, c = ring[i - 1], ring[i], ring[(i + 1) % len(ring)]
            others = [p for p in ring if p not in (a, b, c)]
            if turn(a, b, c) > 0 and not any(_within(p, a, b, c) for p in others):
                found.append((a, b, c))
                del ring[i]
                break
            if turn(a, b, c) == 0:
                del ring[i]
                break
        else:  # no ear: not a simple outline; the hull is on the safe side
            return [hull(corners)]
    if turn(*ring) > 0:
        found.append((ring[0], ring[1], ring[2]))
    return found


def _within(p: Place, a: Place, b: Place, c: Place) -> bool:
    return turn(a, b, p) >= 0 and turn(b, c, p) >= 0 and turn(c, a, p) >= 0


def crosses_itself(outline: Sequence[Place]) -> bool:
    """Whether two edges of an outline meet anywhere but at a common corner."""
    edges = list(zip(outline, (*outline[1:], outline[0]), strict=True))
    for i, (a, b) in enumerate(edges):
        for j in range(i + 1, len(edges)):
            c, d = edges[j]
            if j == i + 1 or (i == 0 and j == len(edges) - 1):
                shared, far, own = (b, d, a) if j == i + 1 else (a, c, b)
                if turn(own, shared, far) == 0 and _between(own, shared, far):
                    return True
                continue
            if _meet(a, b, c, d):
                return True
    return False


def _between(own: Place, shared: Place, far: Place) -> bool:
    """Whether two neighbouring edges on one line double back."""
    return (own[0] - shared[0]) * (far[0] - shared[0]) + (own[1] - shared[1]) * (far[1] - shared[1]) > 0


def _meet(a: Place, b: Place, c: Place, d: Place) -> bool:
    def sign(value: int) -> int:
        return (value > 0) - (value < 0)

    def on(p: Place, q: Place, r: Place) -> bool:
        return min(p[0], q[0]) <= r[0] <= max(p[0], q[0]) and min(p[1], q[1]) <= r[1] <= max(p[1], q[1])

    w, x, y, z = sign(turn(a, b, c)), sign(turn(a, b, d)), sign(turn(c, d, a)), sign(turn(c, d, b))
    if w != x and y != z:
        return True
    return (w == 0 and on(a, b, c)) or (x == 0 and on(a, b, d)) or (y == 0 and on(c, d, a)) or (z == 0 and on(c, d, b))
