"""Every figure begins where and how the one before it ended. Laws of bodies, not wishes.

Asks: the figure exists in the dances asked for, begins on a beat of the bar it may begin on and suits the kind of
room; the hold fits (more joined hands than needed may be let go), each partner's free foot and the leader's facing
are those the previous figure left, read the other way round where the partners change roles; on a travelling floor the
leader's alignment is one the figure may begin on.
Source: figures and alignments as the trade charts them; the relation of holds is common practice, no source.

The network is built from exactly these laws, so nothing is stated here; the checker proves them again.
"""

from __future__ import annotations

from collections.abc import Iterable

from composer.catalogue.model import Figure, Stand
from composer.errors import did_you_mean
from composer.network.model import Network
from composer.problem import Problem
from composer.routine import Placed, Routine
from composer.rules.base import Breach, Example, Points, Stated
from composer.rules.look import count_of
from composer.units import ALIGNMENTS, TICKS_PER_BEAT

NAME = "continuity"

EXAMPLES = (
    Example("every figure begins in the hold the last one ended in", ("open-out", "open-basic", "close-up", "four")),
    Example("two hands hold one hand too: the other is let go", ("open-out", "one-hand", "one-hand", "one-hand")),
    Example("an open hold cannot begin a closed figure", ("open-out", "four", "four", "four"), good=False),
    Example("one hand is not two hands", ("open-out", "one-hand", "open-basic", "close-up"), good=False),
    Example("the wrong foot is free", ("half-weight", "four", "four", "four"), good=False),
    Example("roles change in two hands", ("open-out", "open-change", "~open-basic", "~open-basic"),
            couple={"both_lead": True}),
    Example("the brief has one leader", ("open-out", "open-change", "~open-basic", "~open-basic"), good=False),
    Example("with a hand on the back roles do not change", ("half-weight", "~four", "~four", "~four"),
            couple={"both_lead": True}, good=False),
    Example("the wrong feet are free to change roles", ("open-out", "open-basic", "~open-basic", "~open-basic"),
            couple={"both_lead": True}, good=False),
    Example("a figure that begins on beat 1 begins on beat 3", ("six", "bar-start", "six"), good=False),
)  # fmt: skip


def state(problem: Problem, network: Network) -> Stated:
    """Nothing: the network's shape is this family."""
    return Stated()


def breaches(problem: Problem, routine: Routine) -> list[Breach]:
    """All breaches, figure by figure and join by join."""
    found: list[Breach] = []
    figures = problem.figures()
    before: tuple[Placed, Figure] | None = None
    for placed in routine.figures:
        figure = figures.get(placed.figure)
        if figure is None:
            found.append(_breach("figure", placed, _unknown(problem, placed.figure, list(figures))))
        else:
            found += [*_alone(problem, placed, figure), *_joined(problem, before, placed, figure)]
            found += _led(problem, before, placed, figure)
        before = None if figure is None else (placed, figure)
    return found


def points(problem: Problem, routine: Routine) -> Iterable[Points]:
    """No score."""
    return ()


def _breach(detail: str, placed: Placed, message: str) -> Breach:
    return Breach(f"{NAME}:{detail}", message, count=count_of(placed.start_tick), law=True)


def _unknown(problem: Problem, identity: str, known: list[str]) -> str:
    if identity in problem.catalogue.figures:
        return f"'{identity}' belongs to another dance; the brief asks for {', '.join(problem.brief.dances)}"
    remedy = did_you_mean(identity, known)
    return f"'{identity}' is not a figure of this catalogue." + (f" {remedy}" if remedy else "")


def _alone(problem: Problem, placed: Placed, figure: Figure) -> list[Breach]:
    """What a figure needs whatever came before it: beat of the bar, kind of room, alignment."""
    found, name, chart = [], figure.chart.name, figure.chart
    if placed.start_tick % TICKS_PER_BEAT:
        found.append(_breach("beat", placed, f"{name} must begin on a beat, not between two"))
    elif 0 <= placed.start_tick < problem.length_ticks:
        beat = problem.timeline.beat_in_bar(placed.start_tick)
        if beat not in chart.starts_on:
            allowed = " or ".join(str(b) for b in chart.starts_on)
            found.append(_breach("beat", placed, f"{name} begins on beat {beat} of the bar; it may begin on {allowed}"))
    if problem.room is not None and problem.room.style not in figure.styles:
        found.append(
            _breach("style", placed, f"{name} suits {' or '.join(figure.styles)} floors, not {problem.room.style}")
        )
    if problem.keeps_alignment and chart.entry.faces is not None and placed.alignment not in chart.entry.faces:
        allowed = " or ".join(ALIGNMENTS[a] for a in chart.entry.faces)
        found.append(
            _breach(
                "alignment",
                placed,
                f"{name} begins facing {ALIGNMENTS[placed.alignment]}; it may begin facing {allowed}",
            )
        )
    return found


def _led(problem: Problem, before: tuple[Placed, Figure] | None, placed: Placed, figure: Figure) -> list[Breach]:
    """Where the brief has one leader nobody else leads; told once where it begins."""
    if problem.both_lead or not placed.swapped or (before is not None and before[0].swapped):
        return []
    message = f"the follower leads {figure.chart.name}; the brief does not say that both lead (couple.both_lead)"
    return [_breach("lead", placed, message)]


def _joined(problem: Problem, before: tuple[Placed, Figure] | None, placed: Placed, figure: Figure) -> list[Breach]:
    """What two neighbours must agree on."""
    if before is None:
        return []
    found: list[Breach] = []
    last, entry = before[1], figure.chart.entry
    stand = last.end_of(before[0].faces)
    holds, name, names = problem.catalogue.holds, figure.chart.name, f"after {last.chart.name}"
    ways: tuple[Stand, ...] = (stand,)
    if before[0].swapped != placed.swapped:
        ways = problem.catalogue.handed_over(stand)
        if not ways:
            message = f"roles cannot change {names}: in {holds[stand.hold].name} hands or stance do not allow it"
            return [_breach("lead", placed, message)]
        names, stand = f"{names} and the change of roles", ways[0]
    if not any(problem.catalogue.fits(way.hold, entry.hold) for way in ways):
        have, need = holds[stand.hold].name, holds[entry.hold].name
        found.append(_breach("hold", placed, f"{name} needs {need}; {names} the couple is in {have}"))
    for role, have_foot, need_foot in (
        ("leader", stand.leader_free, entry.leader_free),
        ("follower", stand.follower_free, entry.follower_free),
    ):
        if have_foot != need_foot:
            words = {"L": "left", "R": "right"}
            found.append(
                _breach(
                    f"{role}-foot",
                    placed,
                    f"{name} needs the {role}'s {words[need_foot]} foot free; {names} it is the {words[have_foot]}",
                )
            )
    if placed.faces != stand.faces:
        found.append(
            _breach(
                "facing",
                placed,
                f"{name} begins {(placed.faces - stand.faces) % 8} eighths further right than {last.chart.name} ended",
            )
        )
    if not 0 <= placed.corners - before[0].corners <= 1:
        found.append(_breach("corner", placed, f"{name} cannot jump from one side of the room to another"))
    return found
