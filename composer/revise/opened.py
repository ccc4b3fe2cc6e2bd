"""Opens a routine for revising: the file, its earlier versions, the brief it answers.

The brief of a routine without earlier versions is the one given, else the one among ``brief.yaml`` beside it, above it
or in the current folder and the shipped scenarios whose content is what the routine's record names by its digest.

Codes: ``RTN042`` the brief is not known.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from composer.brief.load import brief_file, load_problem, problem_from
from composer.errors import BadInput, Diagnostic, Where
from composer.problem import Problem
from composer.resources import shipped
from composer.revise.asks import Ask, Brief, applied
from composer.revise.kept import Counts
from composer.routine import Routine
from composer.routinefile import RoutineFile, routine_of
from composer.textfiles import Document, digest_of, read_yaml, validated
from composer.versions import SCENARIO, Version, brief_place, current_version, load_versions, record_of

RECORD: Final = "routine.json"
PARTS: Final = ("start_tick", "end_tick", "faces", "x_mm", "y_mm", "corners", "more_x_mm", "more_y_mm")


@dataclass(frozen=True)
class Opened:
    """A routine, what it answers, and where it came from.

    ``home`` is the folder of results (with the versions); ``current`` the version that holds exactly this routine, None
    when there is none yet or the file was edited by hand since. ``base`` is the problem of the first brief,
    ``problem`` that of the brief with everything asked since.
    """

    home: Path
    routine: Routine
    base: Problem
    problem: Problem
    asks: tuple[Ask, ...]
    practised: tuple[Counts, ...]
    versions: tuple[Version, ...]
    current: Version | None
    brief_file: str
    faults: tuple[Diagnostic, ...] = ()

    @property
    def brief_data(self) -> dict[str, Any]:
        """The first brief as data."""
        return dict(self.base.document.data)


def open_routine(path: Path, brief: str | None = None, out: Path | None = None, *, retime: bool = False) -> Opened:
    """Read a routine with its history.

    Parameters
    ----------
    brief : the brief it answers; needed when there is no history and the record does not tell.
    out : folder of results; the routine's own when it is a ``routine.json``.
    retime : times, directions and places in the file are left aside: the figures are danced one after another.

    Raises
    ------
    BadInput
        For a routine, brief or music that cannot be used.
    """
    home = out or (path.absolute().parent if path.name == RECORD else path.absolute().with_suffix("").with_name(
        f"{path.stem}-revised"))  # fmt: skip
    document = read_yaml(path)
    if retime:
        document = Document(document.file, untimed(document.data), document.lines)
    file = validated(RoutineFile, document, code="RTN")
    versions, faults = load_versions(home)
    source = _latest(versions, document.data) if brief is None else None
    if source is not None:
        place = _found_file(home, source.brief_file)
        base = _remembered(place, source.brief)
        named, asks, practised = source.brief_file, source.asks, source.practised
    else:
        place = str(brief_file(brief)) if brief is not None else _searched(path, file.brief_digest)
        base = load_problem(place)
        named, asks, practised = brief_place(home, place), (), ()
    problem = problem_after(base, asks)[0]
    routine = routine_of(file, document, problem)
    current = current_version(versions, record_of(routine)) if source is not None else None
    return Opened(home, routine, base, problem, asks, practised, versions, current, named, tuple(faults))


def problem_after(base: Problem, asks: Sequence[Ask]) -> tuple[Problem, Brief]:
    """The problem of a brief with asks applied, and what gave way.

    Raises
    ------
    BadInput
        When the brief cannot be used any more.
    """
    if not asks:
        return base, Brief(dict(base.document.data), base.document.file)
    brief = applied(dict(base.document.data), base.document.file, asks, base.timeline)
    return problem_from(Document(base.document.file, brief.data, base.document.lines)), brief


def problem_of_version(home: Path, version: Version) -> Problem:
    """The problem a version answers.

    Raises
    ------
    BadInput
        When its brief cannot be used any more.
    """
    base = problem_from(Document(_found_file(home, version.brief_file), dict(version.brief), {}))
    return problem_after(base, version.asks)[0]


def untimed(data: Any) -> Any:
    """A routine's data with names and order alone."""
    if not isinstance(data, dict) or not isinstance(data.get("figures"), list):
        return data
    figures = [
        {key: value for key, value in entry.items() if key not in PARTS} if isinstance(entry, dict) else entry
        for entry in data["figures"]
    ]
    first = data["figures"][0] if data["figures"] else None
    if isinstance(first, dict) and first.get("start_tick") is not None and first.get("faces") is not None:
        figures[0] = {**figures[0], "faces": first["faces"]}
    if any(isinstance(entry, dict) and "leads" in entry for entry in figures):  # without times it would go on
        figures = [{"leads": "leader", **entry} if isinstance(entry, dict) else entry for entry in figures]
    return {**{key: value for key, value in data.items() if key != "length_ticks"}, "figures": figures}


def _latest(versions: Sequence[Version], record: Any) -> Version | None:
    """The version this record is, else the one it was edited from: the newest."""
    if not versions:
        return None
    return (current_version(versions, record) if isinstance(record, dict) else None) or versions[-1]


def _remembered(place: str, brief: dict[str, Any]) -> Problem:
    """The problem of a version's brief: with the lines of its file while that still says the same."""
    try:
        problem = load_problem(place)
        if problem.document.data == brief:
            return problem
    except (BadInput, OSError):
        pass  # changed, broken or gone since: the version knows what it said
    return problem_from(Document(place, dict(brief), {}))


def _found_file(home: Path, named: str) -> str:
    if named.startswith(SCENARIO):
        return str(brief_file(named.removeprefix(SCENARIO)))
    return str(home / named)


def _searched(path: Path, digest: str) -> str:
    """The brief whose content has this digest.

    Raises
    ------
    BadInput
        ``RTN042`` when none of those looked at has it.
    """
    for candidate in _candidates(path) if digest else ():
        try:
            document = read_yaml(candidate)
            data = document.data
            if isinstance(data, dict) and (data.get("wishes") or {}).get("prefer"):
                data = load_problem(candidate).document.data  # names are looked up before the digest is taken
        except (BadInput, AttributeError):
            continue
        if digest_of(data) == digest:
            return str(candidate)
    remedy = "Give the brief it was made for: --brief BRIEF."
    raise BadInput(Diagnostic("RTN042", "which brief is this routine for? None was found.", Where(str(path)), remedy))


def _candidates(path: Path) -> Iterator[Path]:
    folder = path.absolute().parent
    for place in (folder, folder.parent, Path.cwd()):
        if (place / "brief.yaml").is_file():
            yield place / "brief.yaml"
    for scenario in sorted(shipped("scenarios").iterdir()):
        if (scenario / "brief.yaml").is_file():
            yield scenario / "brief.yaml"
