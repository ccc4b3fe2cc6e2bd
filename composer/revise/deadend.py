"""A proof that needs no search: the figures that are forbidden leave no way through the music at all.

Rows are left aside, so this finds only some contradictions; but each answer is a walk over the whole network.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

from composer.network.model import Network
from composer.rules.base import Demand


def has_way(network: Network, forbidden: Collection[int]) -> bool:
    """Whether a path from source to sink avoids these arcs."""
    reached = [False] * len(network.nodes)
    reached[network.source] = True
    for arc in network.arcs:  # arcs go by tail, and tails by tick
        if reached[arc.tail] and arc.id not in forbidden:
            reached[arc.head] = True
    return reached[network.sink]


def no_way(network: Network, demands: Sequence[Demand]) -> bool:
    """Whether what these forbid leaves no path."""
    return not has_way(network, set().union(*(demand.forbids for demand in demands)))
