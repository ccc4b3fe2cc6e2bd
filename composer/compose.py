"""The main job from end to end: brief -> problem -> solve -> verify -> sheet -> files.

Nothing here knows a terminal: progress goes to a callback and a second callback may cancel, so that a page or a
worker process can drive the same pipeline. A routine that the checker finds fault with is never shown: that is an
error of this program (:class:`InternalFault`) and is reported as one.
"""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final, Literal

from composer.brief import load_problem
from composer.outcome import Found, NoRoutine, Outcome, Undecided
from composer.outfolder import check_folder, write_out
from composer.problem import Problem
from composer.routine import Routine
from composer.rules.base import Breach
from composer.textfiles import Document, write_bytes, write_text
from composer.versions import check_versions, keep_composed

Stage = Literal["reading", "composing", "explaining", "checking", "writing"]
EXPECTED: Final = (
    "routine.json", "sheet.html", "plan.svg", "timeline.svg", "sheet.pdf", "cue-card.pdf", "practice.html",
    "calls.vtt", "routine.musicxml",
)  # fmt: skip
"""Files every run writes; looked for before solving, so that no work is lost to a folder in use."""


@dataclass(frozen=True)
class Progress:
    """How far the work is: the best score and the bound so far while composing."""

    stage: Stage
    seconds: float
    best: int | None = None
    bound: int | None = None


@dataclass(frozen=True)
class Look:
    """How the sheets are to look; ``paper`` None suits the lengths."""

    lengths: Literal["metres", "feet"] = "metres"
    paper: Literal["A4", "letter"] | None = None


@dataclass(frozen=True)
class Composed:
    """What came of it. ``files`` is empty when nothing was to be written or there is no routine."""

    problem: Problem
    outcome: Outcome
    files: tuple[Path, ...] = ()

    @property
    def routine(self) -> Routine | None:
        """The routine found, if any."""
        match self.outcome:
            case Found(routine=routine):
                return routine
            case Undecided(best_so_far=routine):
                return routine
            case NoRoutine():
                return None


class Cancelled(Exception):
    """The caller asked to stop."""


class InternalFault(Exception):
    """A composed routine failed its check: a fault of this program, not of the brief."""

    def __init__(self, breaches: list[Breach]) -> None:
        self.breaches = tuple(breaches)
        first = f"{breaches[0].key}: {breaches[0].message}"
        more = f" (and {len(breaches) - 1} more)" if len(breaches) > 1 else ""
        super().__init__(f"the composed routine failed its check: {first}{more}")


def compose(
    brief_path: Path | str,
    *,
    out: Path | None = None,
    seed: int = 0,
    time_limit_s: float = 20.0,
    progress: Callable[[Progress], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> Outcome:
    """Compose a routine for a brief; see :func:`run` for the parameters and errors."""
    return run(
        brief_path, out=out, seed=seed, time_limit_s=time_limit_s, progress=progress, cancelled=cancelled
    ).outcome


def run(
    brief_path: Path | str,
    *,
    out: Path | None = None,
    seed: int = 0,
    time_limit_s: float = 20.0,
    progress: Callable[[Progress], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
    look: Look | None = None,
) -> Composed:
    """Compose, check and, when ``out`` is given, write the folder.

    Parameters
    ----------
    brief_path : a brief file, a folder with ``brief.yaml``, or the name of a shipped scenario.
    out : folder for the results; checked before the work begins.
    time_limit_s : seconds for composing.
    progress, cancelled : called often while composing; ``cancelled`` returning True stops the work.

    Raises
    ------
    BadInput
        For a brief, its music or catalogue that cannot be used, and an output folder that cannot be written.
    Cancelled
        When ``cancelled`` said so.
    InternalFault
        When the routine found fails its check.
    """
    watch = _Watch(progress, cancelled)
    watch.stage("reading")
    problem = load_problem(brief_path)
    if out is not None:
        check_folder(out, EXPECTED)
        check_versions(out)
    from composer.solve import solve  # only now: a brief with faults is told at once
    from composer.verify import verify

    watch.stage("composing")
    outcome = solve(problem, seed=seed, time_limit_s=time_limit_s, progress=watch.heard)
    if isinstance(outcome, NoRoutine) and not outcome.clashes:
        from composer.explain import explain

        watch.stage("explaining")
        outcome = explain(problem, time_limit_s=time_limit_s, seed=seed)
    watch.stage("checking")
    composed = Composed(problem, outcome)
    routine = composed.routine
    if routine is None:
        return composed
    if breaches := verify(problem, routine):
        raise InternalFault(breaches)
    if out is None:
        return composed
    watch.stage("writing")
    return Composed(problem, outcome, tuple(write_routine(problem, routine, out, look)))


def write_routine(
    problem: Problem,
    routine: Routine,
    out: Path,
    look: Look | None = None,
    *,
    document: Document | None = None,
    beside: Mapping[str, bytes] | None = None,
) -> list[Path]:
    """Write everything people take away for one routine, and keep it as a version (see :mod:`composer.versions`).

    The version is kept before anything in the folder is replaced; a new folder appears whole, with its version.

    Parameters
    ----------
    document : the brief as the version remembers it, where that is not the problem's own.
    beside : further files by name that are no sheets (a brief, its music): later runs leave them alone.

    Raises
    ------
    BadInput
        If the folder cannot be written.
    """
    brief = document or problem.document

    def keep(folder: Path) -> None:
        home = out if existed else folder
        for name, content in (beside or {}).items():
            write_bytes(home / name, content)
        keep_composed(out, brief.data, brief.file, routine, folder=home)

    existed = out.is_dir()
    return write_sheets(problem, routine, out, look, before=keep)


def write_sheets(
    problem: Problem,
    routine: Routine,
    out: Path,
    look: Look | None = None,
    extra: Mapping[str, str] | None = None,
    before: Callable[[Path], None] = lambda folder: None,
) -> list[Path]:
    """Write what people take away, and ``extra`` files by name, into a folder, whole or not at all.

    Parameters
    ----------
    before : called with the folder being filled, once everything in it is written and before it is moved into place.

    Raises
    ------
    BadInput
        When the folder cannot be written.
    """
    from composer.cuttrack import played
    from composer.report import sheet_from, write_folder

    look = look or Look()

    def fill(folder: Path) -> list[Path]:
        with tempfile.TemporaryDirectory() as aside:
            heard, recording = played(problem, Path(aside))
            sheet = sheet_from(heard, routine, lengths=look.lengths)
            sheet = replace(sheet, track="" if recording is None else str(recording))
            files = write_folder(sheet, folder, paper=look.paper)
        for name, text in (extra or {}).items():
            write_text(folder / name, text)
        before(folder)
        return [*files, *(folder / name for name in extra or ())]

    return write_out(out, fill)


class _Watch:
    """Tells the caller how far the work is, and stops it when the caller asks."""

    def __init__(self, progress: Callable[[Progress], None] | None, cancelled: Callable[[], bool] | None) -> None:
        self._progress, self._cancelled = progress, cancelled
        self._began = time.monotonic()

    def stage(self, stage: Stage) -> None:
        self._tell(Progress(stage, time.monotonic() - self._began))

    def heard(self, best: int | None, bound: int | None) -> None:
        """Called by the solver with the best score and the bound so far."""
        self._tell(Progress("composing", time.monotonic() - self._began, best, bound))

    def _tell(self, news: Progress) -> None:
        if self._cancelled is not None and self._cancelled():
            raise Cancelled
        if self._progress is not None:
            self._progress(news)
