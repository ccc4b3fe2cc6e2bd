"""Small look-ups shared by the rule families: names, places in the brief, counts, arcs by figure, music in ticks.

Everything here reads the problem or a routine; nothing decides anything. Ticks are counted from the first danced
beat, counts (from 1) are what dancers say.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from composer.catalogue.model import Figure
from composer.errors import Where
from composer.network.model import Arc, Network
from composer.problem import Problem
from composer.routine import Placed, Routine
from composer.rules.base import Row, Var
from composer.units import TICKS_PER_BEAT


def said(problem: Problem, *path: str | int) -> Where | None:
    """Where the brief says this, or None when it does not and a default stands."""
    here: Any = problem.document.data
    for part in path:
        try:
            here = here[part]
        except (KeyError, IndexError, TypeError):
            return None
    return problem.where(*path)


def figure_id(problem: Problem, name: str) -> str:
    """The id of a figure the brief names by id or, where that is clear, by its bare stem; else the name itself."""
    figures = problem.figures()
    if name in figures:
        return name
    matches = [key for key in figures if key.split("/")[-1] == name]
    return matches[0] if len(matches) == 1 else name


def call(problem: Problem, identity: str) -> str:
    """The figure's name as people say it; the id itself when the catalogue has no such figure."""
    figure = problem.catalogue.figures.get(identity)
    return figure.chart.name if figure is not None else identity


def listed(words: list[str], most: int = 4) -> str:
    """``a, b and c``; after ``most`` words ``and n more``."""
    if len(words) > most:
        words = [*words[: most - 1], f"{len(words) - most + 1} more"]
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def times(number: int) -> str:
    """``once``, ``twice``, ``3 times``."""
    return {1: "once", 2: "twice"}.get(number, f"{number} times")


def count_of(tick: int) -> int:
    """The count a dancer says at a tick."""
    return tick // TICKS_PER_BEAT + 1


def moment_text(problem: Problem, tick: int) -> str:
    """``count 33 (bar 9)``; the bar of the music is told when the count begins it."""
    music, beat = problem.timeline, tick // TICKS_PER_BEAT
    starts = [b for b in range(min(beat + 1, music.length_beats)) if music.beats[music.usable[0] + b].in_bar == 1]
    if starts and starts[-1] == beat:
        return f"count {beat + 1} (bar {music.first_bar + len(starts) - 1})"
    return f"count {beat + 1}"


def role_of(partner: str, swapped: bool) -> str:
    """The role in which a partner (as the brief calls them) dances a figure: the other one where roles are changed."""
    return partner if not swapped else {"leader": "follower", "follower": "leader"}[partner]


def partner_words(problem: Problem, partner: str) -> str:
    """``the leader``; where both lead the name the brief gives, else ``partner A`` or ``partner B``."""
    if not problem.both_lead:
        return f"the {partner}"
    dancer = problem.brief.couple.leader if partner == "leader" else problem.brief.couple.follower
    return dancer.name or {"leader": "partner A", "follower": "partner B"}[partner]


def capital(words: str) -> str:
    """A sentence's first letter."""
    return words[:1].upper() + words[1:]


def danced(problem: Problem, routine: Routine) -> Iterator[tuple[int, Placed, Figure]]:
    """Position, place and figure of everything in the routine that exists in the dances asked for."""
    figures = problem.figures()
    for index, placed in enumerate(routine.figures):
        figure = figures.get(placed.figure)
        if figure is not None:
            yield index, placed, figure


def arcs_by_figure(network: Network) -> dict[str, list[Arc]]:
    """Arcs of every figure in the order of the network, ids sorted; the arcs into the sink are left out."""
    found: dict[str, list[Arc]] = {}
    for arc in network.arcs:
        if arc.figure:
            found.setdefault(arc.figure, []).append(arc)
    return dict(sorted(found.items()))


def begins(name: str, arcs: Sequence[Arc], length_ticks: int) -> Iterator[Row]:
    """Rows that make the unknown ``name`` 1 when any of these arcs of one figure is danced.

    One row per stretch of the figure's own length, in which it can begin once at most.
    """
    stretches: dict[int, list[int]] = {}
    for arc in arcs:
        stretches.setdefault(arc.start // length_ticks, []).append(arc.id)
    for own in stretches.values():
        yield Row({**dict.fromkeys(own, 1), name: -1}, most=0)


def stretches(arcs: Sequence[Arc], length_ticks: int, apart_ticks: int = 0) -> Iterator[dict[Var, int]]:
    """Weights of the arcs that begin in each half-open stretch of ``length_ticks``, for rows that limit them.

    Only stretches with a beginning that no earlier one had, and with two at least ``apart_ticks`` apart: those nearer
    to each other cannot both be danced anyway.
    """
    by_start: dict[int, list[int]] = {}
    for arc in arcs:
        by_start.setdefault(arc.start, []).append(arc.id)
    starts = sorted(by_start)
    after, told = 0, 0
    for first, start in enumerate(starts):
        while after < len(starts) and starts[after] < start + length_ticks:
            after += 1
        if after > told and after > first + 1 and starts[after - 1] - start >= apart_ticks:
            yield {arc: 1 for tick in starts[first:after] for arc in by_start[tick]}
            told = after


def phrase_starts(problem: Problem) -> tuple[int, ...]:
    """Ticks at which a phrase begins, the first danced beat included."""
    first = problem.timeline.usable[0]
    return tuple(sorted({(p.start - first) * TICKS_PER_BEAT for p in problem.timeline.phrases}))


def section_starts(problem: Problem) -> tuple[int, ...]:
    """Ticks at which a section begins, the first danced beat included."""
    first = problem.timeline.usable[0]
    return tuple(sorted({(s.start - first) * TICKS_PER_BEAT for s in problem.timeline.sections}))


def hits(problem: Problem) -> dict[int, int]:
    """Strength of every accent inside the danced music, by tick from the first danced beat."""
    first = problem.timeline.usable[0] * TICKS_PER_BEAT
    found: dict[int, int] = {}
    for accent in problem.timeline.accents:
        tick = accent.tick - first
        if 0 <= tick < problem.length_ticks:
            found[tick] = max(found.get(tick, 0), accent.strength)
    return found
