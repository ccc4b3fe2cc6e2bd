"""On a travelling floor: round the room counter-clockwise, in lane, turning corners in the corners.

Asks: every figure begins in the lane of the side being danced along (:meth:`composer.floor.model.Room.lane`): along the
south side eastwards at first, and after each corner along the next side. A corner renames alignments, so it may
only be turned where two lanes meet. Source: line of dance counter-clockwise with the wall on the right, a corner
renames an alignment by two eighths: tests/facts/geometry.csv; lanes are common practice, no source.
Score ``floor``: the weight ``floor`` for every half metre a figure makes along the line of dance, taken off for every
half metre against it.

Linear form: a lane differs from the whole floor in one limit. The place of the leader at a tick
(``room:x@<tick>``, see :mod:`composer.rules.room`) keeps to the whole floor, and the figures that begin there on a side
move that side's limit to the edge of its lane. While a longer figure runs across the tick the place is where it began.
"""

from __future__ import annotations

from collections.abc import Iterable

from composer.floor.model import Room
from composer.floor.placing import travel_of
from composer.network.model import Network
from composer.problem import Problem
from composer.routine import Placed, Routine
from composer.rules.base import Breach, Change, Demand, Example, Points, Row, Stated, Term, Var
from composer.rules.look import count_of, danced, said
from composer.rules.room import place_name

NAME = "line_of_dance"
LANE, TERM = f"{NAME}:lane", "floor"
SIDES = ("south", "east", "north", "west")
STEP_MM = 500
ALONG = ((1, 0), (0, 1), (-1, 0), (0, -1))

HALL = {"style": "travelling", "width": 8, "depth": 5, "lane": 1}

EXAMPLES = (
    Example("in lane along the south side", ("walk", "four", "eight"), room=HALL, at=(1000, 1300)),
    Example("a millimetre out of lane", ("walk", "four", "eight"), room=HALL, at=(1000, 1301), good=False),
    Example("no lanes in a show", ("walk", "four", "eight"), room={**HALL, "style": "show"}, at=(1000, 2500)),
)


def state(problem: Problem, network: Network) -> Stated:
    """The lanes as one demand, and the term ``floor``."""
    room = problem.room
    if room is None or room.style != "travelling":
        return Stated()
    figures = problem.catalogue.figures
    weight = problem.brief.wishes.weights.floor
    begin: dict[int, tuple[list[int], ...]] = {0: ([], [], [], [])}
    worth: dict[Var, int] = {}
    travels: dict[tuple[str, int], tuple[int, int]] = {}
    for arc in network.arcs:
        if not arc.figure:
            continue
        begin.setdefault(arc.start, ([], [], [], []))[arc.corners % 4].append(arc.id)
        key = (arc.figure, arc.faces)
        if key not in travels:
            travels[key] = travel_of(figures[arc.figure].motion, arc.faces)
        points = weight * _half_metres(travels[key], arc.corners)
        if points:
            worth[arc.id] = points
    rows = tuple(row for tick, arcs in sorted(begin.items()) for row in _rows(room, tick, arcs))
    demand = Demand(LANE, _sentence(room), said(problem, "room", "lane") or said(problem, "room", "style"), rows=rows)
    terms = (Term(TERM, "Floor: half metres made along the line of dance", worth),) if weight else ()
    return Stated(demands=(demand,), terms=terms)


def breaches(problem: Problem, routine: Routine) -> list[Breach]:
    """Figures that begin out of lane."""
    room = problem.room
    if room is None or room.style != "travelling":
        return []
    where = said(problem, "room", "lane") or said(problem, "room", "style")
    return [
        Breach(
            LANE,
            f"{figure.chart.name} begins outside the lane along the {SIDES[placed.corners % 4]} side",
            count_of(placed.start_tick),
            where,
        )
        for _, placed, figure in danced(problem, routine)
        if not _in_lane(room, placed)
    ]


def softer(problem: Problem, key: str) -> list[Change]:
    """A deeper lane, up to the whole floor."""
    room = problem.room
    if room is None:
        return []
    whole = max(room.width_mm, room.depth_mm)
    depths = sorted({min(whole, room.lane_depth_mm + more) for more in (500, 1000, 2000)} | {whole})
    return [
        Change(key, f"keep within {depth / 1000:g} m of the edge only", ("room", "lane"), depth, 2 + at)
        for at, depth in enumerate(depth for depth in depths if depth > room.lane_depth_mm)
    ]


def points(problem: Problem, routine: Routine) -> Iterable[Points]:
    """The term ``floor``."""
    room, weight = problem.room, problem.brief.wishes.weights.floor
    if room is None or room.style != "travelling" or not weight:
        return ()
    given = [0] * len(routine.figures)
    for index, placed, figure in danced(problem, routine):
        given[index] = weight * _half_metres(travel_of(figure.motion, placed.faces), placed.corners)
    return (Points(TERM, sum(given), tuple(given)),)


def _half_metres(travel: tuple[int, int], corners: int) -> int:
    """Half metres along the line of dance of a side, rounded; against it is below zero."""
    x, y = ALONG[corners % 4]
    return (travel[0] * x + travel[1] * y + STEP_MM // 2) // STEP_MM


def _in_lane(room: Room, placed: Placed) -> bool:
    if placed.x_mm is None or placed.y_mm is None:
        return True  # the room family says that the place is missing
    least_x, least_y, most_x, most_y = room.lane(placed.corners)
    return least_x <= placed.x_mm <= most_x and least_y <= placed.y_mm <= most_y


def _rows(room: Room, tick: int, arcs: tuple[list[int], ...]) -> tuple[Row, ...]:
    """Four limits of the leader's place at a tick, each moved inwards by the figures that begin along its side."""
    x, y = place_name("x", tick), place_name("y", tick)
    least_x, least_y, most_x, most_y = room.inside
    south, east = room.lane(0)[3] - most_y, room.lane(1)[0] - least_x
    north, west = room.lane(2)[1] - least_y, room.lane(3)[2] - most_x
    return (
        Row({y: 1, **{arc: -south for arc in arcs[0] if south}}, most=most_y),
        Row({x: 1, **{arc: -east for arc in arcs[1] if east}}, least=least_x),
        Row({y: 1, **{arc: -north for arc in arcs[2] if north}}, least=least_y),
        Row({x: 1, **{arc: -west for arc in arcs[3] if west}}, most=most_x),
    )


def _sentence(room: Room) -> str:
    depth = f"{room.lane_depth_mm / 1000:.2f}".rstrip("0").rstrip(".")
    given = "" if room.lane_mm is not None else ", half the shorter side,"
    return f"The couple keeps within {depth} m{given} of the edge it dances along and turns corners in the corners"
