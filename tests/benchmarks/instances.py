"""Fixed generated problems of every size: the same arguments give the same problem on every machine.

Figures of 6, 8, 12 and 18 counts (common in swing dances) between six holds, some turning, some moving; music in
4/4 with phrases of 8 bars and four labelled sections; a brief with every kind of wish.
"""

from __future__ import annotations

import random
from dataclasses import dataclass

from composer.catalogue.model import Figure
from composer.problem import Problem
from tests.builders import a_figure, a_problem, a_timeline

HOLDS = ("closed", "two-hands", "left-to-right", "right-to-left", "handshake", "sweetheart")


@dataclass(frozen=True)
class Case:
    """One benchmark: counts to fill, figures in the catalogue, room or not, and a number that varies the rest."""

    counts: int
    figures: int
    room: bool
    variant: int = 0

    @property
    def name(self) -> str:
        return f"{self.counts} counts, {self.figures} figures, {'room' if self.room else 'no room'}, #{self.variant}"


def figures_of(case: Case) -> list[Figure]:
    """A connected catalogue: every hold can be entered and left with either foot pair."""
    rng = random.Random(f"figures {case.figures} {case.variant}")
    found = []
    for index in range(case.figures):
        beats = rng.choices((6, 8, 12, 18), (5, 4, 2, 1))[0]
        entry = HOLDS[index % len(HOLDS)] if index < 2 * len(HOLDS) else rng.choices(HOLDS, (4, 4, 4, 2, 2, 1))[0]
        exit_hold = HOLDS[(index + 1) % len(HOLDS)] if index < len(HOLDS) else rng.choices(HOLDS, (4, 4, 4, 2, 2, 1))[0]
        found.append(
            a_figure(
                f"f{index:04d}",
                beats=beats,
                entry=entry,
                exit=exit_hold,
                turn=rng.choice((0, 0, 0, 2, -2, 4, 4, -4, 8, 1, -1)),
                level=1 if index < 2 * len(HOLDS) else rng.choice((1, 1, 2, 2, 3)),
                energy=rng.randint(1, 5),
                peak=rng.choice((None, None, 1, beats - 1, beats // 2 + 1)),
                travel=(rng.choice((0, 0, 300, 600, 900, 1200, -600)), rng.choice((0, 0, 300, -300, 600))),
                starts_on=(1, 3) if rng.random() < 0.9 else (1,),
            )
        )
    return found


def problem_of(case: Case) -> Problem:
    """The problem of a case."""
    rng = random.Random(f"wishes {case.counts} {case.figures} {case.variant}")
    figures = figures_of(case)
    names = [f.id for f in figures]
    bars = case.counts // 4
    quarter = bars // 4
    parts = [(quarter, "A", 2), (quarter, "B", 4), (quarter, "A", 3), (bars - 3 * quarter, "C", 5)]
    wishes = {
        "must": [{"figure": rng.choice(names[12:]), "times": 1}, {"figure": rng.choice(names[12:]), "times": 2}],
        "never": rng.sample(names[12:], 4),
        "prefer": {name: rng.randint(-10, 20) for name in rng.sample(names, len(names) // 3)},
        "repeats": {"most": 3, "apart": 16},
        "at_least_different": case.counts // 16,
        "protect": "sections",
        "hits": "prefer",
    }
    room = None
    if case.room:
        room = {"style": "spot", "width": 5, "depth": 4, "audience": "south"}
        wishes["closing"] = {"faces": "audience"}
    couple = {"leader": {"level": 3}, "follower": {"level": 3}}
    hits = sorted(rng.sample(range(1, case.counts + 1), 4))
    timeline = a_timeline(bars, 4, 8, sections=parts, hits=hits, ends_with_accent=True)
    return a_problem(figures, wishes, room, couple, timeline)
