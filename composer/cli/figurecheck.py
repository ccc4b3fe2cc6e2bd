"""``figures check`` and ``figures new``: a teacher's own figures, simulated step by step."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from composer.brief.names import dances_in, figures_on_disk, plain
from composer.catalogue.sources import Source, find_sources, read_holds
from composer.charts import DanceFile, FigureFile, HoldsFile
from composer.cli import speak
from composer.cli.figurefinding import known_dance, loaded
from composer.errors import BadInput, Diagnostic, Where, did_you_mean
from composer.kinematics.describe import exit_text
from composer.kinematics.motion import Motion
from composer.kinematics.simulate import simulate
from composer.resources import shipped
from composer.textfiles import Document, read_yaml, validated, write_text, yaml_document


def check_command(path: Path | None, *, as_json: bool) -> int:
    """Check the whole catalogue, a catalogue folder, the folder of a dance or one file; the exit code."""
    faults: list[Diagnostic] = []
    if path is None:
        passed = _catalogue((), None, faults)
    elif path.is_dir() and dances_in([path]):
        passed = _catalogue((path,), sorted(dances_in([path])), faults)
    else:
        passed = _files(path, faults)
    if faults:
        return speak.refuse(faults, as_json=as_json)
    figures = [item for item in passed if "id" in item]
    if as_json:
        others = [item["file"] for item in passed if "id" not in item]
        speak.document({"status": "fine", "figures": figures, "other_files": others})
        return speak.DONE
    for item in passed:
        if "travel" in item:
            print(speak.clean(f"{item['file']}: {item['name']} can be danced; {item['travel']}"))
        elif "id" not in item:
            print(speak.clean(f"{item['file']}: {item['name']}, no fault"))
    print(f"{len(figures)} {'figure' if len(figures) == 1 else 'figures'} checked, no fault.")
    return speak.DONE


def _catalogue(own: tuple[Path, ...], dances: list[str] | None, faults: list[Diagnostic]) -> list[dict[str, Any]]:
    try:
        catalogue = loaded(own, dances)
    except BadInput as problem:
        faults.extend(problem.diagnostics)
        return []
    mine = set(catalogue.figures) if not own else set(figures_on_disk(own))
    shown = [figure for key, figure in catalogue.figures.items() if key in mine]
    return [{"id": figure.id, "name": figure.chart.name, "file": figure.file} for figure in shown]


def _files(path: Path, faults: list[Diagnostic]) -> list[dict[str, Any]]:
    """Check files on their own: pages and holds as what they are, figures by the page their ``dance`` key names."""
    files = sorted(path.glob("*.yaml")) if path.is_dir() else [path]
    if not files:
        raise BadInput(Diagnostic("FIG090", "there are no figure files (*.yaml) here.", Where(str(path))))
    bench = _Bench(path if path.is_dir() else path.parent)
    passed = []
    for file in files:
        try:
            if (figure := bench.checked(file, faults)) is not None:
                passed.append(figure)
        except BadInput as problem:
            faults.extend(item for item in problem.diagnostics if item not in faults)
    return passed


class _Bench:
    """What a figure is checked against: holds and pages of the shipped catalogue, and those beside the figure."""

    def __init__(self, folder: Path) -> None:
        self._sources = find_sources(())
        shipped_holds = {source.path.resolve() for source in self._sources.holds}
        beside = (place / "holds.yaml" for place in (folder.absolute().parent, folder))
        own = [Source(file, str(file)) for file in beside if file.is_file() and file.resolve() not in shipped_holds]
        self._hold_files = [*self._sources.holds, *own]
        self._own_page = folder / "dance.yaml"
        self._folder_dance = folder.absolute().name
        self._holds: HoldsFile | None = None
        self._pages: dict[str, DanceFile | None] = {}

    def checked(self, file: Path, faults: list[Diagnostic]) -> dict[str, Any] | None:
        """Check one file; what to say of it when it is right, None when faults were added.

        Raises
        ------
        BadInput
            If the file (or the holds it needs) cannot be read.
        """
        document = read_yaml(file)
        kind = str(document.data.get("format", "")) if isinstance(document.data, dict) else ""
        if kind.startswith("holds/") or (not kind and file.name == "holds.yaml"):
            read_holds([source for source in self._hold_files if source.path.resolve() != file.resolve()]
                       + [Source(file, str(file))])  # fmt: skip
            return {"name": "holds", "file": str(file)}
        if kind.startswith("dance/") or (not kind and file.name == "dance.yaml"):
            found = list(self._page_faults(document, file.absolute().parent))
            faults.extend(found)
            return None if found else {"name": "page of a dance", "file": str(file)}
        chart = validated(FigureFile, document, code="FIG")
        page = self.page(chart.dance)
        found = list(self._dance_faults(chart, document.where("dance")))
        motion, more = _simulated(chart, self.holds(), document, page)
        found += more
        for index, beat in enumerate(chart.starts_on):
            if page is not None and not 1 <= beat <= page.beats_per_bar:
                message = f"a bar of this dance has {page.beats_per_bar} beats; beat {beat} does not exist."
                found.append(Diagnostic("FIG026", message, document.where("starts_on", index)))
        faults.extend(found)
        if found or motion is None:
            return None
        identity = f"{chart.dance}/{file.stem}"
        return {"id": identity, "name": chart.name, "file": str(file), "travel": _summary(motion)}

    def holds(self) -> HoldsFile:
        """All holds, the own ones on top."""
        if self._holds is None:
            self._holds, _ = read_holds(self._hold_files)
        return self._holds

    def page(self, dance: str) -> DanceFile | None:
        """The page of a dance: the one beside the figure when it is that dance's, else the shipped one."""
        if dance not in self._pages:
            own = self._own_page if dance == self._folder_dance and self._own_page.is_file() else None
            source = self._sources.pages.get(dance)
            file = own or (None if source is None else source.path)
            self._pages[dance] = None if file is None else validated(DanceFile, read_yaml(file), code="DNC")
        return self._pages[dance]

    def _page_faults(self, document: Document, folder: Path) -> Iterator[Diagnostic]:
        page = validated(DanceFile, document, code="DNC")
        if page.usual_hold not in self.holds().holds:
            yield _unknown("DNC010", "hold", page.usual_hold, self.holds().holds, document.where("usual_hold"))
        shipped_ids = figures_on_disk([shipped("catalog")])
        stems = {key.split("/")[1] for key in shipped_ids if key.startswith(f"{folder.name}/")}
        stems |= {file.stem for file in folder.glob("*.yaml")}
        for index, stem in enumerate(page.starts_with):
            if stem.removeprefix(f"{folder.name}/") not in stems:
                yield _unknown("DNC011", "figure of this dance", stem, stems, document.where("starts_with", index))

    def _dance_faults(self, chart: FigureFile, where: Where) -> Iterator[Diagnostic]:
        if self.page(chart.dance) is None:
            remedy = did_you_mean(chart.dance, sorted(self._sources.pages))
            remedy = remedy or "For a dance of your own, put its dance.yaml into a folder of that name."
            yield Diagnostic("FIG091", f"'{chart.dance}' is not a dance of this catalogue.", where, remedy)


def _unknown(code: str, what: str, name: str, known: Iterable[str], where: Where) -> Diagnostic:
    return Diagnostic(code, f"'{name}' is no known {what}.", where, did_you_mean(name, sorted(known)))


def _simulated(
    chart: FigureFile, holds: HoldsFile, document: Document, page: DanceFile | None
) -> tuple[Motion | None, list[Diagnostic]]:
    """Simulate at the tempo and metre of the dance's page."""
    tempo, bar = (None, 4) if page is None else (page.tempo.most, page.beats_per_bar)
    return simulate(chart, holds, document.where, tempo_most=tempo, beats_per_bar=bar)


def _page(dance: str) -> DanceFile | None:
    source = find_sources(()).pages.get(dance)
    return None if source is None else validated(DanceFile, read_yaml(source.path), code="DNC")


def _summary(motion: Motion) -> str:
    forward, right = motion.travel_forward_mm / 1000, motion.travel_right_mm / 1000
    turn = motion.leader_turn16 / 2
    way = f"{abs(forward):.2f} m {'forward' if forward >= 0 else 'back'}"
    aside = f", {abs(right):.2f} m to the {'right' if right > 0 else 'left'}" if abs(right) >= 0.01 else ""
    turned = f", the leader turns {abs(turn):g} eighths to the {'right' if turn > 0 else 'left'}" if turn else ""
    return f"it travels {way}{aside}{turned}"


STARTER = """\
# A figure of your own. Change it step by step and run `routine-composer figures check` on this file.
# Counts: 3 is count three, "3&" half a beat later, "3a" three quarters. Turns are eighths, to the right positive.
# foot: L or R. do: forward, back, side, diagonal-forward, close, in-place, cross-behind, tap, hold, swivel ...
format: figure/1
name: {name}
dance: {dance}
level: 1            # 1 beginner to 5 expert
beats: {beats}
starts_on: [1]      # beats of the bar on which it may begin
energy: 2           # 1 calm to 5 full out
about: "Say in one sentence what this figure is and where it takes the couple."
entry: {{hold: {hold}, leader_free: L, follower_free: R}}
{exit}
lead:
  - {{at: 1, say: "How the leader asks for it."}}
follow:
  - {{at: 1, say: "What the follower can count on."}}
leader:
{leads}
follower:
{follows}
"""


def new_command(name: str, *, dance: str, out: Path | None) -> int:
    """Write a starter file that passes the check as it is; the exit code."""
    found = known_dance(dance, ())
    title = " ".join(speak.clean(name).split())
    stem = re.sub(r"[^\w]+", "-", plain(title)).strip("-")
    if not title or not stem or len(title) > 80:
        raise BadInput(Diagnostic("CMD004", "a figure needs a name of 1 to 80 characters."))
    page = _page(found)
    beats = 2 * page.beats_per_bar if page is not None and page.beats_per_bar % 2 else 4
    file = out if out is not None else Path(found) / f"{stem}.yaml"
    if file.exists():
        raise BadInput(Diagnostic("OUT003", "this file is there already.", Where(str(file)), "Choose another --out."))
    if out is None:
        try:
            file.parent.mkdir(exist_ok=True)
        except OSError as problem:
            reason = problem.strerror or str(problem)
            raise BadInput(Diagnostic("OUT001", f"cannot be made: {reason}.", Where(str(file.parent)))) from None
    write_text(file, starter(title, found, beats, page))
    print(speak.clean(f"Written to {file}. Check it with: routine-composer figures check {file}"))
    return speak.DONE


def starter(title: str, dance: str, beats: int, page: DanceFile | None) -> str:
    """The text of a starter file: side and close on every beat, with the exit that this leads to."""
    hold = "closed" if page is None else page.usual_hold
    rows: dict[str, list[str]] = {"leader": [], "follower": []}
    feet = {"leader": "L", "follower": "R"}
    for count in range(1, beats + 1):
        for role in ("leader", "follower"):
            do = "side" if count % 2 else "close"
            rows[role].append(f"  - {{at: {count}, foot: {feet[role]}, do: {do}}}")
            feet[role] = "R" if feet[role] == "L" else "L"
    exit_line = f"exit: {{hold: {hold}, leader_free: {feet['leader']}, follower_free: {feet['follower']}}}"
    text = STARTER.format(
        name=json.dumps(title, ensure_ascii=False),
        dance=dance,
        beats=beats,
        hold=hold,
        exit=exit_line,
        leads="\n".join(rows["leader"]),
        follows="\n".join(rows["follower"]),
    )
    return text.replace(exit_line, _exit_of(text, hold, page) or exit_line)


def _exit_of(text: str, hold: str, page: DanceFile | None) -> str | None:
    """The exit that the steps of a starter lead to."""
    document = yaml_document(text, "starter")
    holds, _ = read_holds(find_sources(()).holds)
    motion, _ = _simulated(validated(FigureFile, document, code="FIG"), holds, document, page)
    return None if motion is None else exit_text(motion, hold)
