"""Fits the small models of composer/listening on the ``tune`` half of the listening set.

    python scripts/listening/fit.py FOLDER

Writes composer/listening/weights.json. Plain regularised logistic regression; no number is set by hand. The
confidences are fitted on readings by models that had not heard the style: the styles are dealt into two halves,
each read with the models of the other.
"""

from __future__ import annotations

import argparse
import json
import zlib
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from scipy.optimize import minimize

from composer.listening import weights_file
from composer.listening.audio import load
from composer.listening.bars import beat_features, find_bars
from composer.listening.beats import find_beats
from composer.listening.features import hear
from composer.listening.listen import LATE_S
from composer.listening.phrases import USUAL_ODDS, bar_features, find_phrases


@dataclass
class Lesson:
    """One track as the fit sees it."""

    name: str
    style: str
    metre: int
    beat_fit: float
    beat_right: bool
    beat_x: np.ndarray
    beat_y: np.ndarray
    bar_x: np.ndarray | None = None
    bar_y: np.ndarray | None = None


def lesson(path: Path) -> Lesson | None:
    truth = json.loads(path.read_text())
    heard = hear(load(path.parent / truth["file"]).samples)
    reference, place = np.array(truth["beats"]), np.array(truth["in_bar"])
    sounding = reference >= truth.get("first_sound", 0) - 0.01
    reference, place = reference[sounding], place[sounding]
    track = find_beats(heard, tuple(truth["range"]))
    beats = track.beats - LATE_S
    beats = beats[(beats > reference[0] - 0.1) & (beats < reference[-1] + 0.1)]
    nearest = np.abs(beats[:, None] - reference[None]).argmin(axis=1)
    good = np.abs(beats - reference[nearest]) < 0.07
    right = bool(good.mean() > 0.9)
    style = path.stem.split("-")[1]
    result = Lesson(path.stem, style, truth["metre"], track.fit, right, beat_features(heard, beats), np.zeros(0))
    result.beat_y = np.where(good, place[nearest] == 1, False).astype(float)
    if "phrases" in truth:
        firsts = reference[place == 1]
        edges = np.append(firsts, firsts[-1] + np.median(np.diff(firsts)))
        result.bar_x = bar_features(heard, edges)
        result.bar_y = np.zeros(len(result.bar_x))
        result.bar_y[[p for p in truth["phrases"] if p < len(result.bar_y)]] = 1
    return result


def logistic(x: np.ndarray, y: np.ndarray, weight: np.ndarray, ridge: float) -> tuple[np.ndarray, float]:
    """Weights and bias of a weighted logistic regression."""

    def loss(w: np.ndarray) -> tuple[float, np.ndarray]:
        z = x @ w[:-1] + w[-1]
        p = 1 / (1 + np.exp(-z))
        value = (weight * (np.logaddexp(0, z) - y * z)).sum() / weight.sum() + ridge * (w[:-1] ** 2).sum()
        d = weight * (p - y) / weight.sum()
        return value, np.append(x.T @ d + 2 * ridge * w[:-1], d.sum())

    result = minimize(loss, np.zeros(x.shape[1] + 1), jac=True, method="L-BFGS-B", options={"maxiter": 500})
    return result.x[:-1], float(result.x[-1])


def fitted(pairs: list[tuple[np.ndarray, np.ndarray]], ridge: float) -> tuple[np.ndarray, float]:
    """One model from the rows of several tracks, each track weighing the same."""
    weight = np.concatenate([np.full(len(x), 1 / len(x)) for x, _ in pairs])
    return logistic(np.concatenate([x for x, _ in pairs]), np.concatenate([y for _, y in pairs]), weight, ridge)


def models(lessons: list[Lesson]) -> dict[str, tuple[np.ndarray, float]]:
    return {
        "first_beat": fitted([(t.beat_x, t.beat_y) for t in lessons if t.beat_right], 2e-3),
        "phrase": fitted([(t.bar_x, t.bar_y) for t in lessons if t.bar_x is not None and t.bar_y is not None], 4e-3),
    }


def readings(lessons: list[Lesson], model: dict[str, Any]) -> dict[str, list[tuple[float, bool]]]:
    """(margin, right) per kind, read with models that have not heard these lessons."""
    out: dict[str, list[tuple[float, bool]]] = {"beats": [], "metre": [], "bars": [], "phrases": []}
    for t in lessons:
        out["beats"].append((t.beat_fit, t.beat_right))
        if not t.beat_right:
            continue
        w, b = model["first_beat"]
        odds = np.clip(t.beat_x @ w + b, -4, 4)
        free = find_bars(odds)
        out["metre"].append((free.metre_margin, free.metre == t.metre))
        known = find_bars(odds, t.metre)
        first = np.array(known.in_bar) == 1
        out["bars"].append((known.margin, bool(t.beat_y[first].mean() > 0.9)))
        if t.bar_x is not None and t.bar_y is not None:
            w, b = model["phrase"]
            phrased = find_phrases(np.clip(t.bar_x @ w + b - USUAL_ODDS, -5, 5))
            true = set(np.flatnonzero(t.bar_y))
            both = len(true & set(phrased.starts))
            out["phrases"].append((phrased.margin, 2 * both / (len(true) + len(phrased.starts)) > 0.85))
    return out


def calibrated(pairs: list[tuple[float, bool]]) -> list[float]:
    """(slope, middle) of the probability of being right; one wrong reading with a rather small margin is added.

    Without it a kind that was always right would claim certainty that so few tracks cannot show.
    """
    x = np.array([m for m, _ in pairs])
    x, y = np.append(x, np.percentile(x, 10)), np.array([float(r) for _, r in pairs] + [0.0])
    spread = float(x.std()) or 1.0
    w, b = logistic(((x - x.mean()) / spread)[:, None], y, np.ones(len(x)), 1e-3)
    slope = max(1e-3, float(w[0])) / spread
    return [round(slope, 4), round(float(x.mean()) - b / slope, 4)]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    folder = parser.parse_args().folder
    paths = [p for p in sorted(folder.glob("*.json")) if json.loads(p.read_text())["split"] == "tune"]
    with ProcessPoolExecutor() as pool:
        lessons = [t for t in pool.map(lesson, paths) if t is not None]
    half = [t for t in lessons if zlib.crc32(t.style.encode()) // 2 % 2]
    other = [t for t in lessons if not zlib.crc32(t.style.encode()) // 2 % 2]
    heard = readings(half, models(other))
    for kind, pairs in readings(other, models(half)).items():
        heard[kind] += pairs
    data: dict[str, Any] = {
        name: {"weights": [round(float(v), 4) for v in w], "bias": round(b, 4)}
        for name, (w, b) in models(lessons).items()
    }
    data["sure"] = {kind: calibrated(pairs) for kind, pairs in heard.items()}
    (folder / "readings.txt").write_text("\n".join(f"{k} {m:.4f} {int(r)}" for k, ps in heard.items() for m, r in ps))
    data["fitted_on"] = [t.name for t in lessons]
    weights_file().write_text(json.dumps(data, indent=1) + "\n", encoding="utf-8")
    for kind, pairs in heard.items():
        print(kind, len(pairs), "readings by models that had not heard the style, right:", sum(r for _, r in pairs))
    print(len(lessons), "tracks; written to", weights_file().name)


if __name__ == "__main__":
    main()
