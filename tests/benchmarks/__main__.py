"""``python -m tests.benchmarks``: measures and writes all numbers to a JSON file; ``docs/speed.md`` says how.

Not part of the test run: nothing here can fail a build. The file is written after every case, and a run that goes on
with an old file (``--keep``) measures only what is not in it.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import subprocess
import time
from importlib.metadata import version
from pathlib import Path
from typing import Any, Final

from composer.textfiles import write_text
from tests.benchmarks.instances import Any_
from tests.benchmarks.measure import alone, startup, yardstick
from tests.benchmarks.suites import Turn, turns

HERE = Path(__file__).resolve().parent.parent.parent
SHORT_S: Final = 5.0
REPEATS: Final = 5
"""What takes less processor time than this is measured so often."""
OUT = HERE / "docs" / "speed" / "results.json"


def main() -> None:
    """Run what is asked for, one line per engine and case."""
    parser = argparse.ArgumentParser(description="Measures the composer, and peers on the same problems.")
    parser.add_argument("--suite", choices=("quick", "core", "growth", "real", "all"), default="all")
    parser.add_argument("--quick", action="store_true", help="the same as --suite quick")
    parser.add_argument("--only", default="", metavar="TEXT", help="only cases with this in their name")
    parser.add_argument("--limit", type=float, default=60.0, metavar="S", help="seconds of work for the composer")
    parser.add_argument("--peers", type=float, default=0.0, metavar="S", help="seconds for each peer; 0: none")
    parser.add_argument("--out", type=Path, default=OUT, metavar="FILE", help="JSON file for all numbers")
    parser.add_argument("--keep", action="store_true", help="go on with FILE: measure only what is not in it")
    chosen = parser.parse_args()
    suite = "quick" if chosen.quick else chosen.suite
    old = json.loads(chosen.out.read_text(encoding="utf-8"))["results"] if chosen.keep and chosen.out.exists() else []
    results: dict[str, Any] = {entry["name"]: entry for entry in old}
    about = machine() | {"limit": chosen.limit, "peers": chosen.peers, "suite": suite}
    started = startup()
    chosen.out.parent.mkdir(parents=True, exist_ok=True)
    for turn in turns(suite, peers=chosen.peers > 0, only=chosen.only):
        if turn.case.name not in results:
            results[turn.case.name] = measured(turn, chosen.limit, chosen.peers)
            document = {"about": about, "startup": started, "results": list(results.values())}
            write_text(chosen.out, json.dumps(document, indent=1) + "\n")


def measured(turn: Turn, limit_s: float, peers_s: float) -> dict[str, Any]:
    """All engines on one case, one after another."""
    case = turn.case
    entry: dict[str, Any] = {
        "name": case.name,
        "suite": turn.suite,
        "kind": case.name.split(", #")[0],
        "room": getattr(case, "room", True),
        "floor": case.floor,
        "area m2": case.wide_m * case.deep_m if hasattr(case, "wide_m") and case.room else None,
        "order": list(turn.engines),
        "engines": {},
    }
    for engine in turn.engines:
        facts = again_and_again(case, limit_s) if engine == "ours" else alone(engine, case, peers_s)
        entry["engines"][engine] = facts
        shown = ("verdict", "score", "bound", "cpu", "clock", "first cpu", "arcs", "peak MB")
        said = "  ".join(f"{key} {facts[key]}" for key in shown if facts.get(key) is not None)
        print(f"{time.strftime('%H:%M:%S')} {case.name} | {engine}: {said}", flush=True)
    entry["yardstick"] = yardstick()
    entry["load"] = round(os.getloadavg()[0], 2)
    return entry


def again_and_again(case: Any_, limit_s: float) -> dict[str, Any]:
    """What this tool takes; where that is little, the run in the middle of several, for the machine's speed changes."""
    runs = [alone("ours", case, limit_s)]
    while runs[0].get("cpu", SHORT_S) < SHORT_S and len(runs) < REPEATS:
        runs.append(alone("ours", case, limit_s))
    runs.sort(key=lambda facts: facts.get("cpu", 0.0))
    return {**runs[len(runs) // 2], "cpu of all": [facts.get("cpu") for facts in runs]}


def machine() -> dict[str, Any]:
    """Where and with what: nothing that tells whose machine it is."""
    commit = subprocess.run(
        ["git", "rev-parse", "--short", "HEAD"], cwd=HERE, capture_output=True, text=True, check=False
    ).stdout.strip()
    return {
        "day": time.strftime("%Y-%m-%d"),
        "commit": commit,
        "cores": os.cpu_count(),
        "python": platform.python_version(),
        **{name: version(name) for name in ("ortools", "highspy", "numpy")},
    }


if __name__ == "__main__":
    main()
