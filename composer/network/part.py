"""A part of a network: some of its arcs, without the dead ends this leaves, as a network of its own."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from composer.network.model import Network, Node
from composer.network.table import Arcs, Numbers, Table


def part_of(network: Network, keep: NDArray[np.bool_]) -> tuple[Network, Numbers]:
    """The network of the arcs kept that lie on paths of such arcs, and their ids in the whole one, by the new ids.

    Every path of the part is one of the whole; whatever is asked of arcs means the same in both.
    """
    table, size = network.table, len(network.nodes)
    ids = np.flatnonzero(keep).astype(np.int32)
    tails, heads = table.tail[ids].tolist(), table.head[ids].tolist()
    ahead, behind = [False] * size, [False] * size
    ahead[network.source] = behind[network.sink] = True
    for tail, head in zip(tails, heads, strict=True):  # arcs go by tail, and tails by tick
        ahead[head] |= ahead[tail]
    for tail, head in zip(reversed(tails), reversed(heads), strict=True):
        behind[tail] |= behind[head]
    alive = np.array(ahead) & np.array(behind)
    alive[[network.source, network.sink]] = True
    ids = ids[alive[table.tail[ids]] & alive[table.head[ids]]]
    number = (np.cumsum(alive) - 1).astype(np.int32)
    left = (network.nodes[old] for old in np.flatnonzero(alive).tolist())
    nodes = tuple(Node(new, node.tick, node.stand, node.corners, node.swapped) for new, node in enumerate(left))
    few = Table(
        names=table.names,
        figure=table.figure[ids],
        start=table.start[ids],
        end=table.end[ids],
        faces=table.faces[ids],
        tail=number[table.tail[ids]],
        head=number[table.head[ids]],
        corners=table.corners[ids],
        swapped=table.swapped[ids],
    )
    return Network(nodes, Arcs(few), network.length_ticks, network.keeps_facing), ids
