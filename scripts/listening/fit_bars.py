"""Fits the networks that hear beats and first beats at half beats, on the ``tune`` half of the listening set.

    python scripts/listening/fit_bars.py FOLDER

Writes composer/listening/bars.json, and FOLDER/bars_readings.json: how each track is read by a network that had not
heard its style (the styles are dealt into two halves), from which fit.py fits the confidences. About ten minutes of
processor time, most of it for hearing; needs jax (train.py).
"""

from __future__ import annotations

import argparse
import hashlib
import json
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import mir_eval
import numpy as np
from heard import heard, jobs

from composer.listening.bars import decoded, gains, margins_of
from composer.listening.beats import softness
from composer.listening.listen import LATE_S
from composer.listening.nets import run
from composer.listening.slots import half_beats, slot_features

SHARES = {"made": 1.0, "loose": 1.0, "midi": 4.0, "band": 8.0}
"""How often a track of a kind is heard: there are few pieces by people and very few recordings."""
SEEDS = (0, 1, 2, 3, 4, 5)


@dataclass
class Lesson:
    """One track at its half beats. ``kind_of``: 0 no beat, 1 a beat, 2 a first beat."""

    name: str
    treatment: str
    kind: str
    metre: int
    judged: bool
    hit: float
    fit: float
    features: np.ndarray
    other: np.ndarray
    slots: np.ndarray
    kind_of: np.ndarray
    good: np.ndarray
    beats: np.ndarray
    firsts: np.ndarray
    soft: float = 0.0

    @property
    def style(self) -> str:
        return self.name.split("-")[1]


def lesson(job: tuple[Path, str]) -> Lesson | None:
    """A track whose beats or off-beats the tracker found, with the truth at each half beat."""
    path, treatment = job
    truth = json.loads(path.read_text())
    features, beats, fit = heard(path, truth, treatment)
    reference, place = np.array(truth["beats"]), np.array(truth["in_bar"])
    sounding = reference >= truth.get("first_sound", 0) - 0.01
    reference, place = reference[sounding], place[sounding]
    if not truth.get("beats_judged", True):
        return None
    beats = beats - LATE_S
    beats = beats[(beats > reference[0] - 0.3) & (beats < reference[-1] + 0.3)]
    if len(beats) < 12:
        return None
    slots = half_beats(beats)
    if truth["kind"] == "band":
        off = slots[np.abs(slots[:, None] - reference[None]).argmin(axis=0)] - reference
        reference = reference + np.median(off[np.abs(off) < 0.1])
    nearest = np.abs(slots[:, None] - reference[None]).argmin(axis=1)
    on = np.abs(slots - reference[nearest]) < 0.07
    hit = float((np.abs(reference[:, None] - slots[None]).min(axis=1) < 0.07).mean())
    near = np.convolve(on.astype(float), np.ones(8) / 8, "same")
    metre = truth["metre"]
    return Lesson(
        path.stem, treatment, truth["kind"], metre, truth.get("bars_judged", True), hit, fit,
        slot_features(features, slots, metre).astype(np.float32),
        slot_features(features, slots, 7 - metre).astype(np.float32), slots,
        np.where(on, np.where(place[nearest] == 1, 2, 1), 0), (near > 0.4) & (near < 0.6), reference,
        reference[place == 1], softness(beats, features),
    )  # fmt: skip


def f_measure(reference: np.ndarray, found: np.ndarray) -> float:
    trimmed = [mir_eval.beat.trim_beats(np.sort(t)) for t in (reference, found)]
    return float(mir_eval.beat.f_measure(*trimmed)) if len(trimmed[0]) and len(trimmed[1]) else 0.0


def reading(one: Lesson, networks: list[Any]) -> dict[str, Any]:
    """How a track is read with its metre known, and whether its metre is found."""
    read = {}
    for metre, x in ((one.metre, one.features), (7 - one.metre, one.other)):
        gain = gains(np.mean([run(layers, x, metre) for layers in networks], axis=0), metre)
        read[metre] = (gain, *decoded(gain))
    gain, path, score = read[one.metre]
    margins = margins_of(gain, path, one.slots[path % 2 == 0])
    return {
        "name": one.name, "kind": one.kind, "fit": one.fit, "beats": f_measure(one.beats, one.slots[path % 2 == 0]),
        "bars": f_measure(one.firsts, one.slots[path == 0]) if one.judged else None, "whole": margins.whole,
        "least": margins.least, "jumps": margins.jumps, "uneven": margins.uneven, "soft": one.soft,
        "metre_margin": (score - read[7 - one.metre][2]) / max(1.0, len(one.slots) / 2 / one.metre),
    }  # fmt: skip


def half_of(style: str) -> int:
    return hashlib.md5(style.encode()).digest()[0] % 2


def main() -> None:
    from train import Example, Plan, plain, trained

    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--steps", type=int, default=1000)
    options = parser.parse_args()
    with ProcessPoolExecutor(2) as pool:
        lessons = [one for one in pool.map(lesson, jobs(options.folder), chunksize=8) if one is not None]
    plan = Plan(((5, 1), (3, 2), (3, 4), (5, -1), (3, -2), (5, 1)), 24, 320, 20, options.steps, (0.0, -1.8))

    def example(one: Lesson) -> Example:
        wanted = np.stack([one.kind_of > 0, one.kind_of == 2], axis=1)
        weight = np.stack([one.good, 1.5 * one.good * one.judged], axis=1)
        return Example(one.features, wanted, weight, 2 * one.metre, SHARES[one.kind])

    heard_well = [one for one in lessons if one.hit > 0.8]
    readings = []
    for half in (0, 1):
        network = trained([example(one) for one in heard_well if half_of(one.style) != half], plan, 0)
        readings += [reading(one, [network]) for one in lessons if half_of(one.style) == half]
        print("half", half, flush=True)
    (options.folder / "bars_readings.json").write_text(json.dumps(readings, indent=1))
    for kind in SHARES:
        mine = [r for r in readings if r["kind"] == kind]
        judged = [r["bars"] for r in mine if r["bars"] is not None]
        print(
            kind, len(mine), f"beats {np.mean([r['beats'] for r in mine]):.3f} bars {np.mean(judged):.3f}", flush=True
        )
    networks = [plain(trained([example(one) for one in heard_well], plan, seed)) for seed in SEEDS]
    out = Path(__file__).parents[2] / "composer" / "listening" / "bars.json"
    names = sorted({one.name for one in heard_well})
    out.write_text(json.dumps({"networks": networks, "fitted_on": names}, separators=(",", ":")) + "\n")
    print(len(names), "tracks; written to", out.name)


if __name__ == "__main__":
    main()
