"""What lets a person check a map: the picture and the track with clicks; and which dances suit it."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
import soundfile

from composer.listening.audio import RATE, Sound
from composer.listening.clicks import with_clicks, write_clicks
from composer.listening.dances import dance_pages, suitable
from composer.listening.picture import picture_png, picture_svg
from composer.timeline import HitWish, SectionWish, Shape, Timeline, assemble, steady_bars


def a_timeline(title: str = "A track") -> Timeline:
    shape = Shape(2, None, None, (SectionWish(8, "A", 3), SectionWish(8, "B"), SectionWish(8, "A")), (HitWish(4),))
    timeline = assemble(steady_bars(90, 25, 3, title), shape)
    return replace(timeline, confidence={"beats": 0.99}, doubts=("Where does bar 1 begin?",))


def a_sound(seconds: float = 51.0) -> Sound:
    return Sound((0.2 * np.random.default_rng(1).normal(size=int(seconds * RATE))).astype(np.float32), seconds)


def test_the_picture_shows_every_beat_phrase_hit_and_doubt():
    timeline = a_timeline("<Rock & 'Roll'>\x07")
    root = ET.fromstring(picture_svg(a_sound(), timeline))
    space = "{http://www.w3.org/2000/svg}"
    texts = [element.text or "" for element in root.iter(f"{space}text")]
    assert texts[0] == "<Rock & 'Roll'>"
    assert len(list(root.iter(f"{space}path"))) == 75
    assert [t for t in texts if t in {"A", "B", "A (3)"}] == ["A (3)", "B", "A"]
    assert texts[-1] == "Where does bar 1 begin?"
    assert len(list(root.iter(f"{space}title"))) == 1


def test_the_picture_of_a_minute_has_three_rows_at_most():
    for seconds, rows in ((29.0, 1), (30.0, 1), (31.0, 2), (61.0, 3)):
        root = ET.fromstring(picture_svg(a_sound(seconds), assemble(steady_bars(120, 4, 4))))
        waves = [e for e in root.iter("{http://www.w3.org/2000/svg}polygon") if e.get("fill") == "#5b6b7a"]
        assert len(waves) == rows


def test_the_png_is_the_same_picture():
    from matplotlib.image import imread

    timeline = a_timeline("<Rock & 'Roll'> $x^2\x07")
    root = ET.fromstring(picture_svg(a_sound(), timeline))
    data = picture_png(a_sound(), timeline)
    assert data == picture_png(a_sound(), timeline)
    pixels = imread(BytesIO(data))
    _, _, width, height = map(float, (root.get("viewBox") or "").split())
    assert pixels.shape[:2] == (height, width)
    dark = (pixels[:, :, :3] < 0.25).all(axis=2)
    foot = 64 + 28 + 60 - 2
    beats = (*timeline.before, *timeline.beats)
    firsts = [50 + b.at_s / 30 * 1200 for b in beats if b.at_s < 30 and b.in_bar == 1]
    for at in firsts:  # bar lines are dark where the other beats' strokes no longer reach
        assert dark[foot - 50, int(at) - 1 : int(at) + 3].any()
    heads = np.unique(np.round((np.flatnonzero(dark[foot - 64]) - 50) / 1200 * 30 / (180 / 90), 1))
    assert len(heads) == len(firsts)


def test_clicks_lie_on_the_beats(tmp_path: Path):
    timeline = a_timeline()
    silent = Sound(np.zeros(51 * RATE, np.float32), 51.0)
    out = tmp_path / "clicks.wav"
    write_clicks(silent, timeline, out)
    samples, rate = soundfile.read(out)
    assert rate == RATE
    loud = np.abs(samples) > 0.05
    starts = [i / RATE for i in range(len(loud)) if loud[i] and not loud[max(0, i - 400) : i].any()]
    expected = [beat.at_s for beat in (*timeline.before, *timeline.beats)]
    assert starts == pytest.approx(expected, abs=0.004)


def test_clicks_never_exceed_full_scale():
    sound = a_sound()
    mixed = with_clicks(sound.samples * 4, a_timeline())
    assert float(np.abs(mixed).max()) <= 1.0
    assert np.array_equal(sound.samples, a_sound().samples)


def dances(tempo: float, metre: int) -> dict[str, str]:
    return {found.dance: found.counted for found in suitable(tempo, metre)}


def test_dances_that_suit():
    least, most = dance_pages()["waltz"].tempo.least, dance_pages()["waltz"].tempo.most
    for tempo, good in ((least, True), (most, True), (least - 0.1, False), (most + 0.1, False)):
        assert ("waltz" in dances(tempo, 3)) is good
    assert dances(174, 3) == {"viennese-waltz": "as counted"}
    assert dances(100, 4)["quickstep"] == "counted twice as fast"
    assert dances(240, 4)["cha-cha"] == "counted half as fast"
    assert "waltz" not in dances(87, 4)
    assert "cha-cha" not in dances(120, 3)
