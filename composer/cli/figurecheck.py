"""``figures check`` and ``figures new``: a teacher's own figures, simulated step by step."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from composer.brief.names import dances_in, plain
from composer.catalogue.sources import find_sources, read_holds
from composer.charts import DanceFile, FigureFile, HoldsFile
from composer.cli import speak
from composer.cli.figurefinding import known_dance, loaded
from composer.errors import BadInput, Diagnostic, Where, did_you_mean
from composer.kinematics import Motion, simulate
from composer.kinematics.describe import exit_text
from composer.textfiles import Document, read_yaml, validated, write_text, yaml_document


def check_command(path: Path | None, *, as_json: bool) -> int:
    """Check the whole catalogue, a catalogue folder, a folder of figures or one file; the exit code."""
    faults: list[Diagnostic] = []
    if path is None:
        passed = _catalogue((), None, faults)
    elif path.is_dir() and dances_in([path]):
        passed = _catalogue((path,), sorted(dances_in([path])), faults)
    else:
        passed = _files(path, faults)
    if faults:
        return speak.refuse(faults, as_json=as_json)
    if as_json:
        speak.document({"status": "fine", "figures": passed})
        return speak.DONE
    for item in passed if path is not None else []:
        if "travel" in item:
            print(speak.clean(f"{item['file']}: {item['name']} can be danced; {item['travel']}"))
    print(f"{len(passed)} {'figure' if len(passed) == 1 else 'figures'} checked, no fault.")
    return speak.DONE


def _catalogue(own: tuple[Path, ...], dances: list[str] | None, faults: list[Diagnostic]) -> list[dict[str, Any]]:
    try:
        catalogue = loaded(own, dances)
    except BadInput as problem:
        faults.extend(problem.diagnostics)
        return []
    shown = [f for f in catalogue.figures.values() if not own or f.file.startswith(str(own[0]))]
    return [{"id": figure.id, "name": figure.chart.name, "file": figure.file} for figure in shown]


def _files(path: Path, faults: list[Diagnostic]) -> list[dict[str, Any]]:
    """Check figure files on their own: each by the page its ``dance`` key names."""
    files = sorted(path.glob("*.yaml")) if path.is_dir() else [path]
    if not files:
        raise BadInput(Diagnostic("FIG090", "there are no figure files (*.yaml) here.", Where(str(path))))
    sources = find_sources(())
    holds, _ = read_holds(sources.holds)
    pages: dict[str, DanceFile | None] = {}
    passed = []
    for file in files:
        try:
            chart, motion, found = _one(file, holds, pages)
        except BadInput as problem:
            faults.extend(problem.diagnostics)
            continue
        faults.extend(found)
        if not found and motion is not None:
            passed.append(
                {"id": f"{chart.dance}/{file.stem}", "name": chart.name, "file": str(file), "travel": _summary(motion)}
            )
    return passed


def _one(
    file: Path, holds: HoldsFile, pages: dict[str, DanceFile | None]
) -> tuple[FigureFile, Motion | None, list[Diagnostic]]:
    document = read_yaml(file)
    chart = validated(FigureFile, document, code="FIG")
    faults = list(_dance_faults(chart, document.where("dance")))
    if chart.dance not in pages:
        pages[chart.dance] = _page(chart.dance)
    page = pages[chart.dance]
    motion, found = _simulated(chart, holds, document, page)
    faults += found
    for index, beat in enumerate(chart.starts_on):
        if page is not None and not 1 <= beat <= page.beats_per_bar:
            message = f"a bar of this dance has {page.beats_per_bar} beats; beat {beat} does not exist."
            faults.append(Diagnostic("FIG026", message, document.where("starts_on", index)))
    return chart, motion, faults


def _simulated(
    chart: FigureFile, holds: HoldsFile, document: Document, page: DanceFile | None
) -> tuple[Motion | None, list[Diagnostic]]:
    """Simulate at the tempo and metre of the dance's page."""
    tempo, bar = (None, 4) if page is None else (page.tempo.most, page.beats_per_bar)
    return simulate(chart, holds, document.where, tempo_most=tempo, beats_per_bar=bar)


def _dance_faults(chart: FigureFile, where: Where) -> Iterator[Diagnostic]:
    known = sorted(find_sources(()).pages)
    if chart.dance not in known:
        remedy = did_you_mean(chart.dance, known) or "For a dance of your own, check its whole catalogue folder."
        yield Diagnostic("FIG091", f"'{chart.dance}' is not a dance of this catalogue.", where, remedy)


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
