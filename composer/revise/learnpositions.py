"""Which hold or position to learn next: the figures that only it opens, and what they gain.

A hold is *known* when a figure that both partners have learned begins or ends in it, or in one from which it is had by
letting hands go. Learning a hold opens the new figures that lead into it, stay in it or lead out of it, and otherwise
use known holds only; nobody learns them all at once, so at most :data:`EACH` of them (way in, way out, one more) may
come for every hold learned. That number is common practice, no source. Figures that need two unknown holds belong to
the pair. Every gain is the difference of two best scores found by solving. Holds are solved from the highest bound of
the linear relaxation down until no bound left can reach those found, which proves the order.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import combinations
from typing import Final

from composer.outcome import Found, Outcome, Undecided
from composer.problem import Problem
from composer.revise.bounds import bound_of_stated
from composer.revise.learnnext import Gain, best_with, gain_of, is_new, stated_with

EACH: Final = 3


@dataclass(frozen=True)
class PositionGain:
    """One hold or two (their keys), the new figures they open, and what is gained with at most :data:`EACH` of these
    for each hold; ``gain.figures`` are those danced."""

    holds: tuple[str, ...]
    opens: tuple[str, ...]
    gain: Gain


@dataclass(frozen=True)
class Positions:
    """Holds in order of gain, the best pair (None when it gains no more than one hold), and what is proved.

    ``unknown``: holds of these dances that the couple does not know. ``order_proven``: no hold that is not told gains
    more than one that is; ``pair_proven``: the same for the pair.
    """

    unknown: tuple[str, ...]
    singles: tuple[PositionGain, ...]
    pair: PositionGain | None
    order_proven: bool
    pair_proven: bool


def learn_positions(
    problem: Problem,
    today: Found,
    *,
    most: int = 3,
    time_limit_s: float = 20.0,
    seed: int = 0,
    heard: Callable[[str], None] | None = None,
) -> Positions:
    """What a hold or position (and two of them) would gain.

    Parameters
    ----------
    today : the best routine without anything new.
    most : single holds to tell.
    time_limit_s : about how long each search may take.
    """
    search = _Search(problem, today, time_limit_s, seed, heard or (lambda text: None))
    unknown = unknown_holds(problem)
    singles, order_proven = search.best([(hold,) for hold in unknown], most, today.routine.score)
    beaten = singles[0].gain.routine.score if singles else today.routine.score
    pairs, pair_proven = search.best(list(combinations(unknown, 2)), 1, beaten)
    return Positions(unknown, tuple(singles), pairs[0] if pairs else None, order_proven, pair_proven)


def known_holds(problem: Problem) -> frozenset[str]:
    """Holds in which a figure both have learned begins or ends, and those had from them by letting hands go."""
    danced = {
        hold
        for figure in problem.figures().values()
        if not is_new(problem, figure.id) and not _refused(problem, figure.id)
        for hold in (figure.chart.entry.hold, figure.chart.exit.hold)
    }
    catalogue = problem.catalogue
    return frozenset(hold for hold in catalogue.holds if any(catalogue.fits(have, hold) for have in danced))


def unknown_holds(problem: Problem) -> tuple[str, ...]:
    """The other holds that figures of the dances begin or end in, sorted."""
    used = {h for f in problem.figures().values() for h in (f.chart.entry.hold, f.chart.exit.hold)}
    return tuple(sorted(used - known_holds(problem)))


def opened_by(problem: Problem, holds: tuple[str, ...]) -> tuple[str, ...]:
    """New figures that begin or end in one of these holds and need no other hold the couple does not know."""
    wanted = set(holds)
    within = known_holds(problem) | wanted
    return tuple(
        name
        for name, figure in problem.figures().items()
        if is_new(problem, name)
        and not _refused(problem, name)
        and (ends := {figure.chart.entry.hold, figure.chart.exit.hold}) & wanted
        and ends <= within
    )


def _refused(problem: Problem, figure: str) -> bool:
    """Whether the brief rules a figure out whatever the couple learns."""
    from composer.rules.look import figure_id

    couple = problem.brief.couple
    named = (*problem.brief.wishes.never, *couple.leader.not_yet, *couple.follower.not_yet)
    return figure in {figure_id(problem, name) for name in named}


class _Search:
    def __init__(
        self, problem: Problem, today: Found, time_limit_s: float, seed: int, tell: Callable[[str], None]
    ) -> None:
        self.problem, self.today, self.time_limit_s, self.seed, self.tell = problem, today, time_limit_s, seed, tell
        self.new = tuple(name for name in problem.figures() if is_new(problem, name))

    def best(self, choices: list[tuple[str, ...]], most: int, beaten: int) -> tuple[list[PositionGain], bool]:
        """The ``most`` choices with the best routines above a score, and whether no other does better: proved."""
        bounded = []
        for holds in choices:
            opens = opened_by(self.problem, holds)
            each_of = [self.at(hold, opens) for hold in holds]
            if not all(each_of):
                continue
            stated = stated_with(self.problem, EACH * len(holds), self.left_out(opens), each_of)
            bound = bound_of_stated(*stated[1:])
            if bound is not None and bound > beaten:
                bounded.append((bound, holds, opens, each_of))
        bounded.sort(key=lambda item: (-item[0], item[1]))
        found: list[PositionGain] = []
        undecided: list[int] = []
        for bound, holds, opens, each_of in bounded:
            if bound <= beaten:
                break
            self.tell(" and ".join(self.problem.catalogue.holds[hold].name for hold in holds))
            outcome = self.solved(holds, opens, each_of, beaten + 1)
            if isinstance(outcome, Undecided):  # the other way round the proof is sometimes short
                outcome = self.solved(holds, opens, each_of, None)
            if not isinstance(outcome, Found):
                undecided += [bound] if isinstance(outcome, Undecided) else []
                continue
            if not outcome.proven_best:
                undecided.append(outcome.bound)
            if outcome.routine.score <= beaten:
                continue
            found.append(PositionGain(holds, opens, gain_of(self.problem, self.today, outcome)))
            found.sort(key=lambda item: (-item.gain.gain, len(item.gain.figures), item.holds))
            found = found[:most]
            if len(found) == most:
                beaten = found[-1].gain.routine.score
        return found, self.today.proven_best and all(bound <= beaten for bound in undecided)

    def solved(
        self, holds: tuple[str, ...], opens: tuple[str, ...], each_of: list[frozenset[str]], least: int | None
    ) -> Outcome:
        number, out = EACH * len(holds), self.left_out(opens)
        return best_with(self.problem, number, out, self.time_limit_s, self.seed, each_of, least)

    def at(self, hold: str, opens: tuple[str, ...]) -> frozenset[str]:
        """Those of the figures that begin or end in a hold."""
        charts = {name: self.problem.catalogue.figures[name].chart for name in opens}
        return frozenset(n for n, chart in charts.items() if hold in (chart.entry.hold, chart.exit.hold))

    def left_out(self, opens: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(name for name in self.new if name not in set(opens))
