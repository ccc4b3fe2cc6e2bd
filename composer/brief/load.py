"""From a brief file to a :class:`~composer.problem.Problem`: read, check, and find everything it names.

All faults are reported at once: what the form refuses is set aside and the rest is still looked up.

Codes: ``BRF001..003`` form (unknown key, missing key, wrong value), ``BRF010`` no such brief, ``BRF011`` newer
format, ``BRF020`` unknown dance, ``BRF021`` unknown figure, ``BRF022`` ambiguous figure, ``BRF023`` unknown hold,
``BRF024`` own catalogue folder, ``BRF025`` count beyond the music, ``BRF026`` figure of another dance, ``BRF027``
metre, ``BRF028`` body height, ``BRF029`` dance named twice, ``BRF031`` unknown
section; ``ROM`` in :mod:`composer.brief.room`.
"""

from __future__ import annotations

import copy
from pathlib import Path
from typing import Any, Final

from pydantic import ValidationError

from composer.brief.names import FigureNames, dances_in, figures_on_disk
from composer.brief.room import metres, room_of
from composer.brief.schema import BriefFile, Dancer, Must, Standing, Wishes
from composer.catalogue.model import Catalogue
from composer.errors import BadInput, Diagnostic, Where, did_you_mean, nearest
from composer.problem import Problem
from composer.resources import shipped
from composer.textfiles import Document, KeyPath, read_yaml, validated
from composer.timeline.model import Timeline

FORMAT: Final = "brief/1"
STATURE_MM: Final = (1_000, 2_400)
"""Body heights taken as meant; outside them a unit was forgotten."""


def load_problem(path: Path | str) -> Problem:
    """Read a brief and everything it names.

    Parameters
    ----------
    path : a brief file, a folder with a ``brief.yaml``, or the name of a shipped scenario.

    Raises
    ------
    BadInput
        With every fault found, each with file, line and key where it has one.
    """
    return problem_from(read_yaml(brief_file(path)))


def problem_from(document: Document) -> Problem:
    """Like :func:`load_problem` for a brief already read; files it names are relative to ``document.file``.

    Raises
    ------
    BadInput
        With every fault found.
    """
    refuse_newer(document, FORMAT, "BRF011")
    brief, faults = _checked(document)
    if brief is None:
        raise BadInput(faults)
    roots, missing = _roots(brief, document)
    faults += missing + _dance_faults(brief, document, roots)
    if any(fault.code in {"BRF020", "BRF024"} for fault in faults):
        raise BadInput(faults)
    catalogue = _catalogue(brief, roots[1:], faults)
    timeline = _timeline(brief, document, catalogue, faults)
    room = room_of(brief, document, faults, timeline)
    faults += _height_faults(brief, document)
    if timeline is not None:
        faults += _count_faults(brief, document, timeline) + _label_faults(brief, document, timeline)
    if catalogue is not None:
        names = FigureNames(catalogue, brief.dances, figures_on_disk(roots))
        brief, document = _resolved(brief, document, names)
        faults += names.faults + _hold_faults(brief, document, catalogue)
        if timeline is not None:
            faults += _metre_faults(brief, document, catalogue, timeline)
    if faults or catalogue is None or timeline is None:
        raise BadInput(faults)
    return Problem(brief, document, catalogue, timeline, room)


def brief_file(path: Path | str) -> Path:
    """The file meant by a path, a folder or a scenario's name.

    Raises
    ------
    BadInput
        ``BRF010`` if a bare name is neither a file nor a shipped scenario.
    """
    text, place = str(path), Path(path)
    try:
        if (place / "brief.yaml").is_file():
            return place / "brief.yaml"
        if place.exists() or len(place.parts) != 1 or place.suffix or "\0" in text:
            return place
    except (OSError, ValueError):
        return place
    scenarios = shipped("scenarios")
    known = sorted(folder.name for folder in scenarios.iterdir() if (folder / "brief.yaml").is_file())
    if text in known:
        return scenarios / text / "brief.yaml"
    remedy = did_you_mean(text, known) or (f"Scenarios: {', '.join(known)}." if known else None)
    raise BadInput(Diagnostic("BRF010", f"'{text}' is neither a file nor a shipped scenario.", Where(), remedy))


def refuse_newer(document: Document, known: str, code: str) -> None:
    """Refuse a document of a newer format before its keys are called unknown.

    Raises
    ------
    BadInput
        With ``code`` if the document says a higher version of the same kind of file.
    """
    data = document.data
    given = data.get("format") if isinstance(data, dict) else None
    if not isinstance(given, str) or given == known:
        return
    kind, _, version = known.partition("/")
    other, _, number = given.partition("/")
    if other == kind and number.isdecimal() and len(number) < 10 and int(number) > int(version):
        message = f"was written for a newer version of this tool ('{given}'); this one reads '{known}'."
        raise BadInput(Diagnostic(code, message, document.where("format"), "Update the tool."))


def _checked(document: Document) -> tuple[BriefFile | None, list[Diagnostic]]:
    """The brief and the faults of its form; with faults, what is left once the faulty keys are taken out."""
    try:
        return validated(BriefFile, document, code="BRF"), []
    except BadInput as problem:
        faults = list(problem.diagnostics)
    data = copy.deepcopy(document.data)
    for _ in range(6):
        try:
            return BriefFile.model_validate(data), faults
        except ValidationError as problem:
            for error in problem.errors():
                _take_out(data, error["loc"])
    return None, faults


def _take_out(data: Any, loc: KeyPath) -> None:
    """Remove the deepest key on the way to ``loc``; whole lists go, so that no other item changes its number."""
    box: dict[str, Any] | None = None
    last = ""
    for part in loc:
        if not isinstance(data, dict) or part not in data:
            break
        box, last, data = data, str(part), data[part]
    if box is not None:
        del box[last]


def _roots(brief: BriefFile, document: Document) -> tuple[list[Path], list[Diagnostic]]:
    """The shipped catalogue followed by the brief's own folders."""
    roots, faults = [shipped("catalog")], []
    for index, name in enumerate(brief.catalogues):
        folder = Path(document.file).parent / name
        if folder.is_dir():
            roots.append(folder)
        else:
            message = f"the catalogue folder '{name}' does not exist beside the brief."
            faults.append(Diagnostic("BRF024", message, document.where("catalogues", index)))
    return roots, faults


def _dance_faults(brief: BriefFile, document: Document, roots: list[Path]) -> list[Diagnostic]:
    known = sorted(dances_in(roots))
    faults = []
    for index, dance in enumerate(brief.dances):
        where = document.where("dance") if isinstance(brief.dance, str) else document.where("dance", index)
        if dance not in known:
            remedy = did_you_mean(dance, known) or f"Known dances: {', '.join(known)}."
            faults.append(Diagnostic("BRF020", f"'{dance}' is not a dance of this catalogue.", where, remedy))
        elif dance in brief.dances[:index]:
            faults.append(Diagnostic("BRF029", f"'{dance}' is named twice.", where))
    if not brief.dances:
        faults.append(Diagnostic("BRF020", "name at least one dance.", document.where("dance")))
    return faults


def _catalogue(brief: BriefFile, own: list[Path], faults: list[Diagnostic]) -> Catalogue | None:
    from composer.catalogue import load_catalogue

    try:
        return load_catalogue(*own, dances=brief.dances)
    except BadInput as problem:
        faults.extend(problem.diagnostics)
        return None


def _timeline(
    brief: BriefFile, document: Document, catalogue: Catalogue | None, faults: list[Diagnostic]
) -> Timeline | None:
    from composer.brief.music import timeline_from

    page = None if catalogue is None else catalogue.dances.get(brief.dances[0])
    try:
        return timeline_from(brief.music, document, 4 if page is None else page.beats_per_bar)
    except BadInput as problem:
        faults.extend(problem.diagnostics)
        return None


def _height_faults(brief: BriefFile, document: Document) -> list[Diagnostic]:
    faults = []
    for role in ("leader", "follower"):
        dancer: Dancer = getattr(brief.couple, role)
        if dancer.stature is not None and not STATURE_MM[0] <= dancer.stature <= STATURE_MM[1]:
            message = f"a body height of {metres(dancer.stature)} is hardly meant."
            where = document.where("couple", role, "stature")
            faults.append(Diagnostic("BRF028", message, where, "Write it like 1.74 m, 174 cm or 68 in."))
    return faults


def _count_faults(brief: BriefFile, document: Document, timeline: Timeline) -> list[Diagnostic]:
    last = timeline.length_beats
    parts = () if brief.couple.both_lead is None else brief.couple.both_lead.parts
    return [
        Diagnostic(
            "BRF025",
            f"the music has {last} counts; count {part.first} lies beyond it.",
            document.where("couple", "both_lead", "parts", index, "first"),
        )
        for index, part in enumerate(parts)
        if part.first is not None and part.first > last
    ] + [
        Diagnostic(
            "BRF025",
            f"the music has {last} counts; count {must.at} lies beyond it.",
            document.where("wishes", "must", index, "at"),
        )
        for index, must in enumerate(brief.wishes.must)
        if must.at is not None and must.at > last
    ]


def _label_faults(brief: BriefFile, document: Document, timeline: Timeline) -> list[Diagnostic]:
    """Wishes about sections that the music does not have."""
    labels = sorted({section.label for section in timeline.sections if section.label})
    signature = brief.wishes.signature
    asked: list[tuple[KeyPath, str | None]] = [(("wishes", "build_up"), brief.wishes.build_up)]
    parts = () if brief.couple.both_lead is None else brief.couple.both_lead.parts
    asked += [(("couple", "both_lead", "parts", index, "section"), part.section) for index, part in enumerate(parts)]
    asked += [(("wishes", "signature", "section"), signature.section)] if signature is not None else []
    return [
        Diagnostic(
            "BRF031",
            f"the music has no section '{label}'.",
            document.where(*key),
            did_you_mean(label, labels) or (f"Sections: {', '.join(labels)}." if labels else "Name them: sections."),
        )
        for key, label in asked
        if label and label.casefold() not in {known.casefold() for known in labels}
    ]


def _metre_faults(brief: BriefFile, document: Document, catalogue: Catalogue, timeline: Timeline) -> list[Diagnostic]:
    """A dance in three cannot be danced to bars of four; bars that are multiples of each other are fine."""
    music, faults = timeline.beats_per_bar, []
    for dance in brief.dances:
        page = catalogue.dances.get(dance)
        if page and music % page.beats_per_bar and page.beats_per_bar % music:
            message = f"{page.name} is danced to {page.beats_per_bar} beats in a bar, this music has {music}."
            faults.append(Diagnostic("BRF027", message, document.where("music")))
    return faults


def _hold_faults(brief: BriefFile, document: Document, catalogue: Catalogue) -> list[Diagnostic]:
    known, faults = sorted(catalogue.holds), []
    for name in ("opening", "closing"):
        standing: Standing = getattr(brief.wishes, name)
        if standing.hold is not None and standing.hold not in catalogue.holds:
            close = nearest(standing.hold.replace(" ", "-"), known)
            remedy = f"Did you mean '{close}'?" if close else f"Known holds: {', '.join(known)}."
            where = document.where("wishes", name, "hold")
            faults.append(Diagnostic("BRF023", f"'{standing.hold}' is not a known hold.", where, remedy))
    return faults


def _resolved(brief: BriefFile, document: Document, names: FigureNames) -> tuple[BriefFile, Document]:
    """The brief with every figure's name replaced by its id; unknown names are noted in ``names.faults``."""
    couple = brief.couple.model_copy(
        update={
            role: _dancer(getattr(brief.couple, role), document, ("couple", role), names)
            for role in ("leader", "follower")
        }
    )
    wishes, lines = brief.wishes, dict(document.lines)
    must = []
    for index, wish in enumerate(wishes.must):
        key = ("wishes", "must", index, "figure")
        found = names.find(wish.figure, document.where(*(key if key in lines else key[:-1])))
        must.append(Must.model_copy(wish, update={"figure": found or wish.figure}))
    never = _each(wishes.never, document, ("wishes", "never"), names)
    prefer: dict[str, int] = {}
    for name, points in wishes.prefer.items():
        found = names.find(name, document.where("wishes", "prefer", name)) or name
        prefer[found] = prefer.get(found, 0) + points
        if (line := lines.get(("wishes", "prefer", name))) is not None:
            lines.setdefault(("wishes", "prefer", found), line)
    ends = {
        name: _standing(getattr(wishes, name), document.where("wishes", name, "figure"), names)
        for name in ("opening", "closing")
    }
    signature = wishes.signature
    if signature is not None:
        where = document.where("wishes", "signature", "figure")
        signature = signature.model_copy(update={"figure": names.find(signature.figure, where) or signature.figure})
    update = {"must": tuple(must), "never": never, "prefer": prefer, "signature": signature, **ends}
    found_wishes = Wishes.model_copy(wishes, update=update)
    return (
        brief.model_copy(update={"couple": couple, "wishes": found_wishes}),
        Document(document.file, _renamed(document.data, prefer), lines),
    )


def _renamed(data: Any, prefer: dict[str, int]) -> Any:
    """The brief's data with the resolved names under ``wishes.prefer``, where the keys themselves are names."""
    if not prefer or not isinstance(data.get("wishes"), dict):
        return data
    return {**data, "wishes": {**data["wishes"], "prefer": dict(prefer)}}


def _dancer(dancer: Dancer, document: Document, path: KeyPath, names: FigureNames) -> Dancer:
    found: dict[str, Any] = {
        key: _each(getattr(dancer, key), document, (*path, key), names, anywhere=True) for key in ("knows", "not_yet")
    }
    if (other := dancer.other_role) is not None:
        own = {
            key: _each(getattr(other, key), document, (*path, "other_role", key), names, anywhere=True)
            for key in ("knows", "not_yet")
        }
        found["other_role"] = other.model_copy(update=own)
    return dancer.model_copy(update=found)


def _each(
    given: tuple[str, ...], document: Document, path: KeyPath, names: FigureNames, *, anywhere: bool = False
) -> tuple[str, ...]:
    return tuple(
        names.find(name, document.where(*path, index), anywhere=anywhere) or name for index, name in enumerate(given)
    )


def _standing(standing: Standing, where: Where, names: FigureNames) -> Standing:
    if standing.figure is None:
        return standing
    return standing.model_copy(update={"figure": names.find(standing.figure, where) or standing.figure})
