"""The same music is danced the same way: easier to remember, and the audience recognises it.

Asks (only with ``alike``): in sections with the same label the same figures begin on the same counts of the section, as
far as both last. One demand for each section and the next with its label.
Score ``memory`` (weight 0 unless the brief raises it): 4 points times the weight for every figure that begins on the
same count of a section as it did in the section before with that label. Source: common practice, no source.

Unknown ``motif:again:<tick>:<figure>`` can be 1 only when the figure begins at the tick and on the same count of the
section before; the score pulls it up.
"""

from __future__ import annotations

from collections.abc import Iterable

from composer.network.model import Network
from composer.problem import Problem
from composer.routine import Routine
from composer.rules.base import Breach, Change, Demand, Example, Points, Row, Stated, Term, Unknown
from composer.rules.look import alike_row, call, count_of, danced, said
from composer.rules.weights import Weights
from composer.units import TICKS_PER_BEAT

NAME = "motif"
TERM = "memory"
POINTS = 4

SAME = {"labels": ["A", "A"]}

EXAMPLES = (
    Example("the second A is danced like the first", ("four", "side", "four", "side"), {"alike": True}, music=SAME),
    Example("one figure differs", ("four", "side", "four", "four"), {"alike": True}, music=SAME, good=False),
    Example("the order differs", ("four", "side", "side", "four"), {"alike": True}, music=SAME, good=False),
    Example("a B may differ from an A", ("four", "side", "four", "four"), {"alike": True}),
    Example("nobody asked", ("four", "side", "four", "four"), music=SAME),
)


def state(problem: Problem, network: Network) -> Stated:
    """One demand per pair of sections, a row for each figure and count of the section; the term ``memory``."""
    alike, weight = problem.brief.wishes.alike, POINTS * problem.brief.wishes.weights.memory
    pairs = _pairs(problem) if alike or weight else []
    if not pairs:
        return Stated()
    begins = network.table.figures_by_start
    demands, unknowns, ties = [], [], []
    for label, first, second, ticks in pairs:
        rows = []
        for offset in range(0, ticks, TICKS_PER_BEAT):
            one, other = begins.get(first + offset, {}), begins.get(second + offset, {})
            if alike:
                rows += [alike_row(one.get(figure), other.get(figure)) for figure in sorted(one.keys() | other.keys())]
            for figure in sorted(one.keys() & other.keys()) if weight else ():
                name = f"{NAME}:again:{second + offset}:{figure}"
                unknowns.append(Unknown(name, 0, 1))
                ties += [Row(Weights(own[figure], 1, {name: -1}), least=0) for own in (one, other)]
        if alike:
            sentence = f"The {label} sections at counts {count_of(first)} and {count_of(second)} are danced alike"
            demands.append(Demand(_key(first, second), sentence, said(problem, "wishes", "alike"), rows=tuple(rows)))
    term = Term(
        TERM, "Memory: figures that come where the same music had them before", {u.name: weight for u in unknowns}
    )
    return Stated(tuple(demands), tuple(unknowns), tuple(ties), (term,) if weight else ())


def breaches(problem: Problem, routine: Routine) -> list[Breach]:
    """The first count at which two sections with the same label differ."""
    where, found = said(problem, "wishes", "alike"), []
    for label, first, second, ticks in _pairs(problem) if problem.brief.wishes.alike else []:
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


def softer(problem: Problem, key: str) -> list[Change]:
    """Let sections differ."""
    return [Change(key, "let sections with the same label differ", ("wishes", "alike"), False, 4)]


def points(problem: Problem, routine: Routine) -> Iterable[Points]:
    """The term ``memory``, given where a figure comes again."""
    weight, pairs = POINTS * problem.brief.wishes.weights.memory, _pairs(problem)
    if not weight or not pairs:
        return ()
    begun = {placed.start_tick: placed.figure for _, placed, _ in danced(problem, routine)}
    given = [0] * len(routine.figures)
    for index, placed, _ in danced(problem, routine):
        at = placed.start_tick
        before = (at - second + first for _, first, second, ticks in pairs if second <= at < second + ticks)
        given[index] = weight * sum(begun.get(tick) == placed.figure for tick in before)
    return (Points(TERM, sum(given), tuple(given)),)


def _pairs(problem: Problem) -> list[tuple[str, int, int, int]]:
    """(label, tick of a section, tick of the next with that label, ticks both last)."""
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
