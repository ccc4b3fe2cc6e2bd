"""What returns: a signature figure, sections danced nearly alike, phrases that call and answer.

Asks, each only when wished:

* ``signature: {figure: ..., section: A}``: the figure begins at least once in every section (with that label). One
  demand per section.
* ``varied: 60``: of every section at least so many per cent are danced as in the section before with the same label
  (the same figures on the same counts), the rest may vary; ``alike`` asks for all. One demand per pair.
* ``answer: true``: inside a section phrases come in pairs; the second begins with the figure the first began with, and
  ends with another. One demand per pair.

Source: refrains and question-and-answer phrases as in the music danced to; common practice, no source.

Unknown ``returning:again:<tick>:<figure>`` can be 1 only when the figure begins at the tick and on the same count of
the section before.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from composer.network.model import Network
from composer.network.table import Numbers
from composer.problem import Problem
from composer.routine import Routine
from composer.rules.base import Breach, Change, Demand, Example, Points, Row, Stated, Unknown
from composer.rules.look import alike_row, call, count_of, danced, figure_id, said, together
from composer.rules.weights import Weights
from composer.units import TICKS_PER_BEAT

NAME = "returning"
SAME = {"labels": ["A", "A"]}
SIGNATURE = {"signature": {"figure": "test/side"}}

EXAMPLES = (
    Example("the signature comes in both sections", ("side", "four", "four", "side"), SIGNATURE),
    Example("the second section lacks it", ("side", "side", "four", "four"), SIGNATURE, good=False),
    Example(
        "it is asked for in the B only",
        ("four", "four", "side", "four"),
        {"signature": {"figure": "test/side", "section": "B"}},
    ),
    Example("half of the second A is as before", ("four", "side", "four", "four"), {"varied": 50}, music=SAME),
    Example("a step more is asked", ("four", "side", "four", "four"), {"varied": 51}, music=SAME, good=False),
    Example("a B may be danced otherwise", ("four", "side", "eight"), {"varied": 100}),
    Example(
        "each second phrase begins alike and ends otherwise",
        ("two", "tap", "two", "two", "tap", "two", "tap", "tap"),
        {"answer": True},
    ),
    Example("it begins otherwise", ("two", "tap", "tap", "two", "four", "two", "two"), {"answer": True}, good=False),
    Example("it ends alike", ("four", "four", "two", "tap", "two", "two"), {"answer": True}, good=False),
)

Begins = Mapping[int, Mapping[str, Numbers]]
"""Ids of arcs by tick and figure."""
Pair = tuple[str, int, int, int]
"""(label, tick of a section, tick of the next with that label, ticks both last)."""


def state(problem: Problem, network: Network) -> Stated:
    """Demands of the three wishes."""
    wishes = problem.brief.wishes
    if wishes.signature is None and wishes.varied is None and not wishes.answer:
        return Stated()
    table = network.table
    begins = table.figures_by_start
    demands = [*_signed(problem, begins), *_answered(problem, begins, table.figures_by_end)]
    unknowns: list[Unknown] = []
    ties: list[Row] = []
    demands += _varied(problem, begins, unknowns, ties)
    return Stated(tuple(demands), tuple(unknowns), tuple(ties))


def _signed(problem: Problem, begins: Begins) -> Iterator[Demand]:
    wish = problem.brief.wishes.signature
    if wish is None:
        return
    figure = figure_id(problem, wish.figure)
    for start, end, text in _places(problem):
        own = [arcs[figure] for tick, arcs in begins.items() if start <= tick < end and figure in arcs]
        sentence = f"{call(problem, figure)} returns in {text}"
        where = said(problem, "wishes", "signature")
        yield Demand(_signature_key(start), sentence, where, rows=(Row(Weights(together(own)), least=1),))


def _answered(problem: Problem, begins: Begins, ends: Begins) -> Iterator[Demand]:
    for (start, middle), (again, end) in _calls(problem):
        first, second = begins.get(start, {}), begins.get(again, {})
        rows = [alike_row(first.get(f), second.get(f)) for f in sorted(first.keys() | second.keys())]
        one, other = ends.get(middle, {}), ends.get(end, {})
        rows += [Row(Weights(together([one[f], other[f]])), most=1) for f in sorted(one.keys() & other.keys())]
        sentence = f"The phrase at count {count_of(again)} answers the one at count {count_of(start)}"
        yield Demand(_answer_key(again), sentence, said(problem, "wishes", "answer"), rows=tuple(rows))


def _varied(problem: Problem, begins: Begins, unknowns: list[Unknown], ties: list[Row]) -> Iterator[Demand]:
    share = problem.brief.wishes.varied
    for label, first, second, ticks in _pairs(problem) if share is not None else ():
        worth: dict[int | str, int] = {}
        for offset in range(0, ticks, TICKS_PER_BEAT):
            one, other = begins.get(first + offset, {}), begins.get(second + offset, {})
            for figure in sorted(one.keys() & other.keys()):
                name = f"{NAME}:again:{second + offset}:{figure}"
                unknowns.append(Unknown(name, 0, 1))
                ties += [Row(Weights(own[figure], 1, {name: -1}), least=0) for own in (one, other)]
                worth[name] = 100 * _inside(problem, figure, offset, ticks)
        sentence = (
            f"The {label} at count {count_of(second)} is danced for {share} % as the one at count {count_of(first)}"
        )
        where = said(problem, "wishes", "varied")
        yield Demand(_varied_key(first, second), sentence, where, rows=(Row(worth, least=(share or 0) * ticks),))


def breaches(problem: Problem, routine: Routine) -> list[Breach]:
    """Sections without the signature, too little alike, phrases that do not answer."""
    wishes, found = problem.brief.wishes, []
    begun = {placed.start_tick: placed.figure for _, placed, _ in danced(problem, routine)}
    ended = {placed.end_tick: placed.figure for _, placed, _ in danced(problem, routine)}
    if wishes.signature is not None:
        figure, where = figure_id(problem, wishes.signature.figure), said(problem, "wishes", "signature")
        for start, end, text in _places(problem):
            if not any(start <= tick < end and name == figure for tick, name in begun.items()):
                message = f"{call(problem, figure)} does not come in {text}"
                found.append(Breach(_signature_key(start), message, count_of(start), where))
    for (start, middle), (again, end) in _calls(problem):
        where = said(problem, "wishes", "answer")
        key, count = _answer_key(again), count_of(again)
        if begun.get(start) != begun.get(again):
            found.append(
                Breach(key, f"the phrase does not begin like the one at count {count_of(start)}", count, where)
            )
        elif middle in ended and ended.get(middle) == ended.get(end):
            found.append(Breach(key, f"the phrase ends like the one at count {count_of(start)}", count, where))
    for label, first, second, ticks in _pairs(problem) if wishes.varied is not None else ():
        same = sum(
            _inside(problem, figure, tick - second, ticks)
            for tick, figure in begun.items()
            if second <= tick < second + ticks and begun.get(tick - second + first) == figure
        )
        if 100 * same < (wishes.varied or 0) * ticks:
            message = f"the {label} is danced for {100 * same // ticks} % as before; {wishes.varied} % are wanted"
            where = said(problem, "wishes", "varied")
            found.append(Breach(_varied_key(first, second), message, count_of(second), where))
    return found


def softer(problem: Problem, key: str) -> list[Change]:
    """Ask for less of it, then not at all."""
    wishes = problem.brief.wishes
    kind = key.split(":")[1].split("-")[0]
    if kind == "signature" and wishes.signature is not None:
        return [Change(key, "let the signature figure come where it may", ("wishes", "signature"), None, 4)]
    if kind == "answer":
        return [Change(key, "let phrases follow each other freely", ("wishes", "answer"), False, 4)]
    share = wishes.varied or 0
    less = [
        Change(key, f"let sections be alike for {n} %", ("wishes", "varied"), n, 2) for n in (75, 50, 25) if n < share
    ]
    return [*less[:1], Change(key, "let sections with the same label differ", ("wishes", "varied"), None, 4)]


def points(problem: Problem, routine: Routine) -> Iterable[Points]:
    """No score."""
    return ()


def _places(problem: Problem) -> list[tuple[int, int, str]]:
    """(first tick, end tick, words) of every section the signature is asked for in."""
    wish, base = problem.brief.wishes.signature, problem.timeline.usable[0]
    label = "" if wish is None else wish.section.casefold()
    found = []
    for section in problem.timeline.sections:
        start = (section.start - base) * TICKS_PER_BEAT
        if not label or section.label.casefold() == label:
            name = f"the {section.label}" if section.label else "the section"
            found.append((start, start + section.beats * TICKS_PER_BEAT, f"{name} at count {count_of(start)}"))
    return found


def _calls(problem: Problem) -> list[tuple[tuple[int, int], tuple[int, int]]]:
    """Pairs of phrases (first tick, end tick) of one section, two by two from its start."""
    if not problem.brief.wishes.answer:
        return []
    base, found = problem.timeline.usable[0], []
    for section in problem.timeline.sections:
        inside = [
            ((p.start - base) * TICKS_PER_BEAT, (p.start - base + p.beats) * TICKS_PER_BEAT)
            for p in problem.timeline.phrases
            if section.start <= p.start and p.start + p.beats <= section.start + section.beats
        ]
        found += list(zip(inside[::2], inside[1::2], strict=False))
    return found


def _pairs(problem: Problem) -> list[Pair]:
    base = problem.timeline.usable[0]
    latest: dict[str, tuple[int, int]] = {}
    found = []
    for section in problem.timeline.sections:
        here = ((section.start - base) * TICKS_PER_BEAT, section.beats * TICKS_PER_BEAT)
        if section.label and section.label in latest:
            before = latest[section.label]
            found.append((section.label, before[0], here[0], min(before[1], here[1])))
        if section.label:
            latest[section.label] = here
    return found


def _inside(problem: Problem, figure: str, offset: int, ticks: int) -> int:
    """Ticks of a figure begun at ``offset`` of a section that lie in it."""
    return min(offset + problem.catalogue.figures[figure].length_ticks, ticks) - offset


def _signature_key(start: int) -> str:
    return f"{NAME}:signature-{count_of(start)}"


def _answer_key(start: int) -> str:
    return f"{NAME}:answer-{count_of(start)}"


def _varied_key(first: int, second: int) -> str:
    return f"{NAME}:varied-{count_of(first)}-{count_of(second)}"
