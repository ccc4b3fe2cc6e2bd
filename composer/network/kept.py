"""The last network built, kept for the next problem that has the same one.

Explaining, softening a wish and changing a routine look at many briefs that differ in wishes alone; wishes do not
shape the network, so it need not be built again. Kept in memory only, one network at a time: on disk reading it would
take about as long as building it. The key holds everything :mod:`composer.network.build` looks at; figures and holds
are told apart as objects (they are frozen), so a catalogue read anew is another one and never mistaken.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from composer.network.build import available, facing_matters
from composer.network.build import build as build_anew
from composer.network.model import Network
from composer.problem import Problem


@dataclass(frozen=True)
class _Key:
    """``objects`` are compared by identity, ``facts`` by value."""

    objects: tuple[Any, ...]
    facts: tuple[Any, ...]

    def same(self, other: _Key) -> bool:
        if self.facts != other.facts or len(self.objects) != len(other.objects):
            return False
        return all(mine is theirs for mine, theirs in zip(self.objects, other.objects, strict=True))


_last: list[tuple[_Key, Network]] = []


def build(problem: Problem) -> Network:
    """The network of every dance of the brief, the last one again where nothing it depends on has changed."""
    key = _key_of(problem)
    if _last and _last[0][0].same(key):
        return _last[0][1]
    _last.clear()  # first: two large networks at once would be more memory than ever needed
    network = build_anew(problem)
    _last[:] = [(key, network)]
    return network


def _key_of(problem: Problem) -> _Key:
    catalogue, timeline, room = problem.catalogue, problem.timeline, problem.room
    figures = available(problem)
    objects = (*figures.values(), catalogue.holds, catalogue.stances)
    first, last = timeline.usable
    facts = (
        tuple(figures),
        problem.length_ticks,
        tuple(beat.in_bar for beat in timeline.beats[first:last]),
        facing_matters(problem),
        problem.keeps_alignment,
        room is not None and room.style == "travelling",
        room.begins if room is not None else 0,
        problem.both_lead,
    )
    return _Key(objects, facts)
