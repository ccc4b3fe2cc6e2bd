"""``alternatives`` and ``roles``: other routines for a brief, and where the partners could change roles."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import Any

from composer.cli import speak
from composer.cli.interrupting import interruptible
from composer.errors import BadInput, Diagnostic, Where, did_you_mean
from composer.outcome import NoRoutine, Undecided
from composer.problem import Problem
from composer.revise.alternatives import Alternatives, Wanted, alternatives
from composer.revise.remember import told_shortly
from composer.revise.styles import STYLES, style_named
from composer.routine import Routine, as_data
from composer.textfiles import read_yaml


def problem_and_routine(given: str, brief: str | None) -> tuple[Problem, Routine | None]:
    """A brief's problem, or a routine's with the routine.

    Raises
    ------
    BadInput
        For files that cannot be used.
    """
    from composer.brief import load_problem
    from composer.brief.load import brief_file
    from composer.revise import open_routine

    path = Path(given)
    if path.is_file():
        data = read_yaml(path).data
        if isinstance(data, dict) and str(data.get("format", "")).startswith("routine/"):
            opened = open_routine(path, brief)
            return opened.problem, opened.routine
    return load_problem(brief_file(given)), None


def alternatives_command(
    given: str, *, brief: str | None, number: int, different: int, within: int, style: str | None, out: Path | None,
    time_limit_s: float, as_json: bool,
) -> int:  # fmt: skip
    """Find alternatives; the exit code."""
    from composer.compose import InternalFault, write_routine
    from composer.outfolder import check_folder
    from composer.verify import verify

    chosen = None if style is None else style_named(style)
    if style is not None and chosen is None:
        remedy = did_you_mean(style, list(STYLES)) or f"Styles: {', '.join(STYLES)}."
        raise BadInput(Diagnostic("CMD017", f"--style: '{style}' is not a style.", Where(), remedy))
    if out is not None:
        check_folder(out)
    with speak.libraries_silenced():
        problem, first = problem_and_routine(given, brief)
        wanted = Wanted(number, Fraction(different, 100), Fraction(within, 100), chosen)
        found = interruptible(
            lambda: alternatives(
                problem, wanted, first=first, time_limit_s=time_limit_s,
                heard=lambda so_far: speak.line(f"found {so_far}, looking for the next"),
            )
        )  # fmt: skip
        files: list[Path] = []
        for index, item in enumerate(found.found if isinstance(found, Alternatives) else ()):
            if faults := verify(problem, item.routine):
                raise InternalFault(faults)
            if out is not None:
                files += write_routine(problem, item.routine, out / f"alternative-{index + 1}")
    if isinstance(found, NoRoutine | Undecided):
        none = isinstance(found, NoRoutine)
        if as_json:
            speak.document({"status": "no-routine" if none else "undecided"})
        else:
            print("No routine exists for this brief; compose says why." if none else "Undecided: time ran out.")
        return speak.NO_ROUTINE if none else speak.UNDECIDED
    if as_json:
        speak.document(_alternatives_data(found, files))
    else:
        _show_alternatives(problem, found, chosen.sentence if chosen else None)
        if out is not None:
            print(speak.clean(f"Written to {out}, a folder for each."))
    return speak.DONE if found.complete or found.exhausted else speak.UNDECIDED


def _alternatives_data(found: Alternatives, files: list[Path]) -> dict[str, Any]:
    return {
        "status": "complete" if found.complete else "no-more" if found.exhausted else "undecided",
        "best_score": found.best,
        "best_proven": found.best_proven,
        "least_score": found.least_score,
        "least_different_counts": found.least_different,
        "counts": found.counts,
        "alternatives": [
            {
                "score": item.routine.score,
                "style_points": item.style_points,
                "things_to_remember": told_shortly(item.routine).length,
                "counts_different_from_earlier": list(item.distances),
                "routine": as_data(item.routine),
            }
            for item in found.found
        ],
        "files": [str(file) for file in files],
    }


def _show_alternatives(problem: Problem, found: Alternatives, style: str | None) -> None:
    width = speak.console().width
    proof = "proven best" if found.best_proven else "best known"
    speak.wrapped(
        f"{len(found.found)} routines of at least {found.least_score} points ({proof}: {found.best}); "
        f"any two differ on at least {found.least_different} of {found.counts} counts.",
        width,
    )
    if style is not None:
        speak.wrapped(f"Chosen for: {style}.", width)
    names = problem.catalogue.figures
    for number, item in enumerate(found.found, 1):
        print()
        telling = told_shortly(item.routine)
        extra = "" if item.style_points is None else f", {item.style_points} in style"
        apart = ", ".join(f"{d} from {i}" for i, d in enumerate(item.distances, 1))
        speak.wrapped(
            f"{number}. {item.routine.score} points{extra}, {telling.figures} different figures, "
            f"{telling.length} things to remember"
            f"{'; counts that differ: ' + apart if apart else ''}",
            width,
        )
        speak.wrapped(" - ".join(names[p.figure].chart.name for p in item.routine.figures), width, "   ")
    print()
    if not found.complete:
        print(
            "It is proved that no further routine is so good and differs so much from all of these."
            if found.exhausted
            else "Time ran out before a further one was found; this is not a proof that there is none."
        )


def roles_command(given: str, *, brief: str | None, as_json: bool) -> int:
    """Tell where roles could change; the exit code."""
    from composer.revise.roles import role_changes

    problem, routine = problem_and_routine(given, brief)
    if routine is None:
        raise BadInput(Diagnostic("CMD020", f"'{given}' is a brief; a routine is needed.", Where(given)))
    found = role_changes(problem, routine)
    if as_json:
        speak.document(
            {
                "changes": [
                    {
                        "count": c.count,
                        "hold": c.hold,
                        "feet_ready": c.feet_ready,
                        "figures": list(c.figures),
                        "made": c.made,
                    }
                    for c in found
                ]
            }
        )
        return speak.DONE
    width = speak.console().width
    if not found:
        print("Nowhere in this routine do hands, stance and feet allow a change of roles.")
    for change in found:
        names = [problem.catalogue.figures[f].chart.name for f in change.figures[:4]]
        more = f" and {len(change.figures) - 4} more" if len(change.figures) > 4 else ""
        feet = "at once" if change.feet_ready else "after both change weight"
        hold = problem.catalogue.holds[change.hold].name
        made = " (roles do change here)" if change.made else ""
        speak.wrapped(f"count {change.count}{made}: {feet}, in {hold}; then {', '.join(names)}{more}", width)
    if not problem.both_lead and any(change.feet_ready for change in found):
        speak.wrapped("With 'both_lead: true' under couple a routine is composed in which each leads some.", width)
    return speak.DONE
