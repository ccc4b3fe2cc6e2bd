"""What was heard of each track of the listening set, kept beside it: hearing takes longer than all the rest."""

from __future__ import annotations

import json
import re
import zlib
from pathlib import Path
from typing import Any

import numpy as np
from treatments import treated

from composer.listening.audio import load
from composer.listening.beats import find_beats
from composer.listening.features import Heard, hear

AGAIN = re.compile(r"^(made|loose)-.*-[56]$")
"""The further songs of the tuning half's styles."""
BANDS = re.compile(r"^(made|loose)-(hard|wide)\d+-")
PEOPLE = "midi-", "band-"
OTHER_TEMPO = 6
"""Of so many tracks one, by the checksum of its name, is also shown at a tempo that is not its own."""
FARTHEST = 0.72, 1.39
"""Parts of the true tempo between which the other one is looked for."""
ROWS = ("full", "low", "change", "loud_db", "chroma", "bass", "bands")


def truths(folder: Path, split: str) -> list[Path]:
    """The tracks of a half that have a sound file."""
    return [path for path in sorted(folder.glob("*-*.json")) if json.loads(path.read_text())["split"] == split]


def jobs(folder: Path) -> list[tuple[Path, str]]:
    """What is fitted on: every track of the tuning half in a room of its own, and as it is; every sixth generated one
    and half of the pieces and recordings by people as MP3 too. Of the further songs every third as it is, every
    third as MP3 instead."""
    every = truths(folder, "tune")
    out = [(path, "room") for path in every]
    for number, path in enumerate(path for path in every if AGAIN.search(path.stem)):
        if number % 3 < 2:
            out.append((path, ("plain", "mp3")[number % 3]))
    out += [(path, "plain") for path in every if BANDS.match(path.stem)]
    left = [path for path in every if not AGAIN.search(path.stem) and not BANDS.match(path.stem)]
    for number, path in enumerate(left):
        out.append((path, "plain"))
        if number % (2 if path.stem.startswith(PEOPLE) else 6) == 0:
            out.append((path, "mp3"))
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


def heard_otherwise(path: Path, truth: dict[str, Any], treatment: str, features: Heard) -> np.ndarray | None:
    """The beats that would be heard in one of :data:`OTHER_TEMPO` tracks if its tempo were another."""
    if treatment == "mp3" or zlib.crc32(path.stem.encode()) % OTHER_TEMPO:
        return None
    extra = "" if treatment == "plain" else f".{treatment}"
    kept = path.parent / "heard" / f"{path.stem}{extra}.other.npy"
    if not kept.exists():
        true = 60 / float(np.median(np.diff(truth["beats"])))
        np.save(kept, find_beats(features, (FARTHEST[0] * true, FARTHEST[1] * true), true).beats)
    beats: np.ndarray = np.load(kept)
    return beats
