"""Smallest sets of wishes that cannot all hold, and smallest sets of wishes to give up: all of them, or as many as
the budget allows.

A clash is *minimal* when every one of its wishes was left out in turn and the rest was then shown to be possible; each
of these answers is a finished proof or a routine. The search for several clashes keeps a map of what is known: a large
choice of wishes not yet judged is asked; possible, it is a largest possible choice, and what it leaves out is a
smallest set to give up; impossible, it is reduced to a clash. (The scheme is the one of Liffiton, Previti, Malik and
Marques-Silva, "Fast, flexible MUS enumeration", Constraints 21, 2016; from memory.)
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

from composer.explain.oracle import Oracle
from composer.solve.engine import Model

LAST_TO_GO: Final = ("must_never", "opening_closing", "accents", "room", "learned")
"""What people asked for in so many words is kept in a clash longest while it is reduced."""


@dataclass(frozen=True)
class Core:
    """Wishes that cannot all hold; ``minimal`` when every reduction was decided."""

    keys: frozenset[str]
    minimal: bool


@dataclass
class Found:
    """Clashes and corrections (smallest sets to give up); ``complete`` when there are no others."""

    clashes: list[Core] = field(default_factory=list)
    corrections: list[frozenset[str]] = field(default_factory=list)
    complete: bool = False
    undecided: bool = False
    """Whether a question stayed undecided on the way."""


def enumerate_clashes(oracle: Oracle, *, most: int | None = None, most_corrections: int | None = None) -> Found:
    """All clashes and corrections, or the first ``most`` clashes; laws alone must be possible.

    Corrections are looked for as far as they come up on the way.
    """
    found, known = Found(), _Map(oracle.wishes)
    while True:
        enough = most is not None and len(found.clashes) >= most
        if enough and (most_corrections is None or len(found.corrections) >= most_corrections):
            return found
        seed = known.largest_unjudged()
        if seed is None:
            found.complete = not found.undecided
            return found
        answer = oracle.possible(seed)
        if answer is None:
            found.undecided = True
            known.forget(seed)
        elif answer:
            found.corrections.append(frozenset(oracle.wishes) - seed)
            known.possible(seed)
        else:
            core = reduced(oracle, sorted(seed, key=oracle.wishes.index))
            found.clashes.append(core)
            found.undecided |= not core.minimal
            known.impossible(core.keys)
        if not oracle.budget.left:
            found.undecided = True
            return found


def reduced(oracle: Oracle, wishes: Sequence[str]) -> Core:
    """A clash among wishes proved impossible together.

    Wishes are left out in runs that double while they are not needed and halve when they are.
    """
    core = sorted(wishes, key=lambda key: _rank(oracle, key))
    free = [key for key in core if not len(oracle.stock.parts[key].rows.least)]
    if len(free) < len(core) and oracle.possible(free) is False:
        core = free
    at, run, minimal = 0, max(1, len(core) // 2), True
    while at < len(core):
        rest = core[:at] + core[at + run :]
        answer = oracle.possible(rest)
        if answer is False:
            core, run = rest, max(1, min(2 * run, (len(core) - at) // 2))
        elif run > 1:
            run //= 2
        else:
            minimal &= answer is True
            at += 1
    return Core(frozenset(core), minimal)


def _rank(oracle: Oracle, key: str) -> tuple[int, int, int]:
    """The order in which wishes are tried to be left out: costly rows, what nobody said, then the rest."""
    part = oracle.stock.parts[key]
    family = key.split(":")[0]
    last = LAST_TO_GO.index(family) + 1 if family in LAST_TO_GO else 0
    return (0 if len(part.rows.least) > 1 else 1, 0 if part.demand.where is None else 1, last)


class _Map:
    """Which choices of wishes are judged, as clauses; the largest one that is not."""

    def __init__(self, wishes: Sequence[str]) -> None:
        self.model = Model()
        self.chosen = {key: self.model.unknown(0, 1) for key in wishes}
        # the brief's order breaks ties, so that the same brief is explained the same way
        weights = [2 * len(wishes) + (1 if at % 2 else 0) for at in range(len(wishes))]
        self.model.aim([*self.chosen.values()], weights, high=True)

    def largest_unjudged(self) -> frozenset[str] | None:
        found = self.model.solved(num_workers=1, random_seed=0)
        return frozenset(key for key, chosen in self.chosen.items() if found.values[chosen]) if found.proved else None

    def possible(self, seed: frozenset[str]) -> None:
        """Every part of a possible choice is judged."""
        self.model.some(chosen for key, chosen in self.chosen.items() if key not in seed)

    def impossible(self, core: frozenset[str]) -> None:
        """Every choice with the whole clash in it is judged."""
        self.model.some(zeros=(self.chosen[key] for key in sorted(core)))

    def forget(self, seed: frozenset[str]) -> None:
        """This very choice is not asked again."""
        ones = (chosen for key, chosen in self.chosen.items() if key not in seed)
        self.model.some(ones, (self.chosen[key] for key in self.chosen if key in seed))
