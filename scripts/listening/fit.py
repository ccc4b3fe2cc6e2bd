"""Fits the phrase network and the confidences of composer/listening on the ``tune`` half of the listening set.

    python scripts/listening/fit_bars.py FOLDER       # first: beats and bars
    python scripts/listening/fit.py FOLDER

Writes composer/listening/phrases.json and weights.json. The confidences are fitted on readings by networks that had
not heard the style: the styles are dealt into two halves, each read with the network of the other. Pieces by people
weigh as much in them as generated music. Needs jax (train.py).
"""

from __future__ import annotations

import argparse
import json
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from fit_bars import half_of
from heard import BANDS, heard, jobs

from composer.listening import weights_file
from composer.listening.bars import Margins
from composer.listening.features import Heard
from composer.listening.nets import run
from composer.listening.phrases import LIMITS, USUAL_ODDS, bar_features, find_phrases
from composer.listening.slots import half_beats

BARS_RIGHT, PHRASES_RIGHT = 0.9, 0.85
"""F from which a reading counts as right."""
NEAR = 30.0
SEEDS = (0, 1, 2, 3, 4, 5)
BANDS_SHARE = 0.5
"""Bands made to be hard count half in the confidences: about as large a part of all as in the fitting before."""
ROOM_SHARE = 1 / 3
"""Hearings in a room count so much in the confidences: a quarter of all, as in the fitting before."""
OFF_BEATS = 0.5
"""How often bars begun on an off-beat are shown against those begun on a beat."""


@dataclass
class Lesson:
    """One track with known phrases at its true bar lines; ``wrong``: with bars begun at every other half beat."""

    name: str
    features: np.ndarray
    starts: np.ndarray
    wrong: list[np.ndarray]

    @property
    def style(self) -> str:
        return self.name.split("-")[1]


def lesson(job: tuple[Path, str]) -> Lesson | None:
    path, treatment = job
    truth = json.loads(path.read_text())
    if "phrases" not in truth:
        return None
    features, _, _ = heard(path, truth, treatment)
    slots, places = half_beats(np.array(truth["beats"])), 2 * truth["metre"]
    x, *wrong = (_features(features, slots[begin::places]) for begin in range(places))
    y = np.zeros(len(x))
    y[[p for p in truth["phrases"] if p < len(y)]] = 1
    return Lesson(path.stem, x, y, wrong)


def _features(features: Heard, firsts: np.ndarray) -> np.ndarray:
    return bar_features(features, np.append(firsts, firsts[-1] + np.median(np.diff(firsts)))).astype(np.float32)


def calibrated(pairs: list[tuple[float, bool, float]]) -> dict[str, list[float]]:
    """How often readings about as clear were right: {margins, right}, both rising, from (margin, right, weight).

    About as clear: NEAR weights below and above in the order of margins. Half a reading of one is taken as wrong, and
    a wrong reading with a rather small margin is added: a kind that was always right must not claim a certainty
    that so few tracks cannot show.
    """
    margins = np.array([m for m, _, _ in pairs])
    extra = (float(np.percentile(margins, 10)), False, 1.0)
    ordered = sorted([*pairs, extra])
    x = np.array([m for m, _, _ in ordered])
    weight = np.array([w for _, _, w in ordered])
    right = weight * np.array([r for _, r, _ in ordered])
    at = np.concatenate([[0.0], np.cumsum(weight)])
    points = np.unique(np.percentile(x, np.arange(0, 101, 4)))
    rate = []
    for point in points:
        low = at[np.searchsorted(x, point, "left")] - NEAR
        high = at[np.searchsorted(x, point, "right")] + NEAR
        near = (at[1:] > low) & (at[:-1] < high)
        rate.append((right[near].sum() + 0.5) / (weight[near].sum() + 1))
    rising = np.minimum.accumulate(np.array(rate)[::-1])[::-1]  # never surer than what is clearer
    return {"margins": [round(float(m), 3) for m in points], "right": [round(float(r), 4) for r in rising]}


def phrase_networks(lessons: list[Lesson], seeds: tuple[int, ...]) -> list[Any]:
    from train import Example, Plan, trained

    longest = max(len(one.starts) for one in lessons)
    layers = ((5, 1), (3, 4), (3, 8), (3, 1))
    plan = Plan(layers, 24, longest, 24, 2000, (-1.9, -2.5), phrases=True)
    examples = []
    for one in lessons:
        starts = np.stack([one.starts, one.starts], axis=1)
        examples.append(Example(one.features, starts, np.ones(starts.shape), 1))
        beats = [1.0 if number % 2 else OFF_BEATS for number in range(len(one.wrong))]
        for x, share in zip(one.wrong, beats, strict=True):  # as often as the right bars, all together
            nothing, second = np.zeros((len(x), 2)), np.tile([0.0, 1.0], (len(x), 1))
            examples.append(Example(x, nothing, second, 1, share / sum(beats)))
    return [trained(examples, plan, seed) for seed in seeds]


def phrase_readings(lessons: list[Lesson]) -> list[tuple[float, bool, float]]:
    out, scores = [], []
    for half in (0, 1):
        networks = phrase_networks([one for one in lessons if half_of(one.style) != half], SEEDS[:2])
        for one in (one for one in lessons if half_of(one.style) == half):
            odds = np.mean([run(layers, one.features, 1)[:, 0] for layers in networks], axis=0) - USUAL_ODDS
            found = find_phrases(np.clip(odds, -LIMITS[0], LIMITS[0]))
            true = set(np.flatnonzero(one.starts))
            f = 2 * len(true & set(found.starts)) / max(1, len(true) + len(found.starts))
            out.append((found.margin, f > PHRASES_RIGHT, share_of(one.name)))
            scores.append(f)
    print(f"phrases at true bars, by networks that had not heard the style: F {np.mean(scores):.3f}, n={len(scores)}")
    return out


def share_of(name: str) -> float:
    return BANDS_SHARE if BANDS.match(name) else 1.0


def bar_readings(folder: Path) -> dict[str, list[tuple[float, bool, float]]]:
    """(margin, right, weight) of beats, metre and bars from fit_bars.py."""
    read = json.loads((folder / "bars_readings.json").read_text())
    room = [ROOM_SHARE if r["treatment"] == "room" else 1.0 for r in read]
    people = [r["kind"] in ("midi", "band") for r in read]
    shares = [share * (1.0 if one else share_of(r["name"])) for r, share, one in zip(read, room, people, strict=True)]
    of_people, of_others = (
        sum(s for s, one in zip(shares, people, strict=True) if one is who) for who in (True, False)
    )
    out: dict[str, list[tuple[float, bool, float]]] = {"beats": [], "metre": [], "bars": []}
    for r, share, one in zip(read, shares, people, strict=True):
        weight = share * of_others / max(1e-9, of_people) if one else share
        known = Margins(r["whole"], r["least"], r["jumps"], r["uneven"], soft=r["soft"], overruled=r["moved"])
        clarity = known.clarity
        out["beats"].append((clarity, r["beats"] >= BARS_RIGHT, weight))
        if r["bars"] is not None:
            out["bars"].append((clarity, r["bars"] >= BARS_RIGHT, weight))
            out["metre"].append((r["metre_margin"], r["metre_margin"] > 0, weight))
    return out


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--sure-only", action="store_true", help="only the confidences, from what was read before")
    parser.add_argument("--readings-only", action="store_true", help="do not fit the networks that are kept")
    options = parser.parse_args()
    kept = options.folder / "phrases_readings.json"
    if not options.sure_only:
        with ProcessPoolExecutor(2) as pool:
            lessons = [one for one in pool.map(lesson, jobs(options.folder), chunksize=8) if one is not None]
        from train import plain  # after the pool: it starts threads

        kept.write_text(json.dumps(phrase_readings(lessons)))
    if not options.sure_only and not options.readings_only:
        networks = [plain(network) for network in phrase_networks(lessons, SEEDS)]
        names = sorted({one.name for one in lessons})
        weights_file().with_name("phrases.json").write_text(
            json.dumps({"networks": networks, "fitted_on": names}, separators=(",", ":")) + "\n"
        )
    read = bar_readings(options.folder) | {"phrases": [tuple(pair) for pair in json.loads(kept.read_text())]}
    data: dict[str, Any] = {"sure": {kind: calibrated(pairs) for kind, pairs in read.items()}}
    fitted = [json.loads(weights_file().with_name(f"{name}.json").read_text()) for name in ("bars", "phrases")]
    data["fitted_on"] = sorted({name for one in fitted for name in one["fitted_on"]})
    weights_file().write_text(json.dumps(data, indent=1) + "\n", encoding="utf-8")
    for kind, pairs in read.items():
        found = list(zip(*data["sure"][kind].values(), strict=True))[::3]
        print(kind, len(pairs), "readings, right:", sum(right for _, right, _ in pairs), found)


if __name__ == "__main__":
    main()
