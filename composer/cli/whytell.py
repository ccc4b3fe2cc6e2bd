"""What the explanations say, as plain parts that the terminal and the page lay out alike; and their JSON."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from composer.errors import Where
from composer.explain.elsewhere import Span, spans
from composer.explain.figure import Already, Answer, AtAPrice, Impossible, NoRoutineAnyway, Unknown
from composer.explain.why import Open, Possible, Why
from composer.outcome import Clash, NoRoutine
from composer.problem import Problem
from composer.report.whypage import Line, Part, Told
from composer.routine import as_data
from composer.rules.look import call, listed

SPANS_SHOWN = 8


def clash_parts(found: NoRoutine) -> list[Part]:
    """Clashes and remedies."""
    parts = []
    for number, clash in enumerate(found.clashes, 1):
        heading = "These cannot all hold together" if clash.minimal else "The clash lies among these"
        if clash.minimal and len(clash.members) == 1:
            heading = "This cannot be"
        if len(found.clashes) > 1:
            heading += f" ({number} of {len(found.clashes)})"
        parts.append(clash_part(heading, clash))
    if found.remedies:
        lines = [Line(remedy.sentence) for remedy in found.remedies]
        parts.append(
            Part("What would help, the smallest change first (each was tried and checked)", tuple(lines), "help")
        )
    elif found.clashes:
        parts.append(Part("What would help", (Line("No small change was found in the time given."),), "help"))
    return parts


def clash_part(heading: str, clash: Clash) -> Part:
    """The wishes of one clash with their lines, and what lies behind it."""
    lines = [Line(member.sentence, place(member.where)) for member in clash.members]
    if clash.reasons:
        lines.append(Line("What lies behind it:", more=tuple(sentence(reason) for reason in clash.reasons)))
    return Part(heading, tuple(lines), "clash")


def place(where: Where | None) -> str | None:
    """File name, line and key; without the folders."""
    if where is None:
        return None
    file = Path(where.file).name if where.file else ""
    line = f":{where.line}" if where.line is not None else ""
    return f"{file}{line} {where.key or ''}".strip() or None


def sentence(text: str) -> str:
    """With a capital and a full stop."""
    return text[:1].upper() + text[1:] + ("" if text.endswith(".") else ".")


def told_brief(problem: Problem, found: Why) -> Told:
    """Why a brief has no routine."""
    question = f"Why is there no routine for '{problem.brief.title}'?"
    match found:
        case Possible():
            return Told(
                question, "There is one: nothing in this brief clashes. Compose it with `routine-composer compose`."
            )
        case Open(seconds=seconds, known=known, try_next=ideas):
            parts = [Part("What is known so far", tuple(Line(sentence(text)) for text in known))] if known else []
            parts.append(Part("What to try", tuple(Line(sentence(text)) for text in ideas), "help"))
            answer = f"Undecided after {seconds:.0f} s: neither a routine nor a proof that there is none."
            return Told(question, answer, tuple(parts))
        case NoRoutine():
            answer = "No routine exists for this brief; this is proved."
            if len(found.clashes) > 1 and found.remedies:
                answer += f" {len(found.clashes)} clashes were found; each change named below meets all of them."
            return Told(question, answer, tuple(clash_parts(found)))


def told_figure(problem: Problem, figure: str, at: int | None, found: Answer) -> Told:
    """Why a figure is not in the routine."""
    name = call(problem, figure)
    there = f" on count {at}" if at is not None else ""
    question = f"Why is {name} not {f'danced{there}' if there else 'in the routine'}?"
    match found:
        case Already(counts=counts, proven_best=proven):
            best = "best routine" if proven else "best routine found"
            where = listed([f"count {count}" for count in counts], 8)
            return Told(question, f"It is: the {best} has {name} on {where}.")
        case NoRoutineAnyway(why=why):
            answer = "No routine exists for this brief at all, with it or without; this is proved."
            return Told(question, answer, tuple(clash_parts(why)))
        case Impossible(why=why):
            return Told(question, f"It cannot be{there}; this is proved.", tuple(clash_parts(why)))
        case Unknown(about=about, seconds=seconds):
            ideas = Part("What to try", (Line("Give more time with --time-limit."),), "help")
            return Told(question, f"Undecided after {seconds:.0f} s: {about} was not found in time.", (ideas,))
        case AtAPrice():
            return Told(question, _price_words(found, name, there), tuple(_price_parts(problem, found)))


def _price_words(found: AtAPrice, name: str, there: str) -> str:
    if found.lost == 0 and found.exact:
        return f"It could be danced{there}, and the routine would be just as good."
    lost = f"{found.lost} point{'s' if found.lost != 1 else ''}"
    whole = f"({found.with_it.score} instead of {found.best.score})"
    if found.exact:
        return f"It could be danced{there}, but the best routine with it has {lost} less {whole}."
    return f"It could be danced{there}; the routine found with it has {lost} less {whole}. More time may change this."


def _price_parts(problem: Problem, found: AtAPrice) -> list[Part]:
    parts = []
    if found.by_term:
        lines = tuple(
            Line(f"{term}: {abs(number)} point{'s' if abs(number) != 1 else ''} {'lost' if number > 0 else 'won'}")
            for term, number in found.by_term
        )
        parts.append(Part("Where the points go", lines))
    changes = span_lines(problem, spans(found.best.figures, found.with_it.figures))
    if changes:
        parts.append(Part("What would change in the routine", tuple(changes)))
    return parts


def span_lines(problem: Problem, spans: Sequence[Span]) -> list[Line]:
    """Stretch by stretch what is danced instead."""
    lines = []
    for span in spans[:SPANS_SHOWN]:
        counts = f"count {span.first}" if span.first == span.last else f"counts {span.first}–{span.last}"
        after = listed([call(problem, figure) for figure in span.after], 8)
        before = listed([call(problem, figure) for figure in span.before], 8)
        lines.append(Line(f"{counts}: {after} instead of {before}"))
    if len(spans) > SPANS_SHOWN:
        rest = spans[SPANS_SHOWN:]
        lines.append(Line(f"and {len(rest)} more changes, up to count {rest[-1].last}"))
    return lines


def spans_data(spans: Sequence[Span]) -> list[dict[str, Any]]:
    """The same as plain data."""
    return [{"first": s.first, "last": s.last, "before": list(s.before), "after": list(s.after)} for s in spans]


def no_routine_data(found: NoRoutine) -> dict[str, Any]:
    """Clashes and remedies as plain data, like those of ``compose --json``."""
    return {
        "clashes": [clash_data(clash) for clash in found.clashes],
        "remedies": [
            {"sentence": r.sentence, "changes": list(r.changes), "cost": r.cost, "verified": r.verified}
            for r in found.remedies
        ],
    }


def clash_data(clash: Clash) -> dict[str, Any]:
    """One clash as plain data."""
    return {
        "minimal": clash.minimal,
        "reasons": list(clash.reasons),
        "wishes": [
            {"key": m.key, "sentence": m.sentence, "where": None if m.where is None else str(m.where)}
            for m in clash.members
        ],
    }


def brief_data(found: Why) -> dict[str, Any]:
    """The JSON document of ``why BRIEF``."""
    match found:
        case Possible():
            return {"status": "possible"}
        case Open(seconds=seconds, known=known, try_next=ideas):
            return {"status": "undecided", "seconds": round(seconds, 2), "known": list(known), "try": list(ideas)}
        case NoRoutine():
            return {"status": "no-routine", **no_routine_data(found)}


def figure_data(found: Answer) -> dict[str, Any]:
    """The JSON document of ``why BRIEF --figure``."""
    match found:
        case Already(counts=counts, proven_best=proven):
            return {"status": "already", "counts": list(counts), "proven_best": proven}
        case NoRoutineAnyway(why=why):
            return {"status": "no-routine", **no_routine_data(why)}
        case Impossible(why=why):
            return {"status": "impossible", **no_routine_data(why)}
        case Unknown(about=about):
            return {"status": "undecided", "about": about}
        case AtAPrice():
            return {
                "status": "at-a-price",
                "lost": found.lost,
                "exact": found.exact,
                "by_term": dict(found.by_term),
                "leaves": dict(found.leaves),
                "comes": dict(found.comes),
                "counts": list(found.counts),
                "stands_there": found.stands_there,
                "changes": spans_data(spans(found.best.figures, found.with_it.figures)),
                "routine": as_data(found.with_it),
            }
