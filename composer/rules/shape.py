"""The shape of the whole: a build-up towards the last chorus, breath after hard figures, the last peak on the last hit.

Asks, each only when wished:

* ``build_up: Chorus``: from one section with that label to the next the energy danced (per count) does not fall, and
  the last has more than the first. One demand per pair, one for the whole.
* ``breath: 4``: after a figure of that energy or more comes one with less. One demand.
* ``final_hit: true``: the last figure has its peak on the last hit of the music (where the music marks none, on the
  first count of the last bar).

A figure counts to the section it begins in. Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import pairwise

import numpy as np

from composer.catalogue.model import Figure
from composer.network.model import Network
from composer.network.table import Numbers, Table
from composer.problem import Problem
from composer.routine import Routine
from composer.rules.base import Breach, Change, Demand, Example, Points, Row, Stated
from composer.rules.look import count_of, danced, hits, moment_text, said, together
from composer.rules.weights import Weights
from composer.units import TICKS_PER_BEAT

NAME = "shape"
RISE = f"{NAME}:build-up"
BREATH = f"{NAME}:breath"
FINAL = f"{NAME}:final-hit"
SAME = {"labels": ["A", "A"]}

EXAMPLES = (
    Example("the second A has more energy", ("four", "four", "side", "four"), {"build_up": "A"}, music=SAME),
    Example("as much is not more", ("four", "side", "side", "four"), {"build_up": "A"}, music=SAME, good=False),
    Example("it falls", ("side", "four", "four", "four"), {"build_up": "A"}, music=SAME, good=False),
    Example("only one section has that name", ("side", "four", "four", "four"), {"build_up": "A"}),
    Example("a quiet figure after each hard one", ("side", "four", "side", "four"), {"breath": 3}),
    Example("two hard ones in a row", ("side", "side", "four", "four"), {"breath": 3}, good=False),
    Example("they are not that hard", ("side", "side", "four", "four"), {"breath": 4}),
    Example("the last peak meets the hit", ("four", "four", "four", "side"), {"final_hit": True}, music={"hits": [13]}),
    Example("the hit is a bar earlier", ("four", "four", "four", "side"), {"final_hit": True}, music={"hits": [9]},
            good=False),
    Example("no hit is marked: the last bar begins with it", ("four", "four", "four", "side"), {"final_hit": True}),
)  # fmt: skip


def state(problem: Problem, network: Network) -> Stated:
    """Demands of the three wishes."""
    wishes, figures, table = problem.brief.wishes, problem.catalogue.figures, network.table
    demands = list(_rising(problem, table)) if wishes.build_up is not None else []
    if wishes.breath is not None:
        loud = _energies(problem, table)[table.figure] >= wishes.breath
        meeting = {
            tick: together(
                [own[loud[own]] for own in (table.by_start.get(tick), table.by_end.get(tick)) if own is not None]
            )
            for tick in sorted(table.by_start.keys() | table.by_end.keys())
        }
        rows = tuple(Row(Weights(own), most=1) for own in meeting.values() if len(own) > 1)
        sentence = f"After a figure of energy {wishes.breath} or more comes a quieter one"
        demands.append(Demand(BREATH, sentence, said(problem, "wishes", "breath"), rows=rows))
    if wishes.final_hit:
        last = table.by_end.get(network.length_ticks, together([])).tolist()
        wrong = frozenset(
            arc for arc in last if not _strikes(problem, figures[table.names[table.figure[arc]]], int(table.start[arc]))
        )
        sentence = f"The last figure has its peak on the last hit, {moment_text(problem, _last_hit(problem))}"
        demands.append(Demand(FINAL, sentence, said(problem, "wishes", "final_hit"), forbids=wrong))
    return Stated(tuple(demands))


def _energies(problem: Problem, table: Table) -> Numbers:
    """Energy of every figure of a table, 0 for the end."""
    figures = problem.catalogue.figures
    return np.array([figures[name].chart.energy if name else 0 for name in table.names], dtype=np.int32)


def _rising(problem: Problem, table: Table) -> Iterator[Demand]:
    where, sections = said(problem, "wishes", "build_up"), _sections(problem)
    energy = _energies(problem, table)[table.figure] * (table.end - table.start)
    inside = [
        table.danced[(start <= table.start[table.danced]) & (table.start[table.danced] < end)]
        for start, end in sections
    ]

    def row(one: int, other: int, least: int) -> Row:
        more, less = energy[inside[other]] * _length(sections[one]), energy[inside[one]] * -_length(sections[other])
        return Row(Weights(together([inside[other], inside[one]]), together([more, less])), least=least)

    for index in range(len(sections) - 1):
        here, there = count_of(sections[index][0]), count_of(sections[index + 1][0])
        sentence = f"From count {there} the dance has at least the energy it had from count {here}"
        yield Demand(f"{RISE}-{there}", sentence, where, rows=(row(index, index + 1, 0),))
    if len(sections) > 1:
        sentence = f"The last {problem.brief.wishes.build_up} has more energy than the first"
        yield Demand(RISE, sentence, where, rows=(row(0, len(sections) - 1, 1),))


def breaches(problem: Problem, routine: Routine) -> list[Breach]:
    """Energy that falls, hard figures in a row, a last peak off the hit."""
    wishes = problem.brief.wishes
    found: list[Breach] = []
    known = list(danced(problem, routine))
    if wishes.build_up is not None:
        found += _falls(problem, routine)
    if wishes.breath is not None:
        for (before_at, _, before), (index, placed, figure) in pairwise(known):
            if index == before_at + 1 and min(before.chart.energy, figure.chart.energy) >= wishes.breath:
                message = f"{figure.chart.name} follows {before.chart.name} without a breath between"
                found.append(Breach(BREATH, message, count_of(placed.start_tick), said(problem, "wishes", "breath")))
    if wishes.final_hit and known and known[-1][0] == len(routine.figures) - 1:
        _, placed, figure = known[-1]
        if not _strikes(problem, figure, placed.start_tick):
            message = f"{figure.chart.name} has no peak on the last hit, {moment_text(problem, _last_hit(problem))}"
            found.append(Breach(FINAL, message, count_of(placed.start_tick), said(problem, "wishes", "final_hit")))
    return found


def _falls(problem: Problem, routine: Routine) -> Iterator[Breach]:
    sections, where = _sections(problem), said(problem, "wishes", "build_up")
    energy = [
        sum(
            figure.chart.energy * (placed.end_tick - placed.start_tick)
            for _, placed, figure in danced(problem, routine)
            if start <= placed.start_tick < end
        )
        for start, end in sections
    ]

    def rises(one: int, other: int) -> int:
        return energy[other] * _length(sections[one]) - energy[one] * _length(sections[other])

    for index in range(len(sections) - 1):
        if rises(index, index + 1) < 0:
            there = count_of(sections[index + 1][0])
            message = f"there is less energy than from count {count_of(sections[index][0])}"
            yield Breach(f"{RISE}-{there}", message, there, where)
    if len(sections) > 1 and rises(0, len(sections) - 1) < 1:
        message = f"the last {problem.brief.wishes.build_up} has no more energy than the first"
        yield Breach(RISE, message, count_of(sections[-1][0]), where)


def softer(problem: Problem, key: str) -> list[Change]:
    """Harder figures may follow each other from a higher energy on; otherwise leave it."""
    wishes = problem.brief.wishes
    if key == BREATH and wishes.breath is not None:
        milder = [
            Change(key, f"ask for a breath after energy {n} only", ("wishes", "breath"), n, 1)
            for n in range(wishes.breath + 1, 6)
        ]
        return [*milder[:1], Change(key, "let hard figures follow each other", ("wishes", "breath"), None, 3)]
    if key == FINAL:
        return [Change(key, "let the dance end off the last hit", ("wishes", "final_hit"), False, 4)]
    return [Change(key, "let the energy go as it may", ("wishes", "build_up"), None, 4)]


def points(problem: Problem, routine: Routine) -> Iterable[Points]:
    """No score."""
    return ()


def _sections(problem: Problem) -> list[tuple[int, int]]:
    """(first tick, end tick) of the sections that build up."""
    label, base = (problem.brief.wishes.build_up or "").casefold(), problem.timeline.usable[0]
    return [
        ((s.start - base) * TICKS_PER_BEAT, (s.start - base + s.beats) * TICKS_PER_BEAT)
        for s in problem.timeline.sections
        if s.label.casefold() == label
    ]


def _length(section: tuple[int, int]) -> int:
    return (section[1] - section[0]) // TICKS_PER_BEAT


def _last_hit(problem: Problem) -> int:
    marks = hits(problem)
    if marks:
        return max(marks)
    music = problem.timeline
    starts = [b for b in range(music.length_beats) if music.beats[music.usable[0] + b].in_bar == 1]
    return (starts[-1] if starts else 0) * TICKS_PER_BEAT


def _strikes(problem: Problem, figure: Figure, start: int) -> bool:
    return figure.peak_tick is not None and start + figure.peak_tick == _last_hit(problem)
