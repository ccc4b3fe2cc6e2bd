"""What was heard of each track of the listening set, kept beside it: hearing takes longer than all the rest."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np

from composer.listening.audio import load
from composer.listening.beats import find_beats
from composer.listening.features import Heard, hear

ROWS = ("full", "low", "change", "loud_db", "chroma", "bass", "bands")


def truths(folder: Path, split: str) -> list[Path]:
    """The tracks of a half that have a sound file."""
    return [path for path in sorted(folder.glob("*-*.json")) if json.loads(path.read_text())["split"] == split]


def heard(path: Path, truth: dict[str, Any]) -> tuple[Heard, np.ndarray, float]:
    """(features, beats found when the tempo range is known, how well they fit) of one track."""
    kept = path.parent / "heard" / f"{path.stem}.npz"
    if kept.exists():
        data = np.load(kept)
        return Heard(**{key: data[key].astype(np.float32) for key in ROWS}), data["beats"], float(data["fit"])
    features = hear(load(path.parent / truth["file"]).samples)
    track = find_beats(features, tuple(truth["range"]))
    kept.parent.mkdir(exist_ok=True)
    small = {key: getattr(features, key).astype(np.float32 if key == "loud_db" else np.float16) for key in ROWS}
    np.savez(kept, beats=track.beats, fit=track.fit, **small)
    return features, track.beats, track.fit
