"""Holds and figures that not every body should do: left out when avoided, or until both partners agree.

Asks: a figure with a kind of movement the couple avoids is never danced; dips, lifts, drops, arms behind the back or
at the neck, fast spins and leaning weight need ``couple.accept``. A figure carries its own cautions and those of every
hold it begins in, passes through or ends in. ``avoid`` outweighs ``accept``.
Source: tests/facts/floor_and_safety.csv (dips agreed beforehand); the rest of the list that needs consent is common
practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from composer.catalogue.model import Figure
from composer.charts import OPT_IN_CAUTIONS, Caution
from composer.errors import Where
from composer.network.model import Network
from composer.problem import Problem
from composer.routine import Routine
from composer.rules.base import Breach, Change, Demand, Example, Points, Stated, Swap
from composer.rules.look import arcs_by_figure, count_of, danced, said

NAME = "cautions"

WORDS: Final[dict[Caution, str]] = {
    "behind-the-back": "an arm behind the back",
    "wrap": "wrapping",
    "neck-wrap": "an arm at the neck",
    "dip": "dips",
    "lift": "lifts",
    "fast-spin": "fast spins",
    "drop": "drops",
    "deep-knee": "deeply bent knees",
    "weight-sharing": "leaning weight on the partner",
}

EXAMPLES = (
    Example("nobody asked, so no dip", ("four", "four", "four", "dip"), good=False),
    Example("agreed beforehand", ("four", "four", "four", "dip"), couple={"accept": ["dip"]}),
    Example("agreed and avoided: avoided", ("four", "four", "four", "dip"),
            couple={"accept": ["dip"], "avoid": ["dip"]}, good=False),
    Example("a wrap needs no special consent", ("open-out", "wrap-in", "wrap-out", "close-up")),
    Example("but may be avoided; the hold itself counts", ("open-out", "wrap-in", "wrap-out", "close-up"),
            couple={"avoid": ["wrap"]}, good=False),
)  # fmt: skip


def state(problem: Problem, network: Network) -> Stated:
    """A demand for every avoided caution, and for every caution without consent that some figure carries."""
    left_out = _left_out(problem)
    forbids: dict[Caution, list[int]] = {caution: [] for caution in left_out}
    for identity, arcs in arcs_by_figure(network).items():
        carried = cautions_of(problem, problem.catalogue.figures[identity])
        for caution in left_out:
            if caution in carried:
                forbids[caution] += [arc.id for arc in arcs]
    demands = tuple(
        Demand(_key(caution), _sentence(caution, where), where, forbids=frozenset(forbids[caution]))
        for caution, where in left_out.items()
        if where is not None or forbids[caution]
    )
    return Stated(demands=demands)


def breaches(problem: Problem, routine: Routine) -> list[Breach]:
    """One breach per figure and caution."""
    avoid, accept = problem.brief.couple.avoid, problem.brief.couple.accept
    found: list[Breach] = []
    for _, placed, figure in danced(problem, routine):
        carried = cautions_of(problem, figure)
        for caution in WORDS:
            if caution not in carried:
                continue
            if caution in avoid or (caution in OPT_IN_CAUTIONS and caution not in accept):
                why = "the couple avoids that" if caution in avoid else "the brief does not accept that"
                where = said(problem, "couple", "avoid", avoid.index(caution)) if caution in avoid else None
                message = f"{figure.chart.name} has {WORDS[caution]}; {why}"
                found.append(Breach(_key(caution), message, count_of(placed.start_tick), where))
    return found


def softer(problem: Problem, key: str) -> list[Change]:
    """Consent, where nobody asked for the opposite. What the couple avoids is never talked away: it may be health."""
    for caution, words in WORDS.items():
        if key == _key(caution) and caution not in problem.brief.couple.avoid:
            sentence = f"agree to {words} (both partners, and learned with a teacher)"
            return [Change(key, sentence, ("couple", "accept"), Swap(new=caution), 7)]
    return []


def points(problem: Problem, routine: Routine) -> Iterable[Points]:
    """No score."""
    return ()


def cautions_of(problem: Problem, figure: Figure) -> set[Caution]:
    """The figure's own cautions and those of every hold on its way."""
    chart, holds = figure.chart, problem.catalogue.holds
    passed = {chart.entry.hold, chart.exit.hold, *(via.hold for via in chart.via)}
    passed |= {moment.hold for moment in figure.motion.moments if moment.hold is not None}
    return {*chart.cautions, *(caution for hold in passed if hold in holds for caution in holds[hold].cautions)}


def _left_out(problem: Problem) -> dict[Caution, Where | None]:
    """Cautions that may not occur, and where the brief says so."""
    couple = problem.brief.couple
    found: dict[Caution, Where | None] = {}
    for index, caution in enumerate(couple.avoid):
        found.setdefault(caution, said(problem, "couple", "avoid", index))
    for caution in WORDS:
        if caution in OPT_IN_CAUTIONS and caution not in couple.accept:
            found.setdefault(caution, None)
    return found


def _key(caution: Caution) -> str:
    return f"{NAME}:{caution}"


def _sentence(caution: Caution, where: Where | None) -> str:
    if where is not None:
        return f"The couple avoids {WORDS[caution]}"
    return f"No {WORDS[caution].removeprefix('an ')} (left out unless the brief lists '{caution}' under couple.accept)"
