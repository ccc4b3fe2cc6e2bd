"""Small look-ups shared by the rule families: names, places in the brief, counts, arcs by figure, music in ticks.

Everything here reads the problem or a routine; nothing decides anything. Ticks are counted from the first danced
beat, counts (from 1) are what dancers say.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from typing import Any

import numpy as np

from composer.catalogue.model import Figure
from composer.errors import Where
from composer.network.table import Numbers, Table, slices
from composer.problem import Problem
from composer.routine import Placed, Routine
from composer.rules.base import Row
from composer.rules.weights import Weights
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


def each(make: Callable[..., int], *columns: Numbers) -> Numbers:
    """``make`` of every entry of the columns, worked out once for entries that are alike."""
    code = np.zeros(len(columns[0]), dtype=np.int64)
    for column in columns:
        code = code * (int(column.max(initial=0)) + 1) + column
    _, first, alike = np.unique(code, return_index=True, return_inverse=True)
    made = [make(*entry) for entry in zip(*(column[first].tolist() for column in columns), strict=True)]
    found: Numbers = np.array(made, dtype=np.int32)[alike]
    return found


def led_in(table: Table, own: Numbers, layers: Collection[bool]) -> Numbers:
    """Of these arcs those that are led in one of the layers (True: by whom the brief calls follower)."""
    if len(layers) == 1:
        led: Numbers = own[table.swapped[own] == int(*layers)]
        return led
    return own if layers else own[:0]


def begins(name: str, table: Table, own: Numbers, length_ticks: int) -> Iterator[Row]:
    """Rows that make the unknown ``name`` 1 when any of these arcs of one figure (rising) is danced.

    One row per stretch of the figure's own length, in which it can begin once at most.
    """
    cuts = np.flatnonzero(np.diff(table.start[own] // length_ticks)) + 1
    for part in slices(own, cuts) if len(own) else ():
        yield Row(Weights(part, 1, {name: -1}), most=0)


def together(parts: Sequence[Numbers]) -> Numbers:
    """Ids of arcs in one."""
    return np.concatenate([np.zeros(0, dtype=np.int32), *parts])


def alike_row(one: Numbers | None, other: Numbers | None) -> Row:
    """As many of the one arcs are danced as of the other ones (none where they are not given)."""
    first, second = (together([] if own is None else [own]) for own in (one, other))
    amounts = np.repeat(np.array([1, -1], dtype=np.int32), [len(first), len(second)])
    return Row(Weights(together([first, second]), amounts), 0, 0)


def stretches(own: Numbers, starts: Numbers, length_ticks: int, apart_ticks: int = 0) -> Iterator[Weights]:
    """Weights of the arcs that begin in each half-open stretch of ``length_ticks``, for rows that limit them.

    ``starts`` are the ticks at which they begin, rising. Only stretches with a beginning that no earlier one had, and
    with two at least ``apart_ticks`` apart: those nearer to each other cannot both be danced anyway.
    """
    ticks, begin = np.unique(starts, return_index=True)
    cuts, after_all = [*begin.tolist(), len(own)], np.searchsorted(ticks, ticks + length_ticks).tolist()
    told = 0
    for first, (start, after) in enumerate(zip(ticks.tolist(), after_all, strict=True)):
        if after > told and after > first + 1 and ticks[after - 1] - start >= apart_ticks:
            yield Weights(own[cuts[first] : cuts[after]])
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
