"""How a couple stands once its partners have changed roles: nobody moves, everything is read the other way round.

When the follower takes over the lead the same stance, the same joined hands and the same free feet are there, seen
from the other side: the new leader stands and faces as the follower did. A change is possible where the couple then
stands in a hold of the catalogue. A frame (one partner's hand on the other's back) is left first, as are crossed,
wrapped and behind-the-back arms; hands not needed are let go. Partners settle by less than :data:`CLOSE_MM` as they
take hold anew. Source: geometry; common practice, no source.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from composer.charts import HoldFile, Pair, StanceFile
from composer.units import local_from_world, world_from_local

if TYPE_CHECKING:
    from composer.catalogue.model import Catalogue

CLOSE_MM: Final = 150
"""Two stances this near to each other pass for the same; partners settle as they take hold anew."""
SWAPPED: Final[dict[Pair, Pair]] = {"LR": "RL", "RL": "LR", "LL": "LL", "RR": "RR"}


def swapped_holds(catalogue: Catalogue, name: str) -> list[str]:
    """Holds in which the couple stands when the partners change roles without moving; most joined hands first."""
    hold = catalogue.holds[name]
    if hold.frame or hold.lie not in ("open", "free"):
        return []
    hands: set[str] = {SWAPPED[joined.pair] for joined in hold.hands}
    facing, forward, right = swapped_stance(catalogue.stances[hold.stance])
    found = [
        (len(other.hands), key)
        for key, other in catalogue.holds.items()
        if _takes(other, hands) and _near(catalogue.stances[other.stance], facing, forward, right)
    ]
    return [key for _, key in sorted(found, key=lambda item: (-item[0], item[1]))]


def swapped_stance(stance: StanceFile) -> tuple[int, int, int]:
    """(facing in sixteenths, forward, right in mm) of the old leader in the old follower's frame."""
    x, y = world_from_local(stance.forward, stance.right, 0)
    forward, right = local_from_world(-x, -y, stance.facing)
    return -stance.facing % 16, round(forward), round(right)


def _takes(other: HoldFile, hands: set[str]) -> bool:
    return not other.frame and other.lie in ("open", "free") and {joined.pair for joined in other.hands} <= hands


def _near(stance: StanceFile, facing: int, forward: int, right: int) -> bool:
    apart = max(abs(stance.forward - forward), abs(stance.right - right))
    return (stance.facing - facing) % 16 == 0 and apart <= CLOSE_MM
