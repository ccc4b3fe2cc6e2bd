"""What ``why ROUTINE --count N`` says: what the figure gives, the next best without it, what leaves nothing else."""

from __future__ import annotations

from typing import Any

from composer.cli.whytell import clash_data, clash_part, place, span_lines, spans_data
from composer.explain.elsewhere import Elsewhere, NextBest, Nothing, Undecided
from composer.explain.here import Alternative, Here
from composer.problem import Problem
from composer.report.counting import counts_text
from composer.report.whypage import Line, Part, Told
from composer.routine import Routine, as_data
from composer.rules.look import call, listed

EXAMPLES_SHOWN = 4
WHICH = "Which wishes leave nothing else was not settled in the time given."


def told_here(problem: Problem, routine: Routine, count: int, here: Here, *, brief_known: bool = True) -> Told:
    """Why a figure stands where it stands."""
    name = call(problem, here.placed.figure)
    counts = counts_text(here.placed.start_tick, here.placed.end_tick)
    answer = _answer(name, count, here.free)
    if here.asked_for:
        answer = f"{name} (counts {counts}) is asked for. {answer}"
    parts = []
    if here.asked_for:
        lines = tuple(Line(f"Without it: {breach.message}", place(breach.where)) for breach in here.asked_for)
        parts.append(Part("The brief asks for it", lines))
    if here.gives:
        points = sum(number for _, number in here.gives)
        lines = tuple(Line(f"{term}: {_signed(number)}") for term, number in here.gives)
        parts.append(Part(f"What it gives ({_points(points)})", lines))
    parts += _free_parts(problem, count, here.free)
    parts += _kept_parts(problem, counts, here)
    parts += _examples(problem, here)
    mind = [] if here.sound else [Line("The routine breaks some of what is asked already; see `verify`.")]
    if not brief_known:
        mind.append(Line("Its brief is not known, so no wish and no floor was looked at; name it with --brief."))
    if mind:
        parts.append(Part("Mind", tuple(mind)))
    return Told(f"Why {name} on count {count}?", answer, tuple(parts))


def _answer(name: str, count: int, free: Elsewhere) -> str:
    match free:
        case Nothing(ever=ever):
            why = "because of what is wished" if ever else "whatever is wished"
            return f"Nothing else can be danced on count {count}, {why}; this is proved."
        case Undecided(seconds=seconds):
            return (
                f"Undecided after {seconds:.0f} s: no routine with something else on count {count} was found, nor a "
                "proof that there is none."
            )
        case NextBest(lost=lost) if free.exact:
            if lost == 0:
                return f"Something else on count {count} can be just as good, and nothing is better; this is proved."
            if lost < 0:
                return f"A better routine has something else on count {count}: {_points(-lost)} more; this is proved."
            return f"Without {name} on count {count} the best routine has {_points(lost)} less; this is proved."
        case NextBest(lost=lost, least_lost=least):
            found = (
                f"{_points(lost)} less" if lost > 0 else "just as many points" if not lost else f"{_points(-lost)} more"
            )
            proved = f" It is proved that none loses fewer than {_points(least)}." if least and least > 0 else ""
            more = "" if proved else " Whether another does better was not settled in the time given."
            return f"The best routine found without {name} on count {count} has {found}.{proved}{more}"


def _free_parts(problem: Problem, count: int, free: Elsewhere) -> list[Part]:
    match free:
        case Nothing(clashes=()) if free.ever:
            return [Part("What to try", (Line(WHICH),), "help")]
        case Nothing(clashes=clashes):
            return [clash_part(f"Why nothing else can be danced on count {count}", clash) for clash in clashes]
        case Undecided():
            return [Part("What to try", (Line("Give more time with --time-limit."),), "help")]
        case NextBest():
            parts = [Part("The next best routine without it dances", tuple(span_lines(problem, free.spans)))]
            if free.by_term:
                lines = [
                    Line(f"{term}: {_points(abs(number))} {'lost' if number > 0 else 'won'}")
                    for term, number in free.by_term
                ]
                parts.append(Part("Where the points go", tuple(lines)))
            return parts


def _kept_parts(problem: Problem, counts: str, here: Here) -> list[Part]:
    """The same question with every other figure on its counts."""
    heading = f"When only counts {counts} may change"
    match here.kept:
        case Nothing(ever=False):
            text = "No other figure, and no other figures together, lead from what comes before to what comes after."
            return [Part(heading, (Line(text),))]
        case Nothing(clashes=()):
            return [Part(heading, (Line(f"Nothing else can be danced there; this is proved. {WHICH}"),))]
        case Nothing(clashes=clashes):
            return [clash_part(f"{heading}, these leave nothing else", clashes[0])]
        case Undecided():
            return [Part(heading, (Line("Undecided in the time given."),))]
        case None:
            return [Part(heading, (Line("The rest cannot be danced as it stands; see `verify`."),))]
        case NextBest(lost=lost, spans=spans):
            names = listed([call(problem, f) for span in spans for f in span.after], 8)
            proved = (
                "the best exchange there is" if here.kept is not None and here.kept.exact else "the best exchange found"
            )
            return [Part(heading, (Line(f"{names}: {_cost(lost)} ({proved})"),))]


def _examples(problem: Problem, here: Here) -> list[Part]:
    parts = []
    if len(here.possible) > 1:
        lines = tuple(Line(f"{_names(problem, one)}: {_cost(one.lost)}") for one in here.possible[:EXAMPLES_SHOWN])
        parts.append(Part("Examples of what could stand there, the rest unchanged", lines))
    if here.impossible:
        singles = sorted(here.impossible, key=lambda one: (one.breach is None or one.breach.law, len(one.figures)))
        lines = tuple(
            Line(f"{_names(problem, one)}: {one.breach.message}") for one in singles[:EXAMPLES_SHOWN] if one.breach
        )
        parts.append(Part("Examples of what could not", lines))
    return parts


def _names(problem: Problem, one: Alternative) -> str:
    return " + ".join(call(problem, name) for name in one.figures)


def _cost(lost: int) -> str:
    if lost == 0:
        return "just as good"
    return f"{_points(lost)} less" if lost > 0 else f"{_points(-lost)} more"


def _points(number: int) -> str:
    return f"{number} point{'' if abs(number) == 1 else 's'}"


def _signed(number: int) -> str:
    return str(number) if number >= 0 else f"−{-number}"


def here_data(here: Here) -> dict[str, Any]:
    """The JSON document of ``why ROUTINE --count``."""
    return {
        "status": "undecided" if isinstance(here.free, Undecided) else "answered",
        "figure": here.placed.figure,
        "gives": dict(here.gives),
        "asked_for": [{"key": b.key, "message": b.message} for b in here.asked_for],
        "without": elsewhere_data(here.free),
        "rest_kept": None if here.kept is None else elsewhere_data(here.kept),
        "possible": [{"figures": list(one.figures), "lost": one.lost} for one in here.possible],
        "impossible": [
            {"figures": list(one.figures), "breach": None if one.breach is None else one.breach.message}
            for one in here.impossible
        ],
        "sound": here.sound,
    }


def elsewhere_data(found: Elsewhere) -> dict[str, Any]:
    """What else could be there, as plain data."""
    match found:
        case Nothing(clashes=clashes):
            return {"status": "nothing", "ever": found.ever, "clashes": [clash_data(clash) for clash in clashes]}
        case Undecided(seconds=seconds):
            return {"status": "undecided", "seconds": round(seconds, 2)}
        case NextBest():
            return {
                "status": "found",
                "lost": found.lost,
                "least_lost": found.least_lost,
                "exact": found.exact,
                "by_term": dict(found.by_term),
                "changes": spans_data(found.spans),
                "routine": as_data(found.routine),
            }
