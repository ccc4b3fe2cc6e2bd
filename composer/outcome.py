"""The three ways a composition can end. Match all three; silence is never proof."""

from __future__ import annotations

from dataclasses import dataclass

from composer.errors import Where
from composer.routine import Routine


@dataclass(frozen=True)
class ClashMember:
    """One wish that takes part in a clash: its key, the dancer's words, where it was said."""

    key: str
    sentence: str
    where: Where | None = None


@dataclass(frozen=True)
class Clash:
    """Wishes that cannot all hold. ``minimal`` only when every reduction was a finished proof.

    ``reasons`` are computed facts that explain it (reachable lengths, dead ends, extents).
    """

    members: tuple[ClashMember, ...]
    minimal: bool
    reasons: tuple[str, ...] = ()


@dataclass(frozen=True)
class Remedy:
    """A change to one or two wishes after which a routine exists; ``verified`` by a second solve and the checker."""

    sentence: str
    changes: tuple[str, ...]
    cost: int
    verified: bool


@dataclass(frozen=True)
class Found:
    """A routine; ``proven_best`` only when the solver finished. ``bound`` is a valid upper bound on the score."""

    routine: Routine
    proven_best: bool
    bound: int


@dataclass(frozen=True)
class NoRoutine:
    """Proved: no routine satisfies all wishes."""

    clashes: tuple[Clash, ...]
    remedies: tuple[Remedy, ...] = ()


@dataclass(frozen=True)
class Undecided:
    """Time ran out before a routine or a proof was found. ``best_so_far`` may hold a routine not proven best."""

    seconds: float
    best_so_far: Routine | None = None
    bound: int | None = None


Outcome = Found | NoRoutine | Undecided
