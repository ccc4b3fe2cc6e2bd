"""A room as in a mirror: everything that has a place in it changes sides, the figures stay what they are.

``east-west`` exchanges left and right of the plan, ``north-south`` its top and bottom: outline, obstacles, doors,
starting and finishing place, the audience, and the directions of the plan in which a couple on a spot, in a slot or in
a show is to begin and end. On a travelling floor line of dance runs counter-clockwise as ever, so directions against it
stay. Whole millimetres.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from composer.brief.names import plain
from composer.brief.roomschema import RoomGiven
from composer.charts import Strict
from composer.errors import BadInput, Diagnostic, Where, did_you_mean
from composer.units import ALIGNMENTS, alignment_from

AXES: Final = ("east-west", "north-south")
SIDES: Final = {
    "east-west": {"east": "west", "west": "east"},
    "north-south": {"north": "south", "south": "north"},
}


def axis_from(text: str) -> str:
    """Which way round a room is mirrored.

    Raises
    ------
    BadInput
        ``CMD022`` when it is neither way.
    """
    if plain(text) not in AXES:
        remedy = did_you_mean(text, AXES) or "Write east-west (left and right exchanged) or north-south."
        raise BadInput(Diagnostic("CMD022", f"--mirror: '{text}' is no way to mirror a room.", Where(), remedy))
    return plain(text)


def mirrored_room(data: dict[str, Any], axis: str) -> dict[str, Any]:
    """The ``room`` of a brief as in a mirror."""
    given = RoomGiven.model_validate(data)
    outline = given.outline or ()
    across = axis == "east-west"
    size = (given.width or max(x for x, _ in outline)) if across else (given.depth or max(y for _, y in outline))

    def at(place: tuple[int, int]) -> tuple[int, int]:
        x, y = place
        return (size - x, y) if across else (x, size - y)

    found = dict(data)
    if outline:
        found["outline"] = _places(outline, at)
    if given.obstacles:
        found["obstacles"] = [
            _thing(raw, item, at) for raw, item in zip(data["obstacles"], given.obstacles, strict=True)
        ]
    if given.doors:
        found["doors"] = [
            {**raw, "ends": _places(item.ends, at)} for raw, item in zip(data["doors"], given.doors, strict=True)
        ]
    for name, place in (("start", given.start), ("finish", given.finish)):
        if place is not None:
            x, y = at((place.x, place.y))
            found[name] = {**data[name], "x": f"{x} mm", "y": f"{y} mm"}
    if given.audience is not None:
        found["audience"] = SIDES[axis].get(given.audience, given.audience)
    if "begins" in data:
        found["begins"] = SIDES[axis].get(given.begins, given.begins)
    return found


def mirrored_facing(faces: Any, axis: str) -> Any:
    """A direction of the plan (``W`` is south) as in a mirror; ``audience`` and ``any`` stay."""
    try:
        eighths = faces if isinstance(faces, int) else alignment_from(str(faces))
    except ValueError:
        return faces
    return ALIGNMENTS[(4 - eighths) % 8 if axis == "east-west" else -eighths % 8]


def _places(places: tuple[tuple[int, int], ...], at: Callable[[tuple[int, int]], tuple[int, int]]) -> list[list[str]]:
    return [[f"{x} mm", f"{y} mm"] for x, y in map(at, places)]


def _thing(raw: dict[str, Any], item: Strict, at: Callable[[tuple[int, int]], tuple[int, int]]) -> dict[str, Any]:
    """An obstacle: a circle by its middle, a box or corners by their points."""
    said = item.model_dump()
    if said["x"] is not None:
        x, y = at((said["x"], said["y"]))
        return {**raw, "x": f"{x} mm", "y": f"{y} mm"}
    name = "box" if said["box"] is not None else "corners"
    return {**raw, name: _places(said[name], at)}
