"""From single measurements to what the page and the plots show: medians over the instances of a kind, ratios, growth.

Everything is computed here; :mod:`tests.benchmarks.page` and :mod:`tests.benchmarks.plots` only lay out.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import median
from typing import Any

Entry = dict[str, Any]


@dataclass(frozen=True)
class Kind:
    """One row of the table: medians over the instances of a kind; None where it does not apply to most of them.

    Times are processor seconds. ``proved`` says of how many instances the best was proved (or that there is none).
    """

    name: str
    instances: int
    proved: int
    first_s: float | None
    total_s: float
    gaps: tuple[float | None, ...]
    work: float
    arcs: int
    usable: int
    last_band: int
    peak_mb: int


@dataclass(frozen=True)
class Duel:
    """One instance against the peers: clock seconds, whether proved, and how many times longer the peer took.

    ``at_least`` marks ratios of peers that had proved nothing when their time was over.
    """

    name: str
    kind: str
    ours_s: float
    ours_proved: bool
    rivals: tuple[Rival, ...]


@dataclass(frozen=True)
class Rival:
    """A peer on one instance. ``score`` and ``bound`` are None where it had none."""

    engine: str
    clock_s: float
    proved: bool
    score: int | None
    ratio: float
    at_least: bool


@dataclass(frozen=True)
class Grown:
    """One point of the growth plots; ``near_s`` is when the routine was proved to lack a hundredth at most."""

    name: str
    counts: int
    figures: int
    room: bool
    area_m2: int | None
    arcs: int
    total_s: float
    proved: bool
    near_s: float | None
    peak_mb: int
    shared_s: float


def kinds(results: Iterable[Entry], suite: str) -> list[Kind]:
    """Rows of one suite, in the order measured."""
    groups: dict[str, list[Entry]] = {}
    for entry in results:
        if entry["suite"] == suite and "verdict" in entry["engines"].get("ours", {}):
            groups.setdefault(entry["kind"], []).append(entry)
    return [_kind(name, group) for name, group in groups.items() if all("cpu" in e["engines"]["ours"] for e in group)]


def _kind(name: str, entries: Sequence[Entry]) -> Kind:
    ours = [entry["engines"]["ours"] for entry in entries]
    shared = [network_of(entry) for entry in entries]
    return Kind(
        name=name,
        instances=len(entries),
        proved=sum(facts["verdict"] in ("best", "none") for facts in ours),
        first_s=_middle([facts["first cpu"] for facts in ours]),
        total_s=median(facts["cpu"] for facts in ours),
        gaps=tuple(_middle([facts[f"gap at {moment}"] for facts in ours]) for moment in (5, 15, 60)),
        work=median(facts["work"] for facts in ours),
        arcs=int(median(facts["arcs"] for facts in shared)),
        usable=int(median(facts["usable arcs"] for facts in ours)),
        last_band=int(median(facts["arcs in last band"] for facts in ours)),
        peak_mb=int(median(facts["peak MB"] for facts in ours)),
    )


def _middle(values: Sequence[float | None]) -> float | None:
    """The median, with None as the worst of all."""
    ranked = sorted(values, key=lambda value: (value is None, value or 0.0))
    return ranked[len(ranked) // 2]


def network_of(entry: Entry) -> dict[str, Any]:
    """Sizes of the network, from whichever engine counted them."""
    for facts in entry["engines"].values():
        if "arcs" in facts:
            return dict(facts)
    return {"arcs": 0, "build cpu": 0.0, "state cpu": 0.0, "arrays cpu": 0.0, "counts": 0, "figures": 0}


def duels(results: Iterable[Entry]) -> list[Duel]:
    """Instances that peers were given too."""
    found = []
    for entry in results:
        ours = entry["engines"].get("ours", {})
        rivals = [(name, entry["engines"][name]) for name in ("highs", "cpsat") if name in entry["engines"]]
        if "cpu" in ours and rivals:
            shown = tuple(_rival(name, facts, ours) for name, facts in rivals if "cpu" in facts)
            found.append(Duel(entry["name"], entry["kind"], ours["clock"], ours["verdict"] in ("best", "none"), shown))
    return found


def _rival(name: str, facts: dict[str, Any], ours: dict[str, Any]) -> Rival:
    proved = facts["verdict"] in ("best", "none")
    return Rival(
        engine=name,
        clock_s=facts["clock"],
        proved=proved,
        score=facts.get("score"),
        ratio=facts["clock"] / max(ours["clock"], 1e-3),
        at_least=not proved,
    )


def ratios(found: Sequence[Duel], engine: str) -> list[tuple[str, int, float, bool]]:
    """Per kind that was proved throughout: (kind, instances, median ratio, whether it is only a lower bound)."""
    rows = []
    for kind in dict.fromkeys(duel.kind for duel in found):
        mine = [duel for duel in found if duel.kind == kind]
        peers = [rival for duel in mine for rival in duel.rivals if rival.engine == engine]
        if peers and all(duel.ours_proved for duel in mine):
            rows.append((kind, len(peers), median(r.ratio for r in peers), any(r.at_least for r in peers)))
    return rows


def grown(results: Iterable[Entry]) -> list[Grown]:
    """All generated instances with the usual rules, the first of each kind: how time and memory grow."""
    points = []
    for entry in results:
        ours, network = entry["engines"].get("ours", {}), network_of(entry)
        usual = (
            entry["suite"] in ("core", "growth") and entry["name"].endswith("#0") and "all rules" not in entry["name"]
        )
        if usual and "cpu" in ours:
            points.append(
                Grown(
                    name=entry["name"],
                    counts=network["counts"],
                    figures=network["figures"],
                    room=entry["room"],
                    area_m2=entry["area m2"],
                    arcs=network["arcs"],
                    total_s=ours["cpu"],
                    proved=ours["verdict"] in ("best", "none"),
                    near_s=ours.get("near cpu"),
                    peak_mb=ours["peak MB"],
                    shared_s=network["build cpu"] + network["state cpu"] + network["arrays cpu"],
                )
            )
    return points


def failed(results: Iterable[Entry]) -> list[tuple[str, str, str]]:
    """(case, engine, what happened) where an engine gave no answer at all."""
    return [
        (entry["name"], engine, facts["verdict"])
        for entry in results
        for engine, facts in entry["engines"].items()
        if facts.get("verdict") in ("out of memory", "crashed")
    ]
