"""Why a figure stands where it stands in a routine: what it gives, what asks for it, and what else could stand there.

The answer comes from a search (:mod:`composer.explain.elsewhere`): the best routine with something else on the count,
or the wishes that leave nothing else. Examples go with it: other figures on the same counts with the rest as it is,
each judged by the rules' checkers alone, so that what it breaks or costs is exact; they are never all there are.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import islice
from typing import Final

from composer.catalogue.model import Stand
from composer.explain.elsewhere import Elsewhere, elsewhere
from composer.floor.placing import moved
from composer.network.build import available
from composer.problem import Problem
from composer.routine import Placed, Routine
from composer.routineplaces import next_leader
from composer.rules import points_of
from composer.rules.base import Breach
from composer.units import TICKS_PER_BEAT
from composer.verify import verify

MOST_JUDGED: Final = 60
MOST_PARTS: Final = 3


@dataclass(frozen=True)
class Alternative:
    """Other figures on the same counts. ``lost`` points when it can be danced, else ``breach`` says what it breaks."""

    figures: tuple[str, ...]
    lost: int = 0
    breach: Breach | None = None


@dataclass(frozen=True)
class Here:
    """The figure at a count: what it gives by term, what else could be there, and some exchanges as examples.

    ``free`` is the best with something else on the count, ``kept`` the best that leaves the rest of the routine.
    """

    placed: Placed
    position: int
    gives: tuple[tuple[str, int], ...]
    asked_for: tuple[Breach, ...]
    possible: tuple[Alternative, ...]
    impossible: tuple[Alternative, ...]
    free: Elsewhere
    kept: Elsewhere | None
    sound: bool
    """Whether the routine keeps everything as it is; otherwise alternatives are measured against a broken one."""


def why_here(problem: Problem, routine: Routine, count: int, *, time_limit_s: float = 20.0, seed: int = 0) -> Here:
    """Why the figure danced on a count stands there.

    Parameters
    ----------
    time_limit_s : about how long to search, in seconds of an idle machine.

    Raises
    ------
    ValueError
        If no figure of the routine is danced on that count.
    """
    tick = (count - 1) * TICKS_PER_BEAT
    position = next((i for i, p in enumerate(routine.figures) if p.start_tick <= tick < p.end_tick), None)
    if position is None:
        raise ValueError(f"no figure is danced on count {count}")
    placed = routine.figures[position]
    score = sum(points.total for points in points_of(problem, routine))
    gives = tuple(
        (points.term, points.by_figure[position])
        for points in points_of(problem, routine)
        if position < len(points.by_figure) and points.by_figure[position]
    )
    before = verify(problem, routine)
    held = {(breach.key, breach.count) for breach in before}
    possible: list[Alternative] = []
    impossible: list[Alternative] = []
    for names in islice(fillings(problem, routine, position), MOST_JUDGED):
        other = exchanged(problem, routine, position, names)
        broken = [breach for breach in verify(problem, other) if (breach.key, breach.count) not in held]
        if broken:
            impossible.append(Alternative(names, breach=min(broken, key=lambda b: (not b.law, b.count or 0))))
        else:
            possible.append(Alternative(names, score - sum(p.total for p in points_of(problem, other))))
    possible.sort(key=lambda one: (one.lost, one.figures))
    asked = _asked_for(problem, routine, placed)
    free, kept = elsewhere(problem, routine, position, tick, time_limit_s=time_limit_s, seed=seed)
    return Here(placed, position, gives, asked, tuple(possible), tuple(impossible), free, kept, not before)


def _asked_for(problem: Problem, routine: Routine, placed: Placed) -> tuple[Breach, ...]:
    """What the brief says of this very figure: breaches there would be if it went by another name."""
    from composer.rules import must_never, opening_closing

    index = routine.figures.index(placed)
    named = replace(placed, figure="\0")
    without = replace(routine, figures=(*routine.figures[:index], named, *routine.figures[index + 1 :]))
    found = [*must_never.breaches(problem, without), *opening_closing.breaches(problem, without)]
    held = {breach.key for family in (must_never, opening_closing) for breach in family.breaches(problem, routine)}
    return tuple(breach for breach in found if breach.key not in held)


def fillings(problem: Problem, routine: Routine, position: int) -> Iterator[tuple[str, ...]]:
    """One to three other figures that join the figure before and each other, and last as long; single ones first."""
    placed = routine.figures[position]
    length = placed.end_tick - placed.start_tick
    figures = available(problem)
    before = problem.catalogue.figures.get(routine.figures[position - 1].figure) if position else None
    starts: tuple[Stand, ...] | None = None if before is None else (before.end_of(0),)
    if before is not None and routine.figures[position - 1].swapped != placed.swapped:
        starts = problem.catalogue.handed_over(before.end_of(0))
    for parts in range(1, MOST_PARTS + 1):
        found = _runs(problem, list(figures), starts, length, parts)
        yield from (names for names in found if names != (placed.figure,))


def _runs(
    problem: Problem, names: list[str], stands: tuple[Stand, ...] | None, length: int, parts: int
) -> Iterator[tuple[str, ...]]:
    for name in names:
        figure = problem.catalogue.figures[name]
        if stands is not None and not any(problem.catalogue.joins(stand, figure) for stand in stands):
            continue
        left = length - figure.length_ticks
        if parts == 1 and left == 0:
            yield (name,)
        elif parts > 1 and left > 0:
            for rest in _runs(problem, names, (figure.end_of(0),), left, parts - 1):
                yield (name, *rest)


def exchanged(problem: Problem, routine: Routine, position: int, names: tuple[str, ...]) -> Routine:
    """The routine with other figures on the same counts; what follows keeps its counts, facings are added up anew."""
    catalogue = problem.catalogue.figures
    old = routine.figures[position]
    fresh = [replace(old, figure=name, more_x_mm=0, more_y_mm=0) for name in names]
    first = routine.figures[0]
    faces, tick, x, y = first.faces, first.start_tick, first.x_mm, first.y_mm
    placed: list[Placed] = []
    for one in (*routine.figures[:position], *fresh, *routine.figures[position + 1 :]):
        if placed:
            place = None if x is None or y is None else (x, y)
            changes, before = one.swapped != placed[-1].swapped, catalogue[placed[-1].figure]
            faces, led = next_leader(problem.catalogue, before, placed[-1].faces, place, changes=changes)
            x, y = led or (None, None)
        figure = catalogue[one.figure]
        end = tick + figure.length_ticks
        placed.append(replace(one, start_tick=tick, end_tick=end, faces=faces, x_mm=x, y_mm=y))
        if x is not None and y is not None:
            x, y = moved((x, y), figure.motion, faces, (one.more_x_mm, one.more_y_mm))
        tick = end
    return replace(routine, figures=tuple(placed), score_card=(), score=0, status="by hand")
