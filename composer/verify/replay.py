"""Dancing a routine step by step: feet, holds, facings, counts, the clock, and what the score card claims.

Written apart from the rules on purpose: feet and facings are followed through the *simulated moments* (who
carries weight on which foot, which way the body points), not through the declared entries and exits that the
rules and the network use.
"""

from __future__ import annotations

from collections.abc import Iterator

from composer.catalogue.model import Catalogue, Figure
from composer.charts import Foot
from composer.problem import Problem
from composer.routine import Placed, Routine
from composer.rules.base import Breach
from composer.units import ALIGNMENTS, TICKS_PER_BEAT
from composer.verify import handover

OTHER: dict[Foot, Foot] = {"L": "R", "R": "L"}
FOOT_WORDS: dict[Foot, str] = {"L": "left", "R": "right"}


def _count(tick: int) -> int:
    return tick // TICKS_PER_BEAT + 1


def _law(subject: str, tick: int, message: str) -> Breach:
    return Breach(f"replay:{subject}", message, count=_count(tick), law=True)


def chain(problem: Problem, routine: Routine) -> Iterator[Breach]:
    """Feet, hold, facing and alignment from one figure to the next."""
    feet: dict[str, Foot | None] = {"leader": None, "follower": None}
    hold: str | None = None
    faces16: int | None = None
    last: tuple[Placed, Figure] | None = None
    for placed in routine.figures:
        figure = problem.catalogue.figures.get(placed.figure)
        if figure is None:
            yield _law("figure", placed.start_tick, f"'{placed.figure}' is not a figure of this catalogue")
            feet, hold, faces16, last = {"leader": None, "follower": None}, None, None, None
            continue
        if last is not None and last[0].swapped != placed.swapped:
            feet = {"leader": feet["follower"], "follower": feet["leader"]}
            faces16 = 2 * last[0].faces + last[1].motion.moments[-1].follower.facing16
            yield from handover.taken(problem.catalogue, last[1], placed, figure)
        else:
            yield from _held(problem.catalogue, placed, figure, hold)
        yield from _feet(placed, figure, feet)
        yield from _turned(problem, placed, figure, faces16)
        last = placed, figure
        hold = figure.chart.exit.hold
        first, end = figure.motion.moments[0], figure.motion.moments[-1]
        faces16 = 2 * placed.faces + end.leader.facing16 - first.leader.facing16


def _feet(placed: Placed, figure: Figure, weight: dict[str, Foot | None]) -> Iterator[Breach]:
    """The foot that carried a dancer at the end of one figure must carry them as the next begins."""
    first, last = figure.motion.moments[0], figure.motion.moments[-1]
    for role, starts, ends in (("leader", first.leader, last.leader), ("follower", first.follower, last.follower)):
        stands = weight[role]
        if stands is not None and stands != starts.weight:
            free, needs = FOOT_WORDS[OTHER[stands]], FOOT_WORDS[OTHER[starts.weight]]
            message = f"{figure.chart.name} needs the {role}'s {needs} foot free; it is the {free}"
            yield _law(f"{role}-foot", placed.start_tick, message)
        weight[role] = ends.weight


def _held(catalogue: Catalogue, placed: Placed, figure: Figure, hold: str | None) -> Iterator[Breach]:
    """The couple must stand as the figure needs it and hold every hand it needs."""
    need = figure.chart.entry.hold
    if hold is None or hold == need:
        return
    have, want = catalogue.holds[hold], catalogue.holds[need]
    stands = have.stance == want.stance
    pairs = {(hand.pair, hand.high) for hand in want.hands} <= {(hand.pair, hand.high) for hand in have.hands}
    plain = not have.frame and not want.frame and {have.lie, want.lie} <= {"open", "free"}
    if not (stands and pairs and plain):
        message = f"{figure.chart.name} needs {want.name}; the couple is in {have.name}"
        yield _law("hold", placed.start_tick, message)


def _turned(problem: Problem, placed: Placed, figure: Figure, faces16: int | None) -> Iterator[Breach]:
    if faces16 is not None and (faces16 - 2 * placed.faces) % 16:
        eighths = ((2 * placed.faces - faces16) % 16) / 2
        message = f"{figure.chart.name} begins {eighths:g} eighths to the right of where the couple faces"
        yield _law("facing", placed.start_tick, message)
    wanted = figure.chart.entry.faces
    alignment = (placed.faces + 2 * placed.corners) % 8
    if problem.keeps_alignment and wanted is not None and alignment not in wanted:
        allowed = " or ".join(ALIGNMENTS[item] for item in wanted)
        message = f"{figure.chart.name} begins facing {ALIGNMENTS[alignment]}; it may begin facing {allowed}"
        yield _law("alignment", placed.start_tick, message)


def clock(problem: Problem, routine: Routine) -> Iterator[Breach]:
    """Every count danced once, no step cut off, and the routine over exactly when the danced part of the music is."""
    music, at = problem.timeline, 0
    for placed in routine.figures:
        figure = problem.catalogue.figures.get(placed.figure)
        if placed.start_tick != at:
            yield _law("clock", placed.start_tick, f"the figure before ends on tick {at}, this one begins elsewhere")
        if figure is not None:
            last = max(step.tick for step in (*figure.chart.leader, *figure.chart.follower))
            if last >= placed.end_tick - placed.start_tick:
                yield _law("clock", placed.start_tick, f"{figure.chart.name} is cut off before its last step")
        at = placed.end_tick
    danced = music.usable[1] - music.usable[0]
    if at != danced * TICKS_PER_BEAT:
        message = f"the routine ends after {at / TICKS_PER_BEAT:g} counts; the music to be danced has {danced}"
        yield _law("clock", at, message)


def score(problem: Problem, routine: Routine) -> Iterator[Breach]:
    """A score card, when the routine has one, must say what the brief and the catalogue give."""
    if not routine.score_card:
        return
    from composer.rules import points_of

    earned = {item.term: item.total for item in points_of(problem, routine)}
    for line in routine.score_card:
        if earned.get(line.term, 0) != line.points:
            message = (
                f"the score card gives {line.points} for '{line.term}'; counted again it is {earned.get(line.term, 0)}"
            )
            yield Breach("replay:score", message, law=True)
    if routine.score != sum(line.points for line in routine.score_card):
        yield Breach("replay:score", "the score is not the sum of its card", law=True)
