"""Where the partners of a routine could change roles: between two figures, where hands and feet allow it.

When the follower takes over the lead nobody moves: the same stance, the same joined hands and the same free feet are
read the other way round. A change is possible where the couple then stands in a hold of the catalogue (a frame, with
one partner's hand on the other's back, is left first; hands not needed are let go) and a figure that both have learned
begins from there on that beat of the bar: at once when it begins with the feet that are free, else after both have
changed weight. A brief with ``couple.both_lead`` is composed with changes of the first kind.
Source: geometry; common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from composer.catalogue.model import Figure, Stand
from composer.catalogue.roles import swapped_holds
from composer.charts import Foot
from composer.problem import Problem
from composer.routine import Routine
from composer.units import TICKS_PER_BEAT

OTHER: dict[Foot, Foot] = {"L": "R", "R": "L"}


@dataclass(frozen=True)
class RoleChange:
    """A change of roles before the figure that begins at ``tick``.

    ``hold`` is the hold as the new leader has it; ``figures`` could follow (ids, sorted); ``feet_ready`` is False when
    both partners change weight first; ``made`` is True where the routine does change roles there.
    """

    tick: int
    hold: str
    figures: tuple[str, ...]
    feet_ready: bool
    made: bool = False

    @property
    def count(self) -> int:
        """The count at which the new leader begins."""
        return self.tick // TICKS_PER_BEAT + 1


def role_changes(problem: Problem, routine: Routine) -> list[RoleChange]:
    """Every place between two figures of a routine where the roles could change, or do."""
    catalogue, found = problem.catalogue, []
    for before, after in zip(routine.figures, routine.figures[1:], strict=False):
        figure = catalogue.figures.get(before.figure)
        if figure is None or before.end_tick != after.start_tick:
            continue
        change = _change(problem, figure, after.start_tick, swapped=not before.swapped)
        if change is not None:
            found.append(replace(change, made=before.swapped != after.swapped))
    return found


def _change(problem: Problem, before: Figure, tick: int, *, swapped: bool) -> RoleChange | None:
    end = before.chart.exit
    in_bar = problem.timeline.beat_in_bar(tick)
    for hold in swapped_holds(problem.catalogue, end.hold):
        for ready in (True, False):
            lead, follow = end.follower_free, end.leader_free
            stand = Stand(hold, 0, lead, follow) if ready else Stand(hold, 0, OTHER[lead], OTHER[follow])
            names = tuple(
                name
                for name, figure in problem.figures().items()
                if in_bar in figure.chart.starts_on
                and problem.catalogue.joins(stand, figure)
                and not problem.catalogue.only_first(figure)
                and _learned(problem, figure, swapped=swapped)
            )
            if names:
                return RoleChange(tick, hold, names, ready)
    return None


def _learned(problem: Problem, figure: Figure, *, swapped: bool) -> bool:
    """Whether both know a figure in the roles they would dance it in, as far as the brief tells roles apart."""
    couple = problem.brief.couple
    known = [dancer.learned(swapped=swapped) for dancer in (couple.leader, couple.follower)]
    return all(
        (figure.chart.level <= learned.level or figure.id in learned.knows) and figure.id not in learned.not_yet
        for learned in known
    )
