"""Tiny briefs without a routine, drawn from a fixed sequence: the same ones every time."""

from __future__ import annotations

import random
from collections.abc import Iterator
from functools import cache

from composer.problem import Problem
from tests.builders import a_figure, a_problem, a_timeline
from tests.explain.brute import broken_sets, smallest
from tests.solve.brute import TooMany

HOLDS = ("closed", "two-hands", "left-to-right")


def _drawn(rng: random.Random) -> Problem:
    lengths = rng.choice([(2, 3, 4), (4, 6), (3, 6), (4, 6, 8), (4, 5), (6,)])
    figures = []
    for name in "abcde"[: rng.randint(3, 5)]:
        changes = rng.random() < 0.4
        beats = rng.choice(lengths)
        figures.append(
            a_figure(
                name,
                beats=beats,
                entry=rng.choice(HOLDS) if changes else "closed",
                exit=rng.choice(HOLDS) if changes else "closed",
                turn=rng.choice((0, 0, 2, 4, -3)),
                level=rng.choice((1, 1, 1, 2, 3)),
                peak=rng.choice((None, 1, beats)),
                cautions=rng.choice(((), (), (), ("dip",), ("wrap",))),
            )
        )
    bars = rng.randint(2, 5)
    cut = rng.randint(1, bars - 1)
    music = a_timeline(
        bars, 4, rng.choice((None, 1, 2)), sections=[(cut, "A", None), (bars - cut, rng.choice("AB"), None)],
        hits=rng.sample(range(1, 4 * bars + 1), rng.randint(0, 2)),
    )  # fmt: skip
    names = [figure.id for figure in figures]
    choices: dict[str, object] = {
        "must": [
            {"figure": rng.choice(names), "times": rng.randint(1, 3)},
            {"figure": rng.choice(names), "at": rng.choice((1, 5, 7, 9))},
        ],
        "never": rng.sample(names, rng.randint(1, 2)),
        "repeats": {"most": rng.randint(1, 2), "apart": rng.choice((0, 4, 6))},
        "at_least_different": rng.randint(2, 4),
        "at_most_different": rng.randint(1, 2),
        "protect": rng.choice(("phrases", "sections", "nothing")),
        "hits": "must",
        "alike": True,
        "opening": {"figure": rng.choice(names)},
        "closing": {"hold": rng.choice(HOLDS)},
    }  # fmt: skip
    wishes = {key: choices[key] for key in sorted(rng.sample(sorted(choices), rng.randint(2, 5)))}
    couple = {"leader": {"level": rng.choice((1, 2, 3))}, "follower": {"level": rng.choice((1, 3))}}
    return a_problem(figures, wishes, None, couple, music)


def tiny_clashing(number: int, seed: int = 0) -> Iterator[tuple[Problem, set[frozenset[str]]]]:
    """(problem, its corrections by brute force): laws leave a sequence, all wishes together leave none."""
    rng = random.Random(seed)
    found = 0
    while found < number:
        problem = _drawn(rng)
        try:
            corrections = smallest(broken_sets(problem))
        except TooMany:
            continue
        if corrections and frozenset() not in corrections:
            found += 1
            yield problem, corrections


@cache
def the_tiny(number: int) -> tuple[tuple[Problem, frozenset[frozenset[str]]], ...]:
    """The first so many, drawn once."""
    return tuple((problem, frozenset(corrections)) for problem, corrections in tiny_clashing(number))
