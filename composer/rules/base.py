"""What a rule family is: demands as *data* over arcs, a plain checker, and an optional score term.

A family never talks to a solver. It states rows (linear relations over arcs and a few extra whole-number
unknowns) and arcs that may not be used; CP-SAT, the MIP second opinion, the bounds and the explanations all
read the same data. ``breaches`` and ``points`` are written separately, from the brief, and never look at rows.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Protocol

from composer.errors import Where
from composer.network.model import Network
from composer.problem import Problem
from composer.routine import Routine, ScoreLine

Var = int | str
"""An arc (its id) or an extra unknown (its name)."""


@dataclass(frozen=True)
class Unknown:
    """An extra whole-number unknown ``least <= value <= most`` (0/1 for yes-no), named ``family:what``."""

    name: str
    least: int
    most: int


@dataclass(frozen=True)
class Row:
    """``least <= sum(weight * value) <= most``; a missing side is open.

    Rows over very many arcs have :class:`composer.rules.weights.Weights`.
    """

    weights: Mapping[Var, int]
    least: int | None = None
    most: int | None = None


@dataclass(frozen=True)
class Demand:
    """One thing asked for: a *wish* of the user (could be given up) or a *law* (cannot).

    Attributes
    ----------
    key : stable identity, ``family:detail``.
    sentence : the wish in the dancer's words; no solver words.
    where : where in the brief it was said (None for laws and defaults).
    forbids : arc ids that may not be used while this demand stands.
    rows : linear relations that must hold while this demand stands.
    """

    key: str
    sentence: str
    where: Where | None = None
    law: bool = False
    forbids: frozenset[int] = frozenset()
    rows: tuple[Row, ...] = ()

    @property
    def words(self) -> Demand:
        """The same without what it forbids and its rows."""
        return replace(self, forbids=frozenset(), rows=())


@dataclass(frozen=True)
class Term:
    """One named part of the score: points per arc and per extra unknown (whole numbers)."""

    key: str
    sentence: str
    weights: Mapping[Var, int]


@dataclass(frozen=True)
class Stated:
    """Everything one family states for one problem. ``unknown_rows`` tie extra unknowns to arcs, always hold.

    A family with very many rows may also state its demands in two short ways, same keys and terms: ``stricter`` allows
    only what the demands allow, but not all of it; ``looser`` allows all of it and more. They are shortcuts for a
    search: a routine of the one is a routine, a proof from the other is a proof.
    """

    demands: tuple[Demand, ...] = ()
    unknowns: tuple[Unknown, ...] = ()
    unknown_rows: tuple[Row, ...] = ()
    terms: tuple[Term, ...] = ()
    stricter: Stated | None = None
    looser: Stated | None = None

    @property
    def words(self) -> Stated:
        """What the score terms are called, and nothing else: all that is needed once the rest stands in arrays."""
        return Stated(terms=tuple(replace(term, weights={}) for term in self.terms))

    @property
    def points(self) -> dict[Var, int]:
        """Points of every arc and unknown over all terms."""
        found: dict[Var, int] = {}
        for term in self.terms:
            for var, weight in term.weights.items():
                found[var] = found.get(var, 0) + weight
        return found


@dataclass(frozen=True)
class Breach:
    """Where a routine breaks a demand: the same key, the count it happens at, what would be right."""

    key: str
    message: str
    count: int | None = None
    where: Where | None = None
    law: bool = False


@dataclass(frozen=True)
class Swap:
    """In a list of the brief ``old`` becomes ``new``; None as ``new`` takes it out, None as ``old`` adds it."""

    old: object | None = None
    new: object | None = None


@dataclass(frozen=True)
class Change:
    """One way to ask for less, by degrees: a value of the brief replaced (see :mod:`composer.rules.changes`).

    Attributes
    ----------
    key : the demand it softens.
    sentence : what the user would do, as an instruction ("let the follower learn figures up to level 2").
    path : where in the brief (names only; a list is changed by a :class:`Swap`).
    value : the new value in the units of the brief's model, or a :class:`Swap`.
    cost : how much it takes from what was asked: 1 hardly noticed, 3 noticed, 6 the wish is given up, 9 a lot is.
    """

    key: str
    sentence: str
    path: tuple[str, ...]
    value: object
    cost: int


@dataclass(frozen=True)
class Points:
    """What the checker computes for one term: the total, and what each figure of the routine gives."""

    term: str
    total: int
    by_figure: tuple[int, ...] = ()


@dataclass(frozen=True)
class Example:
    """A tiny case for the generic tests: figures in order against wishes (a patch of the brief's ``wishes``).

    ``couple``, ``room`` and ``music`` patch the rest of the setting. The figures are those of the little dance
    in ``tests/rules/little_dance.py``: four bars of 4/4 in two sections of two bars and phrases of one bar (the
    ``music`` keys are those of its ``music`` function), with figures such as ``four``, ``six``, ``eight``
    (closed hold, that many counts). ``at`` is the leader's first place in mm, ``faces`` the first facing.
    """

    sentence: str
    figures: tuple[str, ...]
    wishes: Mapping[str, object] = field(default_factory=dict)
    good: bool = True
    couple: Mapping[str, object] = field(default_factory=dict)
    room: Mapping[str, object] = field(default_factory=dict)
    music: Mapping[str, object] = field(default_factory=dict)
    faces: int = 0
    at: tuple[int, int] | None = None


def carded(routine: Routine, points: Iterable[Points], sentences: Mapping[str, str]) -> Routine:
    """The routine with these points as its score card; ``sentences`` say what a term is, by its key."""
    card = tuple(ScoreLine(p.term, sentences.get(p.term, p.term), p.total, p.by_figure) for p in points)
    return replace(routine, score_card=card, score=sum(line.points for line in card))


class Family(Protocol):
    """The shape every module in ``composer/rules`` has (module-level functions).

    A family with wishes also has ``softer(problem, key) -> list[Change]``: ways to ask for less, mildest first.
    """

    NAME: str

    def state(self, problem: Problem, network: Network) -> Stated:
        """Demands, extra unknowns and score terms over the network."""
        ...

    def breaches(self, problem: Problem, routine: Routine) -> list[Breach]:
        """All breaches of a routine, from the brief and the catalogue alone."""
        ...

    def points(self, problem: Problem, routine: Routine) -> Iterable[Points]:
        """The family's score terms for a routine, from the brief and the catalogue alone."""
        ...
