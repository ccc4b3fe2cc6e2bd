"""Loads the catalogue: reads every file, simulates every figure, and refuses it all when anything is wrong.

Codes: ``HLD`` holds, ``DNC`` pages of dances, ``FIG`` figures (FIG021 prerequisite, FIG024 circle of prerequisites,
FIG025 figure in the wrong folder; the rest from :mod:`composer.kinematics`).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from composer.catalogue.cache import Kept, code_digest, digest_of
from composer.catalogue.model import Catalogue, Figure
from composer.catalogue.sources import Source, Sources, document_of, find_sources, read_holds
from composer.charts import DanceFile, FigureFile, HoldsFile, Style
from composer.errors import BadInput, Diagnostic, Where, did_you_mean
from composer.kinematics.motion import Motion
from composer.kinematics.motiondata import motion_data, motion_from
from composer.textfiles import Document, validated

SPOT_REACH_MM: Final = 1500
"""A figure that strays no further than this from where it began can be danced on the spot (common practice)."""
STYLES_BESIDE: Final[dict[Style, tuple[Style, ...]]] = {
    "travelling": ("travelling", "show"),
    "slot": ("slot", "spot", "show"),
    "spot": ("spot", "slot", "show"),
    "show": ("show",),
}


def load_catalogue(
    *extra_folders: Path, dances: Iterable[str] | None = None, only: Iterable[str] | None = None
) -> Catalogue:
    """The built-in catalogue with the user's own folders layered over it.

    Parameters
    ----------
    extra_folders : later folders replace figures of the same id and add to the holds.
    dances : load the figures of these dances only (all pages are read in any case); names that are no dance
        are passed over.
    only : of these dances, load no other figures than these ids; faults of the others stay untold then.

    Raises
    ------
    BadInput
        With every fault of every file.
    """
    wanted = None if dances is None else set(dances)
    sources = find_sources(extra_folders)
    holds, holds_raw = read_holds(sources.holds)
    work = _Work(holds, holds_raw, sources, _Faults())
    for name, source in sorted(sources.pages.items()):
        work.read_page(name, source)
    few = None if only is None else set(only)
    ids = [
        key
        for key in sorted(sources.figures)
        if (wanted is None or key.split("/")[0] in wanted) and (few is None or key in few)
    ]
    kept = Kept([str(s.path.resolve()) for s in sources.holds] + (["*"] if wanted is None else sorted(wanted)))
    for key in ids:
        work.read_figure(key, sources.figures[key], kept)
    work.check_names()
    kept.write(beside_old=few is not None)
    if work.faults.found:
        raise BadInput(work.faults.found)
    parts = [f"{key}={work.raw[key]}" for key in sorted(work.raw)]
    digest = digest_of(digest_of(holds_raw), *parts)
    return Catalogue(work.figures, dict(holds.holds), dict(holds.stances), work.pages, digest)


@dataclass
class _Faults:
    found: list[Diagnostic] = field(default_factory=list)

    def add(self, problems: Iterable[Diagnostic]) -> None:
        self.found += problems


@dataclass
class _Work:
    """What has been read so far; ``raw`` are digests of the bytes by id."""

    holds: HoldsFile
    holds_raw: bytes
    sources: Sources
    faults: _Faults
    pages: dict[str, DanceFile] = field(default_factory=dict)
    figures: dict[str, Figure] = field(default_factory=dict)
    raw: dict[str, str] = field(default_factory=dict)

    def read_page(self, name: str, source: Source) -> None:
        """Read the page of a dance."""
        try:
            raw = source.read()
            document = document_of(raw, source.shown)
            page = validated(DanceFile, document, code="DNC")
        except BadInput as problem:
            self.faults.add(problem.diagnostics)
            return
        self.raw[f"{name}/"] = digest_of(raw)
        self.pages[name] = page
        if page.usual_hold not in self.holds.holds:
            self.faults.add([_unknown("DNC010", "hold", page.usual_hold, self.holds.holds, document, "usual_hold")])
        known = [key.split("/")[1] for key in self.sources.figures if key.startswith(f"{name}/")]
        for index, stem in enumerate(page.starts_with):
            if stem.removeprefix(f"{name}/") not in known:
                self.faults.add(
                    [_unknown("DNC011", "figure of this dance", stem, known, document, "starts_with", index)]
                )

    def read_figure(self, key: str, source: Source, kept: Kept) -> None:
        """Read one figure and simulate it, or take both from what was kept."""
        dance = key.split("/")[0]
        if dance not in self.sources.pages:
            self.faults.add(
                [Diagnostic("DNC012", f"the folder '{dance}' has no dance.yaml.", Where(source.shown), "Add its page.")]
            )
            return
        try:
            raw = source.read()
        except BadInput as problem:
            self.faults.add(problem.diagnostics)
            return
        self.raw[key] = digest_of(raw)
        page = self.pages.get(dance)
        mark = digest_of(code_digest(), self.holds_raw, self.raw.get(f"{dance}/", ""), raw, dance)
        data = kept.get(mark)
        found = _recall(data)
        if found is None:
            simulated = self._simulated(raw, source, dance, page)
            if simulated is None:
                return
            chart, motion, written = simulated
            data = {"chart": written, "motion": motion_data(motion)}
        else:
            chart, motion = found
        kept.put(mark, data)
        styles = chart.suits or (_default_styles(page, motion) if page else ("show",))
        self.figures[key] = Figure(key, chart, motion, source.shown, styles)

    def _simulated(
        self, raw: bytes, source: Source, dance: str, page: DanceFile | None
    ) -> tuple[FigureFile, Motion, Any] | None:
        """The chart, its motion and the data as written (what the chart is read from again)."""
        from composer.kinematics.simulate import simulate  # what was kept needs none of it

        try:
            document = document_of(raw, source.shown)
            chart = validated(FigureFile, document, code="FIG")
        except BadInput as problem:
            self.faults.add(problem.diagnostics)
            return None
        tempo, bar = (page.tempo.most, page.beats_per_bar) if page else (None, 4)
        motion, faults = simulate(chart, self.holds, document.where, tempo_most=tempo, beats_per_bar=bar)
        faults += _page_faults(chart, document, dance, page)
        self.faults.add(faults)
        return None if faults or motion is None else (chart, motion, document.data)

    def check_names(self) -> None:
        """Prerequisites exist and do not run in a circle."""
        everywhere = sorted(self.sources.figures)
        needs: dict[str, list[str]] = {}
        for key, figure in self.figures.items():
            dance = key.split("/")[0]
            for index, name in enumerate(figure.chart.needs):
                full = name if "/" in name else f"{dance}/{name}"
                if full in everywhere:
                    needs.setdefault(key, []).append(full)
                    continue
                known = [*(k.split("/")[1] for k in everywhere if k.startswith(f"{dance}/")), *everywhere]
                document = document_of(self.sources.figures[key].read(), figure.file)
                self.faults.add([_unknown("FIG021", "figure", name, known, document, "needs", index)])
        for key in sorted(needs):
            if _reaches(key, needs):
                document = document_of(self.sources.figures[key].read(), self.figures[key].file)
                self.faults.add(
                    [Diagnostic("FIG024", "the figure is among its own prerequisites.", document.where("needs"))]
                )


def _recall(data: Any) -> tuple[FigureFile, Motion] | None:
    try:
        return FigureFile.model_validate(data["chart"]), motion_from(data["motion"])
    except (KeyError, TypeError, ValueError):
        return None


def _page_faults(chart: FigureFile, document: Document, dance: str, page: DanceFile | None) -> list[Diagnostic]:
    faults = []
    if chart.dance != dance:
        faults.append(
            Diagnostic(
                "FIG025", f"the file lies in the folder '{dance}' but says dance '{chart.dance}'.",
                document.where("dance"), f"Write '{dance}' or move the file.",
            )
        )  # fmt: skip
    for index, beat in enumerate(chart.starts_on):
        if page is not None and not 1 <= beat <= page.beats_per_bar:
            faults.append(
                Diagnostic(
                    "FIG026", f"a bar of this dance has {page.beats_per_bar} beats; beat {beat} does not exist.",
                    document.where("starts_on", index),
                )
            )  # fmt: skip
    return faults


def _default_styles(page: DanceFile, motion: Motion) -> tuple[Style, ...]:
    styles = STYLES_BESIDE[page.style]
    far = max(max(abs(m.leader.forward_mm), abs(m.leader.right_mm)) for m in motion.moments)
    if page.style == "travelling" and far <= SPOT_REACH_MM:
        styles = (*styles, "spot")
    return styles


def _reaches(key: str, needs: Mapping[str, list[str]]) -> bool:
    seen: set[str] = set()
    todo = list(needs.get(key, ()))
    while todo:
        here = todo.pop()
        if here == key:
            return True
        if here not in seen:
            seen.add(here)
            todo += needs.get(here, ())
    return False


def _unknown(code: str, what: str, name: str, known: Iterable[str], document: Document, *path: str | int) -> Diagnostic:
    return Diagnostic(code, f"'{name}' is no known {what}.", document.where(*path), did_you_mean(name, list(known)))
