"""The cheapest changes that help together, when several things clash at once.

Every wish that takes part is softened by degrees (:mod:`composer.explain.degrees`); a choice takes at most one rung of
each line of the brief. The search keeps what is known of all choices: each clash has to be met by some change, and a
choice that was tried and does not help rules out every choice that asks for no more of anything. The cheapest choice
left is tried next; the first that helps is therefore the cheapest there is. A failed choice is first made as large as
it can be without helping, so that it rules out much. (Such a search is known as one by implicit hitting sets.)

Further ones are looked for that bring a change of a kind not told before, so that ten variants of one are never shown.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from composer.explain.degrees import FLOOR, Ladder, Rung, ladders_for
from composer.explain.oracle import Budget
from composer.explain.trying import Search
from composer.problem import Problem
from composer.rules.base import Swap
from composer.solve.engine import Model

MOST_TOGETHER: Final = 5
"""No more changes than this at once: it would be another brief."""
BY_DEGREE: Final = 10_000
"""Price of a point of cost against degrees: of choices that cost the same the milder one is tried first."""
Choice = tuple[int, ...]
"""For every ladder how many rungs up; 0 leaves it alone."""


@dataclass(frozen=True)
class Help:
    """Rungs that help together; ``cheapest`` when it is proved that nothing cheaper of these degrees does."""

    rungs: tuple[Rung, ...]
    cost: int
    cheapest: bool


def line_of(ladder: Ladder) -> tuple[object, ...]:
    """What of the brief a ladder changes: a value, or one item of a list."""
    change = ladder.rungs[-1].changes[0]
    if not isinstance(change.value, Swap):
        return (change.path, None)
    return (change.path, change.value.old if change.value.old is not None else change.value.new)


def ladders_of(problem: Problem, keys: Iterable[str]) -> list[Ladder]:
    """Every ladder that softens one of these wishes, once."""
    found: dict[tuple[object, ...], Ladder] = {}
    for key in keys:
        for ladder in ladders_for(problem, key):
            if ladder.rungs:
                found.setdefault((line_of(ladder), tuple(r.sentence for r in ladder.rungs)), ladder)
    return list(found.values())


def helps(
    tries: Search,
    ladders: Sequence[Ladder],
    clashes: Iterable[Collection[str]],
    budget: Budget,
    *,
    most: int,
    below: int | None = None,
) -> list[Help]:
    """Up to ``most`` combinations, the cheapest first.

    Parameters
    ----------
    clashes : keys of wishes that are known not to hold together.
    below : only what costs less than this.
    """
    known = _Known(ladders, below)
    for clash in clashes:
        known.clash(clash)
    found: list[Help] = []
    settled = True
    while len(found) < most and budget.left:
        choice = known.cheapest()
        if choice is None:
            break
        rungs = rungs_of(ladders, choice)
        tried = tries.tried(*rungs)
        if tried.routine is not None:
            if not found or not _idle(tries, rungs):
                found.append(Help(rungs, tried.rung.cost, settled and not found))
                known.told(choice)
            else:
                known.redundant(choice)
            continue
        settled &= tried.decided
        known.fails(_grown(tries, ladders, choice) if tried.decided else choice)
    return found


def rungs_of(ladders: Sequence[Ladder], choice: Choice) -> tuple[Rung, ...]:
    """The rungs a choice stands on."""
    return tuple(ladder.rungs[at - 1] for ladder, at in zip(ladders, choice, strict=True) if at)


def _idle(tries: Search, rungs: Sequence[Rung]) -> bool:
    """Whether the others help without one of them."""
    if len(rungs) == 1:
        return False
    return any(tries.tried(*(r for r in rungs if r is not one)).routine is not None for one in rungs)


def _grown(tries: Search, ladders: Sequence[Ladder], choice: Choice) -> Choice:
    """The choice with one ladder after another as high as it goes without helping."""
    grown = list(choice)
    taken = {line_of(ladder) for ladder, at in zip(ladders, choice, strict=True) if at}
    for index, ladder in enumerate(ladders):
        if not grown[index] and line_of(ladder) in taken:
            continue

        def fails(at: int, index: int = index) -> bool:
            tried = tries.tried(*rungs_of(ladders, (*grown[:index], at, *grown[index + 1 :])))
            return tried.routine is None and tried.decided

        low, high = grown[index], len(ladder.rungs)
        if low < high and fails(high):
            low = high
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (middle, high) if fails(middle) else (low, middle)
        grown[index] = low
        if low:
            taken.add(line_of(ladder))
    return tuple(grown)


class _Known:
    """All that is known of choices, as one small model; the cheapest choice that may still help."""

    def __init__(self, ladders: Sequence[Ladder], below: int | None) -> None:
        self.ladders, self.model = ladders, Model()
        self.on = [[self.model.unknown(0, 1) for _ in ladder.rungs] for ladder in ladders]
        self.seen: set[str] = set()
        lines: dict[tuple[object, ...], list[int]] = {}
        for ladder, on in zip(ladders, self.on, strict=True):
            lines.setdefault(line_of(ladder), []).extend(on)
        for on in lines.values():
            self.model.at_most_one(on)
        every = [v for on in self.on for v in on]
        self.model.row(every, [1] * len(every), most=MOST_TOGETHER)
        cost = [rung.cost for ladder in ladders for rung in ladder.rungs]
        degree = [at for ladder in ladders for at in range(1, len(ladder.rungs) + 1)]
        if below is not None:
            self.model.row(every, cost, most=below - 1)
        self.model.aim(every, [BY_DEGREE * c + d for c, d in zip(cost, degree, strict=True)], high=False)

    def clash(self, keys: Collection[str]) -> None:
        """Something has to be changed that can touch the clash: a change by one of its families."""
        families = {key.split(":")[0] for key in keys}
        if families & FLOOR:
            families |= FLOOR
        touching: list[int] = []
        for ladder, on in zip(self.ladders, self.on, strict=True):
            change = ladder.rungs[-1].changes[0]
            family = change.key.split(":")[0]
            if family in families or (change.path[0] == "room" and families & FLOOR):
                touching += on
        self.model.some(touching)

    def fails(self, choice: Choice) -> None:
        """Something has to be higher up than here."""
        self.model.some(v for on, at in zip(self.on, choice, strict=True) for v in on[at:])

    def told(self, choice: Choice) -> None:
        """Nothing with all of these kinds any more, and something of a kind not told yet."""
        self.redundant(choice)
        self.seen |= self._kinds(choice)
        fresh = [
            v for ladder, on in zip(self.ladders, self.on, strict=True) if ladder.kind not in self.seen for v in on
        ]
        self.model.some(fresh)

    def redundant(self, choice: Choice) -> None:
        """Nothing with all of these kinds any more."""
        kinds = self._kinds(choice)
        flags = []
        for kind in sorted(kinds):
            used = [v for ladder, on in zip(self.ladders, self.on, strict=True) if ladder.kind == kind for v in on]
            flags.append(self.model.unknown(0, 1))
            self.model.row(used, [1] * len(used), most=0, where=flags[-1])
        self.model.some(flags)

    def _kinds(self, choice: Choice) -> set[str]:
        return {ladder.kind for ladder, at in zip(self.ladders, choice, strict=True) if at}

    def cheapest(self) -> Choice | None:
        """The cheapest choice that is not ruled out."""
        found = self.model.solved(num_workers=1, random_seed=0)
        if not found.proved:
            return None
        return tuple(next((i + 1 for i, v in enumerate(on) if found.values[v]), 0) for on in self.on)
