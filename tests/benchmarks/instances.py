"""Fixed problems of every size: the same arguments give the same problem on every machine.

*Generated*: figures of 6, 8, 12 and 18 counts (common in swing dances) between six holds, some turning, some moving;
motions are built directly, nothing is simulated. Music in 4/4 with labelled sections and hits. ``rules="usual"`` is a
brief with the wishes most people have, ``"all"`` one with a wish of every rule family and every part of the score.
*Built in*: all figures of a shipped dance to steady music. *Scenarios*: the shipped briefs.
"""

from __future__ import annotations

import random
from dataclasses import dataclass
from typing import Any, Literal

from composer.catalogue.model import Figure
from composer.problem import Problem
from composer.timeline.model import Timeline
from tests.builders import a_figure, a_problem, a_timeline

HOLDS = ("closed", "two-hands", "left-to-right", "right-to-left", "handshake", "sweetheart")


@dataclass(frozen=True)
class Case:
    """A generated problem: counts to fill, figures in the catalogue, room or not, a number that varies the rest.

    ``rules`` is explained above; ``wide_m`` and ``deep_m`` are the room's sides in metres.
    """

    counts: int
    figures: int
    room: bool
    variant: int = 0
    rules: Literal["usual", "all"] = "usual"
    wide_m: int = 5
    deep_m: int = 4

    @property
    def floor(self) -> str:
        """The room in words."""
        return f"{self.wide_m} x {self.deep_m} m" if self.room else "no room"

    @property
    def name(self) -> str:
        """Unique among all cases."""
        rules = ", all rules" if self.rules == "all" else ""
        return f"{self.counts} counts, {self.figures} figures, {self.floor}{rules}, #{self.variant}"

    def problem(self) -> Problem:
        """The problem itself."""
        return problem_of(self)


@dataclass(frozen=True)
class BuiltIn:
    """All figures of a shipped dance: counts to fill, on a spot or travelling, all that both have learned."""

    dance: str
    counts: int
    room: bool
    variant: int = 0

    @property
    def floor(self) -> str:
        """The room in words."""
        return "8 x 6 m" if self.room else "no room"

    @property
    def name(self) -> str:
        """Unique among all cases."""
        return f"{self.counts} counts of {self.dance}, {self.floor}, #{self.variant}"

    def problem(self) -> Problem:
        """The problem itself."""
        from composer.catalogue import load_catalogue

        rng = random.Random(f"built in {self.dance} {self.counts} {self.variant}")
        catalogue = load_catalogue(dances=[self.dance])
        per_bar = catalogue.dances[self.dance].beats_per_bar
        names = sorted(catalogue.figures)
        wishes = {
            "prefer": {name: rng.randint(-10, 20) for name in rng.sample(names, len(names) // 3)},
            "repeats": {"most": 3, "apart": 8},
            "at_least_different": self.counts // 16,
        }
        room = {"style": "spot", "width": 8, "depth": 6, "audience": "south"} if self.room else None
        bars = self.counts // per_bar
        parts = [(bars // 2, "A", 2), (bars - bars // 2, "B", 4)]
        music = a_timeline(bars, per_bar, 8, sections=parts, hits=[self.counts // 2 + 1], ends_with_accent=True)
        couple = {"leader": {"level": 5}, "follower": {"level": 5}}
        return a_problem(None, wishes, room, couple, music, dance=self.dance, catalogue=catalogue)


@dataclass(frozen=True)
class Scenario:
    """A shipped brief."""

    scenario: str

    @property
    def floor(self) -> str:
        """The room in words."""
        return "its room"

    @property
    def name(self) -> str:
        """Unique among all cases."""
        return f"scenario {self.scenario}"

    def problem(self) -> Problem:
        """The problem itself."""
        from composer.brief import load_problem

        return load_problem(self.scenario)


Any_ = Case | BuiltIn | Scenario


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
    wishes: dict[str, Any] = {
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
        room = {"style": "spot", "width": case.wide_m, "depth": case.deep_m, "audience": "south"}
        wishes["closing"] = {"faces": "audience"}
    couple = {"leader": {"level": 3}, "follower": {"level": 3}}
    timeline = _music(case, rng)
    if case.rules == "all":
        couple = {"leader": {"level": 2}, "follower": {"level": 2}}
        wishes |= _further(case, figures, rng)
    return a_problem(figures, wishes, room, couple, timeline)


def _music(case: Case, rng: random.Random) -> Timeline:
    bars = case.counts // 4
    if case.rules == "all":  # blues: twelve bars in two phrases that answer each other
        labels = ("A", "A") if bars == 24 else ("A", "B", "A", "C", "A", "B")
        parts = [(12, label, 2 + index % 3) for index, label in enumerate(labels[: bars // 12])]
        phrase = 6
        hits = [*sorted(rng.sample(range(1, case.counts - 18), 4)), case.counts - 1]  # many figures peak there
    else:
        quarter = bars // 4
        parts = [(quarter, "A", 2), (quarter, "B", 4), (quarter, "A", 3), (bars - 3 * quarter, "C", 5)]
        phrase = 8
        hits = sorted(rng.sample(range(1, case.counts + 1), 4))
    return a_timeline(bars, 4, phrase, sections=parts, hits=hits, ends_with_accent=case.rules == "usual")


def _further(case: Case, figures: list[Figure], rng: random.Random) -> dict[str, Any]:
    """A wish of every other family. No answering phrases: figures so long leave most such briefs no routine."""
    short = [f.id for f in figures[:12] if f.chart.beats <= 8]
    further: dict[str, Any] = {
        "must": [{"figure": rng.choice(short), "times": 1}],
        "repeats": {"most": 4, "apart": 8},
        "at_most_different": case.counts // 6,
        "learn": {"most": 3, "level": 3},
        "varied": 25,
        "signature": {"figure": rng.choice(short), "section": "A"},
        "build_up": "A",
        "breath": 5,
        "final_hit": True,
        "spinning": {"turns": 3, "within": 24},
        "opening": {"hold": "closed"},
        "weights": {"music": 3, "variety": 3, "energy": 2, "flow": 1, "floor": 1, "memory": 1},
    }
    if case.room:
        further["spread"] = 2
    return further
