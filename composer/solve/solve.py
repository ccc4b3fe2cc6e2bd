"""Problem in, outcome out: network, rules, decision, and the routine or the clash.

``time_limit_s`` is turned into deterministic work (``WORK_PER_SECOND``), so that a busy machine gives the same
answer as an idle one; the wall clock is a net at ``WALL_FACTOR`` times the limit.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from typing import Final

from composer.network import build
from composer.network.model import Network
from composer.outcome import Found, NoRoutine, Outcome, Undecided
from composer.problem import Problem
from composer.rules.base import Stated
from composer.solve.cpsat import Answer, Limits
from composer.solve.decide import Effort, decide
from composer.solve.early import early
from composer.solve.linear import linear_from
from composer.solve.read import Judges, routine_from
from composer.solve.shortcuts import aligned, by_shortcuts

WORK_PER_SECOND: Final = 1.0
WALL_LEAST_S: Final = 30.0
WALL_FACTOR: Final = 10.0
"""High, so that a busy machine does not change the answer: at a factor of four it did, with three programs a core."""

Progress = Callable[[int | None, int | None], None]


def limits_for(time_limit_s: float, seed: int = 0) -> Limits:
    """How long an engine may run for about so many seconds of an idle machine."""
    return Limits(work=time_limit_s * WORK_PER_SECOND, wall_s=max(WALL_LEAST_S, time_limit_s * WALL_FACTOR), seed=seed)


def solve(
    problem: Problem,
    *,
    seed: int = 0,
    time_limit_s: float = 20.0,
    progress: Progress | None = None,
    effort: Effort | None = None,
) -> Outcome:
    """The best routine of a problem, proved; or the proof that there is none; or what is known.

    Parameters
    ----------
    seed : another seed may give another routine of the same score.
    time_limit_s : about how long to look, in seconds of an idle machine.
    progress : hears (best score so far or None, proven bound or None); what it raises stops the work and is passed on.
    effort : is told what was done.

    Raises
    ------
    composer.solve.read.Mismatch
        If the rules' rows and their checker disagree (a fault of this program).
    """
    from composer.rules import breaches_of, points_of, state_all

    if progress is not None:
        progress(None, None)
    network, judges = build(problem), Judges(breaches_of, points_of)
    known = early(problem, network, state_all, judges)
    if known is not None and progress is not None:
        progress(known.score, None)
    limits = limits_for(time_limit_s, seed)
    return solve_stated(problem, network, state_all(problem, network), judges, limits, progress, effort, known)


def solve_stated(
    problem: Problem,
    network: Network,
    stated: Stated,
    judges: Judges,
    limits: Limits,
    progress: Progress | None = None,
    effort: Effort | None = None,
    known: Answer | None = None,
) -> Outcome:
    """Like :func:`solve`, with the rules given (tests state their own) and perhaps a routine already in hand."""
    began = time.monotonic()
    limits = replace(limits, deadline=min(limits.deadline, began + limits.wall_s))
    if progress is not None:
        progress(None, None)
    short = aligned(stated)
    if short is not None:
        answer, stated = by_shortcuts(network, short, limits, progress, effort, known)
    else:
        linear, stated = linear_from(network, stated), stated.words  # of large networks two copies are too much
        answer = decide(linear, limits, progress, effort, network, known)
    if answer.verdict == "none":
        return NoRoutine(())  # why is composer.explain's business
    if answer.verdict == "unknown":
        return Undecided(time.monotonic() - began, None, answer.bound)
    routine = replace(routine_from(problem, network, stated, answer, judges), seed=limits.seed)
    bound = routine.score if answer.bound is None else answer.bound
    return Found(routine, answer.verdict == "best", bound)
