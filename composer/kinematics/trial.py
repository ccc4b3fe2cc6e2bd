"""Tries figure files while they are being written: ``python -m composer.kinematics.trial [--write-travel] FILE...``.

Prints the faults and, as far as the chart can be simulated, where both partners are on every count. With
``--write-travel`` a file whose only fault is its declared travel gets the derived one (nearest 5 cm), provided
its exit stands on one line.
"""

from __future__ import annotations

import re
import sys
from pathlib import Path

from composer.charts import DanceFile, FigureFile, HoldsFile
from composer.errors import BadInput
from composer.kinematics.describe import describe
from composer.kinematics.motion import Motion
from composer.kinematics.simulate import simulate
from composer.resources import shipped
from composer.textfiles import read_yaml, validated, write_text


def main(files: list[str]) -> int:
    """Try every file; 1 when any has a fault."""
    holds = validated(HoldsFile, read_yaml(shipped("catalog") / "holds.yaml"), code="HLD")
    bad = False
    write = "--write-travel" in files
    for file in (f for f in files if not f.startswith("--")):
        path = Path(file)
        try:
            if path.name == "dance.yaml":
                continue
            document = read_yaml(path)
            chart = validated(FigureFile, document, code="FIG")
            page = path.parent / "dance.yaml"
            dance = validated(DanceFile, read_yaml(page), code="DNC") if page.exists() else None
        except BadInput as problem:
            print(problem)
            bad = True
            continue
        tempo, bar = (dance.tempo.most, dance.beats_per_bar) if dance else (None, 4)
        motion, faults = simulate(chart, holds, document.where, tempo_most=tempo, beats_per_bar=bar)
        if motion is not None:
            print(describe(chart, motion))
        if write and motion is not None and [f.code for f in faults] == ["FIG037"] and _write_travel(path, motion):
            print("travel written")
            continue
        for fault in faults:
            print(fault)
        print("ok" if not faults else f"{len(faults)} faults", "\n")
        bad = bad or bool(faults)
    return int(bad)


def _write_travel(path: Path, motion: Motion) -> bool:
    """Put the derived travel into an exit written on one line; False when it is not."""
    forward, right = (5 * round(mm / 50) for mm in (motion.travel_forward_mm, motion.travel_right_mm))
    travel = f"travel: {{forward: {forward} cm, right: {right} cm}}"
    text = path.read_text(encoding="utf-8")
    line = re.search(r"^exit: *\{.*\}[ \t]*$", text, re.MULTILINE)
    if line is None:
        return False
    old = line.group(0)
    if "travel:" in old:
        new = re.sub(r"travel: *\{[^}]*\}", travel, old)
    else:
        new = old.rstrip()[:-1].rstrip() + f", {travel}}}"
    write_text(path, text.replace(old, new))
    return True


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
