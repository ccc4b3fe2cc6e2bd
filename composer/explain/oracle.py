"""Answers "can these wishes all hold?" for one problem, remembers every answer, and keeps to a budget.

Answers carry over: what a routine keeps, every smaller choice of wishes allows too; what is proved impossible stays so
with more wishes. A routine found for one question is judged by the rules' own checkers, which tells every other wish
it happens to keep. The budget is counted in work (a measure that is the same on every machine), so that the same brief
gives the same explanation; the wall clock is only a net.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Collection, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace

from composer.explain.asking import Said, ask, walk_of
from composer.explain.stock import Stock
from composer.network import build
from composer.network.model import Network
from composer.problem import Problem
from composer.routine import Placed, Routine
from composer.rules import breaches_of, state_all
from composer.rules.base import Demand, Row, Stated, Unknown
from composer.solve.cpsat import Answer, Limits
from composer.solve.linear import Linear
from composer.solve.read import START, Mismatch, _ground, placed_along

WORK_PER_CELL = 4e-7
"""Work of a question apart from what CP-SAT counts itself: the relaxation's, by arcs and rows."""
ONE_QUESTION = 0.4
"""No single question may use more than this part of what is left."""
Laws = Callable[[Network], tuple[Demand, ...]]
"""States over a network what always holds besides the brief (:mod:`composer.explain.elsewhere`)."""
PLACED = ("room", "line_of_dance")
"""Families that need to know where the couple stands."""


@dataclass
class Budget:
    """Work left, and the wall clock at which to stop whatever is left."""

    work: float
    ends_at: float
    seed: int = 0
    questions: int = 0

    @classmethod
    def of(cls, seconds: float, *, seed: int = 0) -> Budget:
        """About so many seconds of an idle machine, at most four times as many of a busy one."""
        return cls(seconds, time.monotonic() + 4 * seconds, seed)

    @property
    def left(self) -> bool:
        """Whether another question may be asked."""
        return self.work > 0 and time.monotonic() < self.ends_at

    @contextmanager
    def part(self, share: float) -> Iterator[None]:
        """Inside, no more than this part of what is left may be used; what is not used stays."""
        work, wall = (1 - share) * max(0.0, self.work), (1 - share) * max(0.0, self.ends_at - time.monotonic())
        self.work, self.ends_at = self.work - work, self.ends_at - wall
        try:
            yield
        finally:
            self.work, self.ends_at = self.work + work, self.ends_at + wall

    def limits(self) -> Limits:
        """Limits of the next question."""
        wall = max(0.1, self.ends_at - time.monotonic())
        return Limits(work=max(0.02, self.work * ONE_QUESTION), wall_s=wall, seed=self.seed)

    def spend(self, said: Said, linear: Linear) -> None:
        """Take a question's work off."""
        self.questions += 1
        self.work -= said.work + WORK_PER_CELL * (int(linear.usable.sum()) + 4 * len(linear.least)) + 1e-3


@dataclass
class Oracle:
    """One problem, its network and everything stated about it."""

    problem: Problem
    network: Network
    stock: Stock
    budget: Budget
    kept: list[frozenset[str]] = field(default_factory=list)
    """Sets of wishes that some routine keeps, with :attr:`routines`."""
    routines: list[Routine] = field(default_factory=list)
    refused: list[frozenset[str]] = field(default_factory=list)
    """Sets of wishes proved impossible together."""
    laws: Laws | None = None

    @classmethod
    def of(cls, problem: Problem, budget: Budget, laws: Laws | None = None) -> Oracle:
        """Network and demands built from the problem; ``laws`` always hold on top."""
        network = build(problem)
        return cls(problem, network, stock_of(problem, network, laws), budget, laws=laws)

    @property
    def wishes(self) -> tuple[str, ...]:
        """Keys of all wishes in the order in which they are told."""
        return self.stock.wishes

    def possible(self, wishes: Collection[str]) -> bool | None:
        """Whether some routine keeps the laws and these wishes; None when that stayed undecided."""
        asked = frozenset(wishes)
        if any(asked <= known for known in self.kept):
            return True
        if any(known <= asked for known in self.refused):
            return False
        if not self.budget.left:
            return None
        said = self.say(asked)
        if said.possible:
            routine = self.routine(said)
            self.remember(asked, routine)
        elif said.possible is False:
            self.refused.append(asked)
        return said.possible

    def say(self, wishes: Collection[str], rows: tuple[Row, ...] = (), unknowns: tuple[Unknown, ...] = ()) -> Said:
        """Ask anew, with rows of the caller's own on top."""
        linear = self.stock.linear(wishes, rows, unknowns)
        said = ask(self.network, linear, self.budget.limits(), walk_of(self.problem, self.network))
        self.budget.spend(said, linear)
        return said

    def remember(self, asked: frozenset[str], routine: Routine) -> None:
        """Judge a routine and note every wish it keeps.

        Raises
        ------
        Mismatch
            If the checker finds that it breaks a wish it was made to keep (a fault of this program).
        """
        broken = {breach.key for breach in breaches_of(self.problem, routine)}
        if lost := sorted(broken & asked):
            raise Mismatch(f"a routine made to keep {lost[0]} breaks it")
        self.kept.append(frozenset(self.wishes) - broken - self.unplaced(routine))
        self.routines.append(routine)

    def unplaced(self, routine: Routine) -> set[str]:
        """Wishes about the floor, when nobody asked where the couple stands."""
        if self.problem.room is None or (routine.figures and routine.figures[0].x_mm is not None):
            return set()
        return {key for key in self.wishes if key.split(":")[0] in PLACED}

    def routine(self, said: Said) -> Routine:
        """The routine of an answer, without a score."""
        return bare_routine(self.problem, self.network, said)


def stock_of(problem: Problem, network: Network, laws: Laws | None = None) -> Stock:
    """Everything stated about a problem, and laws of the caller's own."""
    stated = state_all(problem, network)
    return Stock(network, replace(stated, demands=(*stated.demands, *laws(network))) if laws is not None else stated)


def bare_routine(problem: Problem, network: Network, said: Said) -> Routine:
    """Figures and places of an answer; the score is nobody's business here."""
    arcs = sorted((network.arcs[i] for i in said.arcs if network.arcs[i].figure), key=lambda arc: arc.start)
    answer = Answer("good", tuple(said.arcs), said.values or {})
    known = START[0] in answer.values and START[1] in answer.values
    start = (answer.values[START[0]], answer.values[START[1]]) if known else None
    more = _ground(arcs, answer) if known else ()
    figures: tuple[Placed, ...] = placed_along(problem, network, arcs, start, more)
    return Routine(problem.brief.title, problem.brief.dances, problem.length_ticks, figures, status="good")


def restated(stock: Stock, problem: Problem, network: Network, families: Collection[str]) -> Stock:
    """The stock of a changed brief over the same network: these families state their demands anew."""
    from composer.rules import FAMILIES

    for family in FAMILIES:
        if family.NAME in families:
            stated: Stated = family.state(problem, network)
            stock = stock.replaced(family.NAME, stated)
    return stock
