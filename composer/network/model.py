"""The time-expanded network: nodes are (tick, how the couple stands), arcs are figures danced then and there.

A routine is a path from ``source`` to ``sink``. Only *laws* shape the network (bodies, feet, holds, the beat of
the bar a figure needs, alignment where it binds); wishes remove or couple arcs afterwards.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from composer.catalogue.model import Stand
from composer.network.table import Table, table_of


@dataclass(frozen=True, slots=True)
class Node:
    """A moment between two figures. ``stand`` is None for source and sink.

    ``corners`` are the corners of the room turned by then, modulo 4 (0 unless the room is travelling). ``swapped``
    says that the partner whom the brief calls follower has led up to here; ``stand`` is as seen by whoever has led.
    """

    id: int
    tick: int
    stand: Stand | None
    corners: int = 0
    swapped: bool = False


@dataclass(frozen=True, slots=True)
class Arc:
    """A figure danced at a time in a direction. ``figure`` is "" for the arcs into the sink.

    ``faces`` is the leader's facing at its start (eighths, absolute in the room); ``corners`` the corners of the
    room turned before it, modulo 4: a corner may be turned between two figures, in a travelling room only.
    ``swapped`` says that the partner whom the brief calls follower leads it; where that differs from the tail the
    partners change roles before it, which only a brief with ``both_lead`` allows.
    """

    id: int
    figure: str
    start: int
    end: int
    faces: int
    tail: int
    head: int
    corners: int = 0
    swapped: bool = False

    @property
    def alignment(self) -> int:
        """The leader's facing at its start against the line of dance of the side being danced along (eighths)."""
        return (self.faces + 2 * self.corners) % 8


@dataclass(frozen=True)
class Network:
    """Nodes in topological order (by tick, source first, sink last) and arcs by tail; ids are list positions.

    ``keeps_facing`` is False where no law or wish looks at facings: every ``faces`` is then 0 and stands for all.
    Large networks are built as columns; :attr:`table` reads them so, ``arcs`` makes objects of them.
    """

    nodes: tuple[Node, ...]
    arcs: Sequence[Arc]
    length_ticks: int
    keeps_facing: bool = True

    @cached_property
    def table(self) -> Table:
        """The arcs as columns."""
        return table_of(self.arcs)

    def changes_lead(self, arc: Arc) -> bool:
        """Whether the partners change roles before the figure of an arc."""
        return bool(arc.figure) and arc.tail != self.source and arc.swapped != self.nodes[arc.tail].swapped

    @property
    def source(self) -> int:
        """Node id of the source."""
        return 0

    @property
    def sink(self) -> int:
        """Node id of the sink."""
        return len(self.nodes) - 1
