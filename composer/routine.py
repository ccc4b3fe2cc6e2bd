"""A routine: figures in order with their beats, direction and place on the floor. Data only.

``routine/1`` is the tool's own record; :func:`as_data` writes it, ``composer.routinefile`` reads it back.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any, Literal

FORMAT = "routine/1"


@dataclass(frozen=True)
class Placed:
    """One figure of a routine.

    ``start_tick`` counts from the first danced beat; ``faces`` is the leader's facing at its start (eighths
    clockwise from east, the direction of line of dance on the south side); ``x_mm, y_mm`` the leader's body
    centre at its start, or None when there is no room. ``corners`` is how many corners of the room were turned
    before this figure; each renames an alignment by +2 while the couple itself does not turn. ``more_*`` is ground
    taken beyond the figure's natural travel (below zero: given up), spread evenly over it, in a room with a choice
    of stride. ``swapped`` says that the partner whom the brief calls follower leads this figure: leader and follower of
    the figure (and of all that is said here) are then the other way round.
    """

    figure: str
    start_tick: int
    end_tick: int
    faces: int
    x_mm: int | None = None
    y_mm: int | None = None
    corners: int = 0
    more_x_mm: int = 0
    more_y_mm: int = 0
    swapped: bool = False

    @property
    def alignment(self) -> int:
        """The leader's facing at its start against the line of dance of the side being danced along (eighths)."""
        return (self.faces + 2 * self.corners) % 8


@dataclass(frozen=True)
class ScoreLine:
    """One named term of the score, in whole points, with what each figure of the routine gives to it."""

    term: str
    sentence: str
    points: int
    by_figure: tuple[int, ...] = ()


@dataclass(frozen=True)
class Routine:
    """The answer. ``status`` is ``best`` only when the solver finished its proof."""

    title: str
    dances: tuple[str, ...]
    length_ticks: int
    figures: tuple[Placed, ...]
    status: Literal["best", "good", "by hand"] = "by hand"
    score: int = 0
    bound: int | None = None
    score_card: tuple[ScoreLine, ...] = ()
    brief_digest: str = ""
    catalogue_digest: str = ""
    seed: int = 0


def as_data(routine: Routine) -> dict[str, Any]:
    """Plain data of a routine (format ``routine/1``)."""
    data = {"format": FORMAT, **asdict(routine)}
    for figure in data["figures"]:
        if not figure["more_x_mm"] and not figure["more_y_mm"]:
            del figure["more_x_mm"], figure["more_y_mm"]
        if figure.pop("swapped"):
            figure["leads"] = "follower"
    return data
