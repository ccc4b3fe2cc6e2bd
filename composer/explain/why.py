"""Why a brief has no routine: the clashes, what lies behind them, and the smallest changes that help.

Everything said is either a finished proof or marked as open: :class:`~composer.outcome.NoRoutine` is only returned
when it is proved that no routine exists.
"""

from __future__ import annotations

import time
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final

from composer.explain.clashes import Core, enumerate_clashes
from composer.explain.combined import ladders_of
from composer.explain.degrees import Rung
from composer.explain.oracle import Budget, Oracle
from composer.explain.reasons import lengths_worth_trying, reasons_for
from composer.explain.remedies import MOST_SHOWN, remedies
from composer.explain.trying import Search
from composer.outcome import Clash, ClashMember, NoRoutine
from composer.problem import Problem

CLASHES_SHOWN: Final = 3
CLASHES_SOUGHT: Final = 6
CORRECTIONS_SOUGHT: Final = 8
CLASH_SHARE: Final = 0.6
"""The clashes may use this part of the time; the rest is for remedies."""
IDEAS: Final = 3
ENOUGH: Final = 2
GROUPS: Final = (
    ("the floor", ("room", "line_of_dance")),
    ("how often and how many different figures come", ("repeats", "variety")),
    ("what has to be danced and the accents", ("must_never", "accents")),
)
"""Wishes left out together when the whole stays undecided: those that make a search long."""


@dataclass(frozen=True)
class Possible:
    """There is a routine: nothing to explain."""


@dataclass(frozen=True)
class Open:
    """Neither a routine nor a proof: what is known all the same, and what to try."""

    seconds: float
    known: tuple[str, ...]
    try_next: tuple[str, ...]


Why = NoRoutine | Possible | Open


def why(problem: Problem, *, time_limit_s: float = 20.0, seed: int = 0) -> Why:
    """Whether a routine exists, and if not, why and what would help.

    Parameters
    ----------
    time_limit_s : about how long to look, in seconds of an idle machine; remedies get what the clashes leave.
    """
    began = time.monotonic()
    oracle = Oracle.of(problem, Budget.of(time_limit_s, seed=seed))
    everything = oracle.possible(oracle.wishes)
    if everything:
        return Possible()
    if everything is None:
        return Open(time.monotonic() - began, *_what_is_known(oracle))
    return explained(oracle)


def explain(problem: Problem, *, time_limit_s: float = 20.0, seed: int = 0) -> NoRoutine:
    """Clashes and remedies of a problem that is already proved to have no routine."""
    oracle = Oracle.of(problem, Budget.of(time_limit_s, seed=seed))
    oracle.refused.append(frozenset(oracle.wishes))
    return explained(oracle)


def explained(oracle: Oracle) -> NoRoutine:
    """The same for an oracle that knows that its wishes cannot all hold."""
    if oracle.possible(()) is False:
        return _laws_alone(oracle)
    with oracle.budget.part(CLASH_SHARE):
        found = enumerate_clashes(oracle, most=CLASHES_SOUGHT, most_corrections=CORRECTIONS_SOUGHT)
    shown = _different(oracle, found.clashes)
    clashes = told_clashes(oracle, shown)
    bars = sorted({n for core in shown for n in lengths_worth_trying(oracle, core.keys)})
    helps = remedies(oracle, found.corrections, [core.keys for core in found.clashes], lengths=bars)
    return NoRoutine(clashes, helps[:MOST_SHOWN])


def _laws_alone(oracle: Oracle) -> NoRoutine:
    """Not even without any wish: the music and the figures do not fit."""
    problem = oracle.problem
    music = oracle.stock.parts["length:fills"].demand if "length:fills" in oracle.stock.parts else None
    members = () if music is None else (ClashMember(music.key, music.sentence, music.where),)
    clash = Clash(members, True, reasons_for(oracle, frozenset()))
    bars = lengths_worth_trying(oracle, frozenset())
    return replace(NoRoutine((clash,)), remedies=remedies(oracle, (), lengths=bars) if problem.length_ticks else ())


def told_clashes(oracle: Oracle, cores: Iterable[Core]) -> tuple[Clash, ...]:
    """Clashes with the sentences of their wishes and what lies behind them."""
    return tuple(_told(oracle, core) for core in cores)


def _told(oracle: Oracle, core: Core) -> Clash:
    members = []
    for key in oracle.wishes:
        if key in core.keys:
            demand = oracle.stock.parts[key].demand
            members.append(ClashMember(key, demand.sentence, demand.where))
    return Clash(tuple(members), core.minimal, reasons_for(oracle, core.keys))


def _different(oracle: Oracle, cores: list[Core]) -> list[Core]:
    """Clashes that say something of their own: not the same lines of the brief twice, the shortest first."""
    shown: list[Core] = []
    told: list[frozenset[object]] = []
    for core in sorted(cores, key=lambda c: (len(c.keys), [oracle.wishes.index(k) for k in sorted(c.keys)])):
        lines = frozenset((key.split(":")[0], oracle.stock.parts[key].demand.where) for key in core.keys)
        if lines not in told and len(shown) < CLASHES_SHOWN:
            told.append(lines)
            shown.append(core)
    return shown


def _what_is_known(oracle: Oracle) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Findings that stand although the whole stayed open: each is a routine found or a proof finished."""
    known, ideas = [], []
    oracle.budget.work = max(oracle.budget.work, 4.0)
    oracle.budget.ends_at = max(oracle.budget.ends_at, time.monotonic() + 10)
    free = oracle.possible(())
    if free is not None:
        known.append(f"without any of the wishes there is {'a' if free else 'no'} routine")
    costly: list[str] = []
    for words, families in GROUPS:
        own = [key for key in oracle.wishes if key.split(":")[0] in families]
        rest = [key for key in oracle.wishes if key not in own]
        if own and oracle.budget.left and oracle.possible(rest):
            known.append(f"with everything but {words} there is a routine")
            costly += own
            ideas.append(f"ask for less about {words}")
    for key in sorted(oracle.wishes, key=lambda key: -len(oracle.stock.parts[key].rows.least)):
        rest = [other for other in oracle.wishes if other != key]
        if len(ideas) < IDEAS and oracle.budget.left and oracle.possible(rest):
            demand = oracle.stock.parts[key].demand
            known.append(f"with everything but this there is a routine: {demand.sentence}")
            costly.append(key)
            ideas.append(f"soften this wish: {demand.sentence}")
    checked = [f"{rung.sentence}: then there is a routine (tried and checked)" for rung in _enough(oracle, costly)]
    return tuple(known), (*checked, *ideas[: IDEAS - len(checked)], "give more time with --time-limit")


def _enough(oracle: Oracle, keys: Iterable[str]) -> list[Rung]:
    """Up to two changes to these wishes with which a routine was found; nothing is said of milder ones."""
    search = Search(oracle)
    oracle.budget.work = max(oracle.budget.work, 3.0)
    oracle.budget.ends_at = max(oracle.budget.ends_at, time.monotonic() + 10)
    found: list[Rung] = []
    for ladder in ladders_of(oracle.problem, dict.fromkeys(keys)):
        middle, last = ladder.rungs[len(ladder.rungs) // 4], ladder.rungs[-1]
        for rung in dict.fromkeys((middle, last)):
            if len(found) < ENOUGH and oracle.budget.left and search.tried(rung).routine is not None:
                found.append(rung)
                break
    return sorted(found, key=lambda rung: rung.cost)
