"""On a travelling floor: round the room counter-clockwise, in lane, turning corners in the corners.

Asks: with ``room.lane`` every figure begins in the lane of the side being danced along (:mod:`composer.floor.lanes`):
along the south side eastwards at first (or along the side that ``room.begins`` names), and after each corner along the
next side. Without one the couple goes round a middle of its own: south-side figures begin south of it, those of the
east side east of it, and so on; so a larger room allows whatever a smaller one did. A lane lies along the walls: in a
larger room it is another way, and a longer one. A corner renames alignments, so it may only be turned where two lanes
meet, with ``room.corner`` no further than that from the end of the side; with ``room.corner_figures`` only after a
figure made for it. ``room.laps`` says how often round.

Source: line of dance counter-clockwise with the wall on the right, a corner renames an alignment by two eighths:
tests/facts/floor_and_safety.csv; lanes are common practice, no source. Score ``floor``: the weight ``floor`` for every
half metre a figure makes along the line of dance, taken off for every half metre against it.

Linear form: :mod:`composer.rules.inlane`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from composer.catalogue.model import Figure
from composer.floor.lanes import in_strip, strips
from composer.floor.model import Place, Room
from composer.floor.placing import travel_of
from composer.network.model import Arc, Network
from composer.problem import Problem
from composer.routine import Placed, Routine
from composer.rules.base import Breach, Change, Demand, Example, Points, Row, Stated, Term, Var
from composer.rules.inlane import in_lane
from composer.rules.look import count_of, danced, said

NAME = "line_of_dance"
LANE, LAPS, FIGURES, TERM = f"{NAME}:lane", f"{NAME}:laps", f"{NAME}:corner-figures", "floor"
SIDES = ("south", "east", "north", "west")
STEP_MM = 500
ALONG = ((1, 0), (0, 1), (-1, 0), (0, -1))

HALL = {"style": "travelling", "width": 8, "depth": 5, "lane": 1}

EXAMPLES = (
    Example("in lane along the south side", ("walk", "four", "eight"), room=HALL, at=(1000, 1300)),
    Example("a millimetre out of lane", ("walk", "four", "eight"), room=HALL, at=(1000, 1301), good=False),
    Example("without a lane anywhere, as long as one side is danced", ("walk", "four", "eight"),
            room={**HALL, "lane": None}, at=(1000, 4000)),
    Example("no lanes in a show", ("walk", "four", "eight"), room={**HALL, "style": "show"}, at=(1000, 2500)),
)  # fmt: skip


def state(problem: Problem, network: Network) -> Stated:
    """Lanes, laps and corner figures as demands, and the term ``floor``."""
    room = problem.room
    if room is None or room.style != "travelling":
        return Stated()
    figures = problem.catalogue.figures
    weight = problem.brief.wishes.weights.floor
    begin: dict[int, list[tuple[Arc, bool]]] = {0: []}
    worth: dict[Var, int] = {}
    travels: dict[tuple[str, int], Place] = {}
    for arc in network.arcs:
        if not arc.figure:
            continue
        begin.setdefault(arc.start, []).append((arc, arc.corners != network.nodes[arc.tail].corners))
        key = (arc.figure, arc.faces)
        if key not in travels:
            travels[key] = travel_of(figures[arc.figure].motion, arc.faces)
        points = weight * _half_metres(travels[key], arc.corners)
        if points:
            worth[arc.id] = points
    lanes = in_lane(room, begin)
    where = said(problem, "room", "lane") or said(problem, "room", "style")
    demands = [Demand(LANE, _sentence(room), where, rows=tuple(lanes.rows))]
    if room.corners is not None:
        turning: dict[Var, int] = {arc.id: 1 for arcs in begin.values() for arc, turns in arcs if turns}
        row = Row(turning, room.corners - 1, room.corners)
        demands.append(Demand(LAPS, _laps_sentence(room.corners), said(problem, "room", "laps"), rows=(row,)))
    if room.corner_figures:
        sentence = "A corner is turned only after a figure made for it"
        own = tuple(_corner_rows(problem, network, begin))
        demands.append(Demand(FIGURES, sentence, said(problem, "room", "corner_figures"), rows=own))
    terms = (Term(TERM, "Floor: half metres made along the line of dance", worth),) if weight else ()
    return Stated(demands=tuple(demands), unknowns=tuple(lanes.unknowns), terms=terms)


def _corner_rows(problem: Problem, network: Network, begin: dict[int, list[tuple[Arc, bool]]]) -> Iterator[Row]:
    """At every tick: figures that begin round a corner, and the figures made for corners that end there."""
    made: dict[int, list[int]] = {}
    for arc in network.arcs:
        if arc.figure and _made_for_corners(problem.catalogue.figures[arc.figure]):
            made.setdefault(arc.end, []).append(arc.id)
    for tick, arcs in sorted(begin.items()):
        turning = [arc.id for arc, turns in arcs if turns]
        if turning:
            yield Row({**dict.fromkeys(turning, 1), **dict.fromkeys(made.get(tick, ()), -1)}, most=0)


def breaches(problem: Problem, routine: Routine) -> list[Breach]:
    """Figures that begin out of lane, corners turned elsewhere or after another figure, too many or too few laps."""
    room = problem.room
    if room is None or room.style != "travelling":
        return []
    where = said(problem, "room", "lane") or said(problem, "room", "style")
    found: list[Breach] = []
    before: tuple[Placed, Figure] | None = None
    first: Placed | None = None
    middle = _Middle()
    for _, placed, figure in danced(problem, routine):
        first = first or placed
        turned = placed.corners - (before[0].corners if before else placed.corners)
        count = count_of(placed.start_tick)
        side = SIDES[placed.corners % 4]
        if not _in_lane(room, placed, room.lane_mm):
            message = f"{figure.chart.name} begins outside the lane along the {side} side"
            found.append(Breach(LANE, message, count, where))
        elif room.lane_mm is None and not middle.allows(placed):
            message = f"{figure.chart.name} begins {SIDES[(placed.corners + 2) % 4]} of where"
            message += f" other sides were danced: the {side} side lies {side} of the middle"
            found.append(Breach(LANE, message, count, where))
        elif turned and not _in_lane(room, placed, room.corner_mm):
            message = f"the corner before {figure.chart.name} is turned too early along the side"
            found.append(Breach(LANE, message, count, where))
        if turned and room.corner_figures and before and not _made_for_corners(before[1]):
            message = f"a corner is turned after {before[1].chart.name}, which is not made for it"
            found.append(Breach(FIGURES, message, count, said(problem, "room", "corner_figures")))
        before = placed, figure
    if room.corners is not None and first is not None and before is not None:
        turned = before[0].corners - first.corners
        if not room.corners - 1 <= turned <= room.corners:
            message = f"{turned} corners are turned; {_laps(room.corners)} take {room.corners - 1} or {room.corners}"
            found.append(Breach(LAPS, message, None, said(problem, "room", "laps")))
    return found


def softer(problem: Problem, key: str) -> list[Change]:
    """A deeper lane, up to the whole floor; corners anywhere in it, after any figure; as far round as it comes."""
    room = problem.room
    if room is None:
        return []
    if key == LAPS:
        return [Change(key, "go as far round the room as it comes", ("room", "laps"), None, 6)]
    if key == FIGURES:
        return [Change(key, "turn corners after any figure", ("room", "corner_figures"), False, 2)]
    whole = max(room.width_mm, room.depth_mm)
    found = []
    if room.lane_mm is None:
        found.append(Change(key, "turn corners anywhere on the floor", ("room", "lane"), whole, 3))
    else:
        depths = sorted({min(whole, room.lane_mm + more) for more in (500, 1000, 2000)} | {whole})
        found = [
            Change(key, f"keep within {depth / 1000:g} m of the edge only", ("room", "lane"), depth, 2 + at)
            for at, depth in enumerate(depth for depth in depths if depth > room.lane_mm)
        ]
    if room.corner_mm is not None:
        found.append(Change(key, "turn corners anywhere where two lanes meet", ("room", "corner"), None, 2))
    return found


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


def _made_for_corners(figure: Figure) -> bool:
    return "corner" in figure.chart.good_for


def _in_lane(room: Room, placed: Placed, depth: int | None) -> bool:
    """Whether the leader begins on the floor and within a depth of the walls of the side."""
    if placed.x_mm is None or placed.y_mm is None:
        return True  # the room family says that the place is missing
    here, floor = (placed.x_mm, placed.y_mm), room.inside
    if not (floor[0] <= here[0] <= floor[2] and floor[1] <= here[1] <= floor[3]):
        return False
    return depth is None or any(in_strip(strip, here) for strip in strips(room, placed.corners, depth))


class _Middle:
    """Figures of opposite sides leave a middle between them: what was danced so far on each side."""

    def __init__(self) -> None:
        self.inmost: dict[int, int] = {}

    def allows(self, placed: Placed) -> bool:
        """Note a figure; False when no middle is left because of it."""
        if placed.x_mm is None or placed.y_mm is None:
            return True
        side = placed.corners % 4
        at = (placed.y_mm, -placed.x_mm, -placed.y_mm, placed.x_mm)[side]
        opposite = self.inmost.get((side + 2) % 4)
        if opposite is not None and at + opposite > 0:
            return False
        self.inmost[side] = max(at, self.inmost.get(side, at))
        return True


def _laps(corners: int) -> str:
    return "one lap" if corners == 4 else f"{corners / 4:g} laps"


def _laps_sentence(corners: int) -> str:
    return f"The routine goes {_laps(corners)} round the room, {corners} corners (the last may be where it ends)"


def _sentence(room: Room) -> str:
    if room.lane_mm is None:
        return "The couple goes round a middle of its own, counter-clockwise, and turns corners in the corners"
    depth = f"{room.lane_mm / 1000:.2f}".rstrip("0").rstrip(".")
    return f"The couple keeps within {depth} m of the edge it dances along and turns corners in the corners"
