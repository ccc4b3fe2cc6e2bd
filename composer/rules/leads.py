"""Each partner leads part of the time: how often roles change, for how long at a time, who leads where.

Asks (only with ``couple.both_lead``): both lead some figure, each at least ``share`` per cent of the counts; roles
change as often as ``changes`` says; whoever takes the lead keeps it for ``at_a_time`` counts at least, also the first
and the last time; ``begins`` leads first (whom the brief calls leader, unless a part says otherwise); in each of
``parts`` the partner named leads every figure that begins there. Where roles can change at all is a law and the
business of the network (:mod:`composer.catalogue.roles`).
Source: the couple's own wishes; eight counts at a time are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import groupby

import numpy as np

from composer.brief.leading import BothLead, ChangesOfLead, LeadPart, Partner, partner_meant
from composer.network.model import Arc, Network
from composer.problem import Problem
from composer.routine import Placed, Routine
from composer.rules.base import Breach, Change, Demand, Example, Points, Row, Stated, Swap
from composer.rules.look import capital, count_of, partner_words, said, stretches, times
from composer.units import TICKS_PER_BEAT

NAME = "leads"
BOTH, CHANGES, STAYS, BEGINS, PART = (f"{NAME}:{part}" for part in ("both", "changes", "at-a-time", "begins", "part"))
PARTNERS: tuple[Partner, Partner] = ("leader", "follower")

QUICK = {"both_lead": {"at_a_time": 4}}

WAY = ("open-out", "open-change", "~open-basic", "~open-basic")
LATE = ("open-out", "open-basic", "open-change", "~open-basic")
BACK = ("~open-out", "~open-change", "open-basic", "open-basic")

EXAMPLES = (
    Example("each leads", WAY, couple=QUICK),
    Example("nobody hands over", ("open-out", "open-basic", "open-basic", "close-up"), couple=QUICK, good=False),
    Example("eight counts at a time", WAY, couple={"both_lead": True}),
    Example("nine at a time are more than that", WAY, couple={"both_lead": {"at_a_time": 9}}, good=False),
    Example("half of the counts each", WAY, couple={"both_lead": {"share": 50}}),
    Example("less than half", LATE, couple={"both_lead": {"share": 50, "at_a_time": 4}}, good=False),
    Example("exactly one change", WAY, couple={"both_lead": {"changes": 1}}),
    Example("two are wished", WAY, couple={"both_lead": {"changes": 2}}, good=False),
    Example("the other one begins", BACK, couple={"both_lead": {"begins": "follower"}}),
    Example("the wrong one begins", BACK, couple={"both_lead": True}, good=False),
    Example("the second half is led by the other one", WAY,
            couple={"both_lead": {"parts": [{"leads": "follower", "section": "B"}]}}),
    Example("from count 5 on already", WAY,
            couple={"both_lead": {"parts": [{"leads": "follower", "first": 5, "last": 16}]}}, good=False),
)  # fmt: skip


def state(problem: Problem, network: Network) -> Stated:
    """A demand per thing asked for."""
    wish = problem.brief.couple.both_lead
    if wish is None:
        return Stated()
    arcs = [arc for arc in network.arcs if arc.figure]
    changing = [arc for arc in arcs if network.changes_lead(arc)]
    demands = [Demand(BOTH, _both_sentence(wish), said(problem, "couple", "both_lead"), rows=_shares(problem, arcs))]
    if wish.changes is not None:
        row = Row({arc.id: 1 for arc in changing}, wish.changes.least, wish.changes.most)
        where = said(problem, "couple", "both_lead", "changes")
        demands.append(Demand(CHANGES, _changes_sentence(wish.changes), where, rows=(row,)))
    sentence = f"Whoever takes the lead keeps it for at least {_counts(wish.at_a_time)}"
    sentence += "" if "at_a_time" in wish.model_fields_set else " (the default)"
    changed = np.array([arc.id for arc in changing], dtype=np.int32)
    least = wish.at_a_time * TICKS_PER_BEAT
    alone = tuple(Row(weights, most=1) for weights in stretches(changed, network.table.start[changed], least))
    ends = frozenset(arc.id for arc in changing if not _inside(arc.start, network.length_ticks, wish))
    where = said(problem, "couple", "both_lead", "at_a_time")
    demands.append(Demand(STAYS, sentence, where, forbids=ends, rows=alone))
    first = _first(problem)
    if first is not None:
        wrong = frozenset(arc.id for arc in arcs if arc.start == 0 and arc.swapped != (first == "follower"))
        sentence = f"{capital(partner_words(problem, first))} leads first"
        sentence += "" if wish.begins is not None else " (taken for granted: the brief names the leader so)"
        demands.append(Demand(BEGINS, sentence, said(problem, "couple", "both_lead", "begins"), forbids=wrong))
    for index, part in enumerate(wish.parts):
        leads, spans = _meant(problem, part.leads), list(_spans(problem, part))
        wrong = frozenset(arc.id for arc in arcs if arc.swapped != (leads == "follower") and _within(arc.start, spans))
        where = said(problem, "couple", "both_lead", "parts", index)
        demands.append(Demand(f"{PART}-{index}", _part_sentence(problem, part), where, forbids=wrong))
    return Stated(tuple(demands))


def _shares(problem: Problem, arcs: list[Arc]) -> tuple[Row, ...]:
    """Each leads at least so many ticks; without a share some figure."""
    least = _least_ticks(problem)
    return tuple(
        Row({arc.id: arc.end - arc.start for arc in arcs if arc.swapped == swapped}, least=least)
        for swapped in (False, True)
    )


def _least_ticks(problem: Problem) -> int:
    wish = problem.brief.couple.both_lead
    share = 0 if wish is None or wish.share is None else wish.share
    return max(1, -(-share * problem.length_ticks // 100))


def _inside(tick: int, length_ticks: int, wish: BothLead) -> bool:
    """Whether the first and the last leader would have long enough when roles change here."""
    least = wish.at_a_time * TICKS_PER_BEAT
    return least <= tick <= length_ticks - least


def breaches(problem: Problem, routine: Routine) -> list[Breach]:
    """What of the wishes is not so."""
    wish = problem.brief.couple.both_lead
    if wish is None or not routine.figures:
        return []
    found: list[Breach] = []
    runs = [list(run) for _, run in groupby(routine.figures, key=lambda placed: placed.swapped)]
    where = said(problem, "couple", "both_lead")
    for partner in PARTNERS:
        led = sum(p.end_tick - p.start_tick for p in routine.figures if _leads(partner, p))
        if led < _least_ticks(problem):
            wanted = "at least once" if wish.share is None else f"at least {wish.share} per cent of the time"
            message = f"{partner_words(problem, partner)} leads {_counts(led // TICKS_PER_BEAT)}; {wanted} is wished"
            found.append(Breach(BOTH, message, None, where))
            break
    changes, wanted_changes = len(runs) - 1, wish.changes
    if wanted_changes is not None and not (wanted_changes.least or 0) <= changes <= (wanted_changes.most or changes):
        message = f"roles change {_often(changes)}; {_changes_sentence(wanted_changes).lower()}"
        found.append(Breach(CHANGES, message, None, said(problem, "couple", "both_lead", "changes")))
    for run in runs if len(runs) > 1 else ():
        led = run[-1].end_tick - run[0].start_tick
        if led < wish.at_a_time * TICKS_PER_BEAT:
            who = partner_words(problem, "follower" if run[0].swapped else "leader")
            message = f"{who} leads for {_counts(led // TICKS_PER_BEAT)} only; {wish.at_a_time} at a time are wished"
            at_a_time = said(problem, "couple", "both_lead", "at_a_time")
            found.append(Breach(STAYS, message, count_of(run[0].start_tick), at_a_time))
    first = _first(problem)
    if first is not None and not _leads(first, routine.figures[0]):
        message = f"{partner_words(problem, first)} is to lead first"
        found.append(Breach(BEGINS, message, 1, said(problem, "couple", "both_lead", "begins")))
    return [*found, *_part_breaches(problem, wish, routine)]


def _part_breaches(problem: Problem, wish: BothLead, routine: Routine) -> Iterator[Breach]:
    for index, part in enumerate(wish.parts):
        leads, spans = _meant(problem, part.leads), list(_spans(problem, part))
        where = said(problem, "couple", "both_lead", "parts", index)
        for placed in routine.figures:
            if _within(placed.start_tick, spans) and not _leads(leads, placed):
                message = f"{partner_words(problem, leads)} does not lead here; {_part_sentence(problem, part)}"
                yield Breach(f"{PART}-{index}", message, count_of(placed.start_tick), where)
                break


def softer(problem: Problem, key: str) -> list[Change]:
    """Any number of changes, shorter spells, a smaller share, anybody first, no such part; at last one leader only."""
    wish, path = problem.brief.couple.both_lead, ("couple", "both_lead")
    if wish is None:
        return []
    alone = Change(key, "let one partner lead throughout", path, None, 8)
    if key == CHANGES and wish.changes is not None:
        return [Change(key, "let roles change as often as it comes", (*path, "changes"), None, 2), alone]
    if key == STAYS:
        return [
            Change(key, f"let each lead for {_counts(counts)} at a time", (*path, "at_a_time"), counts, 2)
            for counts in (wish.at_a_time // 2, 1)
            if 1 <= counts < wish.at_a_time
        ]
    if key == BEGINS:
        return [Change(key, "let either partner lead first", (*path, "begins"), "either", 2)]
    for index, part in enumerate(wish.parts):
        if key == f"{PART}-{index}":
            sentence = f"do without: {_part_sentence(problem, part)}"
            return [Change(key, sentence, (*path, "parts"), Swap(part), 3)]
    if key != BOTH:
        return []
    shares = [] if wish.share is None else [s for s in (wish.share // 2, None) if s != 0]
    found = [
        Change(key, "let each lead some, however little" if share is None else f"let each lead {share} per cent",
               (*path, "share"), share, 3)
        for share in shares
    ]  # fmt: skip
    return [*found, alone]


def points(problem: Problem, routine: Routine) -> Iterable[Points]:
    """No score."""
    return ()


def _leads(partner: Partner, placed: Placed) -> bool:
    return placed.swapped == (partner == "follower")


def _meant(problem: Problem, word: str) -> Partner:
    couple = problem.brief.couple
    return partner_meant(word, couple.leader.name, couple.follower.name) or "leader"


def _first(problem: Problem) -> Partner | None:
    """Who leads first; None when either may."""
    wish = problem.brief.couple.both_lead
    if wish is None or (wish.begins or "").casefold() == "either":
        return None
    if wish.begins is not None:
        return _meant(problem, wish.begins)
    for part in wish.parts:
        if _within(0, list(_spans(problem, part))):
            return None
    return "leader"


def _spans(problem: Problem, part: LeadPart) -> Iterator[tuple[int, int]]:
    """(first tick, end tick) of a part."""
    if part.first is not None and part.last is not None:
        yield (part.first - 1) * TICKS_PER_BEAT, part.last * TICKS_PER_BEAT
        return
    music = problem.timeline
    for section in music.sections:
        if part.section is not None and section.label.casefold() == part.section.casefold():
            start = (section.start - music.usable[0]) * TICKS_PER_BEAT
            yield start, start + section.beats * TICKS_PER_BEAT


def _within(tick: int, spans: list[tuple[int, int]]) -> bool:
    return any(start <= tick < end for start, end in spans)


def _counts(number: int) -> str:
    return f"{number} count{'' if number == 1 else 's'}"


def _often(number: int) -> str:
    return "never" if number == 0 else times(number)


def _both_sentence(wish: BothLead) -> str:
    if wish.share is not None:
        return f"Each partner leads at least {wish.share} per cent of the time"
    return "Both partners lead, each some of the time"


def _changes_sentence(changes: ChangesOfLead) -> str:
    if changes.least == changes.most and changes.least is not None:
        return f"Roles change exactly {times(changes.least)}"
    least = "" if changes.least is None else f" at least {times(changes.least)}"
    most = "" if changes.most is None else f" at most {times(changes.most)}"
    return f"Roles change{least}{' and' if least and most else ''}{most or ('' if least else ' as often as it comes')}"


def _part_sentence(problem: Problem, part: LeadPart) -> str:
    who = capital(partner_words(problem, _meant(problem, part.leads)))
    if part.section is not None:
        return f"{who} leads in section {part.section}"
    return f"{who} leads from count {part.first} to {part.last}"
