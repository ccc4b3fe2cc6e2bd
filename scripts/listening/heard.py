"""What was heard of each track of the listening set, kept beside it: hearing takes longer than all the rest."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import numpy as np
from treatments import TREATMENTS, treated

from composer.listening.audio import load
from composer.listening.beats import find_beats
from composer.listening.features import Heard, hear

AGAIN = re.compile(r"^(made|loose)-.*-[56]$")
"""The further songs of the tuning half's styles: heard once each."""
WIDE = re.compile(r"^(made|loose)-wide(\d+)-")
ROWS = ("full", "low", "change", "loud_db", "chroma", "bass", "bands")


def truths(folder: Path, split: str) -> list[Path]:
    """The tracks of a half that have a sound file."""
    return [path for path in sorted(folder.glob("*-*.json")) if json.loads(path.read_text())["split"] == split]


def jobs(folder: Path) -> list[tuple[Path, str]]:
    """What is fitted on: every track of the tuning half as it is; in harder sound, one kind of it turn about, every
    third of the generated ones and all pieces and recordings by people; the bands of bands.py in a room each."""
    hard = re.compile(r"(made|loose)-hard\d+-")
    every = truths(folder, "tune")
    out = [(path, treatment) for path in every if hard.match(path.stem) for treatment in ("plain", "room")]
    anew = [path for path in every if AGAIN.search(path.stem)]
    for number, path in enumerate(anew):
        out.append((path, TREATMENTS[number % 3]))
    wide = sorted((int(found[2]), path) for path in every if (found := WIDE.match(path.stem)))
    out += [(path, treatment) for number, path in wide for treatment in ("plain", "room")[: 1 + (number % 3 == 0)]]
    left = {*anew, *(path for _, path in wide)}
    for number, path in enumerate(path for path in every if not hard.match(path.stem) and path not in left):
        out.append((path, "plain"))
        if number % 3 == 0 or json.loads(path.read_text())["kind"] in ("midi", "band"):
            out.append((path, TREATMENTS[1 + number % 2]))
    return out


def heard(path: Path, truth: dict[str, Any], treatment: str = "plain") -> tuple[Heard, np.ndarray, float]:
    """(features, beats found when the tempo range is known, how well they fit) of one track.

    ``treatment``: as it is, or in the harder sound of fitting (treatments.py).
    """
    extra = "" if treatment == "plain" else f".{treatment}"
    kept = path.parent / "heard" / f"{path.stem}{extra}.npz"
    if kept.exists():
        data = np.load(kept)
        return Heard(**{key: data[key].astype(np.float32) for key in ROWS}), data["beats"], float(data["fit"])
    features = hear(treated(load(path.parent / truth["file"]).samples, treatment, path.stem))
    track = find_beats(features, tuple(truth["range"]))
    kept.parent.mkdir(exist_ok=True)
    small = {key: getattr(features, key).astype(np.float32 if key == "loud_db" else np.float16) for key in ROWS}
    np.savez(kept, beats=track.beats, fit=track.fit, **small)
    return features, track.beats, track.fit
