"""Tempo and metre of the dances in the catalogue, and which dances a track suits.

The figures are those of the dance pages (``catalog/<dance>/dance.yaml``), each with its published source.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Final

from composer.charts import DanceFile
from composer.errors import BadInput, Diagnostic, Where, did_you_mean
from composer.resources import shipped
from composer.textfiles import read_yaml, validated

SLACK: Final = 1.08
"""How far outside the published range a track is still looked for: practice music is often a little slower."""


@dataclass(frozen=True)
class Suits:
    """A dance that a track suits: ``beats_per_minute`` as that dance counts it, ``counted`` how that relates."""

    dance: str
    name: str
    beats_per_minute: float
    counted: str


@cache
def dance_pages() -> dict[str, DanceFile]:
    """The dance pages of the shipped catalogue by folder name."""
    pages = sorted(shipped("catalog").glob("*/dance.yaml"))
    return {path.parent.name: validated(DanceFile, read_yaml(path), code="DNC") for path in pages}


def page_of(dance: str) -> DanceFile:
    """One dance page.

    Raises
    ------
    BadInput
        TML072 if there is no such dance.
    """
    pages = dance_pages()
    if dance not in pages:
        known = ", ".join(pages)
        raise BadInput(
            Diagnostic("TML072", f"there is no dance '{dance}' in the catalogue ({known}).", Where(),
                       did_you_mean(dance, list(pages)))
        )  # fmt: skip
    return pages[dance]


def search_range(page: DanceFile) -> tuple[float, float]:
    """Beats per minute between which a track for this dance is looked for."""
    return page.tempo.least / SLACK, page.tempo.most * SLACK


def suitable(beats_per_minute: float, beats_per_bar: int) -> list[Suits]:
    """Dances whose published tempo range holds the track's tempo, as it is counted or twice or half as fast.

    Bars of two beats suit dances counted in four and the other way round; bars of three only those in three.
    """
    found = []
    for key, page in dance_pages().items():
        if (page.beats_per_bar % 3 == 0) != (beats_per_bar % 3 == 0):
            continue
        ways = [(1.0, "as counted")]
        if beats_per_bar % 3:
            ways += [(2.0, "counted twice as fast"), (0.5, "counted half as fast")]
        for factor, counted in ways:
            tempo = beats_per_minute * factor
            if page.tempo.least <= tempo <= page.tempo.most:
                found.append(Suits(key, page.name, round(tempo, 1), counted))
    return found
