"""The showy moment on the musical one, and a pose to end with.

Asks: with ``hits: must`` every accent of the danced music meets the peak of a figure; with ``final_pose`` the last
figure is one made for endings and, when it has a peak, strikes it within the last bar, so that it is held as the music
stops. One demand per accent.
Score ``hits`` (unless ``hits: ignore``): 3 points times the strength of the accent times the weight ``music`` for
every peak that falls on an accent. Source: highlights on the first count of a phrase, the final pose on the last beat:
common practice, no source (tests/facts/phrasing.csv).
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from composer.catalogue.model import Figure
from composer.network.model import Network
from composer.problem import Problem
from composer.routine import Routine
from composer.rules.base import Breach, Change, Demand, Example, Points, Row, Stated, Term
from composer.rules.look import count_of, danced, hits, moment_text, said
from composer.rules.weights import Weights
from composer.units import TICKS_PER_BEAT

NAME = "accents"
TERM = "hits"
POSE = f"{NAME}:final-pose"
POINTS = 3
NEVER = -(1 << 20)
"""Stands for the peak of a figure without one."""

EXAMPLES = (
    Example("the peak is on the hit", ("four", "four", "side", "four"), wishes={"hits": "must"}, music={"hits": [9]}),
    Example("one bar late", ("four", "four", "four", "side"), wishes={"hits": "must"}, music={"hits": [9]}, good=False),
    Example("a preferred hit may be missed", ("four", "four", "four", "side"), music={"hits": [9]}),
    Example("the pose is held to the end", ("four", "eight", "pose"), wishes={"final_pose": True}),
    Example(
        "the pose is struck on the last bar's first count", ("four", "four", "late-pose"), wishes={"final_pose": True}
    ),
    Example("the pose is struck too early", ("four", "four", "long-pose"), wishes={"final_pose": True}, good=False),
    Example("no figure for an ending", ("four", "four", "eight"), wishes={"final_pose": True}, good=False),
)


def state(problem: Problem, network: Network) -> Stated:
    """Demands per accent (``must``), the final pose, and the term ``hits``."""
    wishes, marks, figures = problem.brief.wishes, _hits(problem), problem.catalogue.figures
    table = network.table
    own, last = table.danced, table.danced[table.end[table.danced] == network.length_ticks]
    peaks = np.array([_peak(figures[name]) if name else NEVER for name in table.names], dtype=np.int32)
    lands = table.start[own] + peaks[table.figure[own]]
    landing = {tick: own[lands == tick] for tick in marks}
    demands = []
    if wishes.hits == "must":
        where = said(problem, "wishes", "hits")
        demands += [
            Demand(_key(tick), f"The peak of a figure falls on the accent at {moment_text(problem, tick)}", where,
                   rows=(Row(Weights(arcs), least=1),))
            for tick, arcs in landing.items()
        ]  # fmt: skip
    if wishes.final_pose:
        where = said(problem, "wishes", "final_pose")
        no_pose = frozenset(
            arc for arc in last.tolist()
            if not _ends_well(problem, figures[table.names[table.figure[arc]]], int(table.start[arc]))
        )  # fmt: skip
        demands.append(Demand(POSE, "The routine ends in a pose made for an ending", where, forbids=no_pose))
    weight = POINTS * wishes.weights.music
    if not weight or not marks:
        return Stated(demands=tuple(demands))
    struck = np.concatenate(list(landing.values()))
    worth = Weights(struck, np.repeat([weight * marks[t] for t in landing], [len(arcs) for arcs in landing.values()]))
    return Stated(demands=tuple(demands), terms=(Term(TERM, "Hits: peaks that fall on an accent", worth),))


def breaches(problem: Problem, routine: Routine) -> list[Breach]:
    """Accents no peak falls on, and an end without a pose."""
    wishes, found = problem.brief.wishes, []
    if wishes.hits == "must":
        peaks = {p.start_tick + f.peak_tick for _, p, f in danced(problem, routine) if f.peak_tick is not None}
        where = said(problem, "wishes", "hits")
        found += [
            Breach(_key(tick), f"no figure has its peak on the accent at {moment_text(problem, tick)}",
                   count_of(tick), where)
            for tick in sorted(_hits(problem))
            if tick not in peaks
        ]  # fmt: skip
    if wishes.final_pose and routine.figures:
        last = routine.figures[-1]
        figure = problem.catalogue.figures.get(last.figure)
        if figure is not None and not _ends_well(problem, figure, last.start_tick):
            where = said(problem, "wishes", "final_pose")
            message = f"{figure.chart.name} does not end in a pose held to the last beat"
            found.append(Breach(POSE, message, count_of(last.start_tick), where))
    return found


def softer(problem: Problem, key: str) -> list[Change]:
    """Hits as a preference; an end without a pose."""
    if key == POSE:
        return [Change(key, "end without a pose", ("wishes", "final_pose"), False, 4)]
    return [Change(key, "treat the accents of the music as a preference", ("wishes", "hits"), "prefer", 3)]


def points(problem: Problem, routine: Routine) -> Iterable[Points]:
    """The term ``hits``."""
    weight, marks = POINTS * problem.brief.wishes.weights.music, _hits(problem)
    if not weight or not marks:
        return ()
    given = [0] * len(routine.figures)
    for index, placed, figure in danced(problem, routine):
        if figure.peak_tick is not None:
            given[index] = weight * marks.get(placed.start_tick + figure.peak_tick, 0)
    return (Points(TERM, sum(given), tuple(given)),)


def _hits(problem: Problem) -> dict[int, int]:
    return {} if problem.brief.wishes.hits == "ignore" else hits(problem)


def _key(tick: int) -> str:
    beat, rest = divmod(tick, TICKS_PER_BEAT)
    return f"{NAME}:hit-{beat + 1}" + (f"+{rest}" if rest else "")


def _peak(figure: Figure) -> int:
    return NEVER if figure.peak_tick is None else figure.peak_tick


def _ends_well(problem: Problem, figure: Figure, start: int) -> bool:
    """Whether the figure, begun at ``start`` and last of all, leaves the couple in a pose as the music stops."""
    if "ending" not in figure.chart.good_for:
        return False
    bar = problem.timeline.beats_per_bar * TICKS_PER_BEAT
    return figure.peak_tick is None or start + figure.peak_tick >= problem.length_ticks - bar
