"""Demands of a revision that no brief has: stretches that stay, and what does not come back where it was."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from composer.network.model import Arc, Network
from composer.problem import Problem
from composer.revise.asks import Ask
from composer.revise.kept import Begun, Counts, Piece, danced_as, figure_of
from composer.routine import Placed, Routine
from composer.rules.base import Breach, Demand
from composer.units import TICKS_PER_BEAT


@dataclass(frozen=True)
class Extra:
    """Demands of a revision that no brief has, over the network, and their checker."""

    demands: Sequence[Demand] = ()
    judge: Callable[[Routine], list[Breach]] = lambda routine: []


@dataclass(frozen=True)
class Stays:
    """A figure that stays where it is (``begun`` in the new music, None when it has no place there)."""

    counts: Counts
    name: str
    begun: Begun | None


def danced_within(routine: Routine, counts: Counts) -> tuple[Begun, ...]:
    """Figures that take up any of these counts, as (figure, start tick)."""
    first, last = (counts[0] - 1) * TICKS_PER_BEAT, counts[1] * TICKS_PER_BEAT
    return tuple(_begun(p) for p in routine.figures if p.start_tick < last and p.end_tick > first)


def _begun(danced: Placed | Arc) -> Begun:
    """A figure, as led by the one partner or the other, and the tick it begins."""
    start = danced.start if isinstance(danced, Arc) else danced.start_tick
    return danced_as(danced.figure, danced.swapped), start


def staying(routine: Routine, ranges: Sequence[Counts], pieces: Sequence[Piece], problem: Problem) -> tuple[Stays, ...]:
    """The figures that must stay because of ``--keep``."""
    found = []
    for counts in ranges:
        for figure, start in danced_within(routine, counts):
            known = problem.catalogue.figures.get(figure_of(figure))
            length = 0 if known is None else known.length_ticks
            found.append(Stays(counts, known.chart.name if known else figure, _moved(figure, start, length, pieces)))
    return tuple(found)


def _moved(figure: str, start: int, length: int, pieces: Sequence[Piece]) -> Begun | None:
    if not pieces:
        return figure, start
    for piece in pieces:
        if piece.old <= start and start + length <= piece.old + piece.length:
            return figure, start - piece.old + piece.new
    return None


def extra_demands(stays: Sequence[Stays], asks: Sequence[Ask], practised: Sequence[Counts] = ()) -> Callable[
    [Network], Extra
]:  # fmt: skip
    """What states these over a network and checks them in a routine."""
    given = [ask for ask in asks if ask.kind == "replace"]
    replaced = [(f"revise:{a.text}#{number}", a.value, frozenset(a.places)) for number, a in enumerate(given)]

    def judge(routine: Routine) -> list[Breach]:
        danced = {_begun(placed) for placed in routine.figures}
        found = [
            Breach(_keep_key(s.counts), f"{s.name} does not stay where it was", s.counts[0])
            for s in stays
            if s.begun not in danced
        ]
        for key, value, places in replaced:
            found += [
                Breach(key, f"counts {value} are to be danced otherwise", start // TICKS_PER_BEAT + 1)
                for figure, start in sorted(places & danced)
            ]
        return found

    def state(network: Network) -> Extra:
        return Extra([*_keeps(network, stays), *_replaces(network, replaced)], judge)

    return state


def _keep_key(counts: Counts) -> str:
    return f"revise:keep-{counts[0]}-{counts[1]}"


def _keeps(network: Network, stays: Sequence[Stays]) -> list[Demand]:
    demands = []
    for counts in dict.fromkeys(s.counts for s in stays):
        own = [s for s in stays if s.counts == counts]
        wanted = {s.begun for s in own}
        lost = any(s.begun is None for s in own)
        spans = _spans(network, wanted)
        forbids = {
            arc.id
            for arc in network.arcs
            if arc.figure
            and _begun(arc) not in wanted
            and (lost or any(arc.start < end and arc.end > start for start, end in spans))
        }
        missing = wanted - {_begun(arc) for arc in network.arcs}
        if missing:  # what must stay cannot be danced at all in the new setting
            forbids = {arc.id for arc in network.arcs if arc.figure}
        sentence = f"Counts {counts[0]} to {counts[1]} stay as they are"
        demands.append(Demand(_keep_key(counts), sentence, forbids=frozenset(forbids)))
    return demands


def _spans(network: Network, wanted: set[Begun | None]) -> list[tuple[int, int]]:
    return sorted({(arc.start, arc.end) for arc in network.arcs if arc.figure and _begun(arc) in wanted})


def _replaces(network: Network, replaced: Sequence[tuple[str, str, frozenset[Begun]]]) -> list[Demand]:
    return [
        Demand(
            key,
            f"Counts {value} are danced otherwise than before",
            forbids=frozenset(arc.id for arc in network.arcs if _begun(arc) in places),
        )
        for key, value, places in replaced
    ]
