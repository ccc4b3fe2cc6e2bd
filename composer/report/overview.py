"""The overview of a sheet: facts about music, room and couple, how far the result is proved, and cautions."""

from __future__ import annotations

from composer.charts import Caution
from composer.problem import Problem
from composer.report.counting import Counting, counts_text
from composer.report.model import Fact
from composer.report.roomadvice import room_facts
from composer.report.roommark import room_words
from composer.report.words import CAUTION, Lengths, clean, clock, listed
from composer.routine import Routine
from composer.units import TICKS_PER_BEAT

_ORIGIN = {
    "score": "read from the score",
    "midi": "read from the MIDI file",
    "beats": "read from the beat file",
    "tempo": "steady, from the tempo given",
    "audio": "estimated from the recording",
}


def facts_of(problem: Problem, routine: Routine, counting: Counting, lengths: Lengths) -> tuple[Fact, ...]:
    """The labelled lines under the title."""
    timeline = problem.timeline
    figures = problem.catalogue.figures
    counts = routine.length_ticks // TICKS_PER_BEAT
    seconds = timeline.seconds_at(routine.length_ticks) - timeline.seconds_at(0)
    bars = counting.bar_at(max(routine.length_ticks - 1, 0)) - counting.bar_at(0) + 1
    bpm = timeline.beats_per_minute
    span = counting.bars_text(0, routine.length_ticks)
    facts = [
        Fact("Dance", listed([_dance(problem, d) for d in routine.dances])),
        Fact("Music", f"{clean(timeline.title) or 'untitled'} ({_ORIGIN[timeline.origin]})"),
        Fact(
            "Tempo",
            f"{_number(bpm)} beats a minute, {timeline.beats_per_bar} beats to the bar "
            f"({_number(bpm / timeline.beats_per_bar)} bars a minute)",
        ),
        Fact("Length", f"{counts} counts, {bars} bars, {clock(seconds)} (minutes:seconds)"),
        Fact("Dance from", f"{counting.clock_at(0)} to {counting.clock_at(routine.length_ticks)} of the music, {span}"),
    ]
    if problem.room is not None:
        facts.append(Fact("Room", room_words(problem.room, lengths)))
    facts += room_facts(problem, routine, lengths)
    if problem.both_lead or any(placed.swapped for placed in routine.figures):
        facts.append(Fact("Who leads", _who_leads(problem, routine)))
    used = [figures[p.figure].chart for p in routine.figures]
    low, high = min((c.level for c in used), default=1), max((c.level for c in used), default=1)
    facts.append(Fact("Level", f"level {low}" if low == high else f"levels {low} to {high} of 5"))
    facts.append(Fact("Figures", f"{len(used)}, of which {len({p.figure for p in routine.figures})} different"))
    if timeline.confidence:
        sure = [f"{name} {round(100 * value)} %" for name, value in sorted(timeline.confidence.items())]
        facts.append(Fact("How sure the music is", listed(sure)))
    return tuple(facts)


def partner_names(problem: Problem, *, both_lead: bool) -> tuple[str, str]:
    """What both persons are called, the brief's leader first: by role, or where both lead by name."""
    if not both_lead:
        return "Leader", "Follower"
    couple = problem.brief.couple
    names = clean(couple.leader.name), clean(couple.follower.name)
    return names[0] or "Partner A", names[1] or "Partner B"


def _who_leads(problem: Problem, routine: Routine) -> str:
    """``Robin counts 1–48, Kim counts 49–64``."""
    names = partner_names(problem, both_lead=True)
    spans: list[tuple[bool, int, int]] = []
    for placed in routine.figures:
        if spans and spans[-1][0] == placed.swapped:
            spans[-1] = (placed.swapped, spans[-1][1], placed.end_tick)
        else:
            spans.append((placed.swapped, placed.start_tick, placed.end_tick))
    return listed([f"{names[swapped]} counts {counts_text(first, end)}" for swapped, first, end in spans])


def _dance(problem: Problem, dance: str) -> str:
    known = problem.catalogue.dances.get(dance)
    return known.name if known is not None else dance


def _number(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0")


def proof_of(routine: Routine) -> tuple[str, str]:
    """How far the result is proved: a sentence, and a short mark."""
    if routine.status == "best":
        return (
            f"Proven best: the search finished, and no routine for this brief scores more than {routine.score} points.",
            "proven best",
        )
    if routine.status == "good":
        limit = "" if routine.bound is None else f" No routine can score more than {routine.bound}."
        return (
            f"Good, not proven best: the search ran out of time at {routine.score} points.{limit}",
            "good, not proven best",
        )
    return "Written by hand; the tool checked it and did not compose it.", "written by hand"


def cautions_of(problem: Problem, routine: Routine) -> tuple[str, ...]:
    """General cautions in our own words, then those of the figures used."""
    catalogue = problem.catalogue
    flags: dict[Caution, list[str]] = {}
    for placed in routine.figures:
        chart = catalogue.figures[placed.figure].chart
        holds = [catalogue.holds[h] for h in (chart.entry.hold, chart.exit.hold, *(v.hold for v in chart.via))]
        for caution in (*chart.cautions, *(c for hold in holds for c in hold.cautions)):
            names = flags.setdefault(caution, [])
            if chart.name not in names:
                names.append(chart.name)
    general = (
        "A paper plan, not instruction: walk it slowly first, with a qualified teacher for anything flagged below.",
        "The venue and the event's current rulebook decide: check lifts, props, floor size and music length there.",
        "Stop when a shoulder, neck, back or knee complains. After an injury or in pregnancy ask a clinician first.",
        "A dry and clear floor, shoes that suit it, no drinks near it.",
    )
    return general + tuple(f"{CAUTION[c]} ({', '.join(names)})" for c, names in sorted(flags.items()))
