"""Knobs in plain words: calmer, showier, easier to remember, more travelling.

Each is a term of its own in whole points, stated over arcs and worked out again from a routine. They never replace
the brief's score: among routines of near-best score the one with most points in the style is preferred. The numbers
are common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from composer.catalogue.model import Figure
from composer.network.model import Network
from composer.problem import Problem
from composer.revise.kept import beats_within
from composer.routine import Routine
from composer.rules.base import Points, Row, Stated, Term, Unknown, Var
from composer.rules.look import begins

PREFIX: Final = "style"
NEW_FIGURE: Final = 40
"""Points that every further figure to remember costs."""


@dataclass(frozen=True)
class Style:
    """A knob. ``worth`` is points of one figure danced once; ``distinct`` points of each different figure."""

    name: str
    sentence: str
    worth: Callable[[Figure], int]
    distinct: int = 0


def _beats(figure: Figure) -> int:
    return len(beats_within(0, figure.length_ticks))


def _turned(figure: Figure) -> int:
    """Eighths both partners turn, whatever the direction."""
    return (abs(figure.motion.leader_turn16) + abs(figure.motion.follower_turn16)) // 2


def _calm(figure: Figure) -> int:
    return -4 * (figure.chart.energy - 1) * _beats(figure) - 3 * _turned(figure)


def _showy(figure: Figure) -> int:
    return 4 * figure.chart.energy * _beats(figure) + 2 * _turned(figure) + (20 if figure.chart.peak is not None else 0)


def _far(figure: Figure) -> int:
    """Tenths of a metre from the start of the figure to its end."""
    along, across = figure.motion.travel_forward_mm, figure.motion.travel_right_mm
    return math.isqrt(along * along + across * across) // 100


STYLES: Final[dict[str, Style]] = {
    "calmer": Style("calmer", "Calmer: less energy and fewer turns", _calm),
    "showier": Style("showier", "Showier: energy, turns and highlights", _showy),
    "easier": Style("easier", "Easier to remember: few different figures", lambda figure: 0, -NEW_FIGURE),
    "travelling": Style("travelling", "More travelling: ground covered", _far),
}
WORDS: Final = {
    "calm": "calmer", "showy": "showier", "easier to remember": "easier", "easy to remember": "easier",
    "easy": "easier", "more travelling": "travelling", "travel": "travelling",
}  # fmt: skip
"""Other ways to say the same."""


def style_named(text: str) -> Style | None:
    """The style meant, or None."""
    word = " ".join(text.casefold().replace("-", " ").split())
    return STYLES.get(WORDS.get(word, word))


def stated_style(style: Style, problem: Problem, network: Network) -> Stated:
    """The style's term with the unknowns it needs."""
    weights: dict[Var, int] = {}
    unknowns: list[Unknown] = []
    ties: list[Row] = []
    for name, arcs in network.table.by_figure.items():
        figure = problem.catalogue.figures[name]
        if worth := style.worth(figure):
            weights.update(dict.fromkeys(arcs.tolist(), worth))
        if style.distinct:
            used = f"{PREFIX}:used:{name}"
            unknowns.append(Unknown(used, 0, 1))
            ties += begins(used, network.table, arcs, figure.length_ticks)
            weights[used] = style.distinct
    return Stated((), tuple(unknowns), tuple(ties), (Term(f"{PREFIX}:{style.name}", style.sentence, weights),))


def style_points(style: Style, problem: Problem, routine: Routine) -> Points:
    """The same from a routine."""
    figures = problem.catalogue.figures
    given = [style.worth(figures[placed.figure]) for placed in routine.figures]
    seen: set[str] = set()
    for index, placed in enumerate(routine.figures):
        if placed.figure not in seen:
            given[index] += style.distinct
            seen.add(placed.figure)
    return Points(f"{PREFIX}:{style.name}", sum(given), tuple(given))
