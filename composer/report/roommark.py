"""The room for the sheet: its outline, margin, obstacles and doors, and one line of words."""

from __future__ import annotations

from composer.floor.model import Place, Room
from composer.report.model import DoorMark, ObstacleMark, RoomMark
from composer.report.words import Lengths, clean, length_text, listed

_STYLE = {
    "travelling": "travelling round the room",
    "slot": "staying on one line",
    "spot": "staying on one spot of the floor",
    "show": "a show for an audience",
}
_SIDE = {
    "south": "at the bottom of the plan",
    "north": "at the top of the plan",
    "east": "on the right of the plan",
    "west": "on the left of the plan",
}


def room_mark(room: Room, lengths: Lengths) -> RoomMark:
    """What the pictures show of a room."""
    return RoomMark(
        width_mm=room.width_mm,
        depth_mm=room.depth_mm,
        outer=room.outer,
        inset=_inset(room),
        obstacles=tuple(ObstacleMark(clean(o.name), o.corners, o.radius_mm) for o in room.obstacles),
        doors=tuple(DoorMark(clean(d.name), d.ends) for d in room.doors),
        audience=room.audience,
        style=room.style,
        words=room_words(room, lengths),
    )


def _inset(room: Room) -> tuple[Place, ...]:
    """Corners of the floor less its margin; empty without a margin, or when nothing (or no one piece) is left."""
    if not room.margin_mm:
        return ()
    if not room.outline:
        edge, right, upper = room.margin_mm, room.width_mm - room.margin_mm, room.depth_mm - room.margin_mm
        return ((edge, edge), (right, edge), (right, upper), (edge, upper)) if right > edge and upper > edge else ()
    from shapely import Polygon

    left = Polygon(room.outline).buffer(-room.margin_mm, join_style="mitre")
    if left.is_empty or left.geom_type != "Polygon":
        return ()
    return tuple((round(x), round(y)) for x, y in left.exterior.coords[:-1])


def room_words(room: Room, lengths: Lengths) -> str:
    """The room in one line."""
    text = (
        f"{length_text(room.width_mm, lengths)} wide, {length_text(room.depth_mm, lengths)} deep, {_STYLE[room.style]}"
    )
    if room.outline:
        text = f"a floor with {len(room.outline)} corners, at most {text}"
    if room.margin_mm:
        text += f", {length_text(room.margin_mm, lengths)} kept free along the walls"
    if room.audience:
        text += f", audience {_SIDE[room.audience]}"
    if room.obstacles:
        text += f"; keep off: {listed([clean(o.name) for o in room.obstacles])}"
    return text
