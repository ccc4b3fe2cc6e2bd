"""How large a floor a routine takes at least: its own stretch, both bodies' half-widths and the room's margin.

Reckoned figure by figure, each from where the one before ended, in the facings the routine has: with natural strides or
with every figure as small as it can be danced. What stands in a room is left out; :func:`composer.roomsize.smallest`
asks the solver for that, and for a floor on which strides are chosen figure by figure. Whole millimetres.
"""

from __future__ import annotations

from composer.floor.model import BODY_RADIUS_MM, Place
from composer.floor.placing import moved, placed, travel_of
from composer.kinematics.motion import Motion
from composer.problem import Problem
from composer.routine import Placed, Routine
from composer.routineplaces import next_leader


def needed(problem: Problem, routine: Routine, *, shortest: bool = False) -> Place:
    """(width, depth) of the least rectangle for a routine, mm; with the shortest strides what bodies stray counts too.

    On a travelling floor strides change the ground along the side danced along, elsewhere along both.

    Raises
    ------
    ValueError
        If the routine has no figures.
    """
    if not routine.figures:
        raise ValueError("a routine without figures needs no floor")
    room, figures = problem.room, problem.catalogue.figures
    travelling = room is not None and room.style == "travelling"
    place: Place = (0, 0)
    low, high = [0, 0], [0, 0]
    before: Placed | None = None
    for item in routine.figures:
        motion = figures[item.figure].motion
        if before is not None:
            changes = before.swapped != item.swapped
            step = next_leader(problem.catalogue, figures[before.figure], before.faces, (0, 0), changes=changes)[1]
            place = _sum(place, step or (0, 0))
        percent = round(100 * min(1.0, motion.shortest_scale)) if shortest else 100
        travel = travel_of(motion, item.faces)
        shrunk = [-((100 - percent) * abs(far) // 100) * (1 if far >= 0 else -1) for far in travel]
        more = (
            0 if travelling and item.corners % 2 else shrunk[0],
            0 if travelling and not item.corners % 2 else shrunk[1],
        )
        stray = motion.stray_mm(percent, 100) if any(more) else 0
        for at in _bodies(motion, item.faces, more):
            for axis in (0, 1):
                low[axis] = min(low[axis], place[axis] + at[axis] - stray)
                high[axis] = max(high[axis], place[axis] + at[axis] + stray)
        place, before = moved(place, motion, item.faces, more), item
    edge = BODY_RADIUS_MM + (0 if room is None else room.margin_mm)
    return high[0] - low[0] + 2 * edge, high[1] - low[1] + 2 * edge


def _bodies(motion: Motion, faces: int, more: Place) -> list[Place]:
    """Both bodies at every moment from where the leader begins, the ground given up early as well as late."""
    found: list[Place] = []
    last = len(motion.moments) - 1
    for index, moment in enumerate(motion.moments):
        shifts = {(0, 0)} if index == 0 else {more} if index == last else {(0, 0), more}
        for pose in (moment.leader, moment.follower):
            at = placed(pose.forward_mm, pose.right_mm, faces)
            found += (_sum(at, shift) for shift in shifts)
    return found


def _sum(one: Place, two: Place) -> Place:
    return one[0] + two[0], one[1] + two[1]
