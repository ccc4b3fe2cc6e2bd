"""Routines from files: the tool's own record (``routine.json``) and routines a teacher writes by hand (YAML).

Both are format ``routine/1``. By hand a list of names is enough; this module works out the rest::

    format: routine/1
    dance: waltz
    faces: DW                       # the leader's alignment at the start; the first figure's usual one if left out
    figures: [natural turn, closed change, corner, {figure: reverse turn, at: 13}]

``corner`` between two figures means that a corner of the room was turned there: the alignment is renamed by +2,
the couple itself does not turn. In a travelling room corners are found when none is given. ``change lead`` between two
figures means that the partners change roles there; ``leads`` (leader or follower, as the brief calls them) says who
leads a figure and, by hand, all that follow. Nothing is judged here;
:mod:`composer.verify` does that.

Codes: ``RTN001..003`` form, ``RTN011`` newer format, ``RTN021`` unknown figure, ``RTN022`` ambiguous figure,
``RTN024`` own catalogue folder, ``RTN026`` figure of another dance, ``RTN030`` no or unknown dance, ``RTN031`` nothing
to dance.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any, Final, Literal

from pydantic import BeforeValidator, Field, GetJsonSchemaHandler
from pydantic_core import CoreSchema

from composer.brief.load import refuse_newer
from composer.brief.names import FigureNames, dances_in, figures_on_disk, plain
from composer.brief.schema import BriefFile, StartPlace
from composer.catalogue.model import Catalogue
from composer.charts import OPT_IN_CAUTIONS, Alignment, Count, Strict
from composer.errors import BadInput, Diagnostic, did_you_mean
from composer.problem import Problem
from composer.resources import shipped
from composer.routine import FORMAT, Routine, ScoreLine
from composer.routineplaces import Given, lay_out
from composer.textfiles import Document, read_yaml, validated
from composer.timeline.model import Beat, Phrase, Section, Timeline
from composer.units import TICKS_PER_BEAT, ticks_from_beats

MOST_TICKS: Final = 10_000_000
CORNER: Final = "corner"
CHANGE_LEAD: Final = frozenset({"change-lead", "change-of-lead", "lead-change"})
Tick = Annotated[int, Field(ge=0, le=MOST_TICKS)]


class FigureGiven(Strict):
    """One figure of a routine. By hand the name (and a count, an alignment) is enough; a record gives all."""

    figure: str = Field(min_length=1, max_length=120)
    at: Count | None = Field(None, description="count of the routine at which it begins")
    faces: Alignment | None = Field(None, description="leader's alignment at its start; in a record the facing")
    start_tick: Tick | None = None
    end_tick: Tick | None = None
    x_mm: int | None = Field(None, ge=-1_000_000, le=1_000_000)
    y_mm: int | None = Field(None, ge=-1_000_000, le=1_000_000)
    corners: int | None = Field(None, ge=0, le=1000)
    more_x_mm: int = Field(0, ge=-20_000, le=20_000)
    more_y_mm: int = Field(0, ge=-20_000, le=20_000)
    leads: Literal["leader", "follower"] | None = Field(
        None, description="which of the two, as the brief calls them, leads; the leader when left out in a record"
    )

    @classmethod
    def __get_pydantic_json_schema__(cls, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        table = handler.resolve_ref_schema(handler(schema))
        table["properties"]["faces"] = {"anyOf": [{"type": "string"}, {"type": "integer"}, {"type": "null"}]}
        named = {"type": "string", "description": "a figure's name, 'corner' or 'change lead'"}
        return {"anyOf": [named, table]}


class RoutineFile(Strict):
    """A whole routine as it stands in a file."""

    format: Literal["routine/1"]
    title: str = Field("", max_length=300)
    dance: str | None = None
    dances: tuple[str, ...] = ()
    catalogues: tuple[str, ...] = Field(
        (), description="own catalogue folders, relative to this file; a brief has its own"
    )
    faces: Alignment | None = Field(None, description="leader's alignment at the start")
    start: StartPlace | None = None
    figures: tuple[
        Annotated[FigureGiven, BeforeValidator(lambda v: {"figure": v} if isinstance(v, str) else v)], ...
    ] = Field(max_length=5000)
    length_ticks: Tick | None = None
    status: Literal["best", "good", "by hand"] = "by hand"
    score: int = 0
    bound: int | None = None
    score_card: tuple[ScoreLine, ...] = ()
    brief_digest: str = ""
    catalogue_digest: str = ""
    seed: int = 0

    @property
    def named_dances(self) -> tuple[str, ...]:
        """Dances the file names, or that its figures' ids name."""
        named = self.dances or ((self.dance,) if self.dance else ())
        return named or tuple(dict.fromkeys(f.figure.split("/")[0] for f in self.figures if "/" in f.figure))


def load_routine(path: Path | str, brief: Path | str | None = None) -> tuple[Problem, Routine]:
    """A routine and the problem it is judged by: its brief, or a plain one that asks for nothing.

    Raises
    ------
    BadInput
        With every fault of the routine (and of the brief).
    """
    from composer.brief.load import load_problem

    document = read_yaml(Path(path))
    refuse_newer(document, FORMAT, "RTN011")
    faults: list[Diagnostic] = []
    file: RoutineFile | None = None
    problem: Problem | None = None
    try:
        file = validated(RoutineFile, document, code="RTN")
    except BadInput as bad:
        faults.extend(bad.diagnostics)
    if brief is not None:
        try:
            problem = load_problem(brief)
        except BadInput as bad:
            faults.extend(bad.diagnostics)
    if file is None or (problem is None and faults):
        raise BadInput(faults)
    problem = problem or plain_problem(file, document)
    return problem, routine_of(file, document, problem)


def routine_of(file: RoutineFile, document: Document, problem: Problem) -> Routine:
    """The routine a file describes, with its figures found and placed in time and space.

    Raises
    ------
    BadInput
        If figures are unknown or there are none.
    """
    begins = problem.room.begins if problem.room is not None else 0
    given = _found(file, document, problem.catalogue, problem.brief.dances, begins)
    return Routine(
        title=file.title or problem.brief.title,
        dances=problem.brief.dances,
        length_ticks=problem.length_ticks if file.length_ticks is None else file.length_ticks,
        figures=lay_out(problem, given, None if file.start is None else (file.start.x, file.start.y)),
        status=file.status,
        score=file.score,
        bound=file.bound,
        score_card=file.score_card,
        brief_digest=file.brief_digest,
        catalogue_digest=file.catalogue_digest,
        seed=file.seed,
    )


def _found(
    file: RoutineFile, document: Document, catalogue: Catalogue, dances: tuple[str, ...], begins: int = 0
) -> tuple[Given, ...]:
    """Every figure found in the catalogue; alignments as absolute facings; corners counted from where it begins."""
    names = FigureNames(catalogue, dances, figures_on_disk([shipped("catalog")]), family="RTN")
    result: list[Given] = []
    corners, swapped = begins, False
    for index, entry in enumerate(file.figures):
        if entry.figure.strip().lower() == CORNER and "start_tick" not in entry.model_fields_set:
            corners += 1
            continue
        if plain(entry.figure) in CHANGE_LEAD and "start_tick" not in entry.model_fields_set:
            swapped = not swapped
            continue
        if entry.leads is not None:
            swapped = entry.leads == "follower"
        elif entry.start_tick is not None and entry.end_tick is not None:  # a record says it of every figure
            swapped = False
        corners = corners if entry.corners is None else entry.corners
        key = ("figures", index, "figure") if ("figures", index, "figure") in document.lines else ("figures", index)
        identity = names.find(entry.figure, document.where(*key))
        if identity is None:
            continue
        faces = entry.faces if entry.faces is not None or result else file.faces
        if faces is not None and entry.start_tick is None:
            faces = (faces - 2 * corners) % 8
        start = entry.start_tick if entry.at is None else ticks_from_beats(entry.at - 1)
        place = None if entry.x_mm is None or entry.y_mm is None else (entry.x_mm, entry.y_mm)
        more = (entry.more_x_mm, entry.more_y_mm)
        result.append(Given(catalogue.figures[identity], corners, start, entry.end_tick, faces, place, more, swapped))
    if names.faults:
        raise BadInput(names.faults)
    if not result:
        raise BadInput(Diagnostic("RTN031", "the routine has no figures.", document.where("figures")))
    return tuple(result)


def plain_problem(file: RoutineFile, document: Document) -> Problem:
    """A problem that asks for nothing: steady music exactly as long as the routine, no room, every figure learned.

    Raises
    ------
    BadInput
        ``RTN030`` if the dance is not named or unknown; and whatever the figures' names give.
    """
    from composer.catalogue import load_catalogue

    own = [Path(document.file).parent / name for name in file.catalogues]
    if missing := [
        Diagnostic("RTN024", f"there is no folder '{name}' beside the routine.", document.where("catalogues", index))
        for index, name in enumerate(file.catalogues)
        if not own[index].is_dir()
    ]:
        raise BadInput(missing)
    dances, known = file.named_dances, sorted(dances_in([shipped("catalog"), *own]))
    where = document.where("dance" if file.dance else "dances")
    if not dances:
        remedy = f"Add 'dance: ...' ({', '.join(known)}) or give a brief with --brief."
        raise BadInput(Diagnostic("RTN030", "does not say which dance this is.", document.where(), remedy))
    if faults := [
        Diagnostic("RTN030", f"'{d}' is not a dance of this catalogue.", where, did_you_mean(d, known))
        for d in dances
        if d not in known
    ]:
        raise BadInput(faults)
    catalogue = load_catalogue(*own, dances=dances)
    page = catalogue.dances[dances[0]]
    end = 0
    for given in _found(file, document, catalogue, dances):
        end = (end if given.start_tick is None else given.start_tick) + given.figure.length_ticks
    beats = max(1, -(-end // TICKS_PER_BEAT))
    tempo = (page.tempo.least + page.tempo.most) / 2
    brief = BriefFile.model_validate(
        {
            "format": "brief/1",
            "title": file.title or "a routine without a brief",
            "dance": dances,
            "music": {"tempo": tempo, "bars": max(1, min(2000, -(-beats // page.beats_per_bar)))},
            "couple": {
                "leader": {"level": 5},
                "follower": {"level": 5},
                "accept": tuple(sorted(OPT_IN_CAUTIONS)),
            },
            "wishes": {"protect": "nothing", "hits": "ignore"},
        }
    )
    timeline = _steady(beats, page.beats_per_bar, tempo)
    return Problem(brief, Document(document.file, {}, {}), catalogue, timeline, None)


def _steady(beats: int, beats_per_bar: int, tempo: float) -> Timeline:
    """Even beats in one phrase."""
    return Timeline(
        title="steady counts",
        origin="tempo",
        beats_per_bar=beats_per_bar,
        beats=tuple(Beat(index * 60 / tempo, index % beats_per_bar + 1) for index in range(beats)),
        end_s=beats * 60 / tempo,
        usable=(0, beats),
        phrases=(Phrase(0, beats),),
        sections=(Section(0, beats),),
    )


def schema() -> Mapping[str, Any]:
    """JSON Schema of a routine file."""
    return RoutineFile.model_json_schema()
