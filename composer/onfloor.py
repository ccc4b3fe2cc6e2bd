"""One routine on a floor whose size may be open, as a CP-SAT model: places, ground taken, what stands there.

Figures, facings and corners are fixed; where the couple begins is free, strides may shrink and grow within the room's
range. The model asks what the rule family ``room`` asks (and in a travelling room its lanes), so what it finds passes
the checker, and what it excludes breaks a rule. With an open size what stands in the room keeps its distance from the
walls it stands nearest to (:mod:`composer.floor.resized`). Whole millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING, Any, Final

from composer.floor.model import BODY_RADIUS_MM, Place, Room
from composer.floor.passing import Passing
from composer.floor.placing import (
    WHOLE,
    ground_limits,
    path_of,
    reach,
    scale_limits,
    scales_whole,
    stray_of,
    travel_of,
    widened,
)
from composer.floor.resized import gaps, least_sides, things
from composer.floor.shape import Line, lines_round, walls
from composer.floor.stations import Pair, stations
from composer.problem import Problem
from composer.routine import Placed
from composer.routineplaces import next_leader

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

LARGEST_MM: Final = 200_000
WORK: Final = 20.0


class NotFinished(Exception):
    """The solver ran out of its time; all it can say is that width and depth together are at least ``least_mm``."""

    def __init__(self, least_mm: int = 0) -> None:
        super().__init__(f"not finished; width and depth together at least {least_mm} mm")
        self.least_mm = least_mm


_End = tuple[Any, Sequence[Place], tuple[Place, Place]]
"""An end of a piece: from where (solver expressions), which places, and what ground may be taken there."""


@dataclass(frozen=True)
class _Round:
    """The lines round something, and whether it goes with the east and with the north wall."""

    lines: tuple[Line, ...]
    east: bool = False
    north: bool = False


@dataclass(frozen=True)
class _Step:
    """A figure of the routine: where its leader begins and ends, and the ground taken (solver expressions)."""

    here: tuple[Any, Any]
    more: tuple[Any, Any]
    end: tuple[Any, Any]


class OnFloor:
    """The model; ``size_open`` leaves width and depth to the solver, which makes their sum as small as it goes.

    Parameters
    ----------
    room : the floor, with the strides allowed; its places to begin and to end do not count.
    past : what is to be passed on it, with lines fine enough for the checker that will look at the answer.
    fine : with an open size all those lines; else only the few that are always among them, which is quick and may ask
        for some centimetres more.
    most_mm : width and depth together are at most so much.
    spared : the bodies may be too close to what stands there, but as little as it goes (see :meth:`lacking_mm`).
    """

    def __init__(
        self,
        problem: Problem,
        room: Room,
        figures: Sequence[Placed],
        past: Passing,
        *,
        size_open: bool,
        fine: bool = True,
        most_mm: int = 2 * LARGEST_MM,
        work: float = WORK,
        spared: bool = False,
    ) -> None:
        from ortools.sat.python import cp_model

        self.problem, self.room, self.figures, self.past = problem, room, figures, past
        self.size_open, self.work = size_open, work
        self.edge_mm = past.edge_mm if fine else None
        self.model = cp_model.CpModel()
        given = (room.width_mm, room.depth_mm)
        ends = [(2 * room.edge_mm, LARGEST_MM)] * 2 if size_open else [(size, size) for size in given]
        self.size = [self.model.new_int_var(*ends[axis], ("width", "depth")[axis]) for axis in (0, 1)]
        self.model.add(self.size[0] + self.size[1] <= most_mm)
        self.lack = self.model.new_int_var(0, LARGEST_MM if spared else 0, "lack")
        self.all_lines = size_open or spared
        self.middle = [self.model.new_int_var(0, LARGEST_MM, f"middle-{axis}") for axis in "xy"]
        self.walls = walls(room) if room.outline and not size_open else ()
        self.rounds = tuple(self._rounds())
        self.steps: list[_Step] = []
        self.pieces: list[tuple[_Round, tuple[_End, ...]]] = []

    def _rounds(self) -> Iterator[_Round]:
        """What is to be passed; on an open floor all its lines, because nobody knows yet beyond which there is room."""
        if not self.all_lines:
            yield from (_Round(block.lines) for block in self.past.blocks)
            return
        for thing in things(self.room):
            for piece in thing.pieces:
                lines = lines_round(piece.corners, BODY_RADIUS_MM + piece.radius_mm, self.edge_mm)
                yield _Round(tuple(lines), thing.east, thing.north)

    def answer(self, *, lanes: bool = True) -> tuple[int, int, tuple[Placed, ...]] | None:
        """Width, depth, and the figures placed on it; None when there is no place for them, which is proved.

        Raises
        ------
        NotFinished
            When the solver could not prove its answer.
        """

        self._state_all(lanes)
        if self.size_open:
            self._keep_apart()
            self.model.minimize(self.size[0] + self.size[1])
        solver = self._solved()
        if solver is None:
            return None
        width, depth = (int(solver.value(size)) for size in self.size)
        return width, depth, tuple(self._placed(solver))

    def _state_all(self, lanes: bool) -> None:
        """The figures one after another, from a place that is free."""
        here: tuple[Any, Any] = tuple(self.model.new_int_var(0, LARGEST_MM, f"{axis}0") for axis in "xy")  # type: ignore[assignment]
        for number, placed in enumerate(self.figures):
            led = None
            if number:
                step = self._to_the_leader(self.figures[number - 1], placed)
                led = here if placed.swapped != self.figures[number - 1].swapped else None
                here = (here[0] + step[0], here[1] + step[1])
            here = self._state(number, placed, here, led, lanes)

    def lacking_mm(self, *, lanes: bool = False) -> int | None:
        """How much too close to what stands there the bodies come at least; None when even the walls leave no place.

        Raises
        ------
        NotFinished
            When the solver could not prove its answer.
        """
        self.model.minimize(self.lack)
        self._state_all(lanes)
        solver = self._solved()
        return None if solver is None else int(solver.value(self.lack))

    def _solved(self) -> cp_model.CpSolver | None:
        """Search, and search again with the pieces that were in the way, until none is: what is best with a part of
        what is asked, and has the rest, is best with all. None when there is no answer."""
        from ortools.sat.python import cp_model

        solver, left, least_mm = cp_model.CpSolver(), self.work, 0
        solver.parameters.num_workers = 1
        while left > 0:
            solver.parameters.max_deterministic_time = left
            status = solver.solve(self.model)
            if status == cp_model.INFEASIBLE:
                return None
            if self.size_open:
                least_mm = max(least_mm, math.ceil(solver.best_objective_bound))
            if status != cp_model.OPTIMAL:
                break
            left -= solver.response_proto.deterministic_time
            broken = [piece for piece in self.pieces if not self._is_beyond(solver, *piece)]
            if not broken:
                return solver
            for item, ends in broken:
                self._beyond(item, ends)
        raise NotFinished(least_mm)

    def _to_the_leader(self, before: Placed, placed: Placed) -> Place:
        """From who led a figure to who leads the next: nothing, unless the partners change roles between them."""
        figure = self.problem.catalogue.figures[before.figure]
        changes = before.swapped != placed.swapped
        return next_leader(self.problem.catalogue, figure, before.faces, (0, 0), changes=changes)[1] or (0, 0)

    def _keep_apart(self) -> None:
        """Nothing sticks out of the room that stood in it, and no two things come to stand in one place."""
        for size, least in zip(self.size, least_sides(self.room), strict=True):
            self.model.add(size >= least)
        given = (self.room.width_mm, self.room.depth_mm)
        for ways in gaps(self.room):
            chosen = []
            for axis, less in ways:
                apart = self.model.new_bool_var("")
                self.model.add(self.size[axis] >= given[axis] - less).only_enforce_if(apart)
                chosen.append(apart)
            self.model.add_bool_or(chosen)

    def _state(self, number: int, placed: Placed, here: tuple[Any, Any], led: Any, lanes: bool) -> tuple[Any, Any]:
        """Both bodies on the floor, early and late, and past what stands there; where the leader stands afterwards."""
        motion = self.problem.catalogue.figures[placed.figure].motion
        limits = ground_limits(self.room, motion, placed.faces, placed.corners)
        travel, gives = travel_of(motion, placed.faces), any(any(pair) for pair in limits)
        stray = stray_of(self.room, motion, placed.faces, placed.corners)
        more, there = self._ground(number, placed, here)
        early = path_of(motion, placed.faces, last=not gives)
        late = path_of(motion, placed.faces, first=not gives)
        back = (there[0] - travel[0], there[1] - travel[1])
        back = back if gives else here
        for start, run in ((here, early), (back, late)) if gives else ((here, early),):
            self._within(start, run, stray)
        pairs = stations(motion, placed.faces, self.past.step) if self.rounds else ()
        if pairs:
            self._past(pairs, (here, back, led), widened(limits, stray), stray)
        if lanes and self.room.style == "travelling":
            self._in_lane(placed.corners, here)
        self.steps.append(_Step(here, more, there))
        return there

    def _ground(self, number: int, placed: Placed, here: tuple[Any, Any]) -> tuple[tuple[Any, Any], tuple[Any, Any]]:
        """Ground taken beyond the natural travel, and where the leader ends."""
        motion = self.problem.catalogue.figures[placed.figure].motion
        limits = ground_limits(self.room, motion, placed.faces, placed.corners)
        travel = travel_of(motion, placed.faces)
        if not any(any(pair) for pair in limits):
            return (0, 0), (here[0] + travel[0], here[1] + travel[1])
        extras = [self.model.new_int_var(*pair, f"more{axis}.{number}") for axis, pair in enumerate(limits)]
        if scales_whole(self.room):
            least, most = (WHOLE // 100 * percent for percent in scale_limits(self.room, motion))
            part = self.model.new_int_var(least, most, f"scale.{number}")
            for extra, step in zip(extras, travel, strict=True):
                self.model.add_linear_constraint(WHOLE * extra - step * part, 1 - WHOLE, WHOLE - 1)
        ends = []
        for axis in (0, 1):
            end = self.model.new_int_var(-LARGEST_MM, 2 * LARGEST_MM, f"{'xy'[axis]}{number + 1}")
            self.model.add(end == here[axis] + travel[axis] + extras[axis])
            ends.append(end)
        return (extras[0], extras[1]), (ends[0], ends[1])

    def _within(self, start: tuple[Any, Any], run: Sequence[Place], stray: int) -> None:
        """A stretch of the way between the walls."""
        edge = self.room.edge_mm
        for line in self.walls:
            far = reach(run, line.a, line.b) + line.units(stray)
            self.model.add(line.a * start[0] + line.b * start[1] + far <= line.c)
        for axis in () if self.walls else (0, 1):
            self.model.add(start[axis] + min(place[axis] for place in run) - stray >= edge)
            self.model.add(start[axis] + max(place[axis] for place in run) + stray <= self.size[axis] - edge)

    def _past(
        self,
        pairs: Sequence[Pair],
        at: tuple[tuple[Any, Any], tuple[Any, Any], Any],
        limits: tuple[Place, Place],
        stray: int,
    ) -> None:
        """Every piece of a figure beyond one line of everything that stands there (:mod:`composer.floor.passing`).

        ``at``: where its leader begins; where it would have begun with its natural ground to end where it does; and
        the body that led before, when roles change here.
        """
        here, back, led = at
        last, ends_by = len(pairs) - 1, ((-stray, stray), (-stray, stray))
        for number, (one, two) in enumerate(pairwise(pairs)):
            by = limits if number else ends_by
            first: list[_End] = [(here, one, by)]
            if led is not None and not number:
                first = [(here, one[:1], by), (led, ((0, 0),), by)]
            second = (back, two, ends_by) if number + 1 == last else (here, two, limits)
            for item in self.rounds:
                self.pieces.append((item, (*first, second)))

    def _is_beyond(self, solver: cp_model.CpSolver, item: _Round, ends: Sequence[_End]) -> bool:
        """Whether the places of an answer have both ends of a piece beyond one line."""
        at = [(int(solver.value(start[0])), int(solver.value(start[1]))) for start, _, _ in ends]
        return any(
            all(
                line.at(start) + _nearest(line, end) >= int(solver.value(self._place_of(line, item)))
                for start, end in zip(at, ends, strict=True)
            )
            for line in item.lines
        )

    def _beyond(self, item: _Round, ends: Sequence[_End]) -> None:
        """Both ends of a piece beyond one line."""
        chosen = []
        for line in item.lines:
            beyond, at_least = self.model.new_bool_var(""), self._place_of(line, item)
            nearest: dict[int, tuple[Any, int]] = {}
            for end in ends:
                near = _nearest(line, end)
                known = nearest.get(id(end[0]))
                nearest[id(end[0])] = (end[0], near if known is None else min(known[1], near))
            for start, near in nearest.values():
                self.model.add(line.a * start[0] + line.b * start[1] + near >= at_least).only_enforce_if(beyond)
            chosen.append(beyond)
        self.model.add_bool_or(chosen)

    def _place_of(self, line: Line, item: _Round) -> Any:
        """How far out a line lies: it goes with the walls that its thing keeps its distance from."""
        far: Any = line.c - int(math.hypot(line.a, line.b)) * self.lack
        if item.east:
            far = far + line.a * (self.size[0] - self.room.width_mm)
        if item.north:
            far = far + line.b * (self.size[1] - self.room.depth_mm)
        return far

    def _in_lane(self, corners: int, here: tuple[Any, Any]) -> None:
        """The leader begins in lane, or on the side's own side of the middle."""
        edge, axis, lane = self.room.edge_mm, (corners + 1) % 2, self.room.lane_mm
        if corners % 4 in (0, 3):
            self.model.add(here[axis] <= (self.middle[axis] if lane is None else edge + lane))
        else:
            self.model.add(here[axis] >= (self.middle[axis] if lane is None else self.size[axis] - edge - lane))

    def _placed(self, solver: cp_model.CpSolver) -> Iterator[Placed]:
        """The figures where the solver puts them."""
        for item, step in zip(self.figures, self.steps, strict=True):
            x, y, more_x, more_y = (int(solver.value(part)) for part in (*step.here, *step.more))
            yield replace(item, x_mm=x, y_mm=y, more_x_mm=more_x, more_y_mm=more_y)


def _nearest(line: Line, end: _End) -> int:
    """How near a line an end of a piece comes, seen from where it is told from."""
    _, places, limits = end
    given = sum(max(0, -part * low, -part * high) for part, (low, high) in zip((line.a, line.b), limits, strict=True))
    return min(line.at(place) for place in places) - given
