"""What to learn next: the one or two figures, new to the couple, that would improve the routine most.

The learning budget of the rules does the choosing: with a budget of one (two) new figures the solver is free to use
any figure of the catalogue but no more than that many new ones, and its best routine names them, with proof. The
runners-up are found the same way after the first choice is taken out. What the couple avoids, has ruled out
(``never``) or does not want yet (``not_yet``) stays out. The gain is the difference of two best scores, each proved
when :class:`Gain` says so.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from composer.network import build
from composer.outcome import Found
from composer.problem import Problem
from composer.routine import Routine
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
    """The best score today, single figures in order of gain, and the best pair (None when it gains no more than one).

    ``none_helps`` is proved: no single new figure improves the routine.
    """

    today: int
    today_proven: bool
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
    today = _best(problem, 0, (), time_limit_s, seed)
    if today is None:
        return None
    singles: list[Gain] = []
    none_helps = False
    while len(singles) < most:
        tell(f"one new figure, number {len(singles) + 1}")
        out = tuple(figure for gain in singles for figure in gain.figures)
        found = _best(problem, 1, out, time_limit_s, seed)
        if found is None:
            break
        gain = _gain(problem, today, found)
        if gain.gain <= 0 or not gain.figures:
            none_helps = not singles and found.proven_best and today.proven_best
            break
        singles.append(gain)
    pair = None
    if singles:
        tell("two new figures")
        found = _best(problem, 2, (), time_limit_s, seed)
        if found is not None:
            both = _gain(problem, today, found)
            pair = both if len(both.figures) == 2 and both.gain > singles[0].gain else None
    return Learning(today.routine.score, today.proven_best, tuple(singles), pair, none_helps)


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


def _best(problem: Problem, number: int, out: Sequence[str], time_limit_s: float, seed: int) -> Found | None:
    """The best routine with so many new figures, those in ``out`` left out; None when none was found."""
    from composer.rules import breaches_of, points_of, state_all
    from composer.rules.base import Demand
    from composer.solve.cpsat import Limits
    from composer.solve.read import Judges
    from composer.solve.solve import WALL_FACTOR, WORK_PER_SECOND, solve_stated

    asked = with_budget(problem, number)
    network = build(asked)
    stated = state_all(asked, network)
    if out:
        told = Demand("learn-next:told", "", law=True,
                      forbids=frozenset(arc.id for arc in network.arcs if arc.figure in out))  # fmt: skip
        stated = replace(stated, demands=(*stated.demands, told))
    limits = Limits(work=time_limit_s * WORK_PER_SECOND, wall_s=time_limit_s * WALL_FACTOR, seed=seed)
    outcome = solve_stated(asked, network, stated, Judges(breaches_of, points_of), limits)
    return outcome if isinstance(outcome, Found) else None


def _gain(problem: Problem, today: Found, found: Found) -> Gain:
    figures = new_figures(problem, found.routine)
    catalogue = problem.catalogue
    holds = sorted(
        {catalogue.figures[f].chart.exit.hold for f in figures}
        - {f.chart.exit.hold for f in problem.figures().values() if not is_new(problem, f.id)}
    )
    names = tuple(catalogue.holds[hold].name for hold in holds)
    proven = today.proven_best and found.proven_best
    return Gain(figures, found.routine, found.routine.score - today.routine.score, proven, names)
