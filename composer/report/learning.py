"""The learning plan: which figures are new to whom, in which order, practice chunks, sessions until a date.

Order: prerequisites first, then as the routine needs them, easier ones first inside a chunk. A chunk begins and ends
where a couple can simply pick up: on the first beat of a bar, in a hold that is taken without untangling arms.
Minutes are a rule of thumb for planning (common practice, no source): a base per figure, more per level and count,
less for what a dancer already knows.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Final, Literal

from composer.brief.leading import OtherRole
from composer.brief.schema import Dancer
from composer.catalogue.model import Figure
from composer.problem import Problem
from composer.report.model import FigureLine
from composer.report.overview import partner_names
from composer.report.planning import Chunk, Learn, LearningPlan, Part, Session
from composer.units import TICKS_PER_BEAT

Knowledge = Literal["known", "to refresh", "new"]
SIMPLE_LIES: Final = frozenset({"frame", "open", "free"})
LEAST_CHUNK, MOST_CHUNK = 8, 40
_SHARE: Final[dict[Knowledge, float]] = {"known": 0.25, "to refresh": 0.6, "new": 1.0}
WARM_UP, RUN_THROUGH = 5, 10


@dataclass(frozen=True)
class Sessions:
    """How the couple practises: minutes and sessions a week; dates only when they are given."""

    minutes: int = 45
    per_week: int = 2
    first: date | None = None
    until: date | None = None


def learning_plan(problem: Problem, lines: tuple[FigureLine, ...], sessions: Sessions | None = None) -> LearningPlan:
    """The plan for a routine's figures.

    Raises
    ------
    ValueError
        For sessions shorter than 15 minutes, none a week, or a last day before the first.
    """
    how = sessions or Sessions()
    if how.minutes < 15 or not 1 <= how.per_week <= 14:
        raise ValueError("sessions last at least 15 minutes and there are 1 to 14 a week")
    if how.first and how.until and how.until < how.first:
        raise ValueError("the last day of practice comes before the first")
    chunks = chunks_of(problem, lines)
    figures = _order(problem, lines, chunks)
    names = partner_names(problem, both_lead=problem.both_lead)
    planned = _sessions(figures, chunks, how, names if problem.both_lead else ("leader", "follower"))
    dated, note = _dated(planned, how)
    return LearningPlan(figures, chunks, dated, note, partner_names(problem, both_lead=problem.both_lead))


def knowledge(dancer: Dancer | OtherRole, figure: Figure) -> Knowledge:
    """What a dancer knows of a figure: listed or below their level, at it, or above it (or listed as not yet)."""
    names = {figure.id, figure.id.split("/")[-1]}
    if names & set(dancer.not_yet):
        return "new"
    if names & set(dancer.knows) or figure.chart.level < dancer.level:
        return "known"
    return "to refresh" if figure.chart.level == dancer.level and dancer.level > 1 else "new"


def chunks_of(problem: Problem, lines: tuple[FigureLine, ...]) -> tuple[Chunk, ...]:
    """Practice chunks; together they hold every figure once, in order."""
    holds, figures = problem.catalogue.holds, problem.catalogue.figures
    starts: list[int] = []
    for index, line in enumerate(lines):
        entry = figures[line.id].chart.entry.hold
        beat = line.start_tick // TICKS_PER_BEAT
        # A routine written by hand may run on after the music; there is no bar there to begin on.
        on_one = beat < len(problem.timeline.beats) and problem.timeline.beats[beat].in_bar == 1
        simple = holds[entry].lie in SIMPLE_LIES
        since = line.start_tick - lines[starts[-1]].start_tick if starts else 0
        left = lines[-1].end_tick - line.start_tick
        counts, rest = since // TICKS_PER_BEAT, left // TICKS_PER_BEAT
        new_phrase = any(p.start * TICKS_PER_BEAT == line.start_tick for p in problem.timeline.phrases)
        due = counts >= MOST_CHUNK or (new_phrase and counts >= LEAST_CHUNK) or counts >= 24
        if not starts or (on_one and simple and due and rest >= LEAST_CHUNK):
            starts.append(index)
    found: list[Chunk] = []
    for number, (first, last) in enumerate(zip(starts, [*starts[1:], len(lines)], strict=True), 1):
        a, b = lines[first], lines[last - 1]
        counts_text = f"{a.counts.split('–')[0]}–{b.counts.split('–')[-1]}"
        found.append(Chunk(number, a.number, b.number, counts_text, a.entry.hold, b.exit.hold, a.clock))
    return tuple(found)


def _resolve(name: str, dance: str, figures: Mapping[str, Figure]) -> Figure | None:
    return figures.get(name) or figures.get(f"{dance}/{name}")


def _order(problem: Problem, lines: tuple[FigureLine, ...], chunks: tuple[Chunk, ...]) -> tuple[Learn, ...]:
    figures = problem.catalogue.figures
    first: dict[str, FigureLine] = {}
    for line in lines:
        first.setdefault(line.id, line)
    led = {i: tuple(sorted({line.swapped for line in lines if line.id == i})) for i in first}
    chunk_of = {n: c.number for c in chunks for n in range(c.first, c.last + 1)}
    wanted = sorted(first, key=lambda i: (chunk_of[first[i].number], figures[i].chart.level, first[i].number))
    done: dict[str, Learn] = {}
    for identity in wanted:
        _learn(identity, problem, first, led, chunk_of, done, ())
    return tuple(done.values())


def _learn(
    identity: str,
    problem: Problem,
    first: Mapping[str, FigureLine],
    led: Mapping[str, tuple[bool, ...]],
    chunk_of: Mapping[int, int],
    done: dict[str, Learn],
    above: tuple[str, ...],
) -> None:
    """Put a figure, and before it what it needs, into the order (a circle of needs is cut where it closes)."""
    if identity in done or identity in above:
        return
    figures, couple = problem.catalogue.figures, problem.brief.couple
    figure = figures[identity]
    needed = [f for name in figure.chart.needs if (f := _resolve(name, figure.chart.dance, figures)) is not None]
    ways = led.get(identity) or (False,)
    lead, follow = (_worst(dancer, figure, ways) for dancer in (couple.leader, couple.follower))
    for other in needed:
        both_know = all(_worst(dancer, other, ways) == "known" for dancer in (couple.leader, couple.follower))
        if other.id in first or (not both_know and "new" in {lead, follow}):
            _learn(other.id, problem, first, led, chunk_of, done, (*above, identity))
    line = first.get(identity)
    base = 3 + figure.chart.level * 2 + figure.chart.beats / 3
    minutes = max(2, round(base * max(_SHARE[lead], _SHARE[follow])))
    done[identity] = Learn(
        order=len(done) + 1,
        id=identity,
        name=figure.chart.name,
        level=figure.chart.level,
        leader=_in_words(couple.leader, figure, "leader", ways) if problem.both_lead else lead,
        follower=_in_words(couple.follower, figure, "follower", ways) if problem.both_lead else follow,
        needs=tuple(f.chart.name for f in needed),
        needed_by=figures[above[-1]].chart.name if above else "",
        begins_in=problem.catalogue.holds[figure.chart.entry.hold].name,
        chunk=None if line is None else chunk_of[line.number],
        minutes=minutes,
    )


def _worst(dancer: Dancer, figure: Figure, ways: tuple[bool, ...]) -> Knowledge:
    """What a partner knows of a figure in the role known least of those danced."""
    return max((knowledge(dancer.learned(swapped=swapped), figure) for swapped in ways), key=list(_SHARE).index)


def _in_words(dancer: Dancer, figure: Figure, partner: str, ways: tuple[bool, ...]) -> str:
    """``leads: known``, and where both lead the figure also ``follows: new``."""
    told = []
    for swapped in ways:
        verb = "leads" if (partner == "leader") != swapped else "follows"
        told.append(f"{verb}: {knowledge(dancer.learned(swapped=swapped), figure)}")
    return ", ".join(told)


def _sessions(
    figures: tuple[Learn, ...], chunks: tuple[Chunk, ...], how: Sessions, names: tuple[str, str]
) -> tuple[Session, ...]:
    """Fill sessions with the work in order; a part is never longer than a session."""
    work: list[Part] = []
    last_chunk = 0
    for index, item in enumerate(figures):
        work.append(Part(_lesson(item, names), item.minutes))
        following = figures[index + 1 :]
        ready = [c for c in chunks if c.number > last_chunk and not any(f.chunk == c.number for f in following)]
        for c in ready:
            if c.number != last_chunk + 1:
                break
            words = f"Chunk {c.number}, counts {c.counts}: walk it, then count it, then slowly with music"
            work.append(Part(words, 6))
            if c.number > 1:
                work.append(Part(f"Join chunks {c.number - 1} and {c.number}", 5))
            last_chunk = c.number
    work.append(
        Part("The whole routine: slowly, then at full tempo, once each for corners and for showing", RUN_THROUGH)
    )
    sessions: list[list[Part]] = [[]]
    for part in work:
        piece = replace(part, minutes=min(part.minutes, how.minutes - WARM_UP))
        if sum(p.minutes for p in sessions[-1]) + piece.minutes > how.minutes - WARM_UP:
            sessions.append([])
        sessions[-1].append(piece)
    return tuple(
        Session(
            n, None, (Part("Warm up; dance what the last session ended with" if n > 1 else "Warm up", WARM_UP), *parts)
        )
        for n, parts in enumerate(sessions, 1)
    )


def _lesson(item: Learn, names: tuple[str, str]) -> str:
    if item.leader == item.follower:
        who = f"{item.leader} to both" if item.leader == "new" else f"both: {item.leader}"
    else:
        who = f"{names[0]}: {item.leader}, {names[1]}: {item.follower}"
    aim = "" if item.chunk is not None else f" (not in the routine; it prepares {item.needed_by})"
    return f"{item.name} ({who}){aim}: position, leader's steps, follower's steps, then together"


def _dated(planned: tuple[Session, ...], how: Sessions) -> tuple[tuple[Session, ...], str]:
    """Give sessions their days, evenly from the first day on; runs-through fill what time is left."""
    need = len(planned)
    if how.until is None:
        weeks = -(-need // how.per_week)
        return planned, f"{need} sessions of {how.minutes} minutes, about {weeks} weeks at {how.per_week} a week."
    first = how.first or how.until - timedelta(days=-(-7 * need // how.per_week))
    days = (how.until - first).days
    room = max(1, days * how.per_week // 7)
    sessions = list(planned)
    while len(sessions) < room:
        parts = (
            Part("Warm up", WARM_UP),
            Part("The whole routine, three times; repair what stumbles", how.minutes - WARM_UP),
        )
        sessions.append(Session(len(sessions) + 1, None, parts))
    note = f"{len(sessions)} sessions of {how.minutes} minutes from {first.isoformat()} to {how.until.isoformat()}."
    if need > room:
        note += (
            f" The work fills {need} sessions, but at {how.per_week} a week there is only time for {room}: "
            "practise more often or longer, or begin sooner."
        )
    gap = days / len(sessions)
    dated = [replace(s, day=first + timedelta(days=int(i * gap))) for i, s in enumerate(sessions)]
    return tuple(dated), note
