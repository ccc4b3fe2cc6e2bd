"""Cut recordings: every sample where it belongs, beats where the timeline says, windows kept, composed again."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import mir_eval
import numpy as np
import pytest
import soundfile
import yaml

from composer.brief import load_problem
from composer.listening.listen import listen
from composer.listening.splice import (
    AFTER_S,
    CLEAR_S,
    FADE_S,
    LEAD_S,
    Splice,
    splice_of,
    suffix_for,
    write_cut,
)
from composer.textfiles import json_text
from composer.timeline import as_data, read_timeline
from composer.timeline.leftout import without_bars
from composer.timeline.model import Timeline
from composer.verify import verify
from composer.versions import load_versions
from tests.builders import a_timeline
from tests.cli.speaking import Teller
from tests.listening.sounds import band, save

RATE = 8000


@pytest.fixture
def cli(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Teller:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "100")
    return Teller(capsys)


def recorded(folder: Path, samples: np.ndarray, name: str = "song.wav", rate: int = RATE) -> Path:
    path = folder / name
    kind = {"subtype": "FLOAT"} if name.endswith("wav") else {}
    soundfile.write(path, samples, rate, **kind)
    return path


def ramp(length_s: float) -> np.ndarray:
    """Every sample says where it stood."""
    return (np.arange(round(length_s * RATE)) / (100 * RATE)).astype(np.float32)


def cut(folder: Path, source: Path, splice: Splice, name: str = "out.wav") -> np.ndarray:
    write_cut(source, splice, folder / name)
    samples, _ = soundfile.read(folder / name, dtype="float32", always_2d=True)
    return np.asarray(samples)


def test_every_sample_outside_the_fades_is_the_one_that_belongs_there(tmp_path: Path) -> None:
    music = a_timeline(16, bpm=100)  # 64 beats of 0.6 s
    splice = splice_of(music, [(3, 4), (9, 12)], 40.0)
    assert np.array(splice.stretches) == pytest.approx(np.array([(0, 4.8), (9.6, 19.2), (28.8, 38.4)]))
    assert splice.joins_s == pytest.approx((4.8, 14.4))
    assert splice.length_s == pytest.approx(4.8 + 9.6 + 9.6 + 1.6)
    out = cut(tmp_path, recorded(tmp_path, ramp(40)), splice)[:, 0]
    assert len(out) == round(splice.length_s * RATE)
    came_from = np.round(out * 100 * RATE).astype(int)
    clear, fade = round(CLEAR_S * RATE), round(FADE_S * RATE)
    edges = [0, *(round(at * RATE) for at in splice.joins_s), len(out)]
    for number, (begin, _) in enumerate(splice.stretches):
        start = edges[number] - (clear if number else 0)
        stop = edges[number + 1] - (clear + fade if number < 2 else 0)
        expected = np.arange(start, stop) - edges[number] + round(begin * RATE)
        assert np.array_equal(came_from[start:stop], expected)


def test_the_crossfade_keeps_the_power(tmp_path: Path) -> None:
    noise = np.random.default_rng(3).normal(0, 0.1, round(40 * RATE)).astype(np.float32)
    source = recorded(tmp_path, noise)
    levels = []
    for bar in range(3, 13):
        splice = splice_of(a_timeline(16, bpm=100), [(bar, bar + 1)], 40.0)
        out = cut(tmp_path, source, splice)[:, 0]
        at = round(splice.joins_s[0] * RATE) - round(CLEAR_S * RATE)
        levels.append(np.mean(out[at - round(FADE_S * RATE) : at] ** 2))
    assert 10 * np.log10(np.mean(levels) / 0.1**2) == pytest.approx(0, abs=0.5)


def test_a_beginning_and_an_end_in_the_middle_are_faded(tmp_path: Path) -> None:
    steady = np.full(round(40 * RATE), 0.5, np.float32)
    source = recorded(tmp_path, steady)
    splice = splice_of(a_timeline(16, bpm=100), [(1, 2), (15, 16)], 40.0)
    assert (splice.lead_s, splice.tail_s) == pytest.approx((LEAD_S, AFTER_S))
    out = cut(tmp_path, source, splice)[:, 0]
    assert abs(out[0]) < 0.02
    assert abs(out[-1]) < 0.02
    assert out[round(LEAD_S * RATE)] == pytest.approx(0.5, abs=1e-3), "the first beat is at full level"
    last_beat = round((splice.length_s - AFTER_S) * RATE)
    assert out[last_beat - 1] > 0.49
    own = splice_of(a_timeline(16, bpm=100), [(5, 6)], 40.0)
    whole = cut(tmp_path, source, own)[:, 0]
    assert whole[0] == whole[-1] == 0.5, "the recording's own beginning and end stay as they are"


@pytest.mark.parametrize(("most_s", "tail_s"), [(None, 1.6), (35.2 + 1.6, 1.6), (35.2 + 1.0, 1.0), (35.2, 0.0)])
def test_what_rings_out_gives_way_to_the_window(most_s: float | None, tail_s: float) -> None:
    """38.4 s of music less 3.2 s; the recording rings 1.6 s longer. At the limit all of it stays, a step past not."""
    music = a_timeline(12, bpm=75)  # 48 beats of 0.8 s
    splice = splice_of(music, [(4, 4)], 40.0, most_s)
    assert splice.tail_s == pytest.approx(tail_s)
    assert most_s is None or splice.length_s <= most_s + 1e-9
    assert splice.faded_out == (tail_s < 1.6)


@pytest.mark.parametrize("name", ["song.wav", "song.flac", "song.ogg", "song.aiff", "song.mp3"])
def test_every_kind_of_recording_is_cut_in_stereo(tmp_path: Path, name: str) -> None:
    time = np.arange(40 * 44_100) / 44_100
    both = np.stack([0.3 * np.sin(2 * np.pi * 440 * time), 0.1 * np.sin(2 * np.pi * 330 * time)], axis=1)
    source = tmp_path / name
    with soundfile.SoundFile(str(source), "w", 44_100, 2) as stream:
        for start in range(0, len(both), 1 << 16):
            stream.write(both[start : start + (1 << 16)])
    splice = splice_of(a_timeline(16, bpm=100), [(5, 8)], 40.0)
    target = tmp_path / f"out{suffix_for(source)}"
    write_cut(source, splice, target)
    info = soundfile.info(str(target))
    assert (info.samplerate, info.channels) == (44_100, 2)
    assert info.frames == pytest.approx(splice.length_s * 44_100, abs=1)
    samples, _ = soundfile.read(target)
    left, right = np.sqrt(2 * np.mean(samples[44_100:-44_100] ** 2, axis=0))
    assert left == pytest.approx(0.3, rel=0.05)
    assert right == pytest.approx(0.1, rel=0.05)


def clicks(times: list[float], length_s: float, rate: int = RATE) -> np.ndarray:
    samples = np.zeros(round(length_s * rate), np.float32)
    for at in times:
        start = round(at * rate)
        samples[start : start + 80] = 0.8 * np.exp(-np.arange(80) / 20)[: len(samples) - start]
    return samples


def written(folder: Path, music: dict[str, Any], **more: Any) -> Path:
    brief = {"format": "brief/1", "title": "A cut", "dance": "waltz", "music": music,
             "couple": {"leader": {"level": 1}, "follower": {"level": 1}}, **more}  # fmt: skip
    path = folder / "brief.yaml"
    path.write_text(yaml.safe_dump(brief, sort_keys=False), "utf-8")
    return path


def exact(folder: Path, music: Timeline, samples: np.ndarray, rate: int = RATE) -> Path:
    """A brief with a recording whose beats are known exactly."""
    (folder / "song.json").write_text(json_text(as_data(music)), "utf-8")
    recorded(folder, samples, "song.wav", rate)
    return written(folder, {"timeline": "song.json", "track": "song.wav"})


def test_the_beats_of_the_cut_track_are_where_its_timeline_says_to_the_sample(cli: Teller, tmp_path: Path) -> None:
    """A waltz of 57.6 s into 0:38-0:45: each click lies on its beat, and no click is heard between beats."""
    music = a_timeline(24, 3, 8, sections=[(8, "A", 2), (8, "B", 3), (8, "A", 4)], bpm=75, ends_with_accent=True)
    brief = exact(tmp_path, music, clicks([beat.at_s for beat in music.beats], 59.5))
    out = tmp_path / "out"
    told = cli("cut", brief, "--window", "0:38-0:45", "--out", out, "--json").document
    track = told["track"]
    samples, rate = soundfile.read(out / track["file"], dtype="float32")
    assert len(samples) / rate == pytest.approx(track["seconds"], abs=0.001)
    assert 38 <= track["seconds"] <= 45
    cut_music = read_timeline(out / "music.json")
    loud = np.flatnonzero(samples > 0.6)
    onsets = loud[np.diff(loud, prepend=-1000) > 200]
    assert np.abs(onsets - [round(beat.at_s * rate) for beat in cut_music.beats]).max() <= 1
    joins = {round(at, 3) for at in track["joins_s"]}
    starts = {round(cut_music.seconds_at(12 * phrase.start), 3) for phrase in cut_music.phrases}
    assert joins
    assert joins <= starts, "joined where a phrase begins"
    assert cut_music.accents[-1].tick == cut_music.length_ticks - 12, "the final hit is the last beat"


def test_a_cut_recording_is_composed_to_from_its_own_brief(cli: Teller, tmp_path: Path) -> None:
    music = a_timeline(24, 3, 8, sections=[(8, "A", 2), (8, "B", 3), (8, "A", 4)], bpm=75)
    brief = exact(tmp_path, music, clicks([beat.at_s for beat in music.beats], 59.5))
    out = tmp_path / "out"
    told = cli("cut", brief, "--window", "0:38-0:45", "--out", out, "--json").document
    names = {path.name for path in out.iterdir()}
    assert {"brief.yaml", "music.json", "music.wav", "track.wav", "routine.json", "versions"} <= names
    assert (out / "track.wav").read_bytes() == (out / "music.wav").read_bytes(), "the page plays the cut track"
    problem = load_problem(out / "brief.yaml")
    assert problem.brief.music.leave_out == ()
    assert cli("verify", out / "routine.json", "--brief", out / "brief.yaml").code == 0
    again = cli("compose", out / "brief.yaml", "--json").document
    assert again["routine"]["score"] == told["routine"]["score"]
    assert len(load_versions(out)[0]) == 1
    assert cli("restore", out / "routine.json", "1").code == 0
    done = cli("revise", out / "routine.json", "--practised", "1-12")
    assert done.code == 0, done.err
    assert {"brief.yaml", "music.json", "music.wav"} <= {path.name for path in out.iterdir()}
    assert cli("cut", brief, "--window", "0:38-0:45", "--out", out).code == 0, "its own files may be written again"
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "music.json").write_text("mine", "utf-8")
    assert cli("cut", brief, "--window", "0:38-0:45", "--out", tmp_path / "mine").codes == ["OUT003"]


def test_bars_left_out_by_a_revision_are_cut_out_of_what_is_played(cli: Teller, tmp_path: Path) -> None:
    music = a_timeline(24, 3, 4, bpm=100)
    brief = exact(tmp_path, music, clicks([beat.at_s for beat in music.beats], 45.0))
    out = tmp_path / "out"
    assert cli("compose", brief, "--out", out).code == 0
    assert soundfile.info(str(out / "track.wav")).frames == 45 * RATE
    assert cli("revise", out / "routine.json", "--leave-out", "9-12").code == 0
    assert soundfile.info(str(out / "track.wav")).frames == pytest.approx((45.0 - 12 * 0.6) * RATE, abs=1)


def test_a_track_is_heard_cut_and_heard_again(cli: Teller, tmp_path: Path) -> None:
    """Only the recording is given. What is heard in the cut track are the beats of its timeline."""
    played = band(tempo=96, metre=3, form="AABA")
    save(tmp_path, played.samples, "song.flac")
    brief = written(tmp_path, {"track": "song.flac", "phrase_bars": 8, "corrections": {"trust": True, "bar_1_at": 0.7}})
    out = tmp_path / "out"
    told = cli("cut", brief, "--window", "0:40-0:48", "--out", out, "--json").document
    track = told["track"]
    assert track["file"] == "music.flac"
    info = soundfile.info(str(out / "music.flac"))
    assert info.frames / info.samplerate == pytest.approx(track["seconds"], abs=0.001)
    assert 40 <= track["seconds"] <= 48
    said = read_timeline(out / "music.json")
    heard = listen(out / "music.flac", "waltz")
    reference = np.array([beat.at_s for beat in said.beats])
    estimate = np.array([beat.at_s for beat in (*heard.before, *heard.beats)])
    assert mir_eval.beat.f_measure(reference, estimate, f_measure_threshold=0.04) > 0.97
    downbeats = np.array([beat.at_s for beat in said.beats if beat.in_bar == 1])
    heard_bars = np.array([beat.at_s for beat in heard.beats if beat.in_bar == 1])
    assert mir_eval.beat.f_measure(downbeats, heard_bars, f_measure_threshold=0.04) > 0.95
    for at in track["joins_s"]:
        assert np.abs(estimate - at).min() < 0.04, "a beat is heard at the join"
    problem = load_problem(out / "brief.yaml")
    from composer.routinefile import load_routine

    assert verify(*load_routine(out / "routine.json", out / "brief.yaml")) == []
    assert problem.length_ticks == json.loads((out / "routine.json").read_text("utf-8"))["length_ticks"]


def test_what_a_timeline_says_is_not_said_twice(cli: Teller, tmp_path: Path) -> None:
    music = a_timeline(12, 3, 4, bpm=100)
    (tmp_path / "song.json").write_text(json_text(as_data(music)), "utf-8")
    for extra in ({"tempo": 100}, {"phrase_bars": 8}, {"sections": [{"bars": 12}]}, {"corrections": {"trust": True}}):
        done = cli("compose", written(tmp_path, {"timeline": "song.json", **extra}), "--json")
        assert done.code == 2, extra
    assert cli("compose", written(tmp_path, {"timeline": "song.json", "score": "a.abc"})).code == 2
    assert cli("compose", written(tmp_path, {"timeline": "other.json"})).codes == ["TML032"]
    assert cli("compose", written(tmp_path, {"timeline": "song.json", "track": "no.wav"})).codes == ["TML032"]
    assert cli("compose", written(tmp_path, {"timeline": "song.json", "last_bar": 13})).codes == ["TML039"]
    some = load_problem(written(tmp_path, {"timeline": "song.json", "first_bar": 5, "last_bar": 12}))
    assert some.timeline.length_beats == 24
    assert some.timeline == without_bars(read_timeline(tmp_path / "song.json"), [(1, 4)])
