"""The map of a track against what was played, and what a person may correct. Judge of beats: mir_eval."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import mir_eval
import numpy as np
import pytest

from composer.brief.music import timeline_from
from composer.brief.schema import Music
from composer.errors import BadInput
from composer.listening import Corrections, listen
from composer.listening.doubt import ASK_BELOW
from composer.textfiles import yaml_document
from composer.timeline import Timeline, faults
from tests.listening.sounds import Played, band, save


def beat_score(timeline: Timeline, played: Played, only_first: bool = False) -> float:
    """F within 70 ms over beats (or first beats); mir_eval leaves out the first five seconds, as is usual."""
    found = [b.at_s for b in (*timeline.before, *timeline.beats) if not only_first or b.in_bar == 1]
    true = played.beats[played.in_bar == 1] if only_first else played.beats
    found_array = np.array([t for t in found if t < played.beats[-1] + 0.2])
    return float(mir_eval.beat.f_measure(*(mir_eval.beat.trim_beats(t) for t in (true, found_array))))


CASES = [
    (88, 3, "AABA", "waltz"),
    (120, 4, "ABAC", "cha-cha"),
    (176, 3, "AABB", "viennese-waltz"),
    (100, 4, "AB", None),
]


@pytest.mark.parametrize(("tempo", "metre", "form", "dance"), CASES)
def test_beats_and_bars_are_found(tmp_path: Path, tempo: float, metre: int, form: str, dance: str | None):
    played = band(tempo, metre, form)
    timeline = listen(save(tmp_path, played.samples), dance, None if dance else (80, 125))
    assert faults(timeline) == []
    assert timeline.origin == "audio"
    assert timeline.beats_per_bar == metre
    assert beat_score(timeline, played) >= 0.99
    assert beat_score(timeline, played, only_first=True) >= 0.99
    assert set(timeline.confidence) == {"beats", "metre", "bars", "phrases"}


def test_beats_lie_close_to_the_notes(tmp_path: Path):
    played = band()
    timeline = listen(save(tmp_path, played.samples), "waltz")
    found = np.array([b.at_s for b in timeline.beats])
    off = np.abs(found[:, None] - played.beats[None]).min(axis=1)
    assert np.mean(off[:-3]) < 0.020


def test_phrases_and_letters(tmp_path: Path):
    played = band(96, 4, "AABA", lead_s=0.2)
    timeline = listen(save(tmp_path, played.samples), None, (85, 110))
    starts = [timeline.beats[p.start].at_s for p in timeline.phrases]
    hit = mir_eval.util.match_events(played.phrases, np.array(starts), 0.5)
    assert len(hit) >= 3


def test_one_phrase_start_puts_all_right(tmp_path: Path):
    played = band(96, 4, "AABA", lead_s=0.2)
    path = save(tmp_path, played.samples)
    timeline = listen(path, None, (85, 110), Corrections(bar_1_at=0.2, phrase_starts=(1, 9, 17, 25)))
    assert [p.start for p in timeline.phrases][:4] == [0, 32, 64, 96]
    assert timeline.confidence["phrases"] >= 0.97
    assert not any("phrases begin" in doubt for doubt in timeline.doubts)


def test_the_same_track_gives_the_same_map(tmp_path: Path):
    path = save(tmp_path, band(form="AB").samples)
    assert listen(path, "waltz") == listen(path, "waltz")


@pytest.mark.parametrize(
    ("tempo", "range_", "change", "expected"),
    [(100, (90, 110), "double", 200), (100, (90, 110), "half", 50), (90, (80, 100), "a third", 30)],
)
def test_the_tempo_can_be_corrected(
    tmp_path: Path, tempo: float, range_: tuple[float, float], change: str, expected: float
):
    path = save(tmp_path, band(tempo, 4, "AB").samples)
    timeline = listen(path, None, range_, Corrections.model_validate({"tempo": change}))
    assert timeline.beats_per_minute == pytest.approx(expected, rel=0.03)


def test_bar_1_can_be_said(tmp_path: Path):
    played = band(88, 3, "AA")
    path = save(tmp_path, played.samples)
    for index in (0, 1, 4):
        timeline = listen(path, "waltz", None, Corrections(bar_1_at=float(played.beats[index]) + 0.03))
        assert timeline.beats[0].at_s == pytest.approx(played.beats[index], abs=0.04)
        assert timeline.beats[0].in_bar == 1
        assert timeline.confidence["bars"] > 0.9
    off_beat = float(played.beats[3] + played.beats[4]) / 2
    assert listen(path, "waltz", None, Corrections(bar_1_at=off_beat)).beats[0].at_s == pytest.approx(
        off_beat, abs=0.03
    )


@pytest.mark.parametrize(
    ("shift", "beats"),
    [("half a beat later", 0.5), ("half a beat earlier", -0.5), ("a beat later", 1), ("a beat earlier", -1)],
)
def test_shifts(tmp_path: Path, shift: str, beats: float):
    played = band(90, 3, "AA")
    path = save(tmp_path, played.samples)
    plain = listen(path, "waltz")
    moved = listen(path, "waltz", None, Corrections.model_validate({"shift": shift}))
    gap = 60 / 90

    cycle = gap if abs(beats) == 0.5 else 3 * gap  # after half a beat the bars are heard anew

    def phase(timeline: Timeline) -> float:
        firsts = [b.at_s for b in (*timeline.before, *timeline.beats) if b.in_bar == 1]
        return float(np.angle(np.exp(2j * np.pi * np.array(firsts) / cycle).mean())) / (2 * np.pi) * cycle

    turned = (phase(moved) - phase(plain) - beats * gap + 0.5 * cycle) % cycle - 0.5 * cycle
    assert turned == pytest.approx(0, abs=0.03)


def test_the_end_can_be_said(tmp_path: Path):
    played = band(90, 3, "AA")
    timeline = listen(save(tmp_path, played.samples), "waltz", None, Corrections(end_at=float(played.beats[24])))
    assert timeline.end_s == pytest.approx(played.beats[24], abs=0.1)
    assert timeline.length_beats == 24


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"bar_1_at": 900}, "after the end of the track"),
        ({"bar_1_at": 9, "end_at": 8}, "does not come after bar 1"),
        ({"bar_1_at": 1, "shift": "a beat later"}, "give one of the two"),
        ({"phrase_starts": [200]}, "bar 200 is asked for"),
    ],
)
def test_contradictions_are_errors(tmp_path: Path, given: dict[str, object], said: str):
    path = save(tmp_path, band(form="A").samples)
    with pytest.raises(BadInput, match=said):
        listen(path, "waltz", None, Corrections.model_validate(given))


def test_an_unknown_dance_is_named(tmp_path: Path):
    with pytest.raises(BadInput, match=r"TML072.*Did you mean 'waltz'"):
        listen(save(tmp_path, band(form="A").samples), "waltzz")


def test_a_break_and_the_end_are_heard(tmp_path: Path):
    played = band(90, 4, "AAB", silent_bar=12)
    timeline = listen(save(tmp_path, played.samples), None, (80, 100))
    kinds = Counter(accent.kind for accent in timeline.accents)
    assert kinds["end"] == 1
    back = [timeline.seconds_at(a.tick) for a in timeline.accents if a.kind == "break"]
    assert back == [pytest.approx(played.beats[13 * 4], abs=0.06)]


def brief(folder: Path, text: str, dance: str = "waltz") -> Timeline:
    lines = "\n".join(f"  {line}" for line in text.strip().splitlines())
    document = yaml_document(f"dance: {dance}\nmusic:\n{lines}\n", str(folder / "brief.yaml"))
    return timeline_from(Music.model_validate(document.data["music"]), document)


def test_a_brief_with_a_track(tmp_path: Path):
    played = band(88, 3, "AABA")
    save(tmp_path, played.samples)
    timeline = brief(
        tmp_path,
        f"track: track.wav\nfirst_bar: 9\nlast_bar: 24\nphrase_bars: 8\nhits:\n- {{bar: 17}}\n"
        f"corrections: {{bar_1_at: {played.beats[0]:.2f}}}",
    )
    assert timeline.length_beats == 48
    assert timeline.beats[0].at_s == pytest.approx(played.beats[24], abs=0.03)
    assert [a.tick for a in timeline.accents] == [12 * 24]
    assert [p.beats for p in timeline.phrases] == [24, 24]
    assert timeline.doubts == ()


def test_faults_in_corrections_point_at_the_brief(tmp_path: Path):
    save(tmp_path, band(form="A").samples)
    with pytest.raises(BadInput, match=r"TML071 .*brief\.yaml:4 music\.corrections\.end_at"):
        brief(tmp_path, "track: track.wav\ncorrections: {bar_1_at: 5, end_at: 4}")
    with pytest.raises(BadInput, match=r"TML037 .*the brief says 99 bars"):
        brief(tmp_path, "track: track.wav\nbars: 99")
    with pytest.raises(BadInput, match=r"cannot both begin a phrase when phrases have 8 bars"):
        brief(tmp_path, "track: track.wav\nphrase_bars: 8\ncorrections: {phrase_starts: [1, 6]}")


def test_corrections_are_for_tracks_only():
    with pytest.raises(ValueError, match="corrections are for a track"):
        Music.model_validate({"tempo": 90, "bars": 8, "corrections": {"bar_1_at": 1.0}})


def test_music_that_begins_at_once_keeps_its_first_beat(tmp_path: Path):
    played = band(100, 4, "AB", lead_s=0.0)
    timeline = listen(save(tmp_path, played.samples), None, (90, 110))
    assert timeline.before == ()
    assert (timeline.beats[0].at_s, timeline.beats[0].in_bar) == (pytest.approx(0, abs=0.03), 1)


def test_without_dance_or_tempo_it_asks(tmp_path: Path):
    path = save(tmp_path, band(96, 4, "AABA").samples)
    told, untold = listen(path, None, (85, 110)), listen(path)
    assert told.confidence["beats"] > ASK_BELOW > untold.confidence["beats"]
    assert not any("The beat is not sure" in doubt for doubt in told.doubts)
    assert any("say the dance" in doubt for doubt in untold.doubts)
    assert untold.confidence["bars"] < ASK_BELOW
