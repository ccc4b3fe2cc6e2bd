"""How the couple stands, faces and begins, and how it ends.

Asks, for ``opening`` and ``closing`` each: a hold (one with more joined hands will do, hands are let go), the leader's
facing (an alignment, on a travelling floor along the side then danced on, or towards the audience), the figure. One
demand per part. A show usually ends facing the audience: ``closing: {faces: audience}``.
Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Literal

from composer.brief.schema import Standing
from composer.catalogue.model import Figure
from composer.floor.model import SIDE_FACING
from composer.network.model import Network
from composer.problem import Problem
from composer.routine import Routine
from composer.rules.base import Breach, Change, Demand, Example, Points, Stated
from composer.rules.look import call, count_of, danced, figure_id, said
from composer.units import ALIGNMENT_WORDS, ALIGNMENTS

NAME = "opening_closing"
COMPASS = ("east", "south-east", "south", "south-west", "west", "north-west", "north", "north-east")
End = Literal["opening", "closing"]
_Holds = Callable[[Figure, int, int], bool]

SHOW = {"style": "show", "width": 9, "depth": 9, "audience": "south"}

EXAMPLES = (
    Example("begins closed", ("four", "four", "eight"), wishes={"opening": {"hold": "closed"}}),
    Example("does not begin open", ("four", "four", "eight"), wishes={"opening": {"hold": "two-hands"}}, good=False),
    Example("ends with the pose", ("four", "eight", "pose"), wishes={"closing": {"figure": "test/pose"}}),
    Example("the pose is not last", ("eight", "pose", "four"), wishes={"closing": {"figure": "test/pose"}}, good=False),
    Example("half a turn brings the leader round", ("four", "eight", "turn"), wishes={"closing": {"faces": "ALOD"}}),
    Example("and no further", ("four", "eight", "turn"), wishes={"closing": {"faces": "LOD"}}, good=False),
    Example("the audience is in the south", ("four", "eight", "turn"), wishes={"closing": {"faces": "audience"}},
            room=SHOW, faces=6, at=(4500, 4500)),
    Example("and not in the west", ("four", "eight", "turn"), wishes={"closing": {"faces": "audience"}},
            room=SHOW, faces=0, at=(4500, 4500), good=False),
)  # fmt: skip


@dataclass(frozen=True)
class _Part:
    """One thing asked of one end: ``holds_for(figure, facing at its start, corners turned before it)``."""

    end: End
    part: str
    sentence: str
    holds_for: _Holds

    @property
    def key(self) -> str:
        return f"{NAME}:{self.end}-{self.part}"


def state(problem: Problem, network: Network) -> Stated:
    """One demand per part asked for."""
    figures, parts = problem.catalogue.figures, list(_parts(problem))
    if not parts:
        return Stated()
    table, own = network.table, network.table.danced
    first = [table.arc(arc) for arc in own[table.start[own] == 0].tolist()]
    last = [table.arc(arc) for arc in own[table.end[own] == network.length_ticks].tolist()]
    demands = []
    for part in parts:
        arcs = first if part.end == "opening" else last
        wrong = frozenset(arc.id for arc in arcs if not part.holds_for(figures[arc.figure], arc.faces, arc.corners))
        demands.append(Demand(part.key, part.sentence, said(problem, "wishes", part.end, part.part), forbids=wrong))
    return Stated(demands=tuple(demands))


def breaches(problem: Problem, routine: Routine) -> list[Breach]:
    """Parts of the opening or the closing that are not as asked."""
    found: list[Breach] = []
    if not routine.figures:
        return found
    ends = {"opening": 0, "closing": len(routine.figures) - 1}
    known = {index: (placed, figure) for index, placed, figure in danced(problem, routine)}
    for part in _parts(problem):
        if ends[part.end] in known:
            placed, figure = known[ends[part.end]]
            if not part.holds_for(figure, placed.faces, placed.corners):
                where = said(problem, "wishes", part.end, part.part)
                message = f"{part.sentence}; with {figure.chart.name} this is not so"
                found.append(Breach(part.key, message, count_of(placed.start_tick), where))
    return found


def softer(problem: Problem, key: str) -> list[Change]:
    """Leave that part of the opening or the closing open."""
    words = {"hold": "any hold", "faces": "any direction", "figure": "any figure"}
    return [
        Change(
            key,
            f"let the routine {'begin' if part.end == 'opening' else 'end'} with {words[part.part]}",
            ("wishes", part.end, part.part),
            "any" if part.part == "faces" else None,
            3,
        )
        for part in _parts(problem)
        if part.key == key
    ]


def points(problem: Problem, routine: Routine) -> Iterable[Points]:
    """No score."""
    return ()


def _parts(problem: Problem) -> Iterator[_Part]:
    yield from _parts_of(problem, "opening", problem.brief.wishes.opening)
    yield from _parts_of(problem, "closing", problem.brief.wishes.closing)


def _parts_of(problem: Problem, end: End, wish: Standing) -> Iterator[_Part]:
    begins = end == "opening"
    verb = "begins" if begins else "ends"
    if wish.hold is not None:
        fits = _opens_in(problem, wish.hold) if begins else _closes_in(problem, wish.hold)
        named = problem.catalogue.holds.get(wish.hold)
        yield _Part(end, "hold", f"The routine {verb} in {named.name if named else wish.hold}", fits)
    faces = _facing(problem, wish)
    if faces is not None:
        words = "the audience" if wish.faces == "audience" else _direction(problem, faces)
        turned = 0 if wish.faces == "audience" else 2  # a corner renames alignments, the audience stays where it is
        yield _Part(
            end,
            "faces",
            f"The leader faces {words} as the routine {verb}",
            lambda figure, at, corners: (
                ((at if begins else figure.end_of(at).faces) + turned * corners - faces) % 8 == 0
            ),
        )
    if wish.figure is not None:
        identity = figure_id(problem, wish.figure)
        yield _Part(
            end,
            "figure",
            f"The routine {verb} with {call(problem, identity)}",
            lambda figure, *_: figure.id == identity,
        )


def _direction(problem: Problem, faces: int) -> str:
    """A line of dance only where there is one; elsewhere by the plan of the room."""
    return ALIGNMENT_WORDS[faces] if problem.keeps_alignment else f"{COMPASS[faces]} ({ALIGNMENTS[faces]})"


def _opens_in(problem: Problem, hold: str) -> _Holds:
    known = problem.catalogue
    return lambda figure, *_: hold in known.holds and known.fits(hold, figure.chart.entry.hold)


def _closes_in(problem: Problem, hold: str) -> _Holds:
    known = problem.catalogue
    return lambda figure, *_: hold in known.holds and known.fits(figure.chart.exit.hold, hold)


def _facing(problem: Problem, wish: Standing) -> int | None:
    """Absolute facing asked for; None when any will do. A brief that names an audience has a side for it."""
    if wish.faces == "any":
        return None
    if wish.faces != "audience":
        return int(wish.faces)
    if problem.room is None or problem.room.audience is None:
        return None
    return SIDE_FACING[problem.room.audience]
