"""The pictures of ``docs/speed``: how time and memory grow, and the peers. Draws what the summary says, no more."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from tests.benchmarks.summary import Duel, Grown

INK, BLUE, ORANGE, GREEN = "#333333", "#2b6cb0", "#c05621", "#2f855a"
MANY = 1000
"""Counts, figures and square metres go up to this and are marked one by one."""
ENGINES = (("ours", "this tool", BLUE), ("highs", "HiGHS", ORANGE), ("cpsat", "CP-SAT defaults", GREEN))


def draw_all(points: Sequence[Grown], found: Sequence[Duel], folder: Path) -> list[Path]:
    """Write every picture there are numbers for; their files."""
    files = []
    if points:
        files.append(_growth(points, folder / "time.svg", lambda p: p.total_s, "processor seconds"))
        files.append(_growth(points, folder / "memory.svg", lambda p: p.peak_mb, "peak memory, MB"))
    if found:
        files.append(_peers(found, folder / "peers.svg"))
    return files


def _pyplot() -> Any:
    import matplotlib as mpl

    mpl.use("svg")
    mpl.rcParams.update({"svg.hashsalt": "speed", "svg.fonttype": "none", "font.size": 9, "axes.edgecolor": INK})
    from matplotlib import pyplot

    return pyplot


def _save(pyplot: Any, figure: Any, file: Path) -> Path:
    figure.tight_layout()
    figure.savefig(file, metadata={"Date": None, "Creator": None})
    pyplot.close(figure)
    return file


def _growth(points: Sequence[Grown], file: Path, value: Callable[[Grown], float], label: str) -> Path:
    """Four panels: over counts, figures, floor space and arcs; hollow points were not proved in their time."""
    pyplot = _pyplot()
    figure, axes = pyplot.subplots(1, 4, figsize=(13, 3.6), sharey=True)
    plain = [p for p in points if p.area_m2 in (None, 20)]
    _panel(axes[0], plain, lambda p: p.counts, value, lambda p: (p.figures, p.room), "counts")
    _panel(axes[1], plain, lambda p: p.figures, value, lambda p: (p.counts, p.room), "figures in the catalogue")
    rooms = [p for p in points if p.room and p.counts == 96 and p.figures == 100]
    _panel(axes[2], rooms, lambda p: p.area_m2 or 0, value, lambda p: (p.figures, p.room), "floor, square metres")
    _panel(axes[3], points, lambda p: p.arcs, value, lambda p: ("", p.room), "arcs of the network")
    if points:
        least, most = min(p.arcs for p in points), max(p.arcs for p in points)
        start = value(min(points, key=lambda p: p.arcs))
        axes[3].plot([least, most], [start, start * most / least], ls=":", color=INK, lw=1, label="in proportion")
    axes[0].set_ylabel(label)
    for axis in axes:
        axis.grid(alpha=0.25)
        if axis.has_data():
            axis.legend(frameon=False, fontsize=7)
    return _save(pyplot, figure, file)


def _panel(
    axis: Any,
    points: Sequence[Grown],
    across: Callable[[Grown], float],
    value: Callable[[Grown], float],
    group: Callable[[Grown], tuple[Any, bool]],
    label: str,
) -> None:
    axis.set_xscale("log")
    axis.set_yscale("log")
    axis.set_xlabel(label)
    ticks = sorted({across(p) for p in points})
    if ticks and max(ticks) <= MANY:  # not for arcs
        axis.set_xticks(ticks, [f"{tick:g}" for tick in ticks])
        axis.minorticks_off()
    for number, key in enumerate(sorted({group(p) for p in points}, key=str)):
        mine = sorted((p for p in points if group(p) == key), key=across)
        name = f"{key[0]} {'with room' if key[1] else 'no room'}".strip()
        color = f"C{number}"
        style = "-" if key[1] else "--"
        joined, mark = (style, "") if key[0] != "" else ("", "o")
        along, up = [across(p) for p in mine], [value(p) for p in mine]
        axis.plot(along, up, ls=joined, marker=mark, ms=4, mfc="white", color=color, lw=1, label=name)
        for proved, face in ((True, color), (False, "white")):
            shown = [p for p in mine if p.proved is proved]
            axis.plot(
                [across(p) for p in shown], [value(p) for p in shown], ls="", marker="o", ms=4, mec=color, mfc=face
            )


def _peers(found: Sequence[Duel], file: Path) -> Path:
    """One line per instance, a dot per engine at its clock seconds; hollow where nothing was proved by then."""
    pyplot = _pyplot()
    figure, axis = pyplot.subplots(figsize=(9, 0.7 + 0.28 * len(found)))
    named: set[str] = set()
    for row, duel in enumerate(found):
        dots = [("ours", duel.ours_s, duel.ours_proved), *((r.engine, r.clock_s, r.proved) for r in duel.rivals)]
        for engine, seconds, proved in dots:
            _, words, color = next(item for item in ENGINES if item[0] == engine)
            label = words if words not in named else None
            named.add(words)
            face = color if proved else "white"
            axis.plot([max(seconds, 0.05)], [row], ls="", marker="o", mec=color, mfc=face, label=label)
    axis.set_xscale("log")
    axis.set_yticks(range(len(found)), [duel.name for duel in found])
    axis.set_ylim(len(found) - 0.4, -0.6)
    axis.set_xlabel("clock seconds (hollow: nothing proved by then)")
    axis.grid(alpha=0.25)
    axis.legend(frameon=False, fontsize=8, loc="best")
    return _save(pyplot, figure, file)
