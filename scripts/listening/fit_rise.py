"""How long after the rise of the onsets notes are heard: AFTER_RISE_S of composer/listening/onsets.py.

    python scripts/listening/fit_rise.py FOLDER [--every N]

On every Nth track of the ``tune`` half, as it is and in a room. Prints the middle over all hearings, and how many beats
are late as they are heard, as a whole and moved by it.
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path

import numpy as np
from heard import heard, truths

from composer.listening.features import Heard
from composer.listening.listen import LATE_S
from composer.listening.onsets import AFTER_RISE_S, rise_begins
from composer.listening.slots import half_beats

FAR_S = 0.09
"""Beats farther from every half beat than this are not late but wrong."""


def late(beats: np.ndarray, half: np.ndarray) -> float:
    """Median seconds of the beats after the nearest true half beat."""
    nearest = half[np.abs(half[None, :] - beats[:, None]).argmin(axis=1)]
    return float(np.median(beats - LATE_S - nearest))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--every", type=int, default=4)
    options = parser.parse_args()
    rows: list[tuple[float, float]] = []
    for path in truths(options.folder, "tune")[:: options.every]:
        truth = json.loads(path.read_text())
        if truth["kind"] == "band" or not truth.get("beats_judged", True):
            continue
        for treatment in ("plain", "room"):
            features: Heard
            features, beats, _ = heard(path, truth, treatment)
            begun = rise_begins(beats, features)
            seconds = late(beats, half_beats(np.array(truth["beats"])))
            if begun is not None and abs(seconds) < FAR_S:
                rows.append((seconds, begun))
    lateness, begun_s = np.array(rows).T
    after = float(np.median(-lateness - begun_s))
    print(f"{len(rows)} hearings: the rise begins {after:.4f} s before notes are heard (kept: {AFTER_RISE_S})")
    for name, left in (("as heard", lateness), ("all moved", lateness + begun_s + AFTER_RISE_S)):
        print(f"{name}: more than 25 ms off {(np.abs(left) > 0.025).sum()}, spread {1000 * left.std():.1f} ms")


if __name__ == "__main__":
    main()
