"""Times of ``why`` on the planted briefs of tests/explain (96 counts): median, worst, slowest kinds.

Run from the checkout: ``python scripts/benchmark_why.py [number]``. Both clocks are told: on a machine that others use
too, seconds of this process are nearer to what an idle one would take than seconds on the wall.
"""

from __future__ import annotations

import statistics
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from composer.explain.why import why
from tests.explain.planted import planted


def main(number: int) -> None:
    """Explain so many planted briefs and print the times."""
    wall, own = [], []
    for one in planted(number):
        began, before = time.monotonic(), time.process_time()
        why(one.problem)
        wall.append((time.monotonic() - began, one.kind))
        own.append((time.process_time() - before, one.kind))
    for name, times in (("wall clock", wall), ("this process", own)):
        seconds = [one for one, _ in times]
        worst, kind = max(times)
        print(f"{name}: {len(times)} briefs, median {statistics.median(seconds):.2f} s, worst {worst:.2f} s ({kind})")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 60)
