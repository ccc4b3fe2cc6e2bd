"""What the explanations say, as plain parts that the terminal and the page lay out alike; and their JSON."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from composer.errors import Where
from composer.explain.figure import Already, Answer, AtAPrice, Impossible, NoRoutineAnyway, Unknown
from composer.explain.here import Alternative, Here
from composer.explain.why import Open, Possible, Why
from composer.outcome import NoRoutine
from composer.problem import Problem
from composer.report.counting import counts_text
from composer.report.whypage import Line, Part, Told
from composer.routine import Routine, as_data
from composer.rules.look import call, listed, times

ALTERNATIVES_SHOWN = 6


def clash_parts(found: NoRoutine) -> list[Part]:
    """Clashes and remedies."""
    parts = []
    for number, clash in enumerate(found.clashes, 1):
        heading = "These cannot all hold together" if clash.minimal else "The clash lies among these"
        if clash.minimal and len(clash.members) == 1:
            heading = "This cannot be"
        if len(found.clashes) > 1:
            heading += f" ({number} of {len(found.clashes)})"
        lines = [Line(member.sentence, place(member.where)) for member in clash.members]
        if clash.reasons:
            lines.append(Line("What lies behind it:", more=tuple(_sentence(reason) for reason in clash.reasons)))
        parts.append(Part(heading, tuple(lines), "clash"))
    if found.remedies:
        lines = [Line(remedy.sentence) for remedy in found.remedies]
        parts.append(
            Part("What would help, the smallest change first (each was tried and checked)", tuple(lines), "help")
        )
    elif found.clashes:
        parts.append(Part("What would help", (Line("No small change was found in the time given."),), "help"))
    return parts


def place(where: Where | None) -> str | None:
    """File name, line and key; without the folders."""
    if where is None:
        return None
    file = Path(where.file).name if where.file else ""
    line = f":{where.line}" if where.line is not None else ""
    return f"{file}{line} {where.key or ''}".strip() or None


def _sentence(text: str) -> str:
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
            parts = [Part("What is known so far", tuple(Line(_sentence(text)) for text in known))] if known else []
            parts.append(Part("What to try", tuple(Line(_sentence(text)) for text in ideas), "help"))
            answer = f"Undecided after {seconds:.0f} s: neither a routine nor a proof that there is none."
            return Told(question, answer, tuple(parts))
        case NoRoutine():
            return Told(question, "No routine exists for this brief; this is proved.", tuple(clash_parts(found)))


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
    changes = [Line(f"{call(problem, name)} goes{_often(number)}") for name, number in found.leaves]
    changes += [Line(f"{call(problem, name)} comes{_often(number)}") for name, number in found.comes]
    if found.stands_there is not None:
        changes.insert(0, Line(f"On that count the best routine has {call(problem, found.stands_there)}"))
    if changes:
        parts.append(Part("What would change in the routine", tuple(changes)))
    return parts


def _often(number: int) -> str:
    return "" if number == 1 else f" {times(number)}"


def told_here(problem: Problem, routine: Routine, count: int, here: Here) -> Told:
    """Why a figure stands where it stands."""
    name = call(problem, here.placed.figure)
    counts = counts_text(here.placed.start_tick, here.placed.end_tick)
    question = f"Why {name} on count {count}?"
    points = sum(number for _, number in here.gives)
    cheapest = here.possible[0].lost if here.possible else None
    if here.asked_for:
        answer = f"{name} (counts {counts}) is asked for."
    elif cheapest is None:
        answer = f"Nothing else can fill counts {counts} while the rest of the routine stays as it is."
    elif cheapest > 0:
        answer = f"Every other way to fill counts {counts} loses points; the best of them loses {cheapest}."
    elif cheapest == 0:
        answer = f"{_names(problem, here.possible[0])} would do just as well on counts {counts}."
    else:
        answer = f"{_names(problem, here.possible[0])} would win {-cheapest} points on counts {counts}."
    parts = []
    if here.asked_for:
        lines = tuple(Line(f"Without it: {breach.message}", place(breach.where)) for breach in here.asked_for)
        parts.append(Part("The brief asks for it", lines))
    if here.gives:
        lines = tuple(Line(f"{term}: {number}") for term, number in here.gives)
        parts.append(Part(f"What it gives ({points} points)", lines))
    if here.possible:
        lines = tuple(Line(f"{_names(problem, one)}: {_cost(one)}") for one in here.possible[:ALTERNATIVES_SHOWN])
        more = len(here.possible) - len(lines)
        if more:
            lines = (*lines, Line(f"and {more} more that cost as much or more"))
        parts.append(Part("What could stand there instead, the rest unchanged", lines))
    if here.impossible:
        singles = [one for one in here.impossible if len(one.figures) == 1] or list(here.impossible)
        lines = tuple(
            Line(f"{_names(problem, one)}: {one.breach.message}") for one in singles[:ALTERNATIVES_SHOWN] if one.breach
        )
        parts.append(Part(f"What could not ({len(here.impossible)} tried)", lines))
    if here.not_judged:
        parts.append(Part("Not looked at", (Line(f"{here.not_judged} more ways to fill these counts"),)))
    if not here.sound:
        parts.append(Part("Mind", (Line("The routine breaks some of what is asked already; see `verify`."),)))
    return Told(question, answer, tuple(parts))


def _names(problem: Problem, one: Alternative) -> str:
    return " + ".join(call(problem, name) for name in one.figures)


def _cost(one: Alternative) -> str:
    if one.lost == 0:
        return "just as good"
    points = f"{abs(one.lost)} point{'s' if abs(one.lost) != 1 else ''}"
    return f"{points} less" if one.lost > 0 else f"{points} more"


def no_routine_data(found: NoRoutine) -> dict[str, Any]:
    """Clashes and remedies as plain data, like those of ``compose --json``."""
    return {
        "clashes": [
            {
                "minimal": clash.minimal,
                "reasons": list(clash.reasons),
                "wishes": [
                    {"key": m.key, "sentence": m.sentence, "where": None if m.where is None else str(m.where)}
                    for m in clash.members
                ],
            }
            for clash in found.clashes
        ],
        "remedies": [
            {"sentence": r.sentence, "changes": list(r.changes), "cost": r.cost, "verified": r.verified}
            for r in found.remedies
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
                "routine": as_data(found.with_it),
            }


def here_data(here: Here) -> dict[str, Any]:
    """The JSON document of ``why ROUTINE --count``."""
    return {
        "status": "answered",
        "figure": here.placed.figure,
        "gives": dict(here.gives),
        "asked_for": [{"key": b.key, "message": b.message} for b in here.asked_for],
        "possible": [{"figures": list(one.figures), "lost": one.lost} for one in here.possible],
        "impossible": [
            {"figures": list(one.figures), "breach": None if one.breach is None else one.breach.message}
            for one in here.impossible
        ],
        "not_judged": here.not_judged,
        "sound": here.sound,
    }
