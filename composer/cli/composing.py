"""``compose``: run the pipeline, tell how far it is, and show what came of it."""

from __future__ import annotations

import re
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

from composer.brief.notes import notes_on
from composer.cli import speak
from composer.compose import Composed, Look, Progress, run
from composer.errors import BadInput, Diagnostic
from composer.outcome import Clash, Found, NoRoutine, Remedy, Undecided
from composer.problem import Problem
from composer.routine import Routine, as_data

LAST_WORDS_S: Final = 1.0
LAST_WRITING_S: Final = 30.0
"""How long an interrupted run may take to stop: while thinking, and while writing files."""


def compose_command(
    brief: str, *, out: Path | None, seed: int, time_limit_s: float, looks: dict[str, str | None], as_json: bool
) -> int:
    """Compose for a brief; the exit code. ``looks`` has ``lengths`` and ``paper`` as given on the command line."""
    look = _look(looks)
    folder = out if out is not None or as_json else default_folder(brief)
    began = time.monotonic()
    ticker = Ticker()
    try:
        with speak.libraries_silenced():
            done = _interruptible(
                lambda cancelled: run(
                    brief,
                    out=folder,
                    seed=seed,
                    time_limit_s=time_limit_s,
                    progress=ticker.tell,
                    cancelled=cancelled,
                    look=look,
                ),
                ticker,
            )
    finally:
        ticker.end()
    if as_json:
        speak.document(data_of(done, time.monotonic() - began))
    else:
        _show(done, folder, look, time_limit_s)
    match done.outcome:
        case Found():
            return speak.DONE
        case NoRoutine():
            return speak.NO_ROUTINE
        case Undecided():
            return speak.UNDECIDED


def _interruptible(work: Callable[[Callable[[], bool]], Composed], ticker: Ticker) -> Composed:
    """Do the work in a thread of its own, so that an interrupt is answered while a compiled library is busy.

    Raises
    ------
    KeyboardInterrupt
        When interrupted; the work is told to stop, and files being written are finished or taken back first.
    """
    stop = threading.Event()
    done: list[Composed] = []
    failed: list[BaseException] = []

    def body() -> None:
        try:
            done.append(work(stop.is_set))
        except BaseException as problem:  # handed on to the thread that waits
            failed.append(problem)

    worker = threading.Thread(target=body, daemon=True)
    worker.start()
    try:
        while worker.is_alive():
            worker.join(0.1)
    except KeyboardInterrupt:
        stop.set()
        worker.join(LAST_WRITING_S if ticker.stage == "writing" else LAST_WORDS_S)
        raise
    if failed:
        raise failed[0]
    return done[0]


def _look(looks: dict[str, str | None]) -> Look:
    """The looks asked for.

    Raises
    ------
    BadInput
        ``CMD004`` for units and papers that are none.
    """
    known: dict[str, tuple[str, ...]] = {"lengths": ("metres", "feet"), "paper": ("A4", "letter")}
    chosen: dict[str, str | None] = {}
    faults = []
    for name, names in known.items():
        given = looks[name]
        chosen[name] = next((item for item in names if given is not None and item.lower() == given.lower()), None)
        if given is not None and chosen[name] is None:
            faults.append(Diagnostic("CMD004", f"--{name}: '{given}' is neither {names[0]} nor {names[1]}."))
    if faults:
        raise BadInput(faults)
    return Look(lengths=chosen["lengths"] or "metres", paper=chosen["paper"])  # type: ignore[arg-type]


def default_folder(brief: str) -> Path:
    """Where results go when nobody says: beside the user, named after the brief."""
    path = Path(brief)
    name = path.name if path.suffix == "" else path.stem
    if name == "brief":
        name = path.absolute().parent.name
    name = re.sub(r"[^\w.-]+", "-", name).strip("-.") or "composed"
    return Path(f"{name}-routine")


class Ticker:
    """Progress on standard error: one line that changes in place for a person, few plain lines for a log."""

    WORDS = {
        "reading": "reading the brief",
        "composing": "composing",
        "explaining": "looking for what clashes",
        "checking": "checking",
        "writing": "writing",
    }

    def __init__(self) -> None:
        self.stage = "reading"
        self._live = sys.stderr.isatty()
        self._open = False
        self._said: tuple[object, ...] = ()
        self._last = float("-inf")

    def tell(self, news: Progress) -> None:
        """Hear how far the work is."""
        self.stage = news.stage
        now, said = time.monotonic(), (news.stage, news.best, news.bound)
        soon = now - self._last < (0.1 if self._live else 2.0)
        if (soon and self._said[:1] == (news.stage,)) or (not self._live and (news.best is None or said == self._said)):
            return
        self._said, self._last = said, now
        text = f"{self.WORDS[news.stage]}, {news.seconds:.1f} s"
        if news.best is not None:
            text += f": best so far {news.best}"
            text += f", at most {news.bound}" if news.bound is not None else ""
        if self._live:
            sys.stderr.write(f"\r\x1b[2K{text}")
            sys.stderr.flush()
            self._open = True
        else:
            speak.line(text)

    def end(self) -> None:
        """Leave a clean line behind."""
        if self._open:
            sys.stderr.write("\r\x1b[2K")
            sys.stderr.flush()
            self._open = False


def data_of(done: Composed, seconds: float) -> dict[str, Any]:
    """The JSON document of a run."""
    data: dict[str, Any] = {
        "seconds": round(seconds, 2),
        "files": [str(file) for file in done.files],
        "notes": notes_on(done.problem),
    }
    match done.outcome:
        case Found(routine=routine, proven_best=proven, bound=bound):
            return {"status": "found", "proven_best": proven, "bound": bound, "routine": as_data(routine), **data}
        case NoRoutine():
            from composer.cli.whytell import no_routine_data

            return {"status": "no-routine", **no_routine_data(done.outcome), **data}
        case Undecided(best_so_far=best, bound=bound):
            routine_data = None if best is None else as_data(best)
            return {"status": "undecided", "proven_best": False, "bound": bound, "routine": routine_data, **data}


def _show(done: Composed, folder: Path | None, look: Look, time_limit_s: float) -> None:
    for note in notes_on(done.problem):
        _plain(f"Note: {note}")
    match done.outcome:
        case Found(routine=routine, proven_best=proven, bound=bound):
            _show_routine(done.problem, routine, look)
            proof = "proven best" if proven else f"not proven best: no routine can have more than {bound}"
            _plain(f"{routine.score} points, {proof}.")
        case NoRoutine(clashes=clashes, remedies=remedies):
            _show_clashes(clashes, remedies)
        case Undecided(seconds=seconds, best_so_far=best, bound=bound):
            if best is not None:
                _show_routine(done.problem, best, look)
            known = bound is not None and (bound > 0 or best is not None)
            limit = f" Any routine has at most {bound} points." if known else ""
            _plain(f"Undecided after {seconds:.0f} s: this is not a proof that no routine exists.{limit}")
    if done.files and folder is not None:
        _plain(f"Written to {folder}: {', '.join(str(file.relative_to(folder)) for file in done.files)}")
    if isinstance(done.outcome, Undecided):
        _plain(f"What to try: {', or '.join(_to_try(done.problem, time_limit_s))}.")


def _to_try(problem: Problem, time_limit_s: float) -> list[str]:
    """What makes a search shorter, the brief's own wishes that tie distant parts together first."""
    wishes, room = problem.brief.wishes, problem.brief.room
    ties = {
        f"at_least_different below {wishes.at_least_different}": wishes.at_least_different is not None,
        f"at_most_different above {wishes.at_most_different}": wishes.at_most_different is not None,
        "hits: prefer instead of must": wishes.hits == "must",
        "a free starting place in the room": room is not None and room.start is not None,
        "a larger room, or none": room is not None and room.start is None,
        "protect: sections instead of phrases": wishes.protect == "phrases",
    }
    found = [f"--time-limit {3 * time_limit_s:g}", *(text for text, present in ties.items() if present)]
    return [*found[:3], "shorter music (first_bar, last_bar)"]


def _show_routine(problem: Problem, routine: Routine, look: Look) -> None:
    from composer.cli.tables import routine_table
    from composer.report import sheet_from

    out = speak.console()
    for part in routine_table(sheet_from(problem, routine, lengths=look.lengths), out.width):
        out.print(part)


def _show_clashes(clashes: tuple[Clash, ...], remedies: tuple[Remedy, ...]) -> None:
    _plain("No routine exists for this brief; this is proved.")
    for number, clash in enumerate(clashes, 1):
        together = "These wishes cannot all hold" if clash.minimal else "The clash lies among these wishes"
        _plain("")
        _plain(f"{together}{f' (clash {number})' if len(clashes) > 1 else ''}:")
        for member in clash.members:
            where = f"  [{member.where}]" if member.where is not None else ""
            _plain(f"  - {member.sentence}{where}")
        for reason in clash.reasons:
            _plain(f"    because {reason}")
    if remedies:
        _plain("")
        _plain("What would help:")
        for remedy in remedies:
            _plain(f"  - {remedy.sentence}{'' if remedy.verified else ' (not tried out)'}")


def _plain(text: str) -> None:
    """A line of prose, broken between words for a person, whole for a file."""
    if sys.stdout.isatty() and not text.startswith("Written"):
        speak.wrapped(text, speak.console().width)
    else:
        print(speak.clean(text))
