"""Holds and figures that not every body should do: left out when avoided, or until both partners agree.

Asks: a figure with a kind of movement the couple avoids is never danced; dips, lifts, drops, arms behind the back or
at the neck, fast spins and leaning weight need ``couple.accept``. A figure carries its own cautions and those of every
hold it begins in, passes through or ends in. ``avoid`` outweighs ``accept``. What one partner avoids (in one role,
where both lead and ``other_role`` makes the difference) is left out wherever that partner dances in that role.
Source: tests/facts/floor_and_safety.csv (dips agreed beforehand); the rest of the list that needs consent is common
practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from composer.catalogue.model import Figure
from composer.charts import OPT_IN_CAUTIONS, Caution
from composer.errors import Where
from composer.network.model import Network
from composer.problem import Problem
from composer.routine import Routine
from composer.rules.base import Breach, Change, Demand, Example, Points, Stated, Swap
from composer.rules.look import capital, count_of, danced, led_in, partner_words, role_of, said

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
    Example("one partner avoids it", ("open-out", "wrap-in", "wrap-out", "close-up"),
            couple={"follower": {"avoid": ["wrap"]}}, good=False),
    Example("a wrap needs no special consent", ("open-out", "wrap-in", "wrap-out", "close-up")),
    Example("but may be avoided; the hold itself counts", ("open-out", "wrap-in", "wrap-out", "close-up"),
            couple={"avoid": ["wrap"]}, good=False),
)  # fmt: skip


def state(problem: Problem, network: Network) -> Stated:
    """A demand for every avoided caution, and for every caution without consent that some figure carries."""
    left_out = _left_out(problem)
    forbids: dict[str, list[int]] = {item.key: [] for item in left_out}
    table = network.table
    for identity, own in table.by_figure.items():
        carried = cautions_of(problem, problem.catalogue.figures[identity])
        for item in left_out:
            if item.caution in carried:
                forbids[item.key] += led_in(table, own, item.layers).tolist()
    demands = tuple(
        Demand(item.key, _sentence(item), item.where, forbids=frozenset(forbids[item.key]))
        for item in left_out
        if item.where is not None or forbids[item.key]
    )
    return Stated(demands=demands)


def breaches(problem: Problem, routine: Routine) -> list[Breach]:
    """One breach per figure and caution."""
    left_out = _left_out(problem)
    found: list[Breach] = []
    for _, placed, figure in danced(problem, routine):
        carried = cautions_of(problem, figure)
        for item in left_out:
            if item.caution in carried and placed.swapped in item.layers:
                why = f"{item.who} avoids that" if item.where is not None else "the brief does not accept that"
                message = f"{figure.chart.name} has {WORDS[item.caution]}; {why}"
                found.append(Breach(item.key, message, count_of(placed.start_tick), item.where))
    return found


def softer(problem: Problem, key: str) -> list[Change]:
    """Consent, where nobody asked for the opposite. What a partner avoids is never talked away: it may be health."""
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


@dataclass(frozen=True)
class _LeftOut:
    """A caution that may not occur, for whom, and in which layers (False: the brief's leader leads; True: the other).

    ``where`` says so in the brief; None is the default that consent is needed.
    """

    key: str
    caution: Caution
    who: str
    where: Where | None
    layers: tuple[bool, ...] = (False, True)


def _left_out(problem: Problem) -> list[_LeftOut]:
    couple = problem.brief.couple
    found: dict[str, _LeftOut] = {}
    for index, caution in enumerate(couple.avoid):
        where = said(problem, "couple", "avoid", index)
        found.setdefault(_key(caution), _LeftOut(_key(caution), caution, "the couple", where))
    for role, dancer in (("leader", couple.leader), ("follower", couple.follower)):
        who, other = partner_words(problem, role), dancer.other_role if problem.both_lead else None
        layers = (False, True) if other is None else (False,)
        for index, caution in enumerate(dancer.avoid):
            key, name = f"{_key(caution)}-{role}", who if other is None else f"{who} as {role_of(role, False)}"
            found.setdefault(key, _LeftOut(key, caution, name, said(problem, "couple", role, "avoid", index), layers))
        for index, caution in enumerate(() if other is None else other.avoid):
            key, where = f"{_key(caution)}-{role}-other", said(problem, "couple", role, "other_role", "avoid", index)
            found.setdefault(key, _LeftOut(key, caution, f"{who} as {role_of(role, True)}", where, (True,)))
    for caution in WORDS:
        if caution in OPT_IN_CAUTIONS and caution not in couple.accept:
            found.setdefault(_key(caution), _LeftOut(_key(caution), caution, "", None))
    return list(found.values())


def _key(caution: Caution) -> str:
    return f"{NAME}:{caution}"


def _sentence(item: _LeftOut) -> str:
    if item.where is not None:
        return f"{capital(item.who)} avoids {WORDS[item.caution]}"
    words = WORDS[item.caution].removeprefix("an ")
    return f"No {words} (left out unless the brief lists '{item.caution}' under couple.accept)"
