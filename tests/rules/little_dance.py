"""The little dance the families' EXAMPLES are written in: sixteen counts in two sections, and a dozen figures."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from composer.catalogue.model import Figure
from composer.problem import Problem
from composer.routine import Routine
from composer.rules.base import Example
from composer.timeline.model import Timeline
from tests.builders import a_figure, a_problem, a_routine, a_timeline


def figures() -> list[Figure]:
    """Every figure the examples may name."""
    return [
        a_figure("two", 2),
        a_figure("tap", 2),
        a_figure("four", 4, energy=1),
        a_figure("late-four", 4, level=2),
        a_figure("hard-four", 4, level=3),
        a_figure("side", 4, energy=3, peak=1),
        a_figure("six", 6),
        a_figure("eight", 8, level=2, energy=4, peak=5),
        a_figure("bar-start", 4, starts_on=(1,)),
        a_figure("walk-in", 4, "apart", "closed", good_for=("opening",)),
        a_figure("let-go", 4, "two-hands", "apart"),
        a_figure("half-weight", 4, feet="LR", feet_after="RL"),
        a_figure("open-out", 4, "closed", "two-hands"),
        a_figure("open-basic", 4, "two-hands"),
        a_figure("open-change", 4, "two-hands", feet_after="RL"),
        a_figure("close-up", 4, "two-hands", "closed"),
        a_figure("one-hand", 4, "left-to-right"),
        a_figure("wrap-in", 4, "two-hands", "wrapped"),
        a_figure("wrap-out", 4, "wrapped", "two-hands"),
        a_figure("dip", 4, cautions=("dip",), good_for=("ending",), peak=4),
        a_figure("pose", 4, good_for=("ending",), peak=4),
        a_figure("long-pose", 8, good_for=("ending",), peak=4),
        a_figure("late-pose", 8, good_for=("ending",), peak=5),
        a_figure("turn", 4, turn=4),
        a_figure("spin", 4, turn=8),
        a_figure("spin-back", 4, turn=-8),
        a_figure("walk", 4, travel=(1500, 0)),
        a_figure("swing-out", 4, path=[(24, 2500, 0)]),
    ]


def music(
    hits: Iterable[int] = (),
    energies: tuple[int | None, int | None] = (None, None),
    labels: tuple[str, str] = ("A", "B"),
) -> Timeline:
    """Four bars of 4/4, phrases of one bar, two sections of two bars."""
    return a_timeline(4, 4, 1, sections=[(2, labels[0], energies[0]), (2, labels[1], energies[1])], hits=hits)


def setting(example: Example) -> Problem:
    """The problem of an example."""
    tune: Any = {k: tuple(v) if isinstance(v, list) else v for k, v in example.music.items()}
    return a_problem(figures(), example.wishes, example.room, example.couple, music(**tune))


def dancing(example: Example, problem: Problem) -> Routine:
    """The routine of an example."""
    return a_routine(problem, example.figures, faces=example.faces, at=example.at)
