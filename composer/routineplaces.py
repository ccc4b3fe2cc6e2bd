"""Where the figures of a written routine fall: in time, in direction, on the floor. Whole numbers only.

What a file says is kept even when it does not fit (the checker reports it); what it leaves open follows from
the figure before. Facings are eighths clockwise from east; places are millimetres from the south-west corner.
"""

from __future__ import annotations

from dataclasses import dataclass

from composer.catalogue.model import Figure
from composer.floor.model import SIDE_FACING, Room
from composer.floor.placing import extent_of, travel_of
from composer.problem import Problem
from composer.routine import Placed

Place = tuple[int, int]


@dataclass(frozen=True)
class Given:
    """One figure with what the file says about it; ``faces`` is absolute in the room, ``corners`` counted so far."""

    figure: Figure
    corners: int = 0
    start_tick: int | None = None
    end_tick: int | None = None
    faces: int | None = None
    place: Place | None = None


def lay_out(problem: Problem, given: tuple[Given, ...], start: Place | None = None) -> tuple[Placed, ...]:
    """Place figures one after another.

    The first facing, when open, is the one that breaks the fewest alignments, then fits the room, then suits the
    wishes for opening and closing; among equals the first figure's usual one. The first place, when open, is the
    brief's, else the middle of all places from which the whole path fits (worked out exactly).
    """
    first = given[0]
    choices = _facings(problem, first)
    best = min(choices, key=lambda faces: (_quality(problem, given, faces), choices.index(faces)))
    facings = _chain(given, best)
    place = first.place or start or _start(problem.room, given, facings)
    placed: list[Placed] = []
    tick = 0
    for item, faces in zip(given, facings, strict=True):
        begins = tick if item.start_tick is None else item.start_tick
        tick = begins + item.figure.length_ticks if item.end_tick is None else item.end_tick
        here = item.place or place
        x, y = (None, None) if here is None or problem.room is None else here
        placed.append(Placed(item.figure.id, begins, tick, faces, x, y, item.corners))
        place = None if here is None else _moved(here, item.figure, faces)
    return tuple(placed)


def _facings(problem: Problem, first: Given) -> list[int]:
    """Facings to try for the first figure, the likeliest first."""
    if first.faces is not None:
        return [first.faces]
    usual = [(a - 2 * first.corners) % 8 for a in first.figure.chart.entry.faces or ()]
    if usual and problem.keeps_alignment:
        return usual
    return list(dict.fromkeys([*usual, *range(8)]))


def _chain(given: tuple[Given, ...], faces: int) -> tuple[int, ...]:
    """The leader's facing at the start of every figure."""
    result = []
    for item in given:
        faces = faces if item.faces is None else item.faces
        result.append(faces)
        faces = item.figure.end_of(faces).faces
    return tuple(result)


def _quality(problem: Problem, given: tuple[Given, ...], faces: int) -> tuple[int, int, int]:
    """(alignments broken, 0 in lane, 1 in the room, 2 not even that, wishes for the ends missed); smaller is better."""
    facings = _chain(given, faces)
    broken = 0
    if problem.keeps_alignment:
        broken = sum(
            item.figure.chart.entry.faces is not None
            and (at + 2 * item.corners) % 8 not in item.figure.chart.entry.faces
            for item, at in zip(given, facings, strict=True)
        )
    outside = 0
    if problem.room is not None:
        fits = (_free_starts(problem.room, given, facings, lanes=lanes) is not None for lanes in (True, False))
        outside = next((worse for worse, fit in enumerate(fits) if fit), 2)
    last = given[-1]
    ends = last.figure.end_of(facings[-1]).faces
    wishes = problem.brief.wishes
    missed = int(_missed(problem, wishes.opening.faces, facings[0], given[0].corners))
    missed += _missed(problem, wishes.closing.faces, ends, last.corners)
    return broken, outside, missed


def _missed(problem: Problem, wanted: int | str, faces: int, corners: int) -> bool:
    """Whether a wish to face somewhere is not met; the audience sits still, an alignment goes round the room."""
    if wanted == "audience":
        room = problem.room
        return room is not None and room.audience is not None and SIDE_FACING[room.audience] != faces
    return isinstance(wanted, int) and wanted != (faces + 2 * corners) % 8


def _moved(place: Place, figure: Figure, faces: int) -> Place:
    dx, dy = travel_of(figure.motion, faces)
    return place[0] + dx, place[1] + dy


def _free_starts(
    room: Room, given: tuple[Given, ...], facings: tuple[int, ...], *, lanes: bool
) -> tuple[int, int, int, int] | None:
    """(least x, least y, most x, most y) of the leader's first place for which every body stays inside.

    With ``lanes`` the leader of a travelling couple also begins every figure in the lane of its side.
    """
    floor = low_x, low_y, high_x, high_y = room.inside
    x = y = 0
    for item, faces in zip(given, facings, strict=True):
        ext = extent_of(item.figure.motion, faces)
        limits = [(floor[0] - ext[0], floor[1] - ext[1], floor[2] - ext[2], floor[3] - ext[3])]
        if lanes and room.style == "travelling":
            limits.append(room.lane(item.corners))
        for limit in limits:
            low_x, low_y = max(low_x, limit[0] - x), max(low_y, limit[1] - y)
            high_x, high_y = min(high_x, limit[2] - x), min(high_y, limit[3] - y)
        x, y = _moved((x, y), item.figure, faces)
    return (low_x, low_y, high_x, high_y) if low_x <= high_x and low_y <= high_y else None


def _start(room: Room | None, given: tuple[Given, ...], facings: tuple[int, ...]) -> Place | None:
    """The brief's starting place, else the middle of the places that fit, else the middle of the room."""
    if room is None:
        return None
    if room.start_x_mm is not None and room.start_y_mm is not None:
        return room.start_x_mm, room.start_y_mm
    free = _free_starts(room, given, facings, lanes=True) or _free_starts(room, given, facings, lanes=False)
    free = free or room.inside
    return (free[0] + free[2]) // 2, (free[1] + free[3]) // 2
