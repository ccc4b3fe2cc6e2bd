"""What was promised, what was measured, and whether that is enough; computed here, laid out by the page."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median
from typing import Any

from tests.benchmarks.summary import Entry, Grown, Kind, duels, grown, kinds, ratios

ALL_RULES = "96 counts, 100 figures, 5 x 4 m, all rules"
USUAL = "96 counts, 100 figures, 5 x 4 m"
LONGER = "192 counts, 100 figures, 5 x 4 m"
LONGEST = "288 counts, 300 figures, 5 x 4 m"
ENOUGH_MB = 1024
LINEAR = 1.2
"""An exponent of growth up to this is called about linear."""


@dataclass(frozen=True)
class Promise:
    """One promise; ``reached`` is None where nothing was measured."""

    asked: str
    measured: str
    reached: bool | None


def promises(results: Sequence[Entry], startup: dict[str, Any]) -> list[Promise]:
    """Every promise of speed with what came of it."""
    rows = {kind.name: kind for kind in kinds(results, "core")}
    against = {kind: (ratio, least) for kind, _, ratio, least in ratios(duels(results), "highs")}
    found = [
        _proved("96 counts, 100 figures, all rules and room: proven best under 2 s", rows.get(ALL_RULES), 2),
        _times("... and at least 10 times faster than HiGHS on the same network", against.get(ALL_RULES), rows),
        _proved("(the same with the usual rules, for comparison)", rows.get(USUAL), 2),
        _proved("192 counts with room: proven best under 10 s", rows.get(LONGER), 10),
        *_early(rows.get(LONGEST)),
        *_growth(grown(results)),
    ]
    return [*found, *_started(startup)]


def _proved(asked: str, kind: Kind | None, limit_s: float) -> Promise:
    if kind is None:
        return Promise(asked, "not measured", None)
    measured = f"{kind.proved} of {kind.instances} proved, median {kind.total_s:.1f} s in all"
    return Promise(asked, measured, kind.proved == kind.instances and kind.total_s <= limit_s)


def _times(asked: str, ratio: tuple[float, bool] | None, rows: dict[str, Kind]) -> Promise:
    if ratio is None:
        measured = "not proved throughout, so there is no ratio" if ALL_RULES in rows else "not measured"
        return Promise(asked, measured, False if ALL_RULES in rows else None)
    times, least = ratio
    return Promise(asked, f"median {'at least ' if least else ''}{times:.0f} times", times >= 10)


def _early(kind: Kind | None) -> list[Promise]:
    asked = ("288 counts, 300 figures, room: first routine under 1 s", "... within 1 % of the proven bound in 15 s")
    if kind is None:
        return [Promise(one, "not measured", None) for one in asked]
    first = "none" if kind.first_s is None else f"median {kind.first_s:.1f} s"
    gap = kind.gaps[1]
    near = "no routine by then" if gap is None else f"median {100 * gap:.1f} %"
    return [
        Promise(asked[0], first, kind.first_s is not None and kind.first_s <= 1),
        Promise(asked[1], near, gap is not None and gap <= 0.01),
    ]


def _growth(points: Sequence[Grown]) -> list[Promise]:
    asked = ("time grows about linearly in arcs up to 1,000 figures", "memory stays under 1 GB")
    done = [p for p in points if p.proved]
    if len(done) < 4:
        return [Promise(one, "not measured", None) for one in asked]
    power, most = exponent([(p.arcs, p.total_s) for p in done]), max(points, key=lambda p: p.peak_mb)
    straight = power <= LINEAR and len(done) == len(points)  # who knows how long the others would take
    beyond = sum(p.peak_mb > ENOUGH_MB for p in points)
    largest = f"most {most.peak_mb:,} MB ({most.name}); {beyond} of {len(points)} instances over 1 GB"
    near = [(p.arcs, p.near_s) for p in points if p.near_s is not None]
    nearly = exponent(near) if len(near) >= 4 else None
    return [
        Promise(asked[0], f"exponent {power:.2f} over the {len(done)} of {len(points)} proved", straight),
        Promise(
            "... time until the routine is within 1 % of the proven bound",
            "not measured" if nearly is None else f"exponent {nearly:.2f} over {len(near)} of {len(points)}",
            None if nearly is None else nearly <= LINEAR and len(near) == len(points),
        ),
        Promise(asked[1], largest, beyond == 0),
    ]


def exponent(points: Sequence[tuple[float, float]]) -> float:
    """Slope of log value over log size by least squares: 1 is linear."""
    xs = [math.log(size) for size, _ in points]
    ys = [math.log(max(value, 1e-3)) for _, value in points]
    x, y = sum(xs) / len(xs), sum(ys) / len(ys)
    spread = sum((a - x) ** 2 for a in xs)
    return sum((a - x) * (b - y) for a, b in zip(xs, ys, strict=True)) / spread if spread else 0.0


def _started(startup: dict[str, Any]) -> list[Promise]:
    found = []
    for command, limit_s in (("--help", 0.2), ("figures show", 0.6)):
        times = startup.get(command)
        asked = f"`{command}` under {limit_s} s"
        if not times:
            found.append(Promise(asked, "not measured", None))
            continue
        cpu, clock = median(t[0] for t in times), median(t[1] for t in times)
        found.append(Promise(asked, f"median {cpu:.2f} s processor, {clock:.2f} s clock", clock <= limit_s))
    return found
