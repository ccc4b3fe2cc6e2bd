"""Which way somebody faces, in words: against the line of dance, or as seen from the audience or the room.

In a travelling room (or with no room at all) alignments are named against line of dance, as the trade does:
*facing* when the dancer moves forward, *backing* when they move back, *pointing* when a foot points elsewhere than
the body. In spot, slot and show rooms they are named from the dancer's own body against the audience, or against
the plan when there is none. Facings are sixteenths clockwise from east (absolute).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from composer.charts import Step
from composer.floor.model import SIDE_FACING, Room
from composer.units import ALIGNMENT_WORDS, ALIGNMENTS

_LINE_PLAIN: Final = (
    "along the way everyone travels",
    "diagonally towards the wall",
    "towards the wall",
    "diagonally back towards the wall",
    "against the way everyone travels",
    "diagonally back towards the middle of the room",
    "towards the middle of the room",
    "diagonally towards the middle of the room",
)
# From the dancer's own body: clockwise from facing the audience, so at 2 (a quarter right) it lies to the left.
_AUDIENCE: Final = (
    "facing the audience",
    "audience ahead to the left",
    "audience to the left",
    "audience behind to the left",
    "back to the audience",
    "audience behind to the right",
    "audience to the right",
    "audience ahead to the right",
)
_PLAN: Final = (
    "facing the right side of the plan",
    "facing the lower right of the plan",
    "facing the bottom of the plan",
    "facing the lower left of the plan",
    "facing the left side of the plan",
    "facing the upper left of the plan",
    "facing the top of the plan",
    "facing the upper right of the plan",
)
_BACKWARD: Final = frozenset({"back", "diagonal-back", "back-and-side", "back-across", "side-and-back"})
_FORWARD: Final = frozenset({"forward", "diagonal-forward", "forward-and-side", "forward-across", "side-and-forward"})
"""Crossing and closing go neither way: a lock backwards crosses in front."""


@dataclass(frozen=True)
class Compass:
    """Names facings. ``line`` is the direction of line of dance (eighths) in travelling rooms, else None."""

    kind: str
    zero: int

    def eighth(self, facing16: int) -> tuple[int, bool]:
        """The facing against this compass in eighths (rounded down), and whether half an eighth more remains."""
        relative = (facing16 - 2 * self.zero) % 16
        return relative // 2, bool(relative % 2)

    def _between(self, facing16: int, names: tuple[str, ...]) -> str:
        index, half = self.eighth(facing16)
        return f"{names[index]} / {names[(index + 1) % 8]}" if half else names[index]

    def words(self, facing16: int) -> str:
        """For overview and positions: ``facing diagonal wall``, ``audience to the left``."""
        if self.kind == "line":
            return "facing " + self._between(facing16, ALIGNMENT_WORDS)
        return self._between(facing16, _AUDIENCE if self.kind == "audience" else _PLAN)

    def plain(self, facing16: int) -> str:
        """For people who know no terms, with its verb: ``faces diagonally towards the wall``."""
        if self.kind == "line":
            return "faces " + self._between(facing16, _LINE_PLAIN)
        words = self.words(facing16)
        if words.startswith("facing "):
            return "faces " + words.removeprefix("facing ")
        return f"has the {words}"

    def step_ends(self, facing16: int, points16: int, *, backing: bool = False) -> str:
        """Alignment at the end of a step, as charts give it; ``points16`` is where the foot points."""
        if self.kind != "line":
            return self.words(facing16)
        pointing = (points16 - facing16) % 16 != 0
        if backing and not pointing:
            return "backing " + self._between(points16 + 8, ALIGNMENTS)
        return f"{'pointing' if pointing else 'facing'} {self._between(points16, ALIGNMENTS)}"

    @property
    def note(self) -> str:
        """One sentence for the sheet that says how directions are named."""
        if self.kind == "line":
            return (
                "Directions are named against the line of dance, the way everyone travels (counter-clockwise round "
                "the room): the wall is on your right, the centre on your left. Short: LOD line of dance, "
                "W wall, C centre, D diagonal, A against; DWA is diagonal wall against."
            )
        if self.kind == "audience":
            return "Directions are given from your own body: where the audience is as you stand."
        return "Directions are given against the floor plan, as it lies in front of you."


def goes_back(steps: Sequence[Step], following: Sequence[Step] = (), *, otherwise: bool = False) -> tuple[bool, ...]:
    """For every step, whether a chart says "backing": it goes back itself, or it goes neither way and the next step
    that does goes back (a side step that prepares going back), in the figure or in the one danced after it.

    ``otherwise`` is for steps after which nothing travels: leaders then face, followers in front of them back.
    """
    ways = [_way(step) for step in (*steps, *following)]
    return tuple(next((w for w in ways[index:] if w is not None), otherwise) for index in range(len(steps)))


def _way(step: Step) -> bool | None:
    return True if step.do in _BACKWARD else False if step.do in _FORWARD else None


def compass_for(room: Room | None, keeps_alignment: bool) -> Compass:
    """The compass of a room; with no room, or in a travelling one, alignments against line of dance."""
    if room is None or keeps_alignment:
        return Compass("line", 0)
    if room.audience is not None:
        return Compass("audience", SIDE_FACING[room.audience])
    return Compass("plan", 0)
