"""The end leads back to the beginning, so that the routine can be danced again and again.

Asks, when ``room.closed`` says so: the hold and the free feet at the end let the first figure begin, the same partner
leads, the leader faces
in the room as at the start (whole laps keep every alignment), and stands within 5 cm of the starting place. In a
travelling room at least one whole lap lies between. Source: competitors repeat a choreography lap after lap, common
practice, no source; the 5 cm are the tool's own.

Linear form: for every way to begin (hold and feet needed, facing) the figures that begin so are outweighed by the
ends of the music that stand so; the place at the end less the first place lies in a square of twice 35 mm. Round the
room ends on the sides between are forbidden.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from composer.floor.model import CLOSING_MM
from composer.floor.placing import moved
from composer.network.model import Network
from composer.problem import Problem
from composer.routine import Routine
from composer.rules.base import Breach, Change, Demand, Example, Points, Row, Stated, Var
from composer.rules.look import count_of, danced, said
from composer.rules.places import place_name

NAME = "loop"
CLOSED = f"{NAME}:closed"
SIDES = 4

AGAIN = {"style": "spot", "width": 8, "depth": 8, "closed": True}

EXAMPLES = (
    Example("nobody moves at all", ("four", "four", "eight"), room=AGAIN, at=(3000, 3000)),
    Example("there and back", ("walk", "turn", "walk", "turn"), room=AGAIN, at=(3000, 3000)),
    Example("ends 1.5 m away", ("walk", "four", "eight"), room=AGAIN, at=(3000, 3000), good=False),
    Example("ends facing the other way", ("turn", "four", "eight"), room=AGAIN, at=(3000, 3000), good=False),
    Example("ends in another hold", ("four", "eight", "open-out"), room=AGAIN, at=(3000, 3000), good=False),
    Example("need not end so", ("walk", "four", "eight"), room={**AGAIN, "closed": False}, at=(3000, 3000)),
)


def state(problem: Problem, network: Network) -> Stated:
    """One demand."""
    room = problem.room
    if room is None or not room.closed:
        return Stated()
    rows = [*_standing_rows(problem, network), *_place_rows(network)]
    forbids = frozenset[int]()
    if room.style == "travelling":
        turning: dict[Var, int] = {
            arc.id: 1 for arc in network.arcs if arc.figure and arc.corners != network.nodes[arc.tail].corners
        }
        rows.append(Row(turning, least=SIDES - 1))
        home = (room.begins, (room.begins - 1) % SIDES)
        forbids = frozenset(arc.id for arc in network.arcs if not arc.figure and arc.corners not in home)
    sentence = "The end leads back to the beginning: hold, feet, direction, and the place within 5 cm"
    return Stated((Demand(CLOSED, sentence, said(problem, "room", "closed"), forbids=forbids, rows=tuple(rows)),))


def _standing_rows(problem: Problem, network: Network) -> Iterator[Row]:
    """Whoever begins so must also end so."""
    begin: dict[tuple[str, str, str, int, bool], list[int]] = {}
    figures = problem.catalogue.figures
    for arc in network.arcs:
        if arc.figure and arc.tail == network.source:
            entry = figures[arc.figure].chart.entry
            key = (entry.hold, entry.leader_free, entry.follower_free, arc.faces, arc.swapped)
            begin.setdefault(key, []).append(arc.id)
    ends = [(network.nodes[arc.tail], arc.id) for arc in network.arcs if not arc.figure]
    for (hold, leader, follower, faces, swapped), arcs in sorted(begin.items()):
        fitting = [
            arc
            for (stand, led), arc in (((node.stand, node.swapped), arc) for node, arc in ends)
            if stand is not None
            and led == swapped
            and (stand.leader_free, stand.follower_free, stand.faces) == (leader, follower, faces)
            and problem.catalogue.fits(stand.hold, hold)
        ]
        yield Row({**dict.fromkeys(arcs, 1), **dict.fromkeys(fitting, -1)}, most=0)


def _place_rows(network: Network) -> Iterator[Row]:
    for axis in ("x", "y"):
        yield Row(
            {place_name(axis, network.length_ticks): 1, place_name(axis, 0): -1}, least=-CLOSING_MM, most=CLOSING_MM
        )


def breaches(problem: Problem, routine: Routine) -> list[Breach]:
    """How the end differs from the beginning."""
    room = problem.room
    everything = list(danced(problem, routine))
    if room is None or not room.closed or not everything:
        return []
    _, first, opening = everything[0]
    _, last, closing = everything[-1]
    stand, wrong = closing.end_of(last.faces), []
    if not problem.catalogue.joins(stand, opening):
        wrong.append(f"{opening.chart.name} cannot begin from it")
    if last.swapped != first.swapped:
        wrong.append("another partner leads than at the start")
    if stand.faces != first.faces % 8:
        wrong.append("the leader faces another way than at the start")
    if first.x_mm is not None and first.y_mm is not None and last.x_mm is not None and last.y_mm is not None:
        more = (last.more_x_mm, last.more_y_mm)
        x, y = moved((last.x_mm, last.y_mm), closing.motion, last.faces, more)
        off = (abs(x - first.x_mm), abs(y - first.y_mm))
        if max(off) > CLOSING_MM:
            wrong.append(f"the couple stands {(off[0] ** 2 + off[1] ** 2) ** 0.5 / 10:.0f} cm from where it began")
    turned = last.corners - first.corners
    if room.style == "travelling" and (turned < SIDES - 1 or turned % SIDES not in (0, SIDES - 1)):
        wrong.append(f"{turned} corners are turned, which is no whole lap")
    where = said(problem, "room", "closed")
    return [
        Breach(CLOSED, f"the end does not lead back: {', '.join(wrong)}", count_of(last.end_tick - 1), where)
    ] * bool(wrong)


def softer(problem: Problem, key: str) -> list[Change]:
    """Let the end be the end."""
    return [Change(key, "let the routine end elsewhere than it began", ("room", "closed"), False, 6)]


def points(problem: Problem, routine: Routine) -> Iterable[Points]:
    """No score."""
    return ()
