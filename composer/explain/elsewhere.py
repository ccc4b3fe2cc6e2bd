"""What else could be danced on a count: the best routine that has something else there, or the proof that none has.

Two questions, both put to the search that composes: with the rest of the routine free, and with every other figure kept
on its counts. "Something else" means that the figure of the routine is not danced on the asked count, wherever it
begins. Each answer is a routine with what is proved of it, a smallest clash, or open. Of routines that are as good as
each other one is shown that keeps much of the routine asked about.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Final

from composer.explain.clashes import enumerate_clashes
from composer.explain.oracle import Budget, Laws, Oracle
from composer.explain.why import told_clashes
from composer.network import build
from composer.network.model import Network
from composer.outcome import Clash, Found, NoRoutine, Outcome
from composer.problem import Problem
from composer.routine import Placed, Routine
from composer.rules.base import Demand, Points, Row, Stated, Term, Var, carded

KEPT_SHARE: Final = 0.2
FREE_SHARE: Final = 0.5
"""Parts of the time for both questions; the rest is for a routine as good that keeps more."""
CLASH_SECONDS: Final = 20.0
ANY_SECONDS: Final = 10.0
CLASHES_SHOWN: Final = 2
KEEPS: Final = "elsewhere:keeps"


@dataclass(frozen=True)
class Span:
    """Counts on which two routines differ (both included) with the figures there, before and after."""

    first: int
    last: int
    before: tuple[str, ...]
    after: tuple[str, ...]


@dataclass(frozen=True)
class NextBest:
    """A routine with something else on the count.

    ``lost`` points against the routine asked about (below zero: it has more). ``least_lost``: proved that none loses
    less; None when nothing is proved. ``by_term`` (term, points lost).
    """

    routine: Routine
    lost: int
    least_lost: int | None
    by_term: tuple[tuple[str, int], ...]
    spans: tuple[Span, ...]

    @property
    def exact(self) -> bool:
        """Whether it is proved that no routine loses less."""
        return self.least_lost == self.lost


@dataclass(frozen=True)
class Nothing:
    """Proved: nothing else can be danced there. ``ever`` is False when not even without any wish.

    Without a clash although ``ever`` is True, the time did not suffice to say which wishes leave nothing.
    """

    clashes: tuple[Clash, ...]
    ever: bool = True


@dataclass(frozen=True)
class Undecided:
    """Neither a routine nor a proof in the time given."""

    seconds: float


Elsewhere = NextBest | Nothing | Undecided


def elsewhere(
    problem: Problem, routine: Routine, position: int, tick: int, *, time_limit_s: float = 20.0, seed: int = 0
) -> tuple[Elsewhere, Elsewhere | None]:
    """(with the rest free, with the rest kept) for the figure at ``position``, danced at ``tick``.

    The second is None when the rest cannot be danced as it stands, so that nothing could be kept.

    Parameters
    ----------
    time_limit_s : about how long to look, in seconds of an idle machine.
    """
    figure = routine.figures[position].figure

    def other(network: Network) -> tuple[Demand, ...]:
        return (not_there(network, figure, tick),)

    def rest(network: Network) -> tuple[Demand, ...]:
        return (*other(network), rest_stays(network, routine.figures, position))

    kept = None
    if can_stay(build(problem), routine.figures):
        kept = _answered(problem, routine, rest, KEPT_SHARE * time_limit_s, seed)
    free = _at_least(_answered(problem, routine, other, FREE_SHARE * time_limit_s, seed), kept)
    if isinstance(free, NextBest) and len(free.spans) > 1:
        left = (1 - KEPT_SHARE - FREE_SHARE) * time_limit_s
        closer = nearer(problem, routine, free.routine, other, time_limit_s=left, seed=seed)
        free = free if closer is None else _compared(problem, routine, closer, free.least_lost)
    return free, kept


def can_stay(network: Network, figures: Sequence[Placed]) -> bool:
    """Whether the laws let these figures follow each other on their counts."""
    own = {(p.figure, p.swapped, p.start_tick) for p in figures}
    reached = {network.source}
    for arc in network.arcs:  # arcs go by tail, and tails by tick
        if arc.tail in reached and (not arc.figure or (arc.figure, arc.swapped, arc.start) in own):
            reached.add(arc.head)
    return network.sink in reached


def not_there(network: Network, figure: str, tick: int) -> Demand:
    """The figure is not danced at a tick."""
    arcs = frozenset(arc.id for arc in network.arcs if arc.figure == figure and arc.start <= tick < arc.end)
    return Demand("elsewhere:other", "Something else is danced there", law=True, forbids=arcs)


def rest_stays(network: Network, figures: Sequence[Placed], position: int) -> Demand:
    """Every other figure stays on its counts; where it goes on the floor is left open."""
    here = figures[position]
    own = {(p.figure, p.swapped, p.start_tick) for i, p in enumerate(figures) if i != position}
    arcs = frozenset(
        arc.id
        for arc in network.arcs
        if arc.figure
        and not (here.start_tick <= arc.start and arc.end <= here.end_tick)
        and (arc.figure, arc.swapped, arc.start) not in own
    )
    return Demand("elsewhere:rest", "The rest of the routine stays as it is", law=True, forbids=arcs)


def _answered(problem: Problem, routine: Routine, laws: Laws, time_limit_s: float, seed: int) -> Elsewhere:
    began = time.monotonic()
    outcome = _solved(problem, laws, time_limit_s, seed)
    match outcome:
        case Found():
            return _next_best(problem, routine, outcome)
        case NoRoutine():
            return _nothing(problem, laws, seed)
    return _any(problem, routine, laws, seed) or Undecided(time.monotonic() - began)


def _any(problem: Problem, routine: Routine, laws: Laws, seed: int) -> Elsewhere | None:
    """Where the search for the best found none: any routine at all, or the proof that there is none."""
    oracle = Oracle.of(problem, Budget.of(ANY_SECONDS, seed=seed), laws)
    possible = oracle.possible(oracle.wishes)
    if possible is False:
        return _nothing(problem, laws, seed)
    return _compared(problem, routine, _carded(problem, oracle.routines[-1]), None) if possible else None


def _solved(problem: Problem, laws: Laws, time_limit_s: float, seed: int) -> Outcome:
    from composer.rules import points_of, state_all

    network = build(problem)
    stated = state_all(problem, network)
    stated = replace(stated, demands=(*stated.demands, *laws(network)))
    return _decided(problem, network, stated, points_of, time_limit_s, seed)


def _decided(
    problem: Problem,
    network: Network,
    stated: Stated,
    points: Callable[[Problem, Routine], Iterable[Points]],
    time_limit_s: float,
    seed: int,
) -> Outcome:
    from composer.rules import breaches_of
    from composer.solve.read import Judges
    from composer.solve.solve import limits_for, solve_stated

    limits = limits_for(time_limit_s, seed)
    return solve_stated(problem, network, stated, Judges(breaches_of, points), limits)


def nearer(
    problem: Problem, like: Routine, found: Routine, laws: Laws | None = None, *, time_limit_s: float, seed: int = 0
) -> Routine | None:
    """A routine with no fewer points than ``found`` that keeps more counts of ``like``; None when none is found."""
    from composer.rules import state_all

    network = build(problem)
    stated = state_all(problem, network)
    score = stated.points
    floor = Demand("elsewhere:score", "It is as good", law=True, rows=(Row(score, least=found.score),))
    own = {(p.figure, p.swapped, p.start_tick): p.end_tick - p.start_tick for p in like.figures}
    stays: dict[Var, int] = {
        arc.id: own[arc.figure, arc.swapped, arc.start]
        for arc in network.arcs
        if (arc.figure, arc.swapped, arc.start) in own
    }
    demands = (*stated.demands, *(laws(network) if laws is not None else ()), *((floor,) if score else ()))
    aim = replace(stated, demands=demands, terms=(Term(KEEPS, "ticks that stay", stays),))

    def worth(_: Problem, other: Routine) -> list[Points]:
        given = tuple(own.get((p.figure, p.swapped, p.start_tick), 0) for p in other.figures)
        return [Points(KEEPS, sum(given), given)]

    outcome = _decided(problem, network, aim, worth, time_limit_s, seed)
    if not isinstance(outcome, Found) or outcome.routine.score <= worth(problem, found)[0].total:
        return None
    return _carded(problem, outcome.routine)


def _carded(problem: Problem, routine: Routine) -> Routine:
    """The routine with the points of its brief; nothing is claimed of them."""
    from composer.rules import points_of

    return replace(carded(routine, points_of(problem, routine), {}), status="good", bound=None)


def _next_best(problem: Problem, routine: Routine, found: Found) -> NextBest:
    most = found.routine.score if found.proven_best else found.bound
    return _compared(problem, routine, found.routine, _score(problem, routine) - most)


def _score(problem: Problem, routine: Routine) -> int:
    from composer.rules import points_of

    return sum(points.total for points in points_of(problem, routine))


def _compared(problem: Problem, routine: Routine, other: Routine, least_lost: int | None) -> NextBest:
    from composer.rules import points_of

    had = {points.term: points.total for points in points_of(problem, routine)}
    has = {line.term: line.points for line in other.score_card}
    lost = {term: had.get(term, 0) - has.get(term, 0) for term in (*had, *(t for t in has if t not in had))}
    by_term = tuple((term, number) for term, number in lost.items() if number)
    return NextBest(other, sum(had.values()) - other.score, least_lost, by_term, spans(routine.figures, other.figures))


def _nothing(problem: Problem, laws: Laws, seed: int) -> Nothing:
    """The smallest sets of wishes that leave nothing else for the count."""
    oracle = Oracle.of(problem, Budget.of(CLASH_SECONDS, seed=seed), laws)
    oracle.refused.append(frozenset(oracle.wishes))
    if oracle.possible(()) is False:
        return Nothing((), ever=False)
    found = enumerate_clashes(oracle, most=CLASHES_SHOWN)
    return Nothing(tuple(_plainly(clash) for clash in told_clashes(oracle, found.clashes)))


def _plainly(clash: Clash) -> Clash:
    """A wish that asks for this very figure speaks for itself."""
    said = len(clash.members) == 1 and clash.members[0].key.startswith(("must_never:must-", "opening_closing:"))
    return replace(clash, reasons=()) if said else clash


def _at_least(free: Elsewhere, kept: Elsewhere | None) -> Elsewhere:
    """What keeps the rest is one of the routines with the rest free: the better of both where that is not proved."""
    if not isinstance(kept, NextBest):
        return free
    if isinstance(free, NextBest) and free.lost <= kept.lost:
        return free
    return replace(kept, least_lost=free.least_lost if isinstance(free, NextBest) else None)


def spans(before: Sequence[Placed], after: Sequence[Placed]) -> tuple[Span, ...]:
    """The stretches of counts in which two routines differ, as short as they can be."""
    from composer.units import TICKS_PER_BEAT

    same = {(p.figure, p.start_tick, p.end_tick) for p in before} & {
        (p.figure, p.start_tick, p.end_tick) for p in after
    }
    edges: list[list[int]] = []
    other = [p for p in (*before, *after) if (p.figure, p.start_tick, p.end_tick) not in same]
    for placed in sorted(other, key=lambda p: (p.start_tick, p.end_tick)):
        if edges and placed.start_tick < edges[-1][1]:
            edges[-1][1] = max(edges[-1][1], placed.end_tick)
        else:
            edges.append([placed.start_tick, placed.end_tick])
    return tuple(
        Span(
            start // TICKS_PER_BEAT + 1,
            -(-end // TICKS_PER_BEAT),
            tuple(p.figure for p in before if start <= p.start_tick < end),
            tuple(p.figure for p in after if start <= p.start_tick < end),
        )
        for start, end in edges
    )
