"""How much room a routine needs, and what fits a room: small questions to the solver.

:func:`smallest` keeps a routine as it is (figures, facings, corners) and asks CP-SAT for the least floor on which
both bodies stay along the whole way; strides may shrink and grow within a range, places are free. What stands in the
room keeps its distance from the walls it stands nearest to (:mod:`composer.floor.resized`).
:func:`figures_that_fit` asks for every figure of the brief's dances in every facing whether the leader can begin it
anywhere in the brief's room. Answers are proofs: a search that does not finish raises :class:`NotFinished`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from composer.catalogue.model import Figure
from composer.floor.model import Room
from composer.floor.passing import passing
from composer.floor.placing import extent_of
from composer.floor.resized import resized
from composer.onfloor import NotFinished, OnFloor
from composer.problem import Problem
from composer.routine import Placed, Routine
from composer.rules.passing import passing_of

__all__ = ["Fit", "NotFinished", "Smallest", "figures_that_fit", "room_of_size", "smallest"]

NOWHERE: Final = Room("show", 0, 0, 0)
FINE_WORK: Final = 6.0
"""Work of the solver for the last centimetres beside what stands in a room."""


@dataclass(frozen=True)
class Smallest:
    """The least floor for a routine: width and depth in mm (margins included), and the routine placed on it.

    ``stride`` is the range of percent that was allowed. ``less_mm`` is 0 for a proof; else no floor is smaller by more
    than so much, width and depth together.
    """

    width_mm: int
    depth_mm: int
    stride: tuple[int, int]
    routine: Routine
    less_mm: int = 0


def smallest(problem: Problem, routine: Routine, stride: tuple[int, int] = (100, 100)) -> Smallest:
    """The least width plus depth of a rectangle for a routine, with everything that stands in the room.

    In a travelling room the lanes' depth stays as the brief gives it; without one the couple has a middle of its own.
    A floor that is no rectangle is asked for as one. Where things stand in the room, first a floor is found that leaves
    some centimetres more beside them than is needed, then how much smaller it may be.

    Raises
    ------
    NotFinished
        When the solver found no floor in its time.
    ValueError
        If the routine has no figures.
    """
    if not routine.figures:
        raise ValueError("a routine without figures needs no room")
    room = replace(problem.room or NOWHERE, stride=stride)
    past = passing_of(problem, room)
    first = OnFloor(problem, room, routine.figures, past, size_open=True, fine=not room.obstacles).answer()
    if first is None:
        raise NotFinished  # larger than any floor that is looked at
    less, (width, depth, figures) = 0, first
    if room.obstacles:
        try:
            better = OnFloor(
                problem, room, routine.figures, past, size_open=True, most_mm=width + depth, work=FINE_WORK
            ).answer()
            width, depth, figures = better or first
        except NotFinished as unfinished:
            less = width + depth - unfinished.least_mm
    return Smallest(width, depth, stride, replace(routine, figures=figures), less)


def room_of_size(problem: Problem, found: Smallest) -> Room:
    """The least floor as a room to check the routine in; it begins and ends where it comes to."""
    room = resized(problem.room or NOWHERE, found.width_mm, found.depth_mm)
    return replace(room, stride=found.stride, start_x_mm=None, start_y_mm=None, finish=None)


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
        Fit(figure, tuple(faces for faces in range(8) if _fits(problem, room, figure, faces)))
        for figure in problem.figures().values()
        if room.style in figure.styles
    )


def _fits(problem: Problem, room: Room, figure: Figure, faces: int) -> bool:
    """Whether a figure has a place in the room: one small search, where its own measure does not say so."""
    if not (room.outline or room.obstacles or room.stretches):
        extent, inside = extent_of(figure.motion, faces), room.inside
        return all(extent[2 + axis] - extent[axis] <= inside[2 + axis] - inside[axis] for axis in (0, 1))
    past = passing(room, (figure.motion,))
    sides = (0, 1) if room.style == "travelling" and room.stretches else (0,)
    return any(
        OnFloor(
            problem,
            room,
            (Placed(figure.id, 0, figure.length_ticks, faces, corners=corners),),
            past,
            size_open=False,
        ).answer(lanes=False)
        is not None
        for corners in sides
    )
