"""The ``music`` of a brief becomes a timeline; faults point at the brief's line."""

from __future__ import annotations

from pathlib import Path

import pytest

from composer.brief.music import timeline_from
from composer.brief.schema import Music
from composer.errors import BadInput
from composer.textfiles import yaml_document
from composer.timeline import Timeline
from tests.timeline.scores import abc, put

TUNE = abc("|:" + "|".join(["CDEF", "GFED"] * 4) + ":|", tempo=None)
BEATS = "\n".join(f"{i * 0.7:.1f} {i % 3 + 1}" for i in range(24))


def music(folder: Path, text: str, metre: int | None = None) -> Timeline:
    lines = "\n".join(f"  {line}" for line in text.strip().splitlines())
    document = yaml_document(f"music:\n{lines}\n", str(folder / "brief.yaml"))
    return timeline_from(Music.model_validate(document.data["music"]), document, metre)


def refusal(folder: Path, text: str) -> str:
    with pytest.raises(BadInput) as caught:
        music(folder, text)
    return str(caught.value)


def test_each_source(tmp_path: Path):
    put(tmp_path, "t.abc", TUNE)
    put(tmp_path, "t.beats", BEATS)
    assert music(tmp_path, "tempo: 90\nbars: 8\nbeats_per_bar: 3").length_beats == 24
    assert music(tmp_path, "tempo: 90\nbars: 8", 3).length_beats == 24
    assert music(tmp_path, "beats: t.beats").origin == "beats"
    timeline = music(tmp_path, "score: t.abc\ntempo: 112\nfirst_bar: 9\nhits:\n- {bar: 16, beat: 3&}")
    assert (timeline.length_beats, timeline.first_bar, timeline.accents[0].tick) == (32, 9, 12 * 30 + 6)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("tempo: 90\nbars: 8", "TML034"),
        ("score: none.abc\ntempo: 90", "TML032 {}:2 music.score: there is no file 'none.abc'"),
        ("beats: none.beats", "TML032 {}:2 music.beats"),
        ("score: t.abc", "music.tempo"),
        ("score: t.abc\ntempo: 90\nbars: 15", "TML037 {}:4 music.bars: the brief says 15 bars, the music has 16"),
        ("score: t.abc\ntempo: 90\nlast_bar: 17", "TML040 {}:4 music.last_bar: bar 17"),
        ("score: t.abc\ntempo: 90\nhits:\n- {{bar: 17}}", "TML042 {}:5 music.hits[0].bar"),
        ("score: t.abc\ntempo: 90\nsections:\n- {{bars: 17}}", "TML041 {}:4 music.sections"),
        ("beats: t.beats\ntune: 2", "TML033 {}:3 music.tune"),
        ("beats: t.beats\ntempo: 90", "TML035 {}:3 music.tempo"),
        ("beats: t.beats\nbeats_per_bar: 4", "TML035 {}:3 music.beats_per_bar"),
    ],
)
def test_faults_point_at_the_line(tmp_path: Path, text: str, said: str):
    put(tmp_path, "t.abc", TUNE)
    put(tmp_path, "t.beats", BEATS)
    assert said.format(tmp_path / "brief.yaml") in refusal(tmp_path, text.replace("{{", "{").replace("}}", "}"))


def test_agreeing_numbers_are_fine(tmp_path: Path):
    put(tmp_path, "t.abc", TUNE)
    assert music(tmp_path, "score: t.abc\ntempo: 90\nbars: 16\nlast_bar: 16").length_beats == 64
