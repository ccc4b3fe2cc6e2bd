"""How much room a routine needs, and what fits a room: small questions to the solver.

:func:`smallest` keeps a routine as it is (figures, facings, corners) and asks CP-SAT for the least floor on which
both bodies stay along the whole way; strides may shrink and grow within a range, places are free.
:func:`figures_that_fit` asks for every figure of the brief's dances in every facing whether the leader can begin it
anywhere in the brief's room. Answers are proofs: a search that does not finish raises :class:`NotFinished`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING, Any, Final

from composer.catalogue.model import Figure
from composer.floor.model import Place, Room
from composer.floor.passing import passing
from composer.floor.placing import ground_limits, path_of, reach, stray_of, travel_of
from composer.floor.shape import walls
from composer.floor.stations import stations
from composer.kinematics.motion import Motion
from composer.problem import Problem
from composer.routine import Placed, Routine
from composer.routineplaces import next_leader

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

LARGEST_MM: Final = 200_000
WORK: Final = 20.0


class NotFinished(Exception):
    """The solver ran out of its time; nothing is claimed."""


@dataclass(frozen=True)
class Smallest:
    """The least floor for a routine: width and depth in mm (margins included), and the routine placed on it.

    ``stride`` is the range of percent that was allowed.
    """

    width_mm: int
    depth_mm: int
    stride: tuple[int, int]
    routine: Routine


def smallest(problem: Problem, routine: Routine, stride: tuple[int, int] = (100, 100)) -> Smallest:
    """The least width plus depth of a rectangle for a routine.

    In a travelling room the lanes' depth stays as the brief gives it; without one the couple has a middle of its own.

    Raises
    ------
    NotFinished
        When the solver could not prove its answer.
    ValueError
        If the routine has no figures.
    """
    if not routine.figures:
        raise ValueError("a routine without figures needs no room")
    return _Least(problem, routine, stride).answer()


class _Least:
    """One CP-SAT model: places along both axes, ground, width and depth."""

    def __init__(self, problem: Problem, routine: Routine, stride: tuple[int, int]) -> None:
        from ortools.sat.python import cp_model

        self.problem, self.routine, self.stride = problem, routine, stride
        given = problem.room or Room("show", 0, 0, 0)
        self.room = replace(given, stride=stride, outline=(), obstacles=(), start_x_mm=None, start_y_mm=None)
        self.model = cp_model.CpModel()
        self.size = [self.model.new_int_var(2 * self.room.edge_mm, LARGEST_MM, name) for name in ("width", "depth")]
        self.lane = self.model.new_int_var(0, LARGEST_MM, "lane")
        self.middle = [self.model.new_int_var(0, LARGEST_MM, f"middle-{axis}") for axis in "xy"]
        self.places: list[tuple[Any, Any]] = []
        self.mores: list[tuple[Any, Any]] = []

    def answer(self) -> Smallest:
        from ortools.sat.python import cp_model

        self.state_lane()
        here: tuple[Any, ...] = tuple(self.model.new_int_var(0, LARGEST_MM, f"{a}0") for a in "xy")
        for number, placed in enumerate(self.routine.figures):
            if number:
                step = self.to_the_leader(self.routine.figures[number - 1], placed)
                here = (here[0] + step[0], here[1] + step[1])
            here = self.state(number, placed, (here[0], here[1]))
        self.model.minimize(self.size[0] + self.size[1])
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.max_deterministic_time = WORK
        if solver.solve(self.model) != cp_model.OPTIMAL:
            raise NotFinished
        width, depth = (int(solver.value(size)) for size in self.size)
        return Smallest(width, depth, self.stride, self.placed(solver))

    def to_the_leader(self, before: Placed, placed: Placed) -> Place:
        """From who led a figure to who leads the next: nothing, unless the partners change roles between them."""
        figure = self.problem.catalogue.figures[before.figure]
        changes = before.swapped != placed.swapped
        return next_leader(self.problem.catalogue, figure, before.faces, (0, 0), changes=changes)[1] or (0, 0)

    def state_lane(self) -> None:
        """Lanes as deep as the brief says; without one the couple has a middle of its own."""
        if self.room.lane_mm is not None:
            self.model.add(self.lane == self.room.lane_mm)

    def state(self, number: int, placed: Placed, here: tuple[Any, Any]) -> tuple[Any, Any]:
        """Both bodies on the floor, early and late; returns where the leader stands afterwards."""
        motion = self.problem.catalogue.figures[placed.figure].motion
        limits = ground_limits(self.room, motion, placed.faces, placed.corners)
        travel, edge = travel_of(motion, placed.faces), self.room.edge_mm
        gives = any(any(pair) for pair in limits)
        stray = stray_of(self.room, motion, placed.faces, placed.corners)
        early = path_of(motion, placed.faces, last=not gives)
        late = path_of(motion, placed.faces, first=not gives)
        more, there = [], []
        for axis, pair in enumerate(limits):
            extra = self.model.new_int_var(*pair, f"more{axis}.{number}")
            end = self.model.new_int_var(-LARGEST_MM, 2 * LARGEST_MM, f"{'xy'[axis]}{number + 1}")
            self.model.add(end == here[axis] + travel[axis] + extra)
            for start, run in ((here[axis], early), (end - travel[axis], late)):
                self.model.add(start + min(place[axis] for place in run) - stray >= edge)
                self.model.add(start + max(place[axis] for place in run) + stray <= self.size[axis] - edge)
            more.append(extra)
            there.append(end)
        if self.room.style == "travelling":
            self.state_in_lane(placed.corners, here)
        self.places.append(here)
        self.mores.append((more[0], more[1]))
        return there[0], there[1]

    def state_in_lane(self, corners: int, here: tuple[Any, Any]) -> None:
        """The leader begins in lane, or on the side's own side of the middle."""
        edge, axis = self.room.edge_mm, (corners + 1) % 2
        inner = self.middle[axis] if self.room.lane_mm is None else None
        if corners % 4 in (0, 3):
            self.model.add(here[axis] <= (edge + self.lane if inner is None else inner))
        else:
            self.model.add(here[axis] >= (self.size[axis] - edge - self.lane if inner is None else inner))

    def placed(self, solver: cp_model.CpSolver) -> Routine:
        """The routine where the solver puts it."""
        figures = []
        for item, here, more in zip(self.routine.figures, self.places, self.mores, strict=True):
            x, y = solver.value(here[0]), solver.value(here[1])
            extra = (solver.value(more[0]), solver.value(more[1]))
            figures.append(replace(item, x_mm=x, y_mm=y, more_x_mm=extra[0], more_y_mm=extra[1]))
        return replace(self.routine, figures=tuple(figures))


def room_of_size(problem: Problem, found: Smallest) -> Room:
    """The least floor as a room to check the routine in."""
    given = problem.room or Room("show", 0, 0, 0)
    return replace(
        given,
        width_mm=found.width_mm,
        depth_mm=found.depth_mm,
        outline=(),
        obstacles=(),
        doors=(),
        start_x_mm=None,
        start_y_mm=None,
        finish=None,
        stride=found.stride,
    )


@dataclass(frozen=True)
class Fit:
    """A figure and the facings (eighths clockwise from east) in which it can be danced in the room."""

    figure: Figure
    faces: tuple[int, ...]


def figures_that_fit(problem: Problem) -> tuple[Fit, ...]:
    """Every figure of the brief's dances made for the room's style; ``faces`` is empty where it cannot be danced.

    Raises
    ------
    ValueError
        If the brief has no room.
    NotFinished
        When the solver could not finish.
    """
    room = problem.room
    if room is None:
        raise ValueError("the brief has no room")
    return tuple(
        Fit(figure, tuple(faces for faces in range(8) if _fits(room, figure.motion, faces)))
        for figure in problem.figures().values()
        if room.style in figure.styles
    )


def _fits(room: Room, motion: Motion, faces: int) -> bool:
    """Whether a figure has a place in the room: one small search."""
    path, past = path_of(motion, faces), passing(room, (motion,))
    if not room.outline and not past.blocks:
        return all(
            max(p[axis] for p in path) - min(p[axis] for p in path) <= room.inside[2 + axis] - room.inside[axis]
            for axis in (0, 1)
        )
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    x = model.new_int_var(0, room.width_mm, "x")
    y = model.new_int_var(0, room.depth_mm, "y")
    for line in walls(room):
        model.add(line.a * x + line.b * y + reach(path, line.a, line.b) <= line.c)
    for block in past.blocks:
        for one, two in pairwise(stations(motion, faces, past.step)):
            chosen = []
            for line in block.lines:
                beyond = model.new_bool_var("")
                back = reach((*one, *two), -line.a, -line.b)
                model.add(line.a * x + line.b * y - back >= line.c).only_enforce_if(beyond)
                chosen.append(beyond)
            model.add_bool_or(chosen)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_deterministic_time = WORK
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.INFEASIBLE):
        raise NotFinished
    return bool(status == cp_model.OPTIMAL)
