"""Brute force: every sequence of figures, every facing, every turn of a corner, judged by the rules' checkers alone."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from composer.catalogue.model import Figure
from composer.floor.placing import extent_of, handed, travel_of
from composer.network.build import facing_matters
from composer.problem import Problem
from composer.routine import Placed, Routine
from composer.rules import FAMILIES, continuity, points_of
from composer.rules import room as of_rooms


class TooMany(Exception):
    """More sequences or places than this test wants to look at.

    With walls alone any place from which the path fits is as good as another; lanes and corners of a travelling
    floor bind places apart from walls, so there only briefs that say where to begin are enumerated.
    """


def _routine(problem: Problem, placed: tuple[Placed, ...]) -> Routine:
    return Routine("brute", problem.brief.dances, problem.length_ticks, placed)


def sequences(problem: Problem, limit: int) -> Iterator[tuple[Placed, ...]]:
    """All danceable sequences that fill the music; prefixes the continuity checker faults are not carried on."""
    travelling = problem.room is not None and problem.room.style == "travelling"
    seen = 0

    def onward(before: tuple[Placed, ...]) -> Iterator[tuple[Placed, ...]]:
        nonlocal seen
        tick = before[-1].end_tick if before else 0
        if tick == problem.length_ticks:
            yield before
            return
        for figure in problem.catalogue.figures.values():
            end = tick + figure.length_ticks
            if end > problem.length_ticks:
                continue
            corners = [before[-1].corners, before[-1].corners + 1] if travelling and before else [0]
            for faces, swapped in beginnings(before):
                for corner in corners:
                    longer = (*before, Placed(figure.id, tick, end, faces, None, None, corner, swapped=swapped))
                    seen += 1
                    if seen > limit:
                        raise TooMany
                    if not continuity.breaches(problem, _routine(problem, longer[-2:])):
                        yield from onward(longer)

    def beginnings(before: tuple[Placed, ...]) -> list[tuple[int, bool]]:
        """Facings and leaders with which the next figure may begin; a change of roles where the brief has both lead."""
        layers = (False, True) if problem.brief.couple.both_lead is not None else (False,)
        if not before:
            facings = range(8) if facing_matters(problem) else (0,)
            return [(faces, swapped) for faces in facings for swapped in layers]
        last = problem.catalogue.figures[before[-1].figure]
        faces = last.end_of(before[-1].faces).faces
        return [(faces if s == before[-1].swapped else _other_facing(problem, last, faces), s) for s in layers]

    yield from onward(())


def _other_facing(problem: Problem, last: Figure, faces: int) -> int:
    """Which way the follower faces after a figure whose leader ends facing ``faces``."""
    stance = problem.catalogue.stances[problem.catalogue.holds[last.chart.exit.hold].stance]
    return (faces + stance.facing // 2) % 8


def _other_body(problem: Problem, last: Placed, at: tuple[int, int]) -> tuple[int, int]:
    """Where the follower stands after a figure whose leader ends at a place."""
    figure = problem.catalogue.figures[last.figure]
    stance = problem.catalogue.stances[problem.catalogue.holds[figure.chart.exit.hold].stance]
    return handed(at, stance, figure.end_of(last.faces).faces)


def with_places(problem: Problem, placed: tuple[Placed, ...]) -> tuple[Placed, ...]:
    """The sequence put where its whole path fits, if it fits anywhere (else at the brief's place or the corner)."""
    room = problem.room
    if room is None:
        return placed
    low, high = list(room.inside[:2]), list(room.inside[2:])
    moved, at = [], (0, 0)
    for one in placed:
        motion = problem.catalogue.figures[one.figure].motion
        if moved and one.swapped != placed[len(moved) - 1].swapped:
            at = _other_body(problem, placed[len(moved) - 1], at)
        extent, travel = extent_of(motion, one.faces), travel_of(motion, one.faces)
        for axis in (0, 1):
            low[axis] = max(low[axis], room.inside[axis] - at[axis] - extent[axis])
            high[axis] = min(high[axis], room.inside[2 + axis] - at[axis] - extent[2 + axis])
        moved.append(at)
        at = (at[0] + travel[0], at[1] + travel[1])
    start = (room.start_x_mm, room.start_y_mm)
    x, y = (low[axis] if start[axis] is None else start[axis] for axis in (0, 1))
    assert x is not None
    assert y is not None
    return tuple(replace(p, x_mm=x + dx, y_mm=y + dy) for p, (dx, dy) in zip(placed, moved, strict=True))


def is_broken(problem: Problem, routine: Routine) -> bool:
    """Whether any rule is; that of rooms, which takes longest, is asked last."""
    quick = (family for family in FAMILIES if family is not of_rooms)
    return any(family.breaches(problem, routine) for family in (*quick, of_rooms))


def best_score(problem: Problem, limit: int = 4000) -> int | None:
    """The best score of any routine without a breach, or None when there is none."""
    room = problem.room
    if room is not None and room.style == "travelling" and room.start_x_mm is None:
        raise TooMany
    best: int | None = None
    for placed in sequences(problem, limit):
        routine = _routine(problem, with_places(problem, placed))
        if is_broken(problem, routine):
            continue
        score = sum(points.total for points in points_of(problem, routine))
        best = score if best is None else max(best, score)
    return best
