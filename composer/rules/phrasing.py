"""Figures and the phrases of the music: protected boundaries are never danced across; phrase starts are preferred.

Asks: no figure may run across the beginning of a section (default) or of any phrase; the user may protect nothing.
One demand per boundary, so that a clash can point at the bar where it pinches.
Score ``music``: 4 points times the weight ``music`` for a figure that begins on a phrase or section start, less 2
times the weight for every such start it runs across. Six-count figures run across smaller groups, as dancers do.
Source: phrase and section lengths as dance musicians count them (tests/facts/phrasing.csv); protecting sections and
preferring phrase starts is common practice, no source.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable

from composer.network.model import Network
from composer.problem import Problem
from composer.routine import Routine
from composer.rules.base import Breach, Change, Demand, Example, Points, Stated, Term
from composer.rules.look import count_of, danced, each, moment_text, phrase_starts, said, section_starts
from composer.rules.weights import nonzero

NAME = "phrasing"
TERM = "music"
START_POINTS, ACROSS_POINTS = 4, -2

EXAMPLES = (
    Example("a figure may end exactly where the section begins", ("four", "four", "eight")),
    Example("no figure runs across the new section", ("six", "six", "four"), good=False),
    Example("inside a section phrases may be crossed", ("six", "two", "eight")),
    Example("unless phrases are protected", ("six", "two", "four", "four"), wishes={"protect": "phrases"}, good=False),
    Example("protected phrases are filled", ("four", "two", "two", "four", "four"), wishes={"protect": "phrases"}),
    Example("nothing is protected", ("six", "six", "four"), wishes={"protect": "nothing"}),
)


def state(problem: Problem, network: Network) -> Stated:
    """One demand per protected boundary, and the term ``music``."""
    protected = _protected(problem)
    starts, weight = _starts(problem), problem.brief.wishes.weights.music
    own = network.table.danced
    begin, end = network.table.start[own], network.table.end[own]
    across = {tick: own[(begin < tick) & (end > tick)] for tick in protected}
    points_of = nonzero(own, each(lambda start, stop: weight * _worth(starts, start, stop), begin, end))
    where = said(problem, "wishes", "protect")
    demands = tuple(
        Demand(_key(tick), _sentence(problem, tick, where is None), where, forbids=frozenset(arcs.tolist()))
        for tick, arcs in across.items()
    )
    terms = (Term(TERM, _term_sentence(), points_of),) if weight else ()
    return Stated(demands=demands, terms=terms)


def breaches(problem: Problem, routine: Routine) -> list[Breach]:
    """One breach for every figure and every protected boundary inside it."""
    where = said(problem, "wishes", "protect")
    return [
        Breach(
            _key(tick),
            f"{figure.chart.name} runs across {_what(problem, tick)}; a figure should begin there",
            count=count_of(placed.start_tick),
            where=where,
        )
        for _, placed, figure in danced(problem, routine)
        for tick in _protected(problem)
        if placed.start_tick < tick < placed.end_tick
    ]


def softer(problem: Problem, key: str) -> list[Change]:
    """Protect sections only, or nothing."""
    protect, path = problem.brief.wishes.protect, ("wishes", "protect")
    found = [Change(key, "let figures run across the beginnings of sections too", path, "nothing", 5)]
    if protect == "phrases":
        found.append(Change(key, "let figures run across phrases, though not sections", path, "sections", 2))
    return found


def points(problem: Problem, routine: Routine) -> Iterable[Points]:
    """The term ``music``."""
    weight = problem.brief.wishes.weights.music
    if not weight:
        return ()
    marks = set(phrase_starts(problem)) | set(section_starts(problem))
    given = [0] * len(routine.figures)
    for index, placed, _ in danced(problem, routine):
        begins = START_POINTS if placed.start_tick in marks else 0
        crossed = sum(1 for tick in marks if placed.start_tick < tick < placed.end_tick)
        given[index] = weight * (begins + ACROSS_POINTS * crossed)
    return (Points(TERM, sum(given), tuple(given)),)


def _term_sentence() -> str:
    return "Music: figures that begin with a phrase, less figures that run across the beginning of one"


def _starts(problem: Problem) -> list[int]:
    return sorted({*phrase_starts(problem), *section_starts(problem)})


def _worth(starts: list[int], start: int, end: int) -> int:
    first = bisect_left(starts, start)
    begins = START_POINTS if first < len(starts) and starts[first] == start else 0
    return begins + ACROSS_POINTS * max(0, bisect_left(starts, end) - bisect_right(starts, start))


def _protected(problem: Problem) -> list[int]:
    """Ticks inside the routine that no figure may run across."""
    kind = problem.brief.wishes.protect
    marks: set[int] = set()
    if kind in {"sections", "phrases"}:
        marks |= set(section_starts(problem))
    if kind == "phrases":
        marks |= set(phrase_starts(problem))
    return sorted(tick for tick in marks if 0 < tick < problem.length_ticks)


def _key(tick: int) -> str:
    return f"{NAME}:across-{count_of(tick)}"


def _what(problem: Problem, tick: int) -> str:
    kind = "section" if tick in section_starts(problem) else "phrase"
    return f"the beginning of a {kind} at {moment_text(problem, tick)}"


def _sentence(problem: Problem, tick: int, default: bool) -> str:
    end = " (the usual rule; say 'protect: nothing' to lift it)" if default else ""
    return f"No figure runs across {_what(problem, tick)}{end}"
