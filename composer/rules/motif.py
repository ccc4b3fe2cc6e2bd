"""The same music is danced the same way: easier to remember, and the audience recognises it.

Asks (only with ``alike``): in sections with the same label the same figures begin on the same counts of the section, as
far as both last. One demand for each section and the next with its label. Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable

from composer.network.model import Network
from composer.problem import Problem
from composer.routine import Routine
from composer.rules.base import Breach, Demand, Example, Points, Row, Stated, Var
from composer.rules.look import call, count_of, said
from composer.units import TICKS_PER_BEAT

NAME = "motif"

SAME = {"labels": ["A", "A"]}

EXAMPLES = (
    Example("the second A is danced like the first", ("four", "side", "four", "side"), {"alike": True}, music=SAME),
    Example("one figure differs", ("four", "side", "four", "four"), {"alike": True}, music=SAME, good=False),
    Example("the order differs", ("four", "side", "side", "four"), {"alike": True}, music=SAME, good=False),
    Example("a B may differ from an A", ("four", "side", "four", "four"), {"alike": True}),
    Example("nobody asked", ("four", "side", "four", "four"), music=SAME),
)


def state(problem: Problem, network: Network) -> Stated:
    """One demand per pair of sections, a row for each figure and count of the section."""
    where, demands = said(problem, "wishes", "alike"), []
    for label, first, second, ticks in _pairs(problem):
        begins: dict[tuple[str, int], dict[Var, int]] = {}
        for arc in network.arcs:
            for start, sign in ((first, 1), (second, -1)):
                if arc.figure and start <= arc.start < start + ticks:
                    begins.setdefault((arc.figure, arc.start - start), {})[arc.id] = sign
        rows = tuple(Row(weights, 0, 0) for _, weights in sorted(begins.items()))
        sentence = f"The {label} sections at counts {count_of(first)} and {count_of(second)} are danced alike"
        demands.append(Demand(_key(first, second), sentence, where, rows=rows))
    return Stated(demands=tuple(demands))


def breaches(problem: Problem, routine: Routine) -> list[Breach]:
    """The first count at which two sections with the same label differ."""
    where, found = said(problem, "wishes", "alike"), []
    for label, first, second, ticks in _pairs(problem):
        one, other = (
            {p.start_tick - start: p.figure for p in routine.figures if start <= p.start_tick < start + ticks}
            for start in (first, second)
        )
        differ = [offset for offset in sorted(one.keys() | other.keys()) if one.get(offset) != other.get(offset)]
        if differ:
            offset = differ[0]
            once = call(problem, one[offset]) if offset in one else "no figure"
            again = call(problem, other[offset]) if offset in other else "no figure"
            message = f"the {label} sections differ: {once} begins at count {count_of(first + offset)}, "
            message += f"{again} at count {count_of(second + offset)}"
            found.append(Breach(_key(first, second), message, count_of(second + offset), where))
    return found


def points(problem: Problem, routine: Routine) -> Iterable[Points]:
    """No score."""
    return ()


def _pairs(problem: Problem) -> list[tuple[str, int, int, int]]:
    """(label, tick of a section, tick of the next with that label, ticks both last); empty unless asked for."""
    if not problem.brief.wishes.alike:
        return []
    first = problem.timeline.usable[0]
    latest: dict[str, tuple[int, int]] = {}
    found = []
    for section in problem.timeline.sections:
        here = ((section.start - first) * TICKS_PER_BEAT, section.beats * TICKS_PER_BEAT)
        if section.label in latest:
            before = latest[section.label]
            found.append((section.label, before[0], here[0], min(before[1], here[1])))
        if section.label:
            latest[section.label] = here
    return found


def _key(first: int, second: int) -> str:
    return f"{NAME}:alike-{count_of(first)}-{count_of(second)}"
