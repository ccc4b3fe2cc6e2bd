"""Where the partners of a routine could change roles: between two figures, where hands and feet allow it.

When the follower takes over the lead nobody moves: the same stance, the same joined hands and the same free feet are
read the other way round. A change is possible where the couple then stands in a hold of the catalogue (a frame, with
one partner's hand on the other's back, is left first; hands not needed are let go) and a figure that both have learned
begins from there on that beat of the bar: at once when it begins with the feet that are free, else after both have
changed weight. Source: geometry; common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

from composer.catalogue.model import Catalogue, Figure, Stand
from composer.charts import Foot, HoldFile, StanceFile
from composer.problem import Problem
from composer.routine import Routine
from composer.units import TICKS_PER_BEAT

CLOSE_MM = 150
"""Two stances this near to each other pass for the same; partners settle as they take hold anew."""
OTHER: dict[Foot, Foot] = {"L": "R", "R": "L"}
SWAPPED = {"LR": "RL", "RL": "LR", "LL": "LL", "RR": "RR"}


@dataclass(frozen=True)
class RoleChange:
    """A change of roles before the figure that begins at ``tick``.

    ``hold`` is the hold as the new leader has it; ``figures`` could follow (ids, sorted); ``feet_ready`` is False when
    both partners change weight first.
    """

    tick: int
    hold: str
    figures: tuple[str, ...]
    feet_ready: bool

    @property
    def count(self) -> int:
        """The count at which the new leader begins."""
        return self.tick // TICKS_PER_BEAT + 1


def role_changes(problem: Problem, routine: Routine) -> list[RoleChange]:
    """Every place between two figures of a routine where the roles could change."""
    catalogue, found = problem.catalogue, []
    for before, after in zip(routine.figures, routine.figures[1:], strict=False):
        figure = catalogue.figures.get(before.figure)
        if figure is None or before.end_tick != after.start_tick:
            continue
        change = _change(problem, figure, after.start_tick)
        if change is not None:
            found.append(change)
    return found


def _change(problem: Problem, before: Figure, tick: int) -> RoleChange | None:
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
                and _learned(problem, figure)
            )
            if names:
                return RoleChange(tick, hold, names, ready)
    return None


def _learned(problem: Problem, figure: Figure) -> bool:
    """Whether both know a figure in the other role: only what both have learned is taken for granted there."""
    couple = problem.brief.couple
    return all(
        (figure.chart.level <= dancer.level or figure.id in dancer.knows) and figure.id not in dancer.not_yet
        for dancer in (couple.leader, couple.follower)
    )


def swapped_holds(catalogue: Catalogue, name: str) -> list[str]:
    """Holds in which the couple stands when the partners change roles without moving; most joined hands first."""
    hold = catalogue.holds[name]
    if hold.frame or hold.lie not in ("open", "free"):
        return []
    hands = {SWAPPED[joined.pair] for joined in hold.hands}
    facing, forward, right = swapped_stance(catalogue.stances[hold.stance])
    found = [
        (len(other.hands), key)
        for key, other in catalogue.holds.items()
        if _takes(other, hands) and _near(catalogue.stances[other.stance], facing, forward, right)
    ]
    return [key for _, key in sorted(found, key=lambda item: (-item[0], item[1]))]


def swapped_stance(stance: StanceFile) -> tuple[int, int, int]:
    """(facing in sixteenths, forward, right in mm) of the old leader in the old follower's frame."""
    from composer.units import local_from_world, world_from_local

    x, y = world_from_local(stance.forward, stance.right, 0)
    forward, right = local_from_world(-x, -y, stance.facing)
    return -stance.facing % 16, round(forward), round(right)


def _takes(other: HoldFile, hands: set[str]) -> bool:
    return not other.frame and other.lie in ("open", "free") and {joined.pair for joined in other.hands} <= hands


def _near(stance: StanceFile, facing: int, forward: int, right: int) -> bool:
    apart = max(abs(stance.forward - forward), abs(stance.right - right))
    return (stance.facing - facing) % 16 == 0 and apart <= CLOSE_MM
