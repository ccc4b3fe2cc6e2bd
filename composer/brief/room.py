"""The room of a brief: its shape checked, obstacles cut into convex pieces, faults told all at once.

Codes: ``ROM001`` no floor left, ``ROM002`` start outside it, ``ROM003`` audience named but not placed, ``ROM004``
outline that crosses itself or visits a corner twice, ``ROM005`` outline without area, ``ROM006`` outline or obstacle
measured from elsewhere, ``ROM007`` obstacle without a proper shape, ``ROM008`` start or finish on an obstacle,
``ROM009`` door that is in no wall, ``ROM010`` a lap to be closed that is no whole lap, ``ROM011`` finish outside the
floor, ``ROM012`` a lap to be closed in music that ends within a bar, ``ROM013`` finish and closed lap together.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, Final

from composer.brief.roomschema import DoorGiven, ObstacleGiven, RoomGiven
from composer.brief.schema import BriefFile
from composer.errors import Diagnostic
from composer.floor.model import BODY_RADIUS_MM, SIDES, Door, Finish, Obstacle, Place, Room
from composer.floor.shape import area2, convex_pieces, crosses_itself
from composer.textfiles import Document

if TYPE_CHECKING:
    from composer.timeline.model import Timeline

DOOR_OFF_MM: Final = 100
"""A door further than this from every wall was measured wrongly."""


def room_of(
    brief: BriefFile, document: Document, faults: list[Diagnostic], timeline: Timeline | None = None
) -> Room | None:
    """The room of a brief; faults (``ROM``) are added to the list."""
    faults += _audience_faults(brief, document)
    if brief.room is None:
        return None
    given = brief.room
    outline = _outline(given, document, faults)
    if outline is None:
        return None
    width, depth = given.width or max(x for x, _ in outline), given.depth or max(y for _, y in outline)
    obstacles = [piece for i, item in enumerate(given.obstacles) for piece in _obstacle(item, i, document, faults)]
    doors = []
    corners = outline or ((0, 0), (width, 0), (width, depth), (0, depth))
    for index, item in enumerate(given.doors):
        kept, door = _door(item, index, corners, document, faults)
        doors.append(door)
        obstacles += kept
    room = Room(
        given.style,
        width,
        depth,
        given.margin,
        given.audience,
        start_x_mm=None if given.start is None else given.start.x,
        start_y_mm=None if given.start is None else given.start.y,
        lane_mm=given.lane,
        outline=outline,
        obstacles=tuple(obstacles),
        doors=tuple(doors),
        corner_mm=given.corner,
        corner_figures=given.corner_figures,
        corners=None if given.laps is None else round(4 * given.laps),
        closed=given.closed,
        finish=None if given.finish is None else Finish(given.finish.x, given.finish.y, given.finish.within),
        stride=(round(100 * given.stride.least), round(100 * given.stride.most)),
        couples=given.couples,
        begins=SIDES.index(given.begins),
    )
    faults += _lap_faults(given, document, timeline)
    faults += _space_faults(room, document)
    return room


def _audience_faults(brief: BriefFile, document: Document) -> Iterator[Diagnostic]:
    for name in ("opening", "closing"):
        standing = getattr(brief.wishes, name)
        if standing.faces == "audience" and (brief.room is None or brief.room.audience is None):
            message = "the audience is to be faced, but the brief does not say where it sits."
            remedy = "Add 'audience: south' (or east, north, west) to the room."
            yield Diagnostic("ROM003", message, document.where("wishes", name, "faces"), remedy)


def _outline(given: RoomGiven, document: Document, faults: list[Diagnostic]) -> tuple[Place, ...] | None:
    """Corners counter-clockwise, empty for a rectangle; None when they are none."""
    if given.outline is None:
        return ()
    corners, where = given.outline, document.where("room", "outline")
    before = len(faults)
    if (least := (min(x for x, _ in corners), min(y for _, y in corners))) != (0, 0):
        message = f"the outline begins at {_point(least)}; places are measured from its south-west corner."
        remedy = f"Take {metres(least[0])} off every x and {metres(least[1])} off every y."
        faults.append(Diagnostic("ROM006", message, where, remedy))
    if max(max(place) for place in corners) > 200_000:
        faults.append(Diagnostic("ROM006", "the outline is longer than 200 m.", where, "Write 16 ft or 450 cm so."))
    if len(set(corners)) < len(corners):
        twice = next(place for place in corners if corners.count(place) > 1)
        faults.append(Diagnostic("ROM004", f"the outline comes to {_point(twice)} twice.", where, "Leave one out."))
    elif crosses_itself(corners):
        faults.append(
            Diagnostic(
                "ROM004", "the outline crosses itself.", where, "Give the corners in order, once round the room."
            )
        )
    elif area2(corners) == 0:
        faults.append(Diagnostic("ROM005", "the outline has no area.", where, "Its corners lie on one line."))
    if len(faults) > before:
        return None
    return tuple(corners) if area2(corners) > 0 else tuple(corners[::-1])


def _obstacle(item: ObstacleGiven, index: int, document: Document, faults: list[Diagnostic]) -> Iterator[Obstacle]:
    """An obstacle in convex pieces."""
    where = document.where("room", "obstacles", index)
    if item.x is not None and item.y is not None and item.radius is not None:
        yield Obstacle(item.name, ((item.x, item.y),), item.radius)
        return
    corners = item.corners
    if item.box is not None:
        (x0, y0), (x1, y1) = item.box
        x0, x1, y0, y1 = min(x0, x1), max(x0, x1), min(y0, y1), max(y0, y1)
        corners = ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
    assert corners is not None
    if len(set(corners)) < len(corners) or crosses_itself(corners) or area2(corners) == 0:
        message = f"the outline of '{item.name}' crosses itself, comes to one corner twice or has no area."
        faults.append(Diagnostic("ROM007", message, where, "Give its corners in order, once round it."))
        return
    for piece in convex_pieces(corners if area2(corners) > 0 else corners[::-1]):
        yield Obstacle(item.name, piece)


def _door(
    item: DoorGiven, index: int, corners: tuple[Place, ...], document: Document, faults: list[Diagnostic]
) -> tuple[list[Obstacle], Door]:
    """The door, and the floor before it that is kept free."""
    (x0, y0), (x1, y1) = item.ends
    door, length = Door(item.name, item.ends), math.dist(*item.ends)
    off, inward = min(
        (max(_off(end, a, b) for end in item.ends), (a[1] - b[1], b[0] - a[0]))
        for a, b in zip(corners, (*corners[1:], corners[0]), strict=True)
    )
    if off > DOOR_OFF_MM or length == 0:
        message = f"'{item.name}' lies in no wall: its ends are {metres(round(off))} from the nearest."
        faults.append(
            Diagnostic("ROM009", message, document.where("room", "doors", index), "Give both ends on a wall.")
        )
        return [], door
    if item.clear <= 0:
        return [], door
    size = math.hypot(*inward)
    dx, dy = round(inward[0] * item.clear / size), round(inward[1] * item.clear / size)
    kept = [(x0, y0), (x1, y1), (x1 + dx, y1 + dy), (x0 + dx, y0 + dy)]
    return [Obstacle(f"the way to {item.name}", tuple(kept if area2(kept) > 0 else kept[::-1]))], door


def _off(place: Place, a: Place, b: Place) -> float:
    """Distance of a place from a stretch of wall."""
    along = (b[0] - a[0], b[1] - a[1])
    part = ((place[0] - a[0]) * along[0] + (place[1] - a[1]) * along[1]) / max(1, along[0] ** 2 + along[1] ** 2)
    part = min(1.0, max(0.0, part))
    return math.dist(place, (a[0] + part * along[0], a[1] + part * along[1]))


def _lap_faults(given: RoomGiven, document: Document, timeline: Timeline | None) -> Iterator[Diagnostic]:
    where = document.where("room", "closed")
    if given.closed and given.laps is not None and given.laps != int(given.laps):
        message = f"after {given.laps:g} laps the couple is on another side than at the start; nothing can close there."
        yield Diagnostic("ROM010", message, where, "Ask for whole laps, or leave out 'closed'.")
    if given.closed and given.finish is not None:
        yield Diagnostic("ROM013", "a closed lap ends where it began; a finish says otherwise.", where, "Keep one.")
    if given.closed and timeline is not None and timeline.length_beats % timeline.beats_per_bar:
        message = (
            "the music to be danced is no whole number of bars, so the routine cannot begin again on its first beat."
        )
        yield Diagnostic("ROM012", message, where, "Choose first_bar and last_bar so that whole bars are danced.")


def _space_faults(room: Room, document: Document) -> Iterator[Diagnostic]:
    """No floor between the margins; a start or a finish off the floor or on something."""
    low_x, low_y, high_x, high_y = room.inside
    named = [("start", "ROM002", "starting place", room.start_x_mm, room.start_y_mm)]
    if room.finish is not None:
        named.append(("finish", "ROM011", "finishing place", room.finish.x_mm, room.finish.y_mm))
    if not room.outline and (low_x > high_x or low_y > high_y):
        message = "no floor is left between the margins: a body needs 30 cm on each side of its centre."
        remedy = f"With this margin the room must be at least {metres(2 * low_x)} wide and deep."
        yield Diagnostic("ROM001", message, document.where("room"), remedy)
        return
    walls, free = _free(room) if room.outline or room.obstacles else (None, None)
    if walls is not None and free is not None and (walls.is_empty or free.is_empty):
        what = "between the margins" if walls.is_empty else "beside the obstacles"
        message = f"no floor is left {what}: a body needs 30 cm on each side of its centre."
        yield Diagnostic("ROM001", message, document.where("room"), "Check the outline, the margin and the obstacles.")
        return
    for key, code, what, x, y in named:
        if x is None or y is None:
            continue
        where = document.where("room", key)
        if not (low_x <= x <= high_x and low_y <= y <= high_y) or not _on(walls, (x, y)):
            message = f"the {what} ({metres(x)}, {metres(y)}) lies outside the floor left for dancing."
            remedy = (
                f"Choose x from {metres(low_x)} to {metres(high_x)} and y from {metres(low_y)} to {metres(high_y)}."
            )
            yield Diagnostic(code, message, where, remedy if walls is None else "A body keeps 30 cm from every wall.")
        elif not _on(free, (x, y)):
            message = f"the {what} ({metres(x)}, {metres(y)}) is on or too close to {_nearest(room, (x, y))}."
            yield Diagnostic("ROM008", message, where, "A body needs 30 cm on each side of its centre.")


def _free(room: Room) -> tuple[Any, Any]:
    """Where a body centre may be: between the walls, and there beside the obstacles (shapely)."""
    from shapely.geometry import Polygon

    walls = Polygon(room.outer).buffer(-room.edge_mm)
    free = walls
    for obstacle in room.obstacles:
        free = free.difference(_shape(obstacle).buffer(BODY_RADIUS_MM))
    return walls, free


def _shape(obstacle: Obstacle) -> Any:
    from shapely.geometry import Point, Polygon

    if len(obstacle.corners) == 1:
        middle = Point(obstacle.corners[0])
        return middle.buffer(obstacle.radius_mm) if obstacle.radius_mm else middle
    return Polygon(obstacle.corners)


def _on(area: Any, place: Place) -> bool:
    from shapely.geometry import Point

    return area is None or bool(area.buffer(1).covers(Point(place)))


def _nearest(room: Room, place: Place) -> str:
    from shapely.geometry import Point

    return min(room.obstacles, key=lambda item: _shape(item).distance(Point(place))).name


def _point(place: Place) -> str:
    return f"({metres(place[0])}, {metres(place[1])})"


def metres(length_mm: int) -> str:
    """A length for a diagnostic."""
    return f"{length_mm / 1000:.3f}".rstrip("0").rstrip(".") + " m"
