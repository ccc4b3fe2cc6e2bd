"""A revision in words: for the terminal, the page (:class:`RevisionPage`) and ``revision.json``."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from composer.problem import Problem
from composer.report.revisionpage import PageLine, PageTerm, RevisionPage, RibbonPart
from composer.revise.asks import Ask
from composer.revise.kept import PRACTISED, Counts
from composer.revise.remember import told_shortly
from composer.revise.revision import Revised

FORMAT: Final = "revision/1"


def counts_words(counts: Counts) -> str:
    """``count 9`` or ``counts 9 to 16``."""
    return f"count {counts[0]}" if counts[0] == counts[1] else f"counts {counts[0]} to {counts[1]}"


def ask_words(problem: Problem, ask: Ask) -> str:
    """An ask as a sentence."""
    figure, _, at = ask.value.partition("@")
    known = problem.catalogue.figures.get(figure)
    name = known.chart.name if known is not None else figure
    match ask.kind:
        case "forbid":
            return f"{name} is not danced"
        case "allow":
            return f"{name} may be danced"
        case "require":
            return f"{name} is danced" + (f" at count {at}" if at else "")
        case "avoid":
            return f"no figure with {ask.value.replace('-', ' ')}"
        case "level":
            role, _, level = ask.value.partition(" ")
            return f"the {role} has learned figures up to level {level}"
        case "room":
            return f"the room is now {ask.value}"
        case "audience":
            return f"the audience sits in the {ask.value}"
        case "bars":
            return f"bars {ask.value.replace('-', ' to ')} of the music are danced"
        case "leave-out":
            return f"bars {ask.value.replace('-', ' to ')} are cut out of the music"
        case "music":
            return f"the music is now {ask.value}"
        case "swap-roles":
            return "the partners change roles"
        case "both-lead":
            return "each partner leads part of the time"
        case "mirror":
            sides = "left and right" if ask.value == "east-west" else "top and bottom"
            return f"the room is mirrored, {sides} of the plan exchanged"
        case _:
            return f"counts {ask.value.replace('-', ' to ')} are danced otherwise"


def asked_words(revised: Revised) -> list[str]:
    """What is new in this revision, taken back or asked."""
    before, now = revised.opened.asks, revised.asks
    new = [ask_words(revised.problem, ask) for ask in now if ask not in before]
    gone = [f"taken back: {ask_words(revised.problem, ask)}" for ask in before if ask not in now]
    return [*gone, *new]


def note_of(revised: Revised) -> str:
    """The line under which a version is listed."""
    words = "; ".join(asked_words(revised))
    if not words:
        words = "repaired" if revised.how == "revised" else "practised counts noted"
    return words[:1].upper() + words[1:]


def verdict(revised: Revised) -> list[str]:
    """What became of the routine and what is proved, in sentences."""
    told = revised.difference
    share = f"{told.changed} of {told.counts} counts"
    lines = []
    match revised.how:
        case "unchanged":
            return ["Nothing was asked that the routine does not do already: nothing is changed."]
        case "fits already":
            lines.append("The routine does that already: no count is changed.")
        case "earlier version":
            lines.append(f"These are the wishes of an earlier version: its routine is back ({share} change).")
        case "revised":
            lines.append(f"{share} change; {_proof(revised)}.")
    if told.gone:
        lines.append(f"{told.gone} counts of the old routine have no place in the new music.")
    if told.figures_in:
        lines.append(f"New in the routine: {', '.join(told.figures_in)}.")
    if told.figures_out:
        lines.append(f"No longer in it: {', '.join(told.figures_out)}.")
    before, after = told_shortly(revised.opened.routine).length, told_shortly(revised.routine).length
    if before != after:
        lines.append(f"Things to remember: {after}, before {before}.")
    if told.score_before != told.score_after:
        lines.append(f"Score {told.score_after}, before {told.score_before}.")
    return lines


def _proof(revised: Revised) -> str:
    weighted = f" (practised counts weigh {PRACTISED} times)" if revised.practised else ""
    if not revised.least_proven:
        return f"fewer may be possible: time ran out before that was proved{weighted}"
    text = f"it is proved that fewer would not do{weighted}"
    if revised.best_proven:
        return f"{text}, and that no other way to change so few scores more"
    return f"{text}; of the ways to change so few a better one may exist"


def page_of(revised: Revised) -> RevisionPage:
    """The page of a revision."""
    told = revised.difference
    changed = {count for first, last in told.stretches for count in range(first, last + 1)}
    ribbon: list[RibbonPart] = []
    for count in range(1, told.counts + 1):
        new = count in changed
        if ribbon and ribbon[-1].new == new:
            ribbon[-1] = RibbonPart(ribbon[-1].counts + 1, new)
        else:
            ribbon.append(RibbonPart(1, new))
    words = ", ".join(counts_words(counts) for counts in told.stretches)
    return RevisionPage(
        title=revised.routine.title,
        kicker="Revision",
        verdict=tuple(verdict(revised)),
        asked=tuple(asked_words(revised)),
        ribbon=tuple(ribbon),
        ribbon_words=f"New: {words}." if words else "Every count stays as it was.",
        lines=tuple(
            PageLine(item.count, item.before, item.after, item.same, item.before_goes_on, item.after_goes_on)
            for item in told.lines
        ),
        terms=tuple(PageTerm(term.sentence, term.before, term.after) for term in told.terms),
        sheet="sheet.html",
        notes=tuple(note[:1].upper() + note[1:] + "." for note in revised.notes),
    )


def data_of(revised: Revised, version: int | None, files: Sequence[str] = ()) -> dict[str, Any]:
    """The JSON document of a revision, without the routine itself."""
    return {
        "format": FORMAT,
        "status": revised.how.replace(" ", "-"),
        "asked": [ask.text for ask in revised.asks if ask not in revised.opened.asks],
        "taken_back": [ask.text for ask in revised.opened.asks if ask not in revised.asks],
        "standing": [ask.text for ask in revised.asks],
        "practised": [list(counts) for counts in revised.practised],
        "counts_kept_weighted": revised.kept,
        "counts_kept_at_most": revised.could_keep,
        "least_change_proven": revised.least_proven,
        "best_of_least_proven": revised.best_proven,
        "things_to_remember": told_shortly(revised.routine).length,
        "difference": revised.difference.as_data(),
        "breaches_before": [
            {"key": b.key, "message": b.message, "count": b.count, "law": b.law} for b in revised.breaches
        ],
        "notes": list(revised.notes),
        "version": version,
        "files": list(files),
    }
