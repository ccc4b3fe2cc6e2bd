"""What the sheet says about room: strides taken along each side, what to do on a smaller floor, other couples."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Final

from composer.catalogue.model import Figure
from composer.floor.crowd import crowd_words
from composer.floor.placing import travel_of
from composer.problem import Problem
from composer.report.model import Fact
from composer.report.words import Lengths, clean, length_text, listed
from composer.roomneed import needed
from composer.routine import Placed, Routine

SIDES: Final = ("south", "east", "north", "west")
GOES_MM: Final = 300
"""A figure that carries the couple less far than this is danced on the spot: its strides hardly matter."""
MOST_NAMES: Final = 3


def room_facts(problem: Problem, routine: Routine, lengths: Lengths = "metres") -> Iterator[Fact]:
    """Labelled lines about strides and room; without a room only how large a floor it takes."""
    room, figures = problem.room, problem.catalogue.figures
    if not routine.figures:
        return
    yield Fact("Floor needed", _needed(problem, routine, lengths))
    if room is None:
        return
    if room.stretches and (words := _strides(routine, figures, room.style == "travelling")):
        yield Fact("Strides", words)
    yield Fact("On a smaller floor", _smaller(routine, figures))
    if words := crowd_words(room):
        yield Fact("Other couples", words)


def _needed(problem: Problem, routine: Routine, lengths: Lengths) -> str:
    """The least floor with comfortable strides, and with the shortest ones."""
    room = problem.room
    natural, shortest = (needed(problem, routine, shortest=short) for short in (False, True))
    text = f"at least {_size(natural, lengths)} with comfortable strides"
    if shortest != natural:
        least = (min(natural[0], shortest[0]), min(natural[1], shortest[1]))
        text += f", {_size(least, lengths)} with the shortest that every figure allows"
    text += (
        " (wide and deep, bodies" + (" and free margin" if room is not None and room.margin_mm else "") + " included"
    )
    return text + ("; what stands in the room not counted)" if room is not None and room.obstacles else ")")


def _size(size: tuple[int, int], lengths: Lengths) -> str:
    """Rounded up, so that what is told is never too small."""
    step = 10 if lengths == "metres" else 31
    wide, deep = (length_text(-(-side // step) * step, lengths) for side in size)
    return f"{wide} by {deep}"


def _strides(routine: Routine, figures: Mapping[str, Figure], travelling: bool) -> str:
    """How much longer or shorter strides are than natural, for every side danced along."""
    natural: dict[int, int] = {}
    more: dict[int, int] = {}
    for item in routine.figures:
        side = item.corners if travelling else 0
        travel = travel_of(figures[item.figure].motion, item.faces)
        along = (item.corners % 2,) if travelling else (0, 1)
        natural[side] = natural.get(side, 0) + sum(abs(travel[axis]) for axis in along)
        more[side] = more.get(side, 0) + sum(_grown(item, travel, axis) for axis in along)
    first, last = routine.figures[0].corners, routine.figures[-1].corners
    told = [
        f"{_side(side, first, last) if travelling else 'throughout'} {100 * more[side] / natural[side]:+.0f} %"
        for side in natural
        if natural[side] and round(100 * more[side] / natural[side])
    ]
    return f"against natural: {', '.join(told)} (figure by figure on the plan)" if told else "natural throughout"


def _grown(item: Placed, travel: tuple[int, int], axis: int) -> int:
    extra = (item.more_x_mm, item.more_y_mm)[axis]
    return extra if travel[axis] >= 0 else -extra


def _side(corners: int, first: int, last: int) -> str:
    """The side after so many corners; the one begun again at the end of whole laps is the way home."""
    turned = corners - first
    home = corners == last and turned % 4 == 0 and turned > 0
    lap = " (coming home)" if home else f" (lap {turned // 4 + 1})" if turned >= 4 else ""
    return f"{SIDES[corners % 4]} side{lap}"


def _smaller(routine: Routine, figures: Mapping[str, Figure]) -> str:
    """How far strides may shrink, which figures keep their size, and which take the most room."""
    used = [figures[key] for key in dict.fromkeys(item.figure for item in routine.figures)]
    going = [figure for figure in used if _far(figure) >= GOES_MM]
    if not going:
        return "The routine stays nearly on the spot; dance it as it is."
    able = [figure for figure in going if figure.motion.shortest_scale < 1]
    stiff = [clean(figure.chart.name) for figure in going if figure.motion.shortest_scale >= 1]
    least = max((figure.motion.shortest_scale for figure in able), default=1.0)
    text = f"Take strides up to {round(100 - 100 * least)} % shorter" if able else "Strides cannot be shortened"
    if stiff:
        text += (
            f" ({listed(stiff[:MOST_NAMES])} keep their size)" if len(stiff) > 1 else f" ({stiff[0]} keeps its size)"
        )
    widest = sorted(going, key=lambda figure: (-_far(figure), figure.id))[:MOST_NAMES]
    names = listed([clean(figure.chart.name) for figure in widest])
    return f"{text}. If that is not enough, change what takes the most room first: {names}."


def _far(figure: Figure) -> int:
    """How far the leader gets from where a figure began, mm."""
    farthest: float = max(math.hypot(m.leader.forward_mm, m.leader.right_mm) for m in figure.motion.moments)
    return round(farthest)
