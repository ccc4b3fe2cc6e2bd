"""Change one thing, keep the rest: the new routine differs least from the old one, and its history is kept.

The steps: open the routine with its brief and versions; add the asks (or take some back); when the wishes are then
those of an earlier version, that version's routine returns; when the old routine meets them, it stays; else the
routine that keeps most of the old one is searched for and proved. It is verified before it is shown or kept.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from composer.compose import InternalFault
from composer.outcome import NoRoutine, Undecided
from composer.problem import Problem
from composer.revise.asks import Ask, without
from composer.revise.difference import Difference, difference
from composer.revise.kept import Counts, Piece, keeping, kept_worth
from composer.revise.leastchange import Least, least_change
from composer.revise.moved import joined, pieces_between
from composer.revise.opened import Opened, problem_after
from composer.revise.places import Stays, extra_demands, staying
from composer.revise.scored import scored
from composer.routine import Routine
from composer.rules.base import Breach
from composer.versions import Version, record_of, routine_from_record, save_version

How = Literal["unchanged", "fits already", "earlier version", "revised"]


@dataclass(frozen=True)
class Request:
    """What is asked: new asks, texts of asks to take back, counts that stay, counts practised.

    ``repair``: a routine that breaks something may be changed although nothing else is asked.
    """

    asks: tuple[Ask, ...] = ()
    take_back: tuple[str, ...] = ()
    keep: tuple[Counts, ...] = ()
    practised: tuple[Counts, ...] = ()
    repair: bool = False


@dataclass(frozen=True)
class Revised:
    """What came of a revision.

    ``least_proven``: no routine that meets the wishes keeps more (weighted) counts; ``best_proven``: none of those
    that keep as much scores more. ``breaches`` are those of the old routine under the new wishes. ``version`` is the
    number under which the result is kept, None when nothing new was kept.
    """

    how: How
    opened: Opened
    problem: Problem
    routine: Routine
    difference: Difference
    kept: int
    could_keep: int
    least_proven: bool
    best_proven: bool
    breaches: tuple[Breach, ...]
    notes: tuple[str, ...]
    asks: tuple[Ask, ...]
    practised: tuple[Counts, ...]
    pieces: tuple[Piece, ...] = ()
    version: int | None = None


@dataclass(frozen=True)
class Faulty:
    """The old routine breaks something and nobody asked for a repair."""

    opened: Opened
    breaches: tuple[Breach, ...]


@dataclass(frozen=True)
class Failed:
    """No such routine (proved), or none found in time."""

    opened: Opened
    outcome: NoRoutine | Undecided
    notes: tuple[str, ...] = ()


def revise(
    opened: Opened,
    request: Request,
    *,
    time_limit_s: float = 20.0,
    seed: int = 0,
    progress: Callable[[int | None, int | None], None] | None = None,
) -> Revised | Faulty | Failed:
    """The routine that answers the request and differs least from the opened one. Writes nothing.

    Raises
    ------
    BadInput
        When the changed brief cannot be used, or an ask to take back was never made.
    InternalFault
        When the routine found fails its check (a fault of this program).
    """
    from composer.verify import verify

    asks = opened.asks
    for text in request.take_back:
        asks, _ = without(asks, text)
    asks = _added(asks, request.asks)
    practised = tuple(dict.fromkeys((*opened.practised, *request.practised)))
    problem, brief = problem_after(opened.base, asks)
    pieces = joined(pieces_between(
        opened.problem.timeline, problem.timeline, opened.problem.brief.music, problem.brief.music
    ))  # fmt: skip
    old = opened.routine
    kept = keeping(old, problem.length_ticks, pieces, practised)
    stays = staying(old, request.keep, pieces, problem)
    state = extra_demands(stays, asks)
    judge = _judge(stays, asks)
    breaches = (*verify(problem, old), *judge(old)) if not pieces else ()
    nothing_asked = asks == opened.asks

    def result(how: How, routine: Routine, least: bool, best: bool) -> Revised:
        total, _ = kept_worth(kept, routine)
        told = difference(problem, old, routine, pieces)
        possible = sum(kept.worth.values())
        return Revised(
            how, opened, problem, routine, told, total, possible, least, best, breaches, brief.notes, asks, practised,
            pieces,
        )  # fmt: skip

    if not breaches and not pieces:
        if nothing_asked:
            return result("unchanged", old, True, True)
        earlier = _earlier(opened, asks, problem)
        if earlier is not None and not judge(earlier):
            return result("earlier version", earlier, True, False)
        return result("fits already", _restated(problem, old, opened), True, True)
    earlier = _earlier(opened, asks, problem)
    if earlier is not None and not judge(earlier) and not nothing_asked:
        return result("earlier version", earlier, False, False)
    if nothing_asked and not request.repair:
        return Faulty(opened, breaches)
    found = least_change(problem, kept, state, time_limit_s=time_limit_s, seed=seed, progress=progress)
    if not isinstance(found, Least):
        return Failed(opened, found, brief.notes)
    routine = replace(found.routine, status="good", bound=None)
    if faults := [*verify(problem, routine), *judge(routine)]:
        raise InternalFault(faults)
    return result("revised", routine, found.least_proven, found.best_proven)


def _added(asks: Sequence[Ask], new: Sequence[Ask]) -> tuple[Ask, ...]:
    """New asks after the old ones; one that undoes an old one takes it away instead."""
    listed = list(asks)
    for ask in new:
        opposite = {"allow": "forbid", "forbid": "allow"}.get(ask.kind)
        undone = [item for item in listed if item.kind == opposite and item.value == ask.value]
        if ask.kind in ("swap-roles", "mirror"):
            undone = [item for item in listed if item == ask]
        if undone:
            listed.remove(undone[-1])
        elif ask not in listed:
            listed.append(ask)
    return tuple(listed)


def _judge(stays: Sequence[Stays], asks: Sequence[Ask]) -> Callable[[Routine], list[Breach]]:
    from composer.network.model import Network

    return extra_demands(stays, asks)(Network((), (), 0)).judge


def _restated(problem: Problem, old: Routine, opened: Opened) -> Routine:
    """The old figures with the score the new wishes give them; the record itself when the brief is the same."""
    if problem.document.data == opened.problem.document.data:
        return old
    return replace(scored(problem, old), status="good" if old.status == "best" else old.status, bound=None)


def state_of(problem: Problem, asks: Sequence[Ask]) -> str:
    """What two versions have in common when they answer the same wishes."""
    places = sorted({place for ask in asks if ask.kind == "replace" for place in ask.places})
    data = [problem.brief.model_dump(mode="json"), places, problem.catalogue.digest]
    return hashlib.sha256(json.dumps(data, sort_keys=True, default=str).encode()).hexdigest()


def _earlier(opened: Opened, asks: Sequence[Ask], problem: Problem) -> Routine | None:
    """The routine of the newest other version that answered the same wishes and still holds."""
    from composer.verify import verify

    wanted = state_of(problem, asks)
    if wanted == state_of(opened.problem, opened.asks):
        return None
    for version in reversed(opened.versions):
        if version.brief != opened.brief_data or version is opened.current:
            continue
        if state_of(problem_after(opened.base, version.asks)[0], version.asks) == wanted:
            routine = routine_from_record(version.routine)
            if not verify(problem, routine):
                return routine
    return None


def keep_history(opened: Opened, revised: Revised | None, note: str) -> tuple[Opened, int | None]:
    """Keep the opened routine (when it is in no version yet) and then the revised one.

    Returns the opened routine with its version and the number of the new version, None when nothing is new.

    Raises
    ------
    BadInput
        When a version cannot be written.
    """
    current = opened.current
    if current is None:
        words = "edited by hand" if opened.versions else "as it was"
        first = Version(0, opened.versions[-1].number if opened.versions else None, words, opened.asks,
                        opened.practised, opened.brief_data, opened.brief_file, record_of(opened.routine))  # fmt: skip
        current = save_version(opened.home, first)
        opened = replace(opened, current=current, versions=(*opened.versions, current))
    if revised is None:
        return opened, None
    version = Version(0, current.number, note, revised.asks, revised.practised, opened.brief_data,
                      opened.brief_file, record_of(revised.routine))  # fmt: skip
    saved = save_version(opened.home, version)
    return opened, saved.number
