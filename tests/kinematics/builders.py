"""Figures for tests, written as short texts: ``R forward``, ``L side turn=2``, ``2& R close``.

A figure has one line per step; the count is the next whole one unless it is written first.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import Any

from composer.charts import FigureFile, HoldsFile
from composer.errors import Diagnostic
from composer.kinematics.motion import Motion
from composer.kinematics.simulate import simulate
from composer.resources import shipped
from composer.textfiles import Document, read_yaml, validated

OPPOSITE = {"L": "R", "R": "L"}


@cache
def the_holds() -> HoldsFile:
    return validated(HoldsFile, read_yaml(shipped("catalog") / "holds.yaml"), code="HLD")


def steps(lines: Sequence[str]) -> list[dict[str, Any]]:
    result: list[dict[str, Any]] = []
    count = 0
    for line in lines:
        words = line.split()
        if words[0][0].isdigit():
            at = words.pop(0)
            count = int(at.rstrip("&ae"))
        else:
            count += 1
            at = str(count)
        extra = dict(word.split("=") for word in words[2:])
        result.append({"at": at, "foot": words[0], "do": words[1], **extra})
    return result


def free_after(free: str, chart: Sequence[dict[str, Any]]) -> str:
    weightless = {"tap", "point", "brush", "kick", "flick", "hold", "swivel", "sweep", "pose"}
    for step in chart:
        if step["do"] not in weightless:
            free = OPPOSITE[step["foot"]]
    return free


def figure_data(
    leader: Sequence[str],
    follower: Sequence[str],
    *,
    hold: str = "closed",
    to: str | None = None,
    beats: int = 3,
    **more: Any,
) -> dict[str, Any]:
    """Data of a figure file. Entry feet are those of the first steps; the exit is derived but for the travel."""
    charts = {"leader": steps(leader), "follower": steps(follower)}
    entry: dict[str, Any] = {"hold": hold}
    end: dict[str, Any] = {"hold": to or hold}
    for role, chart in charts.items():
        entry[f"{role}_free"] = chart[0]["foot"]
        end[f"{role}_free"] = free_after(chart[0]["foot"], chart)
        end[f"{role}_turn"] = sum(float(s.get("body", s.get("turn", 0))) for s in chart)
    data = {
        "format": "figure/1", "name": "Test figure", "dance": "test", "level": 1, "beats": beats, "about": "for tests",
        "entry": entry, "exit": end, **charts,
    }  # fmt: skip
    return {**data, **more}


def ran(data: dict[str, Any], holds: HoldsFile | None = None, **options: Any) -> tuple[Motion | None, list[Diagnostic]]:
    """Simulate data of a figure; the declared travel is left to the test that is about it."""
    document = Document("test.yaml", data, {})
    chart = validated(FigureFile, document, code="FIG")
    motion, faults = simulate(chart, holds or the_holds(), document.where, **options)
    if "travel" not in data["exit"]:
        faults = [f for f in faults if f.code != "FIG037"]
    return motion, faults


def danced(data: dict[str, Any], holds: HoldsFile | None = None, **options: Any) -> Motion:
    """Simulate a figure that must pass."""
    motion, faults = ran(data, holds, **options)
    assert not faults, "\n".join(map(str, faults))
    assert motion is not None
    return motion


def codes(data: dict[str, Any], holds: HoldsFile | None = None, **options: Any) -> list[str]:
    return sorted({f.code for f in ran(data, holds, **options)[1]})


def natural_turn(**more: Any) -> dict[str, Any]:
    """Published chart of the waltz's natural turn (see tests/facts/published_charts.csv)."""
    outside = ["R forward", "L side turn=2", "R close turn=1"]
    inside = ["L back", "R side turn=3 body=2", "L close turn=0 body=1"]
    late_in = ["4 L back", "R side turn=3 body=2", "L close turn=0 body=1"]
    late_out = ["4 R forward", "L side turn=2", "R close turn=1"]
    return figure_data([*outside, *late_in], [*inside, *late_out], beats=6, **more)


def underarm_turn(turn: int = 8, **more: Any) -> dict[str, Any]:
    """Six counts in open hold, the follower turning under the lifted hands (eighths, right positive)."""
    half = turn / 2
    more.setdefault("hands", [{"at": 2, "do": "lift", "pair": "LR"}, {"at": 5, "do": "lower", "pair": "LR"}])
    more.setdefault("hold", "left-to-right")
    return figure_data(
        [f"{foot} in-place" for foot in "LRLRLR"],
        [
            "R in-place", "L in-place", f"R in-place turn={half:g}", f"L in-place turn={half:g}", "R in-place",
            "L in-place",
        ],
        beats=6, **more,
    )  # fmt: skip
