"""A clash that needs no search: the figures that are forbidden leave no way through the music at all.

Rows are left aside, so this finds only some clashes; but each answer is a walk over the whole network, hence a proof,
and leaving the wishes out one by one gives a smallest set at once.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

from composer.network.model import Network
from composer.outcome import Clash, ClashMember
from composer.rules.base import Demand


def has_way(network: Network, forbidden: Collection[int]) -> bool:
    """Whether a path from source to sink avoids these arcs."""
    reached = [False] * len(network.nodes)
    reached[network.source] = True
    for arc in network.arcs:  # arcs go by tail, and tails by tick
        if reached[arc.tail] and arc.id not in forbidden:
            reached[arc.head] = True
    return reached[network.sink]


def dead_end(network: Network, demands: Sequence[Demand]) -> Clash | None:
    """A smallest set of wishes whose forbidden figures leave no way; None when there is a way."""
    laws: set[int] = set().union(*(d.forbids for d in demands if d.law))
    wishes = [d for d in demands if not d.law and d.forbids]
    if has_way(network, laws.union(*(d.forbids for d in wishes))):
        return None
    if not has_way(network, laws):
        return Clash((), minimal=True, reasons=("no figures of this catalogue fill this music in this room",))
    for wish in tuple(wishes):
        rest = [d for d in wishes if d is not wish]
        if not has_way(network, laws.union(*(d.forbids for d in rest))):
            wishes = rest
    return Clash(tuple(ClashMember(d.key, d.sentence, d.where) for d in wishes), minimal=True)
