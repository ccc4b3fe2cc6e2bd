"""Music cut to a length that rules ask for, chosen together with the routine that is danced to it.

A cut leaves out whole phrases: some at the beginning, and one run of phrases further on (or none). The end is never
cut, so that the last hit of the music stays the last hit of the dance. Every such cut whose length lies in the window
is a candidate; it is worth the best routine danced to it, less what it does to the music (:data:`SEAM` points for a
seam, :data:`INSIDE` for each edge of it inside a section, :data:`LATE` for a beginning that is not the music's). The
linear relaxation bounds every candidate from above; candidates are then solved from the highest bound down until no
bound is left above the best found, which proves that no other candidate does better. The points are common practice,
no source.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, Final

from composer.errors import BadInput, Diagnostic, Where
from composer.outcome import Found
from composer.problem import Problem
from composer.revise.bounds import bound_of
from composer.routine import Routine
from composer.textfiles import Document
from composer.timeline.leftout import Span, bar_starts, without_bars
from composer.timeline.model import Timeline
from composer.units import TICKS_PER_BEAT

SEAM: Final = 25
INSIDE: Final = 25
LATE: Final = 10
SLACK_S: Final = 0.0005
_WINDOW: Final = re.compile(r"^\s*(?:(\d{1,2}):(\d{2}))?\s*-\s*(?:(\d{1,2}):(\d{2}))?\s*$")


@dataclass(frozen=True)
class Window:
    """Shortest and longest length in seconds, both allowed."""

    least_s: float
    most_s: float


@dataclass(frozen=True)
class Cut:
    """Bars left out, the length that remains, and what the cut costs in points."""

    leave_out: tuple[Span, ...]
    seconds: float
    cost: int


@dataclass(frozen=True)
class Fitted:
    """The best cut with its routine. ``proven``: no other of the ``candidates`` does better.

    ``problem`` is the brief with the bars left out.
    """

    cut: Cut
    problem: Problem
    routine: Routine
    worth: int
    candidates: int
    solved: int
    proven: bool
    routine_proven: bool


@dataclass(frozen=True)
class Unfitted:
    """No cut fits the window (``candidates`` is 0), or none has a routine (``proven``: that is proved)."""

    candidates: int
    proven: bool


def window_from(text: str) -> Window:
    """Read ``1:30-2:00``, ``-4:00`` (at most) or ``1:30-`` (at least).

    Raises
    ------
    BadInput
        ``CMD018`` when it is none.
    """
    match = _WINDOW.match(text)
    numbers = [int(part) if part else None for part in match.groups()] if match else []
    times = [None if a is None or b is None else 60 * a + b for a, b in zip(numbers[::2], numbers[1::2], strict=True)]
    low, high = times if times else (None, None)
    if (low is None and high is None) or (low is not None and high is not None and low > high):
        remedy = "Write it like 1:30-2:00, or -4:00 for at most four minutes."
        raise BadInput(Diagnostic("CMD018", f"--window: '{text}' is not a window of time.", Where(), remedy))
    return Window(float(low or 0), float(high if high is not None else 3600))


def seconds_of(timeline: Timeline) -> float:
    """Length of the danced music."""
    return timeline.seconds_at(timeline.length_ticks) - timeline.seconds_at(0)


def candidates(timeline: Timeline, window: Window) -> list[Cut]:
    """Every cut at phrase boundaries into the window, least costly first, longer first among equals."""
    by_beat = {beat: bar for bar, beat in bar_starts(timeline).items()}
    base = timeline.usable[0]
    marks = [p.start - base for p in timeline.phrases if p.start - base in by_beat]
    sections = {s.start - base for s in timeline.sections} | {timeline.length_beats}
    found: dict[tuple[Span, ...], Cut] = {}
    for begin in marks:
        for gap in marks:
            for after in marks:
                if (gap, after) != (begin, begin) and not begin < gap < after:
                    continue
                spans = [(0, begin)] if begin else []
                spans += [(gap, after)] if gap < after else []
                left = tuple((by_beat[a], by_beat[b] - 1) for a, b in spans)
                kept = seconds_of(timeline) - sum(_seconds(timeline, a, b) for a, b in spans)
                if window.least_s - SLACK_S <= kept <= window.most_s + SLACK_S:
                    cost = LATE + INSIDE * (begin not in sections) if begin else 0
                    if gap < after:
                        cost += SEAM + INSIDE * ((gap not in sections) + (after not in sections))
                    found[left] = Cut(left, kept, cost)
    return sorted(found.values(), key=lambda cut: (cut.cost, -cut.seconds, cut.leave_out))


def fit(
    problem: Problem,
    window: Window,
    *,
    time_limit_s: float = 20.0,
    seed: int = 0,
    heard: Callable[[str], None] | None = None,
) -> Fitted | Unfitted:
    """The best cut into a window, with its best routine.

    Parameters
    ----------
    problem : a brief that leaves out nothing of its music yet.
    time_limit_s : about how long each candidate may take.
    heard : told what is looked at.
    """
    from composer.solve import solve

    tell = heard or (lambda text: None)
    choices = candidates(problem.timeline, window)
    bounded: list[tuple[int, int, Cut, Problem]] = []
    for number, cut in enumerate(choices):
        tell(f"cut {number + 1} of {len(choices)}")
        changed = with_cut(problem, cut)
        bound = bound_of(changed)
        if bound is not None:
            bounded.append((bound - cut.cost, number, cut, changed))
    bounded.sort(key=lambda item: (-item[0], item[1]))
    best: Fitted | None = None
    open_bounds: list[int] = []
    solved = 0
    for bound, _, cut, changed in bounded:
        if best is not None and bound <= best.worth:
            break
        tell(f"composing to {cut_words(cut)}")
        outcome = solve(changed, seed=seed, time_limit_s=time_limit_s)
        solved += 1
        if not isinstance(outcome, Found):
            if type(outcome).__name__ == "Undecided":
                open_bounds.append(bound)
            continue
        worth = outcome.routine.score - cut.cost
        if not outcome.proven_best:
            open_bounds.append(outcome.bound - cut.cost)
        if best is None or worth > best.worth:
            best = Fitted(cut, changed, outcome.routine, worth, len(choices), 0, False, outcome.proven_best)
    if best is None:
        return Unfitted(len(choices), not open_bounds)
    return replace(best, solved=solved, proven=all(bound <= best.worth for bound in open_bounds))


def with_cut(problem: Problem, cut: Cut) -> Problem:
    """The problem with the bars left out of its music and its brief."""
    if not cut.leave_out:
        return problem
    data = brief_with_cut(dict(problem.document.data), cut)
    music = problem.brief.music.model_copy(
        update={"leave_out": tuple(_left_out(first, last) for first, last in cut.leave_out)}
    )
    return replace(
        problem,
        brief=problem.brief.model_copy(update={"music": music}),
        document=Document(problem.document.file, data, problem.document.lines),
        timeline=without_bars(problem.timeline, cut.leave_out),
    )


def brief_with_cut(data: dict[str, Any], cut: Cut) -> dict[str, Any]:
    """A brief's data with the bars left out."""
    spans = [{"first": first, "last": last} for first, last in cut.leave_out]
    return {**data, "music": {**data["music"], "leave_out": spans}}


def _left_out(first: int, last: int) -> Any:
    from composer.brief.schema import LeftOut

    return LeftOut(first=first, last=last)


def _seconds(timeline: Timeline, begin: int, end: int) -> float:
    return timeline.seconds_at(end * TICKS_PER_BEAT) - timeline.seconds_at(begin * TICKS_PER_BEAT)


def clock_words(seconds: float) -> str:
    """``1:58.5``."""
    tenths = round(seconds * 10)
    whole, rest = divmod(tenths, 10)
    return f"{whole // 60}:{whole % 60:02d}" + (f".{rest}" if rest else "")


def cut_words(cut: Cut) -> str:
    """The cut in words."""
    out = " and ".join(f"bars {first} to {last}" for first, last in cut.leave_out)
    return f"{clock_words(cut.seconds)} of music" + (f" without {out}" if out else "")
