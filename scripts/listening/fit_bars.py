"""Fits the networks that hear beats and first beats at half beats, on the ``tune`` half of the listening set.

    python scripts/listening/fit_bars.py FOLDER

Writes composer/listening/bars.json, and FOLDER/bars_readings.json: how each track is read by a network that had not
heard its style (the styles are dealt into two halves), from which fit.py fits the confidences. About a quarter of an
hour of processor time, besides hearing; needs jax (train.py).
"""

from __future__ import annotations

import argparse
import hashlib
import json
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from itertools import product
from pathlib import Path
from typing import Any

import mir_eval
import numpy as np
from heard import heard, heard_otherwise, jobs
from treatments import TREATMENTS

from composer.listening.bars import Reading, lie_there, margins_of, quarter_back, read_from
from composer.listening.features import Heard
from composer.listening.listen import LATE_S, TEMPO_LEAD
from composer.listening.nets import run
from composer.listening.onsets import softness
from composer.listening.slots import half_beats, slot_features
from composer.listening.steady import keeps_one_line

SHARES = {"made": 1.0, "loose": 1.0, "midi": 7.0, "band": 14.0}
"""How often a track of a kind is heard: there are few pieces by people and very few recordings.

Their part of all was kept: 4 and 8 with 770 generated hearings, 6 and 12 with 1,270, 7 and 14 with 1,870. With the
pieces of two games more that of pieces grew by half; 4 instead of 7 read the tuning half no better.
"""
FOUND, LOST = 0.8, 0.2
"""Parts of the beats that lie at half beats, where these are right and where they are wrong."""
WRONG_SHARE, BETWEEN_SHARE, OTHER_SHARE = 0.3, 6.0, 0.6
"""How often half beats beside the beats are heard; tracks whose tracker lies a quarter of a beat off; other tempi."""
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
    soft: float
    between: Lesson | None = None
    """The same track at the half beats a quarter of a beat earlier."""
    otherwise: Lesson | None = None
    """The same track at beats of another tempo."""

    @property
    def style(self) -> str:
        return self.name.split("-")[1]


def lesson(job: tuple[Path, str]) -> Lesson | None:
    """A track at the half beats that the tracker found and between them, with the truth at each."""
    path, treatment = job
    truth = json.loads(path.read_text())
    features, beats, fit = heard(path, truth, treatment)
    if not truth.get("beats_judged", True):
        return None
    own, between = (_lesson(path, treatment, truth, features, at, fit) for at in (beats, quarter_back(beats)))
    other = heard_otherwise(path, truth, treatment, features)
    otherwise = None if other is None else _lesson(path, treatment, truth, features, other, fit)
    return own and replace(own, between=between, otherwise=otherwise)


def _lesson(
    path: Path, treatment: str, truth: dict[str, Any], features: Heard, beats: np.ndarray, fit: float
) -> Lesson | None:
    reference, place = np.array(truth["beats"]), np.array(truth["in_bar"])
    sounding = reference >= truth.get("first_sound", 0) - 0.01
    reference, place = reference[sounding], place[sounding]
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

    def read(of: Lesson, x: np.ndarray, metre: int) -> Reading:
        odds = np.mean([run(layers, x, metre) for layers in networks], axis=0)
        return read_from(odds, metre, keeps_one_line(of.slots[::2]))

    here = read(one, one.features, one.metre)
    other, moved = one.otherwise and read(one.otherwise, one.otherwise.features, one.metre), False
    tempi = other and {"left": lie_there(other, here, TEMPO_LEAD), "taken": lie_there(here, other, TEMPO_LEAD)}
    if one.between is not None and here.grid < 0:
        there = read(one.between, one.between.features, one.metre)
        if lie_there(here, there):
            one, here, moved = one.between, there, True
    wrong = read(one, one.other, 7 - one.metre)
    path = here.path
    margins = margins_of(here.gain, path, one.slots[path % 2 == 0])
    return {
        "name": one.name, "kind": one.kind, "fit": one.fit, "beats": f_measure(one.beats, one.slots[path % 2 == 0]),
        "bars": f_measure(one.firsts, one.slots[path == 0]) if one.judged else None, "whole": margins.whole,
        "least": margins.least, "jumps": margins.jumps, "uneven": margins.uneven, "soft": one.soft, "moved": moved,
        "tempi": tempi, "grid": here.grid, "treatment": one.treatment,
        "metre_margin": (here.score - wrong.score) / max(1.0, len(one.slots) / 2 / one.metre),
    }  # fmt: skip


def half_of(style: str) -> int:
    return hashlib.md5(style.encode()).digest()[0] % 2


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--steps", type=int, default=1000)
    parser.add_argument("--readings-only", action="store_true", help="do not fit the networks that are kept")
    options = parser.parse_args()
    with ProcessPoolExecutor(2) as pool:
        lessons = [one for one in pool.map(lesson, jobs(options.folder), chunksize=8) if one is not None]
    from train import Example, Plan, plain, trained  # after the pool: it starts threads

    plan = Plan(((5, 1), (3, 2), (3, 4), (5, -1), (3, -2), (5, 1)), 24, 320, 20, options.steps, (0.0, -1.8, 1.0))

    def example(one: Lesson, right: bool, share: float) -> Example:
        """``right``: whether beats are among its half beats; otherwise it says nothing about beats and bars."""
        wanted = np.stack([one.kind_of > 0, one.kind_of == 2, np.full(len(one.slots), right)], axis=1)
        good = one.good * right
        weight = np.stack([good, 1.5 * good * one.judged, np.ones(len(one.slots))], axis=1)
        return Example(one.features, wanted, weight, 2 * one.metre, SHARES[one.kind] * share)

    def examples(some: list[Lesson]) -> list[Example]:
        out = []
        for one in some:
            if one.hit > FOUND:
                out.append(example(one, True, 1.0))
                if one.between is not None and one.between.hit < LOST:
                    out.append(example(one.between, False, WRONG_SHARE))
                if one.otherwise is not None:
                    out.append(example(one.otherwise, False, OTHER_SHARE))
            elif one.between is not None and one.between.hit > FOUND:
                out += [example(one.between, True, BETWEEN_SHARE), example(one, False, BETWEEN_SHARE)]
        return out

    readings = []
    for half in (0, 1):
        network = trained(examples([one for one in lessons if half_of(one.style) != half]), plan, 0)
        readings += [reading(one, [network]) for one in lessons if half_of(one.style) == half]
        print("half", half, flush=True)
    (options.folder / "bars_readings.json").write_text(json.dumps(readings, indent=1))
    print("moved by a quarter:", [(r["name"], round(r["beats"], 2)) for r in readings if r["moved"]], flush=True)
    tempi = [r["tempi"] for r in readings if r["tempi"] and r["beats"] > FOUND]
    left, taken = (sum(t[what] for t in tempi) for what in ("left", "taken"))
    print(f"another tempo: left for the true one {left} times of {len(tempi)}, taken instead of it {taken} times")
    for kind, treatment in product(SHARES, TREATMENTS):
        mine = [r for r in readings if (r["kind"], r["treatment"]) == (kind, treatment)]
        judged = [r["bars"] for r in mine if r["bars"] is not None]
        means = f"beats {np.mean([r['beats'] for r in mine]):.3f} bars {np.mean(judged):.3f}" if judged else ""
        print(kind, treatment, len(mine), means, flush=True)
    if options.readings_only:
        return
    networks = [plain(trained(examples(lessons), plan, seed)) for seed in SEEDS]
    out = Path(__file__).parents[2] / "composer" / "listening" / "bars.json"
    names = sorted({one.name for one in lessons})
    out.write_text(json.dumps({"networks": networks, "fitted_on": names}, separators=(",", ":")) + "\n")
    print(len(names), "tracks; written to", out.name)


if __name__ == "__main__":
    main()
