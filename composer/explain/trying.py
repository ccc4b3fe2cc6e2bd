"""Tries changes on one problem: makes them, solves the changed brief anew, has the routine checked, remembers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from composer.explain.asking import ask, walk_of
from composer.explain.degrees import Ladder, Rung
from composer.explain.oracle import Oracle, bare_routine, restated, stock_of
from composer.network import build
from composer.routine import Routine
from composer.verify import verify


@dataclass(frozen=True)
class Tried:
    """A change and what came of it: ``routine`` when one exists (checked), None when not; ``decided`` False if open."""

    rung: Rung
    routine: Routine | None
    decided: bool = True


class Search:
    """Tries changes on one problem; every answer is remembered."""

    def __init__(self, oracle: Oracle) -> None:
        self.oracle = oracle
        self.problem = oracle.problem
        self._known: dict[tuple[object, ...], Tried] = {}
        self._pool: list[Routine] = []

    def tried(self, *rungs: Rung) -> Tried:
        """Make these changes together, solve, check."""
        rung = rungs[0] if len(rungs) == 1 else joined(rungs)
        name = (rung.sentence, rung.bars)
        if name not in self._known:
            self._known[name] = self._solved(rung)
        return self._known[name]

    def _solved(self, rung: Rung) -> Tried:
        budget = self.oracle.budget
        if not budget.left:
            return Tried(rung, None, decided=False)
        problem = rung.applied(self.problem)
        for routine in reversed(self._pool):  # what helped elsewhere may do here; the checker decides
            if routine.length_ticks == problem.length_ticks and not verify(problem, routine):
                return Tried(rung, routine)
        families = rung.families()
        network, stock = self.oracle.network, self.oracle.stock
        if families is None:
            network = build(problem)
            stock = stock_of(problem, network, self.oracle.laws)
        else:
            stock = restated(stock, problem, network, families)
        linear = stock.linear(stock.wishes)
        said = ask(network, linear, budget.limits(), walk_of(problem, network))
        budget.spend(said, linear)
        if not said.possible:
            return Tried(rung, None, decided=said.possible is False)
        routine = replace(bare_routine(problem, network, said), status="by hand")
        if verify(problem, routine):
            return Tried(rung, None, decided=False)
        self._pool.append(routine)
        return Tried(rung, routine)

    def lowest(self, ladder: Ladder, *others: Rung) -> Tried | None:
        """The lowest rung of a ladder that helps, together with other changes; None when none does."""
        rungs = ladder.rungs
        if not rungs or self.tried(rungs[-1], *others).routine is None:
            return None
        if len(rungs) > 1 and self.tried(rungs[0], *others).routine is not None:
            return self.tried(rungs[0], *others)
        fails, helps = 0, len(rungs) - 1
        while helps - fails > 1:
            middle = (fails + helps) // 2
            if self.tried(rungs[middle], *others).routine is not None:
                helps = middle
            else:
                fails = middle
        return self.tried(rungs[helps], *others)


def joined(rungs: Sequence[Rung]) -> Rung:
    """Several changes as one."""
    kinds = " + ".join(sorted(rung.kind for rung in rungs))
    text = ", and ".join(dict.fromkeys(rung.sentence for rung in rungs))
    changes = tuple(change for rung in rungs for change in rung.changes)
    heard = next((rung for rung in rungs if rung.music is not None), None)
    cost = sum(rung.cost for rung in rungs)
    if heard is None:
        return Rung(kinds, text, cost, changes)
    return Rung(kinds, text, cost, changes, heard.bars, heard.music, heard.said)
