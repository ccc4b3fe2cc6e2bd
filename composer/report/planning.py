"""What a learning plan says (data only; made by :mod:`composer.report.learning`)."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True)
class Learn:
    """A figure to learn. ``chunk`` is None for a figure that only prepares another and is not in the routine."""

    order: int
    id: str
    name: str
    level: int
    leader: str
    follower: str
    needs: tuple[str, ...]
    needed_by: str
    begins_in: str
    chunk: int | None
    minutes: int


@dataclass(frozen=True)
class Chunk:
    """Figures ``first`` to ``last`` (numbers of the routine) that are practised in one go."""

    number: int
    first: int
    last: int
    counts: str
    begins_in: str
    ends_in: str
    clock: str


@dataclass(frozen=True)
class Part:
    """A part of a session."""

    words: str
    minutes: int


@dataclass(frozen=True)
class Session:
    """One practice session; ``day`` only when dates were given."""

    number: int
    day: date | None
    parts: tuple[Part, ...]

    @property
    def minutes(self) -> int:
        """Length of the session."""
        return sum(part.minutes for part in self.parts)


@dataclass(frozen=True)
class LearningPlan:
    """Figures in the order to learn them, chunks, sessions, one sentence on time, and what both persons are called."""

    figures: tuple[Learn, ...]
    chunks: tuple[Chunk, ...]
    sessions: tuple[Session, ...]
    note: str
    partners: tuple[str, str] = ("Leader", "Follower")
