"""Where the figures of a written routine fall: in time, in direction, on the floor. Whole numbers only.

What a file says is kept even when it does not fit (the checker reports it); what it leaves open follows from
the figure before. Facings are eighths clockwise from east; places are millimetres from the south-west corner.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

from composer.catalogue.model import Catalogue, Figure
from composer.floor.model import SIDE_FACING, Room
from composer.floor.passing import passing
from composer.floor.placing import extent_of, handed, moved, path_of, reach
from composer.floor.shape import walls
from composer.floor.stations import stations
from composer.problem import Problem
from composer.routine import Placed

Place = tuple[int, int]
MOST_CORNERS: Final = 12
"""Three laps; a written routine that goes round more often gives its corners itself."""
MOST_TRIES: Final = 20_000
MOST_FIGURES: Final = 300
RASTER: Final = 40
"""Steps along each side when a starting place beside obstacles is looked for."""


@dataclass(frozen=True)
class Given:
    """One figure with what the file says about it; ``faces`` is absolute in the room, ``corners`` counted so far."""

    figure: Figure
    corners: int = 0
    start_tick: int | None = None
    end_tick: int | None = None
    faces: int | None = None
    place: Place | None = None
    more: Place = (0, 0)
    swapped: bool = False


def next_leader(
    catalogue: Catalogue, before: Figure, faces: int, place: Place | None, *, changes: bool
) -> tuple[int, Place | None]:
    """(facing, place) of whoever leads next after a figure begun at ``faces`` whose leader ends at ``place``.

    With ``changes`` the follower takes over: nobody moves, so that is where and how the follower stands.
    """
    end = before.end_of(faces)
    if not changes:
        return end.faces, place
    stance = catalogue.stances[catalogue.holds[end.hold].stance]
    return catalogue.faces_over(end.hold, end.faces), None if place is None else handed(place, stance, end.faces)


def lay_out(problem: Problem, given: tuple[Given, ...], start: Place | None = None) -> tuple[Placed, ...]:
    """Place figures one after another.

    The first facing, when open, is the one that breaks the fewest alignments, then fits the room, then suits the
    wishes for opening and closing; among equals the first figure's usual one. The first place, when open, is the
    brief's, else the middle of all places from which the whole path fits (worked out exactly). In a travelling room
    where the file gives no corners, the fewest corners with which everything fits are found, when there are any.
    """
    first = given[0]
    choices = _facings(problem, first)
    best = min(choices, key=lambda faces: (_quality(problem, given, faces), choices.index(faces)))
    if _quality(problem, given, best)[:2] != (0, 0) and (round_room := _round_the_room(problem, given, choices, start)):
        given, best = round_room
    facings = _chain(problem.catalogue, given, best)
    steps = _steps(problem.catalogue, given, facings)
    place = first.place or start or _start(problem.room, given, facings, steps)
    placed: list[Placed] = []
    tick = 0
    for item, faces, step in zip(given, facings, steps, strict=True):
        begins = tick if item.start_tick is None else item.start_tick
        tick = begins + item.figure.length_ticks if item.end_tick is None else item.end_tick
        here = item.place or (None if place is None else (place[0] + step[0], place[1] + step[1]))
        x, y = (None, None) if here is None or problem.room is None else here
        placed.append(Placed(item.figure.id, begins, tick, faces, x, y, item.corners, *item.more, item.swapped))
        place = None if here is None else moved(here, item.figure.motion, faces, item.more)
    return tuple(placed)


def _round_the_room(
    problem: Problem, given: tuple[Given, ...], choices: list[int], start: Place | None
) -> tuple[tuple[Given, ...], int] | None:
    """The figures with the fewest corners turned between them so that walls, lanes and alignments all fit."""
    room = problem.room
    if room is None or room.style != "travelling" or len(given) > MOST_FIGURES:
        return None
    if any(item.corners != room.begins for item in given):
        return None
    if any(item.faces is not None for item in given[1:]) or any(item.place for item in given[1:]):
        return None
    where = given[0].place or start
    if where is None and room.start_x_mm is not None and room.start_y_mm is not None:
        where = room.start_x_mm, room.start_y_mm
    for most in range(1, MOST_CORNERS + 1):
        for faces in choices:
            facings = _chain(problem.catalogue, given, faces)
            search = _Corners(room, given, facings, _steps(problem.catalogue, given, facings), most)
            if (found := search.turned(where)) is not None:
                numbered = zip(given, found, strict=True)
                return tuple(replace(item, corners=corners) for item, corners in numbered), faces
    return None


class _Corners:
    """Looks for the figures before which a corner is turned: depth first, cut off where no start is left."""

    def __init__(
        self, room: Room, given: tuple[Given, ...], facings: tuple[int, ...], steps: tuple[Place, ...], most: int
    ) -> None:
        self.room, self.given, self.facings, self.steps, self.most = room, given, facings, steps, most
        self.left = MOST_TRIES

    def turned(self, start: Place | None) -> list[int] | None:
        """Corners turned before each figure, at most ``most`` in all; None when there is no way (or it is too far)."""
        floor = self.room.inside if start is None else (*start, *start)
        return self._from(0, self.room.begins, (0, 0), floor)

    def _from(self, index: int, corners: int, at: Place, starts: tuple[int, int, int, int]) -> list[int] | None:
        """``at`` is the leader's place from the first one, ``starts`` the first places that still fit."""
        if index == len(self.given):
            return []
        figure, faces = self.given[index].figure, self.facings[index]
        at = at[0] + self.steps[index][0], at[1] + self.steps[index][1]
        most = self.room.begins + self.most
        for now in (corners, corners + 1)[: 1 if index == 0 or corners == most else 2]:
            self.left -= 1
            wanted = figure.chart.entry.faces
            if self.left < 0 or (wanted is not None and (faces + 2 * now) % 8 not in wanted):
                continue
            kept = _cut(_cut(starts, self.room.lane(now), at), _within(self.room, figure, faces), at)
            if kept is not None:
                rest = self._from(index + 1, now, moved(at, figure.motion, faces, self.given[index].more), kept)
                if rest is not None:
                    return [now, *rest]
        return None


def _within(room: Room, figure: Figure, faces: int) -> tuple[int, int, int, int]:
    """Where the leader may begin a figure so that both bodies stay inside the room."""
    floor, ext = room.inside, extent_of(figure.motion, faces)
    return floor[0] - ext[0], floor[1] - ext[1], floor[2] - ext[2], floor[3] - ext[3]


def _cut(
    starts: tuple[int, int, int, int] | None, limit: tuple[int, int, int, int], at: Place
) -> tuple[int, int, int, int] | None:
    """The first places for which the place ``at`` from there keeps within a limit."""
    if starts is None:
        return None
    low_x, low_y = max(starts[0], limit[0] - at[0]), max(starts[1], limit[1] - at[1])
    high_x, high_y = min(starts[2], limit[2] - at[0]), min(starts[3], limit[3] - at[1])
    return (low_x, low_y, high_x, high_y) if low_x <= high_x and low_y <= high_y else None


def _facings(problem: Problem, first: Given) -> list[int]:
    """Facings to try for the first figure, the likeliest first."""
    if first.faces is not None:
        return [first.faces]
    usual = [(a - 2 * first.corners) % 8 for a in first.figure.chart.entry.faces or ()]
    if usual and problem.keeps_alignment:
        return usual
    return list(dict.fromkeys([*usual, *range(8)]))


def _chain(catalogue: Catalogue, given: tuple[Given, ...], faces: int) -> tuple[int, ...]:
    """The leader's facing at the start of every figure; where roles change the new leader's."""
    result: list[int] = []
    for index, item in enumerate(given):
        if index:
            before = given[index - 1]
            changes = item.swapped != before.swapped
            faces = next_leader(catalogue, before.figure, result[-1], None, changes=changes)[0]
        result.append(faces if item.faces is None else item.faces)
    return tuple(result)


def _steps(catalogue: Catalogue, given: tuple[Given, ...], facings: tuple[int, ...]) -> tuple[Place, ...]:
    """Before every figure how far it is to whoever leads it; nothing unless roles change there."""
    steps: list[Place] = [(0, 0)]
    for before, item, faces in zip(given, given[1:], facings, strict=False):
        changes = item.swapped != before.swapped
        steps.append(next_leader(catalogue, before.figure, faces, (0, 0), changes=changes)[1] or (0, 0))
    return tuple(steps)


def _quality(problem: Problem, given: tuple[Given, ...], faces: int) -> tuple[int, int, int]:
    """(alignments broken, 0 in lane, 1 in the room, 2 not even that, wishes for the ends missed); smaller is better."""
    facings = _chain(problem.catalogue, given, faces)
    broken = 0
    if problem.keeps_alignment:
        broken = sum(
            item.figure.chart.entry.faces is not None
            and (at + 2 * item.corners) % 8 not in item.figure.chart.entry.faces
            for item, at in zip(given, facings, strict=True)
        )
    outside = 0
    if problem.room is not None:
        steps = _steps(problem.catalogue, given, facings)
        fits = (_free_starts(problem.room, given, facings, steps, lanes=lanes) is not None for lanes in (True, False))
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


def _free_starts(
    room: Room, given: tuple[Given, ...], facings: tuple[int, ...], steps: tuple[Place, ...], *, lanes: bool
) -> tuple[int, int, int, int] | None:
    """(least x, least y, most x, most y) of the leader's first place for which every body stays inside.

    With ``lanes`` the leader of a travelling couple also begins every figure in the lane of its side.
    """
    starts: tuple[int, int, int, int] | None = room.inside
    at = (0, 0)
    for item, faces, step in zip(given, facings, steps, strict=True):
        at = at[0] + step[0], at[1] + step[1]
        starts = _cut(starts, _within(room, item.figure, faces), at)
        if lanes and room.style == "travelling":
            starts = _cut(starts, room.lane(item.corners), at)
        at = moved(at, item.figure.motion, faces, item.more)
    return starts


def _start(
    room: Room | None, given: tuple[Given, ...], facings: tuple[int, ...], steps: tuple[Place, ...]
) -> Place | None:
    """The brief's starting place, else the middle of the places that fit, else the middle of the room."""
    if room is None:
        return None
    if room.start_x_mm is not None and room.start_y_mm is not None:
        return room.start_x_mm, room.start_y_mm
    free = _free_starts(room, given, facings, steps, lanes=True)
    free = free or _free_starts(room, given, facings, steps, lanes=False)
    free = free or room.inside
    middle = (free[0] + free[2]) // 2, (free[1] + free[3]) // 2
    return _clear_start(room, given, facings, steps, free, middle) if room.outline or room.obstacles else middle


def _clear_start(
    room: Room,
    given: tuple[Given, ...],
    facings: tuple[int, ...],
    steps: tuple[Place, ...],
    free: tuple[int, int, int, int],
    middle: Place,
) -> Place:
    """Of a raster of places the one nearest the middle from which nothing is met; the middle when there is none."""
    import numpy as np

    round_about = passing(room, (item.figure.motion for item in given))
    at, runs, pieces = (0, 0), [], []
    for item, faces, step in zip(given, facings, steps, strict=True):
        at = at[0] + step[0], at[1] + step[1]
        runs += [(x + at[0], y + at[1]) for x, y in path_of(item.figure.motion, faces)]
        pairs = stations(item.figure.motion, faces, round_about.step) if round_about.blocks else ()
        pieces += [[(x + at[0], y + at[1]) for x, y in (*one, *two)] for one, two in pairwise(pairs)]
        at = moved(at, item.figure.motion, faces, item.more)
    raster = [
        [low + (high - low) * k // RASTER for k in range(RASTER + 1)]
        for low, high in zip(free[:2], free[2:], strict=True)
    ]
    places = sorted(((x, y) for x in raster[0] for y in raster[1]), key=lambda p: (math.dist(p, middle), p))
    spots, fits = np.array(places, dtype=np.int64), np.ones(len(places), dtype=np.bool_)
    for wall in walls(room):
        fits &= spots @ np.array((wall.a, wall.b)) + reach(runs, wall.a, wall.b) <= wall.c
    for block in round_about.blocks:
        normals = np.array([(line.a, line.b) for line in block.lines], dtype=np.int64).reshape(-1, 2)
        beyond = spots @ normals.T - np.array([line.c for line in block.lines], dtype=np.int64)
        for piece in pieces:
            nearest = (np.array(piece, dtype=np.int64) @ normals.T).min(axis=0)
            fits &= (beyond + nearest >= 0).any(axis=1)
    return places[int(fits.argmax())] if fits.any() else middle
