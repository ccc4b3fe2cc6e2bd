"""Music made by Debian's mma and FluidSynth with known beats: a small part of the listening set, as CI runs it.

Needs the programs mma, fluidsynth and ffmpeg and the sound font of timgm6mb-soundfont; skipped without them. The
whole set and its scores: scripts/listening/make_set.py and score.py. The styles here are not among those that the
models were fitted on (weights.json lists them), which the test checks.
"""

from __future__ import annotations

import importlib.util
import json
import re
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
OTHERS = ("c_serenade", "s_lullaby", "c_techno", "y_western", "k_kbossa")
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
    for name in (
        "midi_events",
        "rendering",
        "arrangements",
        "bands",
        "wide",
        "fresh",
        "make_set",
        "treatments",
        "score",
    ):
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
    plain = [r for r in results if r["kind"] == "made"]
    for treatment in ("mp3", "room"):
        harder = [scripts["score"].one((path, treatment, False)) for path in sorted(tmp_path.glob("made-*.json"))]
        for what in ("beat", "bars", "phrases"):
            assert np.mean([r[what] for r in harder]) >= np.mean([r[what] for r in plain]) - 0.02, (treatment, what)


def test_other_arrangements_are_heard_right(scripts: dict[str, ModuleType], tmp_path: Path):
    """Styles of other folders of mma, of the scoring half, whose names have nothing to do with a style fitted on."""
    if not scripts["rendering"].FONT.exists():
        pytest.skip("needs the sound font of timgm6mb-soundfont")
    halves = scripts["arrangements"].styles(scripts["make_set"].WANTED)
    for style in OTHERS:
        if style not in halves:
            pytest.skip(f"this mma has no {style}")
        assert halves[style][3] == "score"
        scripts["make_set"].make_more(tmp_path, style, 0, "more", "score")
    results = [scripts["score"].one((path, "plain", False)) for path in sorted(tmp_path.glob("*.json"))]
    assert len(results) == len(OTHERS)
    assert np.mean([r["beat"] for r in results]) >= 0.99
    assert np.mean([r["bars"] for r in results]) >= 0.95


def test_halves_go_by_name_and_mixes_are_for_tuning(scripts: dict[str, ModuleType]):
    wanted = scripts["make_set"].WANTED
    halves = {style: half for style, (_, _, _, half) in scripts["arrangements"].styles(wanted).items()}
    if not halves:
        pytest.skip("needs mma")
    for style, half in halves.items():
        own = scripts["arrangements"].letters(style.split("_", 1)[1])
        for name in wanted:
            other = scripts["arrangements"].letters(name)
            if own in other or other in own:
                assert half == scripts["rendering"].split_of(name), (style, name)
    fitted = json.loads(weights_file().read_text(encoding="utf-8"))["fitted_on"]
    assert not {name.split("-", 1)[1].rsplit("-", 1)[0] for name in fitted} & {
        s for s, h in halves.items() if h == "score"
    }


def test_a_song_is_not_made_of_fills_and_endings(scripts: dict[str, ModuleType]):
    for initial, stem in (("k", "happyshuffle"), ("y", "mambo"), ("p", "8beat1"), ("s", "slowcountry")):
        files = list(scripts["arrangements"].LIBRARY.glob(f"{initial}*/{stem}.mma"))
        if not files:
            pytest.skip(f"this mma has no {stem}")
        main, _, _ = scripts["arrangements"].grooves(files[0])
        assert main
        assert not [name for name in main if any(part in name for part in ("Fill", "Intro", "End", "Break"))]
    assert main == [name for name in main if name.startswith("SlowCountry")]
    assert scripts["arrangements"].grooves(next(scripts["arrangements"].LIBRARY.glob("p*/8beat1.mma")))[0] == [
        "8beat1A",
        "8beat1B",
    ]


def test_fresh_songs_have_grooves_and_styles_nothing_was_fitted_on(scripts: dict[str, ModuleType]):
    make_set = scripts["make_set"]
    fresh = scripts["fresh"].styles()
    if not fresh:
        pytest.skip("needs mma")
    assert len(fresh) >= 60
    fitted = json.loads(weights_file().read_text(encoding="utf-8"))["fitted_on"]
    styles_fitted = {name.split("-", 1)[1].rsplit("-", 1)[0] for name in fitted}
    thrice = list(make_set.WANTED)[: make_set.THRICE]
    for name, (_, least, most, file, main) in fresh.items():
        assert name not in styles_fitted
        assert not (file.parent.name == "stdlib" and file.stem in styles_fitted), name
        text, truth = make_set.fresh_song(name, "fresh")
        assert least <= truth["tempo"] <= most
        played = set(re.findall(r"^Groove (\S+)", text, re.M))
        assert played & set(main)
        own = [make_set.another_song(name, 0)[0]] if name in make_set.others() else []
        if file.parent.name == "stdlib" and file.stem in make_set.WANTED:
            own += [make_set.song(file.stem, number)[0] for number in range(3 if file.stem in thrice else 1)]
        before = set(re.findall(r"^Groove (\S+)", "\n".join(own), re.M))
        assert not set(main) & before, name


def test_rooms_of_fitting_differ_by_name_and_are_never_the_room_of_scoring(scripts: dict[str, ModuleType]):
    treatments = scripts["treatments"]
    samples = np.random.default_rng(3).normal(size=3 * 22_050).astype(np.float32)
    scoring = treatments.in_a_room(samples)
    names = [f"made-song{number}-0" for number in range(12)]
    rooms = [treatments.in_some_room(samples, name) for name in names]
    for name, room in zip(names, rooms, strict=True):
        assert room.shape == samples.shape
        assert np.isfinite(room).all()
        assert np.array_equal(room, treatments.in_some_room(samples, name))
        assert 0.3 < np.corrcoef(room, samples)[0, 1] < 0.99
    every = np.corrcoef([samples, scoring, *rooms]) - np.eye(14)
    assert every.max() < 0.99


@pytest.mark.parametrize("kind", ["fresh3", "fresh4", "fresh5"])
def test_later_fresh_songs_are_of_styles_nothing_was_fitted_on_and_new_where_they_can_be(
    kind: str, scripts: dict[str, ModuleType]
):
    make_set, kinds = scripts["make_set"], scripts["fresh"].KINDS
    songs = scripts["fresh"].songs(kind)
    if not songs:
        pytest.skip("needs mma")
    assert len(songs) >= 120
    fitted = json.loads(weights_file().read_text(encoding="utf-8"))["fitted_on"]
    assert not {name for name in fitted if name.startswith(("fresh", "more"))}
    styles_fitted = {name.split("-", 1)[1].rsplit("-", 1)[0] for name in fitted}
    for name, (_, least, most, file, main, new) in songs.items():
        assert name not in styles_fitted
        assert not (name.startswith("s_") and file.stem in make_set.WANTED and file.stem in styles_fitted), name
        text, truth = make_set.fresh_song(name, kind)
        assert least <= truth["tempo"] <= most
        for earlier in kinds[1 : kinds.index(kind)]:
            before = make_set.fresh_song(name, earlier)[0]
            assert text != before
            if new:
                assert not set(main) & set(re.findall(r"^Groove (\S+)", before, re.M)), name


def test_broad_bands_are_for_tuning_and_say_where_their_phrases_begin(scripts: dict[str, ModuleType]):
    make_set, wide = scripts["make_set"], scripts["wide"]
    upbeats = 0
    for number in range(wide.WIDE):
        text, truth = make_set.wide_song(number)
        assert truth["metre"] in (3, 4)
        assert truth["bars"] == truth["first"] + sum(bars for _, bars, _ in truth["sections"]) + 1
        assert truth["phrases"][0] == truth["first"] == truth["sections"][0][0]
        assert {begin for begin, _, _ in truth["sections"]} <= set(truth["phrases"])
        upbeats += "z! " in text
    assert 0.2 * wide.WIDE < upbeats < 0.5 * wide.WIDE
