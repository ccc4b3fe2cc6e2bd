"""Which problems are measured, and against whom.

``CORE`` are 24 generated instances: eight kinds of brief, three of each; medians are taken over the three.
``GROWTH`` goes through counts, figures and sizes of room, one instance each. ``REAL`` are the shipped scenarios and
steady music danced with every figure of a shipped dance.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from tests.benchmarks.instances import Any_, BuiltIn, Case, Scenario

VARIANTS: Final = (0, 1, 2)
KINDS: Final = (
    Case(96, 100, True, rules="all"),
    Case(96, 100, False, rules="all"),
    Case(96, 100, True),
    Case(96, 300, True),
    Case(192, 100, True),
    Case(192, 100, False),
    Case(288, 300, True),
    Case(288, 300, False),
)
CORE: Final = tuple(
    Case(kind.counts, kind.figures, kind.room, variant, kind.rules) for kind in KINDS for variant in VARIANTS
)
GRID: Final = tuple(
    Case(counts, figures, room) for room in (False, True) for figures in (100, 300, 1000) for counts in (96, 192, 288)
)
ROOMS: Final = tuple(Case(96, 100, True, wide_m=wide, deep_m=deep) for wide, deep in ((4, 3), (5, 4), (8, 6), (16, 12)))
GROWTH: Final = tuple(case for case in (*GRID, *ROOMS) if case not in CORE)
REAL: Final = (
    *(Scenario(name) for name in ("first-dance", "showcase", "travelling", "two-laps")),
    *(BuiltIn("triple-two", counts, room) for counts in (96, 192) for room in (False, True)),
    BuiltIn("waltz", 96, True),
)
PROMISED: Final = (KINDS[0], KINDS[4])
"""Kinds for which a ratio to the peers was promised: all their variants are given to the peers, of others the first."""
QUICK: Final = tuple(case for case in CORE if case.counts == 96 and case.figures == 100)


@dataclass(frozen=True)
class Turn:
    """One case, which suite it stands in, and the engines that take turns on it, in this order."""

    suite: str
    case: Any_
    engines: tuple[str, ...]


def turns(suite: str, *, peers: bool, only: str = "") -> list[Turn]:
    """What is to be run: ``quick``, ``core``, ``growth``, ``real`` or ``all``; of it the names that contain ``only``.

    Peers alternate with the composer: who begins changes from case to case.
    """
    chosen: list[tuple[str, Any_]] = []
    if suite == "quick":
        chosen += [("core", case) for case in QUICK]
    for name, cases in (("core", CORE), ("growth", GROWTH), ("real", REAL)):
        if suite in (name, "all"):
            chosen += [(name, case) for case in cases]
    chosen = [(name, case) for name, case in chosen if only in case.name]
    found = []
    for number, (name, case) in enumerate(chosen):
        rivals = peers and faces_peers(name, case)
        engines = ("ours", "highs", "cpsat") if rivals else ("stages", "ours")
        shift = number % len(engines)
        found.append(Turn(name, case, engines[shift:] + engines[:shift]))
    return found


def faces_peers(suite: str, case: Any_) -> bool:
    """Whether the peers get this case too."""
    if suite == "growth" or not isinstance(case, Case):
        return suite == "real" and isinstance(case, BuiltIn)
    kind = Case(case.counts, case.figures, case.room, rules=case.rules)
    return case.variant == 0 or kind in PROMISED
