"""What to learn next: the one or two figures, new to the couple, that would improve the routine most.

The learning budget of the rules does the choosing: with a budget of one (two) new figures the solver is free to use
any figure of the catalogue but no more than that many new ones, and its best routine names them, with proof. The
runners-up are found the same way after the first choice is taken out. What the couple avoids, has ruled out
(``never``) or does not want yet (``not_yet``) stays out. The gain is the difference of two best scores, each proved
when :class:`Gain` says so.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace

from composer.network import build
from composer.network.model import Network
from composer.outcome import Found, Outcome
from composer.problem import Problem
from composer.routine import Routine
from composer.rules.base import Stated
from composer.rules.changes import changed
from composer.rules.learned import BUDGET
from composer.textfiles import Document

MOST_LEVEL = 5


@dataclass(frozen=True)
class Gain:
    """New figures, the best routine with them, and what it gains over the best without.

    ``proven``: both best scores are proved, so that no other choice of so many new figures (apart from those already
    told) gains more.
    """

    figures: tuple[str, ...]
    routine: Routine
    gain: int
    proven: bool
    holds: tuple[str, ...] = ()


@dataclass(frozen=True)
class Learning:
    """The best routine today, single figures in order of gain, and the best pair (None when it gains no more than one).

    ``none_helps`` is proved: no single new figure improves the routine.
    """

    today: Found
    singles: tuple[Gain, ...]
    pair: Gain | None
    none_helps: bool


def learn_next(
    problem: Problem,
    *,
    most: int = 3,
    time_limit_s: float = 20.0,
    seed: int = 0,
    heard: Callable[[str], None] | None = None,
) -> Learning | None:
    """What would improve the best routine most; None when there is none to compare with (in the time given).

    Parameters
    ----------
    most : single figures to tell.
    time_limit_s : about how long each of the ``most + 2`` searches may take.
    """
    tell = heard or (lambda text: None)
    tell("the best routine of today")
    today = best_with(problem, 0, (), time_limit_s, seed)
    if not isinstance(today, Found):
        return None
    singles: list[Gain] = []
    none_helps = False
    while len(singles) < most:
        tell(f"one new figure, number {len(singles) + 1}")
        out = tuple(figure for gain in singles for figure in gain.figures)
        found = best_with(problem, 1, out, time_limit_s, seed)
        if not isinstance(found, Found):
            break
        gain = gain_of(problem, today, found)
        if gain.gain <= 0 or not gain.figures:
            none_helps = not singles and gain.proven
            break
        singles.append(gain)
    pair = None
    if singles:
        tell("two new figures")
        found = best_with(problem, 2, (), time_limit_s, seed)
        if isinstance(found, Found):
            both = gain_of(problem, today, found)
            pair = both if len(both.figures) == 2 and both.gain > singles[0].gain else None
    return Learning(today, tuple(singles), pair, none_helps)


def new_figures(problem: Problem, routine: Routine) -> tuple[str, ...]:
    """Figures of a routine that either partner has still to learn."""
    return tuple(sorted({p.figure for p in routine.figures if is_new(problem, p.figure)}))


def is_new(problem: Problem, figure: str) -> bool:
    """Whether either partner has still to learn a figure."""
    level = problem.catalogue.figures[figure].chart.level
    couple = problem.brief.couple
    return any(level > dancer.level and figure not in dancer.knows for dancer in (couple.leader, couple.follower))


def with_budget(problem: Problem, number: int) -> Problem:
    """The problem with a budget of so many new figures of any level."""
    from composer.brief.schema import Learning as Budget
    from composer.rules.base import Change

    budget = Budget(most=max(1, number), level=MOST_LEVEL) if number else None
    asked = changed(problem, [Change(BUDGET, "", ("wishes", "learn"), budget, 0)])
    document = Document(problem.document.file, problem.document.data, problem.document.lines)
    return replace(asked, document=document)


def best_with(
    problem: Problem,
    number: int,
    out: Sequence[str],
    time_limit_s: float,
    seed: int,
    each_of: Sequence[Collection[str]] = (),
    least: int | None = None,
) -> Outcome:
    """The best routine with at most so many new figures; see :func:`stated_with`."""
    from composer.rules import breaches_of, points_of
    from composer.solve.read import Judges
    from composer.solve.solve import limits_for, solve_stated

    asked, network, stated = stated_with(problem, number, out, each_of, least)
    limits = limits_for(time_limit_s, seed)
    return solve_stated(asked, network, stated, Judges(breaches_of, points_of), limits)


def stated_with(
    problem: Problem,
    number: int,
    out: Sequence[str],
    each_of: Sequence[Collection[str]] = (),
    least: int | None = None,
) -> tuple[Problem, Network, Stated]:
    """The problem with a budget of so many new figures, ready to be solved.

    Parameters
    ----------
    out : new figures that do not come.
    each_of : groups of figures; at least one of every group comes.
    least : points the routine has at least; what cannot reach them is proved so sooner.
    """
    from composer.rules import state_all
    from composer.rules.base import Demand, Row

    asked = with_budget(problem, number)
    network = build(asked)
    stated = state_all(asked, network)
    told, names = [], set(out)
    if out:
        left = frozenset(arc.id for arc in network.arcs if arc.figure in names)
        told.append(Demand("learn-next:told", "", law=True, forbids=left))
    for index, group in enumerate(each_of):
        row = Row({arc.id: 1 for arc in network.arcs if arc.figure in group}, least=1)
        told.append(Demand(f"learn-next:some-{index}", "", law=True, rows=(row,)))
    if least is not None:
        row = Row(stated.points, least=least)
        told.append(Demand("learn-next:score", "", law=True, rows=(row,)))
    return asked, network, replace(stated, demands=(*stated.demands, *told))


def gain_of(problem: Problem, today: Found, found: Found) -> Gain:
    """What a routine with something new gains."""
    figures = new_figures(problem, found.routine)
    catalogue = problem.catalogue
    holds = sorted(
        {catalogue.figures[f].chart.exit.hold for f in figures}
        - {f.chart.exit.hold for f in problem.figures().values() if not is_new(problem, f.id)}
    )
    names = tuple(catalogue.holds[hold].name for hold in holds)
    proven = today.proven_best and found.proven_best
    return Gain(figures, found.routine, found.routine.score - today.routine.score, proven, names)
