"""Opening tracks: what is read, and one clear refusal for what cannot be listened to."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest
import soundfile

from composer.errors import BadInput
from composer.listening import listen
from composer.listening.audio import LONGEST_S, RATE, load
from tests.listening.sounds import band, save


def refusal(path: Path) -> str:
    with pytest.raises(BadInput) as caught:
        load(path)
    assert len(caught.value.diagnostics) == 1
    return str(caught.value)


def noise(seconds: float, seed: int = 3) -> np.ndarray:
    return (0.2 * np.random.default_rng(seed).normal(size=int(seconds * RATE))).astype(np.float32)


@pytest.mark.parametrize("rate", [16_000, 22_050, 44_100, 48_000])
def test_any_rate_keeps_time(tmp_path: Path, rate: int):
    samples = np.zeros(rate * 70, np.float32)
    clicks = [1.0, 29.99, 30.0, 59.5, 69.0]
    for at in clicks:
        samples[int(at * rate) : int(at * rate) + 40] = 0.8
    sound = load(save(tmp_path, np.stack([samples, samples], axis=1), rate=rate))
    assert sound.length_s == pytest.approx(70)
    assert abs(len(sound.samples) - 70 * RATE) <= 1
    for at in clicks:
        begin = round((at - 0.004) * RATE)
        peak = (begin + int(np.abs(sound.samples[begin : begin + 200]).argmax())) / RATE
        assert peak == pytest.approx(at + 20 / rate, abs=0.003)


@pytest.mark.parametrize("kind", ["wav", "flac", "ogg", "mp3"])
def test_kinds_read_without_help(tmp_path: Path, kind: str, monkeypatch: pytest.MonkeyPatch):
    if kind.upper() not in soundfile.available_formats():
        pytest.skip(f"this libsndfile writes no {kind}")
    monkeypatch.setattr(shutil, "which", lambda _: None)
    path = save(tmp_path, band(form="A").samples, f"t.{kind}")
    assert load(path).length_s == pytest.approx(len(band(form="A").samples) / RATE, abs=0.1)


def test_m4a_needs_ffmpeg(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    path = tmp_path / "t.m4a"
    path.write_bytes(b"\x00\x00\x00\x20ftypM4A " + bytes(5000))
    monkeypatch.setattr(shutil, "which", lambda _: None)
    assert "TML061" in refusal(path)
    monkeypatch.undo()
    assert "TML06" in refusal(path)


def test_files_that_are_no_sound(tmp_path: Path):
    for name, content in (("empty.wav", b""), ("junk.mp3", bytes(range(256)) * 40), ("text.wav", b"hello" * 900)):
        (tmp_path / name).write_bytes(content)
        assert "TML060" in refusal(tmp_path / name)
    (tmp_path / "one.mp3").write_bytes(b"x")  # of which the library says that it does not exist
    assert "exist" not in refusal(tmp_path / "one.mp3")
    for path in (tmp_path, tmp_path / "none.wav", tmp_path / "bad\0name.wav"):
        assert "TML060" in refusal(path)
    whole = save(tmp_path, band(form="A").samples).read_bytes()
    (tmp_path / "cut.wav").write_bytes(whole[: len(whole) // 20])
    assert "TML06" in refusal(tmp_path / "cut.wav")


def test_silence_and_values_that_are_no_sound(tmp_path: Path):
    assert "TML064" in refusal(save(tmp_path, np.zeros(RATE * 20, np.float32)))
    assert "TML064" in refusal(save(tmp_path, noise(20) * 1e-3))
    samples = noise(20)
    samples[50] = np.nan
    path = tmp_path / "nan.wav"
    soundfile.write(path, samples, RATE, subtype="FLOAT")
    assert "TML060" in refusal(path)


@pytest.mark.parametrize(("seconds", "good"), [(8.0, True), (7.9, False), (LONGEST_S, True), (LONGEST_S + 1, False)])
def test_too_short_and_too_long(tmp_path: Path, seconds: float, good: bool):
    rate = 8000
    samples = np.full(int(seconds * rate), 0.1, np.float32)
    samples[::100] = 0.5
    path = save(tmp_path, samples, rate=rate)
    if good:
        assert load(path).length_s == pytest.approx(seconds)
    else:
        assert ("TML063" if seconds < 60 else "TML062") in refusal(path)


def test_clipping_is_said(tmp_path: Path):
    loud = np.clip(band(form="A").samples * 8, -0.9, 0.9)
    assert "clipped" in load(save(tmp_path, loud)).notes[0]
    assert load(save(tmp_path, band(form="A").samples)).notes == ()


@pytest.mark.parametrize("seed", range(3))
def test_noise_has_no_beat(tmp_path: Path, seed: int):
    with pytest.raises(BadInput, match="TML065"):
        listen(save(tmp_path, noise(40, seed)))


def test_a_held_note_has_no_beat(tmp_path: Path):
    time = np.arange(40 * RATE) / RATE
    with pytest.raises(BadInput, match="TML065"):
        listen(save(tmp_path, (0.3 * np.sin(2 * np.pi * 220 * time)).astype(np.float32)))
