"""Why a revision has no routine: the brief alone, or the brief together with what the revision adds."""

from __future__ import annotations

from collections.abc import Sequence

from composer.outcome import Clash, ClashMember, NoRoutine
from composer.problem import Problem
from composer.rules.base import Demand


def explained(problem: Problem, outcome: NoRoutine, extra: Sequence[Demand], time_limit_s: float) -> NoRoutine:
    """The same proof with the wishes that clash.

    Parameters
    ----------
    extra : demands of the revision that are in no brief.
    """
    if outcome.clashes:
        return outcome
    from composer.explain.why import why

    told = why(problem, time_limit_s=time_limit_s)
    if isinstance(told, NoRoutine):
        return told
    if not extra:
        return outcome
    members = tuple(ClashMember(demand.key, demand.sentence, demand.where) for demand in extra)
    reason = "the brief alone has a routine; only together with this it has none"
    return NoRoutine((Clash(members, minimal=len(members) == 1, reasons=(reason,)),))
