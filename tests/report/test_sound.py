"""Practice audio, measured: clicks on the beats, calls a bar ahead, slower at the same pitch."""

from __future__ import annotations

import io
import os
import shutil
import wave
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from composer.report import sheet_from
from composer.report.model import Sheet
from composer.report.moves import said_counts
from composer.report.sound import practice_audio, sound_bytes, write_practice_audio
from composer.report.speech import RATE, Voice
from composer.report.stretch import stretched
from composer.timeline.model import Beat
from tests.builders import a_timeline
from tests.report.samples import a_dance, a_sheet


def uneven() -> Sheet:
    """Music that begins at 0.7 s and slows down from beat to beat."""
    music = a_timeline(8, 4, 4)
    at, beats = 0.7, []
    for index, beat in enumerate(music.beats):
        beats.append(Beat(at, beat.in_bar))
        at += 0.4 + 0.007 * index
    problem, routine = a_dance(timeline=replace(music, beats=tuple(beats), end_s=at))
    return sheet_from(problem, routine)


def onsets(samples: np.ndarray) -> list[float]:
    """Where the sound jumps up from near silence: a plain envelope follower, seconds."""
    loud = np.abs(samples) > 0.08
    found, last = [], -RATE
    for index in np.flatnonzero(loud):
        if index - last > 0.12 * RATE:
            found.append(index / RATE)
        last = index
    return found


@pytest.mark.parametrize("speed", [1.0, 0.7, 1.25])
@pytest.mark.parametrize("sheet", [a_sheet(), uneven()], ids=["steady", "uneven"])
def test_clicks_lie_on_the_beats_within_ten_milliseconds(sheet: Sheet, speed: float) -> None:
    practice = practice_audio(sheet, speed=speed, counts=False, calls=False)
    heard = onsets(practice.samples)
    music = [s / speed + practice.lead_in_s for s in sheet.beats_s[:-1]]
    beat = (sheet.beats_s[1] - sheet.beats_s[0]) / speed
    before = [t for k in range(4, 0, -1) if (t := music[0] - k * beat) >= -1e-6]
    assert len(heard) == len(before) + len(music)
    assert heard == pytest.approx([*before, *music], abs=0.010)


def test_bar_starts_are_higher_and_louder() -> None:
    sheet = a_sheet()
    practice = practice_audio(sheet, counts=False, calls=False)
    for beat, at_s in enumerate(sheet.beats_s[:-1]):
        start = round((at_s + practice.lead_in_s) * RATE)
        piece = practice.samples[start : start + 900]
        pitch = np.argmax(np.abs(np.fft.rfft(piece * np.hanning(900), 8192))) * RATE / 8192
        assert pitch == pytest.approx(1760 if beat % 4 == 0 else 1100, abs=25)


def test_a_bar_is_counted_in_only_when_the_music_begins_at_once() -> None:
    assert practice_audio(a_sheet(), program="").lead_in_s == pytest.approx(2.0)
    assert practice_audio(a_sheet(), speed=0.5, program="").lead_in_s == pytest.approx(4.0)
    music = a_timeline(8, 4, 4)
    late = replace(music, beats=tuple(replace(b, at_s=b.at_s + 7) for b in music.beats), end_s=music.end_s + 7)
    assert practice_audio(sheet_from(*a_dance(timeline=late)), program="").lead_in_s == 0


def tone(hertz: float, seconds: float) -> np.ndarray:
    t = np.arange(round(seconds * RATE)) / RATE
    return (0.4 * np.sin(2 * np.pi * hertz * t) + 0.2 * np.sin(2 * np.pi * 2 * hertz * t)).astype(np.float32)


@pytest.mark.parametrize("rate", [0.7, 0.5, 1.2])
@pytest.mark.parametrize("hertz", [220.0, 440.0, 661.0])
def test_stretching_keeps_the_pitch_and_changes_the_length(rate: float, hertz: float) -> None:
    out = stretched(tone(hertz, 4.0), rate)
    assert len(out) / RATE == pytest.approx(4.0 / rate, abs=0.01)
    middle = out[RATE // 2 : -RATE // 2]
    spectrum = np.abs(np.fft.rfft(middle * np.hanning(len(middle)), 8 * RATE))
    assert np.argmax(spectrum) / 8 == pytest.approx(hertz, abs=1.0)
    # No holes and no doubled pieces: the loudness stays even.
    level = np.sqrt(np.convolve(middle**2, np.ones(2048) / 2048, mode="valid"))
    assert level.min() > 0.8 * level.max()


def test_stretching_moves_events_with_the_tempo() -> None:
    sound = np.zeros(6 * RATE, dtype=np.float32)
    for second in range(1, 6):
        sound[second * RATE : second * RATE + 600] = tone(300, 600 / RATE)
    out = stretched(sound, 0.7)
    assert onsets(out) == pytest.approx([s / 0.7 for s in range(1, 6)], abs=0.035)


@pytest.mark.parametrize("rate", [0.39, 2.01])
def test_silly_speeds_are_refused(rate: float) -> None:
    with pytest.raises(ValueError, match="between"):
        stretched(tone(300, 1), rate)
    with pytest.raises(ValueError, match="between"):
        practice_audio(a_sheet(), speed=rate)


def test_the_track_lies_under_the_click_in_time(tmp_path: Path) -> None:
    sheet = a_sheet()
    hum = tone(330.0, sheet.beats_s[-1])
    path = tmp_path / "track.wav"
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE)
        file.writeframes((hum * 32000).astype("<i2").tobytes())
    practice = practice_audio(sheet, speed=0.8, track=path, program="", click=False, calls=False)
    assert np.abs(practice.samples[: round(practice.lead_in_s * RATE) - 200]).max() < 0.01
    middle = practice.samples[4 * RATE : 14 * RATE]
    spectrum = np.abs(np.fft.rfft(middle * np.hanning(len(middle))))
    assert np.argmax(spectrum) / 10 == pytest.approx(330, abs=1)


def test_counts_are_said_in_eights_or_in_bars_of_three() -> None:
    assert said_counts(a_sheet()) == tuple("12345678" * 4)
    three = a_sheet(order=("curving-four",) * 6, timeline=a_timeline(8, 3, 4))
    assert said_counts(three) == tuple("123" * 8)


@pytest.fixture
def program() -> str:
    found = shutil.which("espeak-ng")
    if found is None and not os.environ.get("CI"):
        pytest.skip("espeak-ng is not on this machine; CI runs this test")
    assert found is not None, "CI needs espeak-ng"
    return found


def test_calls_are_spoken_a_bar_ahead_and_clicks_stay_exact(program: str) -> None:
    sheet = a_sheet()
    spoken = practice_audio(sheet, counts=False, program=program)
    silent = practice_audio(sheet, counts=False, calls=False)
    assert spoken.spoken
    words = spoken.samples / np.abs(spoken.samples).max() - silent.samples / np.abs(silent.samples).max()
    for call in sheet.calls:
        start = round((call.at_s + spoken.lead_in_s) * RATE)
        assert np.abs(words[start + 1200 : start + 12000]).max() > 0.1
        # Done before the figure begins.
        end = round((call.figure_s + spoken.lead_in_s) * RATE)
        assert np.abs(words[end - 400 : end - 40]).max() < 0.05


def test_long_names_are_said_faster_and_hostile_ones_are_only_words(program: str) -> None:
    voice = Voice(program)
    easy = voice.say("natural turn", within_s=9)
    fast = voice.say("a very long name of a figure that goes on and on", within_s=1.0)
    slow = voice.say("a very long name of a figure that goes on and on", within_s=9)
    assert 0.3 * RATE < len(easy) < 2 * RATE
    assert len(fast) < 0.7 * len(slow)
    assert len(voice.say("--help; rm -rf <script>", within_s=5)) > 0
    assert len(voice.say("\u202e", within_s=5)) >= 0


def test_files_with_captions_beside(tmp_path: Path) -> None:
    paths = write_practice_audio(a_sheet(), tmp_path, speeds=(1.0, 0.7), program="")
    assert [p.name for p in paths] == ["practice-100.wav", "practice-100.vtt", "practice-70.wav", "practice-70.vtt"]
    with wave.open(str(paths[2]), "rb") as file:
        assert file.getnframes() / file.getframerate() == pytest.approx(16 / 0.7 + 2 / 0.7 + 1, abs=0.01)
    assert sound_bytes(practice_audio(a_sheet(), program="")) == sound_bytes(practice_audio(a_sheet(), program=""))


def test_ogg_is_read_back_with_the_same_length() -> None:
    import soundfile

    practice = practice_audio(a_sheet(), program="")
    samples, rate = soundfile.read(io.BytesIO(sound_bytes(practice, "ogg")))
    assert rate == RATE
    assert len(samples) == len(practice.samples)
