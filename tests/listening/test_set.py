"""Music made by Debian's mma and FluidSynth with known beats: a small part of the listening set, as CI runs it.

Needs the programs mma, fluidsynth and ffmpeg and the sound font of timgm6mb-soundfont; skipped without them. The
whole set and its scores: scripts/listening/make_set.py and score.py. The styles here are not among those that the
models were fitted on (weights.json lists them), which the test checks.
"""

from __future__ import annotations

import importlib.util
import json
import shutil
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from composer.listening import weights_file

SCRIPTS = Path(__file__).parents[2] / "scripts" / "listening"
STYLES = ("waltz", "frenchwaltz", "foxtrot", "easyswing")
PROGRAMS = ("mma", "fluidsynth", "ffmpeg")
pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(
        not all(map(shutil.which, PROGRAMS)) or not SCRIPTS.is_dir(), reason="needs mma, fluidsynth, ffmpeg, scripts/"
    ),
]


@pytest.fixture(scope="module")
def scripts() -> Iterator[dict[str, ModuleType]]:
    sys.path.insert(0, str(SCRIPTS))
    loaded = {}
    for name in ("midi_events", "rendering", "make_set", "score"):
        spec = importlib.util.spec_from_file_location(name, SCRIPTS / f"{name}.py")
        assert spec is not None
        assert spec.loader is not None
        loaded[name] = importlib.util.module_from_spec(spec)
        sys.modules[name] = loaded[name]
        spec.loader.exec_module(loaded[name])
    yield loaded
    sys.path.remove(str(SCRIPTS))


def test_styles_scored_here_were_not_fitted_on():
    fitted = json.loads(weights_file().read_text(encoding="utf-8"))["fitted_on"]
    assert len(fitted) > 50
    assert not {name.split("-")[1] for name in fitted} & set(STYLES)


def test_made_music_is_heard_right(scripts: dict[str, ModuleType], tmp_path: Path):
    if not scripts["rendering"].FONT.exists():
        pytest.skip("needs the sound font of timgm6mb-soundfont")
    for style in STYLES:
        scripts["make_set"].make(tmp_path, style, 0)
    results = [scripts["score"].one((path, "plain", False)) for path in sorted(tmp_path.glob("*.json"))]
    assert len(results) == 2 * len(STYLES)
    assert np.mean([r["beat"] for r in results]) >= 0.99
    assert np.mean([r["bars"] for r in results]) >= 0.99
    noisy = [scripts["score"].one((path, "room", False)) for path in sorted(tmp_path.glob("made-*.json"))]
    plain = [r for r in results if r["kind"] == "made"]
    assert np.mean([r["beat"] for r in noisy]) >= np.mean([r["beat"] for r in plain]) - 0.02
