"""The same room in another size: what stands in it keeps its distance from the walls it stands nearest to.

A pillar nearest to the west and the north wall stays as far from both when the room becomes narrower or deeper; in the
middle between two walls the west and the south one count. So do doors and the ways to them. Pieces of one obstacle go
together. A floor that is no rectangle becomes one: its outline says nothing about another size. Whole millimetres.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from composer.floor.model import Obstacle, Place, Room

Box = tuple[int, int, int, int]


@dataclass(frozen=True)
class Thing:
    """An obstacle that moves as a whole, with the walls it keeps its distance from.

    ``box`` is (least x, least y, most x, most y) in the room as given; ``east``: it keeps to the east wall rather than
    to the west one; ``north``: to the north one rather than to the south one.
    """

    name: str
    pieces: tuple[Obstacle, ...]
    box: Box
    east: bool
    north: bool


def things(room: Room) -> tuple[Thing, ...]:
    """What stands in a room, pieces of one obstacle together, in the order of the room."""
    groups: list[list[Obstacle]] = []
    for piece in room.obstacles:
        touching = [group for group in groups if any(_touch(piece, other) for other in group)]
        if touching:
            first = touching[0]
            for group in touching[1:]:
                first += group
                groups.remove(group)
            first.append(piece)
        else:
            groups.append([piece])
    return tuple(_thing(room, group) for group in groups)


def _thing(room: Room, pieces: Sequence[Obstacle]) -> Thing:
    places = [(x + dx, y + dy) for item in pieces for x, y in item.corners for dx, dy in _round(item)]
    box = _box(places)
    return Thing(pieces[0].name, tuple(pieces), box, *_nearer(room, box))


def _touch(one: Obstacle, two: Obstacle) -> bool:
    """Whether both are pieces of one outline: they have its name and a corner in common."""
    return one.name == two.name and len(one.corners) > 1 and bool(set(one.corners) & set(two.corners))


def _round(item: Obstacle) -> tuple[Place, Place]:
    return (-item.radius_mm, -item.radius_mm), (item.radius_mm, item.radius_mm)


def _box(places: Sequence[Place]) -> Box:
    xs, ys = [x for x, _ in places], [y for _, y in places]
    return min(xs), min(ys), max(xs), max(ys)


def _nearer(room: Room, box: Box) -> tuple[bool, bool]:
    """Whether something is nearer to the east wall, and whether nearer to the north one."""
    return room.width_mm - box[2] < box[0], room.depth_mm - box[3] < box[1]


def resized(room: Room, width_mm: int, depth_mm: int) -> Room:
    """The room with other walls; an outline becomes a rectangle."""
    by = (width_mm - room.width_mm, depth_mm - room.depth_mm)
    moved = {id(piece): _shift(thing.east, thing.north, by) for thing in things(room) for piece in thing.pieces}
    obstacles = tuple(
        replace(item, corners=tuple(_at(corner, moved[id(item)]) for corner in item.corners)) for item in room.obstacles
    )
    doors = []
    for door in room.doors:
        shift = _shift(*_nearer(room, _box(door.ends)), by)
        doors.append(replace(door, ends=(_at(door.ends[0], shift), _at(door.ends[1], shift))))
    return replace(
        room,
        width_mm=width_mm,
        depth_mm=depth_mm,
        outline=(),
        obstacles=obstacles,
        doors=tuple(doors),
    )


def _shift(east: bool, north: bool, by: Place) -> Place:
    return by[0] if east else 0, by[1] if north else 0


def _at(place: Place, shift: Place) -> Place:
    return place[0] + shift[0], place[1] + shift[1]


def least_sides(room: Room) -> tuple[int, int]:
    """Width and depth below which something that stood inside the room would stick out of it."""
    least = [0, 0]
    for thing in things(room):
        for axis, (size, far) in enumerate(((room.width_mm, thing.east), (room.depth_mm, thing.north))):
            low, high = thing.box[axis], thing.box[2 + axis]
            least[axis] = max(least[axis], size - max(0, low) if far else min(size, high))
    return least[0], least[1]


def gaps(room: Room) -> Iterator[tuple[tuple[int, int], ...]]:
    """For every two things that would meet in a small enough room: ways to stay apart, of which one must hold.

    A way is (axis, how much narrower or less deep the room may become). Things whose boxes overlapped as given, or
    that move together along an axis on which they are apart, need none.
    """
    for one, two in combinations(things(room), 2):
        ways: list[tuple[int, int]] = []
        for axis in (0, 1):
            first, second = sorted((one, two), key=lambda thing: thing.box[axis])
            apart = second.box[axis] - first.box[2 + axis]
            if apart < 0:
                continue
            far = (first.east, second.east) if axis == 0 else (first.north, second.north)
            if far == (False, True):
                ways.append((axis, apart))
            else:  # they keep their distance, or move away from each other as the room shrinks
                ways = []
                break
        else:
            if ways:
                yield tuple(ways)
