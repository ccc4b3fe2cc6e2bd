"""A brief with everything it names resolved: figures that exist, music as beats, the room. Frozen.

Nothing is filtered here: which figures the couple may dance is the business of the rules, so that a clash can
be told in the couple's own words.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from composer.brief.schema import BriefFile
from composer.catalogue.model import Catalogue, Figure
from composer.errors import Where
from composer.floor.model import Room
from composer.textfiles import Document
from composer.timeline.model import Timeline


@dataclass(frozen=True)
class Problem:
    """All that the rules, the network and the checker look at."""

    brief: BriefFile
    document: Document
    catalogue: Catalogue
    timeline: Timeline
    room: Room | None

    @property
    def length_ticks(self) -> int:
        """Ticks to be filled."""
        return self.timeline.length_ticks

    def figures(self) -> dict[str, Figure]:
        """Figures of the dances asked for, by id, sorted; the same dictionary every time, not to be changed."""
        return self._figures

    @cached_property
    def _figures(self) -> dict[str, Figure]:
        wanted = set(self.brief.dances)
        return {k: f for k, f in sorted(self.catalogue.figures.items()) if f.chart.dance in wanted}

    def where(self, *path: str | int) -> Where:
        """File and line of a key of the brief."""
        return self.document.where(*path)

    @property
    def both_lead(self) -> bool:
        """Whether the brief has each partner lead part of the time."""
        return self.brief.couple.both_lead is not None

    @property
    def keeps_alignment(self) -> bool:
        """Whether alignments against line of dance bind; on a spot, in a slot or in a show they do not."""
        return self.room is None or self.room.style == "travelling"
