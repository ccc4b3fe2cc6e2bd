"""A routine early: from a small part of a large network, before the whole is stated.

Stating all rules over 400,000 arcs and finding multipliers for them takes seconds; a twentieth of the arcs holds good
routines too. They are chosen by paths: the best one by what figures bring on their own, then the best one with the
figures it had made dearer, and so on until there are figures enough; of these the arcs that come nearest to such paths.
The rules are stated over the part exactly as over the whole (:func:`composer.network.part.part_of`), walks go through
it, and the first whose routine the checkers of the whole problem find no fault with is the routine. It proves nothing;
it is a routine to be told at once and to be beaten.

Everything is counted, nothing is timed: the same problem has the same early routine.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from composer.collecting import uncollected
from composer.network.build import build_unturned
from composer.network.model import Network
from composer.network.part import part_of
from composer.network.table import Numbers, Table
from composer.problem import Problem
from composer.routine import Routine
from composer.rules import (
    accents,
    cautions,
    energy,
    flow,
    leads,
    learned,
    must_never,
    opening_closing,
    order,
    phrasing,
    preferences,
)
from composer.rules.base import Stated
from composer.rules.weights import parted
from composer.solve.collapse import collapse
from composer.solve.cpsat import Answer
from composer.solve.fitted import fitted
from composer.solve.ground import ground_of
from composer.solve.linear import Flags, Ints, Linear, linear_from, node_ticks, on_paths
from composer.solve.longest import Levels, Priced, priced, whole_multipliers
from composer.solve.read import START, Judges, placed_along, to_the_middle
from composer.solve.relax import relaxed
from composer.solve.walks import Walks

LARGE: Final = 40_000
"""With fewer arcs the whole problem has a routine as early."""
FIGURES: Final = 60
"""About so many figures make up the part, and those the brief names."""
MOST_PATHS: Final = 40
PARTS: Final = (2_600, 8_000)
"""Figures in time that make up the part, each in all its facings; more where the first part has no routine."""
UNTURNED: Final = 3
"""So many times as many where that is all there is."""
WIDTH: Final = 500
"""Walks kept at every tick."""
NEAREST: Final = 3_600
"""So many arcs of the part are walked, those nearest to its best path."""
STEPS: Final = 30_000_000
TRIED: Final = 40
"""So many of the best walks are looked at."""
ANYTHING: Final = -(1 << 40)
ONE_BY_ONE: Final = (
    learned, cautions, leads, must_never, phrasing, accents, opening_closing, order, energy, flow, preferences,
)  # fmt: skip
"""Families that ban figures or give points for them one by one; the part is chosen by what they say."""
State = Callable[[Problem, Network], Stated]


@dataclass(frozen=True)
class Plain:
    """A network's arcs with the points that figures bring on their own, and which of them may be danced."""

    tick: Ints
    tail: Ints
    head: Ints
    usable: Flags
    points: Ints

    @property
    def sink(self) -> int:
        """Node id of the sink."""
        return len(self.tick) - 1


@uncollected()
def early(problem: Problem, network: Network, state: State, judges: Judges) -> Answer | None:
    """A routine of the problem as arcs of the network, checked; None where the network is small or none was found.

    Parameters
    ----------
    state : states all rules over a network.
    """
    if len(network.arcs) < LARGE:
        return None
    flat = network if problem.keeps_alignment or not network.keeps_facing else build_unturned(problem)
    best = _best_first(problem, flat)
    for most in PARTS:
        chosen = best[: most if flat is not network else UNTURNED * most]
        found = _within(problem, *part_of(network, _same(flat.table, chosen, network.table)), state, judges)
        if found is not None:
            return found
    return None


def _within(problem: Problem, part: Network, ids: Numbers, state: State, judges: Judges) -> Answer | None:
    """The first routine of a part, as arcs of the whole network (``ids``)."""
    if not len(ids):
        return None
    stated = state(problem, part)
    linear = linear_from(part, stated.stricter or stated)
    proofs = _proofs(part, linear)
    if proofs is None:
        return None
    levels = np.sort(proofs.through_scaled[linear.usable])[::-1]
    near = proofs.through_scaled >= levels[min(NEAREST, len(levels)) - 1]
    few, proofs = fitted(linear, proofs, near, None)
    walks = Walks(few, proofs, ground_of(linear), few.usable).run(WIDTH, ANYTHING, STEPS).walks
    for walk in walks[:TRIED]:
        routine = _routine(problem, part, walk)
        if not judges.breaches_of(problem, routine):
            score = sum(points.total for points in judges.points_of(problem, routine))
            first = routine.figures[0]
            values = {name: at for name, at in zip(START, (first.x_mm, first.y_mm), strict=True) if at is not None}
            return Answer("good", tuple(ids[list(walk)].tolist()), values, score)
    return None


def _best_first(problem: Problem, flat: Network) -> Ints:
    """Arcs of few figures, those first that lie on the best paths."""
    plain, own = _plain(problem, flat), flat.table
    uses: Ints = np.zeros(len(own.names), dtype=np.int64)
    named = {must.figure for must in problem.brief.wishes.must}
    uses[[k for k, name in enumerate(own.names) if name in named or name.split("/")[-1] in named]] = 1
    levels, price, through = Levels(plain), 0, plain.points
    ids = levels.ids
    for _ in range(MOST_PATHS if len(ids) else 0):
        weights = plain.points - price * uses[own.figure]
        ahead, behind = levels.longest(weights)
        through = ahead[own.tail] + weights + behind[own.head]
        if int((uses > 0).sum()) > FIGURES:
            break
        path = list(levels.path(weights, ahead))
        price = price or max(1, int(plain.points[path].sum()) // (2 * len(path)))
        np.add.at(uses, own.figure[path], 1)
    ids = ids[uses[own.figure[ids]] > 0]
    return ids[np.argsort(-through[ids], kind="stable")]


def _same(own: Table, chosen: Ints, table: Table) -> Flags:
    """Arcs of a table that dance what chosen arcs of another one dance at the same times, and those into the sink."""
    allowed = np.zeros((len(own.names), int(own.start.max(initial=0)) + 1), dtype=np.bool_)
    allowed[own.figure[chosen], own.start[chosen]] = True
    allowed[0] |= not own.names[0]
    place = {name: k for k, name in enumerate(own.names)}
    same = np.array([place[name] for name in table.names], dtype=np.int64)
    kept: Flags = allowed[same[table.figure], table.start]
    return kept


def _plain(problem: Problem, network: Network) -> Plain:
    """What the rules say of figures one by one."""
    table = network.table
    points, usable = np.zeros(len(table), dtype=np.int64), np.ones(len(table), dtype=np.bool_)
    for family in ONE_BY_ONE:
        stated = family.state(problem, network)
        for demand in stated.demands:
            usable[np.fromiter(demand.forbids, dtype=np.int64, count=len(demand.forbids))] = False
        for term in stated.terms:
            arcs, amounts, _ = parted(term.weights)
            points[arcs] += amounts
    tail, head = table.tail.astype(np.int64), table.head.astype(np.int64)
    tick = node_ticks(network)
    return Plain(tick, tail, head, on_paths(tick, tail, head, usable), points)


def _proofs(part: Network, linear: Linear) -> Priced | None:
    """Multipliers of the part, from one round of its relaxation."""
    if not linear.feasible_path:
        return None
    merged = collapse(part, linear)
    small = linear if merged is None else merged.small
    advice = relaxed(small, rounds=1)
    if advice is None:
        return None
    multipliers = whole_multipliers(small, advice.multipliers)
    return priced(linear, Levels(linear), multipliers if merged is None else merged.multipliers(linear, multipliers))


def _routine(problem: Problem, part: Network, walk: Sequence[int]) -> Routine:
    """The routine of a walk with natural strides, begun where the brief says or so that it lies in the middle."""
    arcs = [arc for arc in (part.arcs[i] for i in walk) if arc.figure]
    bare = Routine(problem.brief.title, problem.brief.dances, problem.length_ticks, ())
    room = problem.room
    if room is None:
        return replace(bare, figures=placed_along(problem, part, arcs, None))
    if room.start_x_mm is not None and room.start_y_mm is not None:
        return replace(bare, figures=placed_along(problem, part, arcs, (room.start_x_mm, room.start_y_mm)))
    start = (room.width_mm // 2, room.depth_mm // 2)
    routine = replace(bare, figures=placed_along(problem, part, arcs, start))
    dx, dy = to_the_middle(room, problem, routine)
    return replace(bare, figures=placed_along(problem, part, arcs, (start[0] + dx, start[1] + dy)))
