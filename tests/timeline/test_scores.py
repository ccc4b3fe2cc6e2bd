"""MusicXML, ABC and MIDI files as music21 reads them, and the tool's own tunes."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from composer.errors import BadInput
from composer.resources import shipped
from composer.timeline import Timeline, assemble, read_score
from tests.timeline.scores import abc, attributes, mark, metronome, midi, put, words, xml_measure, xml_score


def read(path: Path, **more: object) -> Timeline:
    return assemble(read_score(path, **more))  # type: ignore[arg-type]


def refusal(path: Path, **more: object) -> str:
    with pytest.raises(BadInput) as caught:
        read_score(path, **more)  # type: ignore[arg-type]
    assert len(caught.value.diagnostics) == 1
    return str(caught.value)


def shape(timeline: Timeline) -> str:
    return " ".join(f"{s.label}{s.beats}" for s in timeline.sections)


EIGHT_A = "|".join(["CDEF", "GFED"] * 4)
EIGHT_B = "|".join(["cBAG", "ABcd"] * 4)


def test_an_aabb_tune_is_64_beats_in_cut_time(tmp_path: Path):
    timeline = read(put(tmp_path, "t.abc", abc(f"|:{EIGHT_A}:||:{EIGHT_B}:|", metre="2/2", tempo="1/2=116")))
    assert timeline.title == "A tune"
    assert shape(timeline) == "A16 A16 B16 B16"
    assert timeline.beats_per_minute == pytest.approx(116)


def test_first_and_second_endings(tmp_path: Path):
    body = "|:" + "|".join(["CDEF"] * 7) + "|1 GFED:|2 C4||" + EIGHT_B + "|]"
    assert shape(read(put(tmp_path, "t.abc", abc(body)))) == "A32 A32 B32"


def test_a_jig_with_a_pickup(tmp_path: Path):
    bar = "cde fed"
    body = f"|:G|{'|'.join([bar] * 7)}|c3 e2:||:G|{'|'.join([bar] * 7)}|e3 c2:|"
    timeline = read(put(tmp_path, "t.abc", abc(body, metre="6/8", tempo="3/8=112", unit="1/8")))
    assert (timeline.length_beats, timeline.beats_per_bar) == (64, 2)
    assert timeline.beats_per_minute == pytest.approx(112)
    assert timeline.beats[0].at_s == pytest.approx(60 / 112 / 3)


def test_a_collection_needs_the_tunes_number(tmp_path: Path):
    both = abc(EIGHT_A, number=3) + "\n" + abc(f"{EIGHT_A}|{EIGHT_B}", number=7)
    path = put(tmp_path, "t.abc", both)
    assert read(path, tune=3).length_beats == 32
    assert read(path, tune=7).length_beats == 64
    assert "holds 2 tunes (3, 7)" in refusal(path)
    assert "has no tune 4; it holds 3, 7" in refusal(path, tune=4)


def test_missing_metre_and_tempo_are_asked_for(tmp_path: Path):
    path = put(tmp_path, "t.abc", abc(EIGHT_A, metre=None, tempo=None))
    assert "TML027" in refusal(path)
    assert "music.tempo" in refusal(path, beats_per_bar=4)
    assert read(path, beats_per_bar=4, tempo=100).beats_per_minute == pytest.approx(100)


def test_jumps_that_cannot_be_followed_are_refused_with_their_line(tmp_path: Path):
    for said in ('"^D.C. al Fine"', "!D.S.!", "!dacapo!"):
        text = refusal(put(tmp_path, "t.abc", abc(f"CDEF|GFED|\nCDEF|{said}C4|]")))
        assert "t.abc:8: the jump" in text
    assert read(put(tmp_path, "t.abc", abc('"Dm"CDEF|"DC"G4|'.replace('"DC"', '"C"')))).length_beats == 8


def test_fermatas_are_said_and_not_held(tmp_path: Path):
    timeline = read(put(tmp_path, "t.abc", abc("CDEF|G2HG2|CDE!fermata!F|")))
    assert timeline.length_beats == 12
    assert timeline.notes[0].startswith("2 fermatas are not held")


def test_xml_da_capo_al_fine(tmp_path: Path):
    bars = [xml_measure(1, attributes() + metronome(120)), xml_measure(2, words("Fine")), xml_measure(3)]
    bars.append(xml_measure(4, words("D.C. al Fine")))
    timeline = read(put(tmp_path, "t.musicxml", xml_score(bars)))
    assert timeline.length_beats == 6 * 4


def test_xml_da_capo_without_a_fine_is_refused(tmp_path: Path):
    bars = [xml_measure(1, attributes() + metronome(120)), xml_measure(2, words("D.C. al Fine"))]
    assert "TML026" in refusal(put(tmp_path, "t.xml", xml_score(bars)))


def test_xml_rehearsal_marks_in_another_part(tmp_path: Path):
    melody = [xml_measure(n, attributes(3) + metronome(90) if n == 1 else "", quarters=3) for n in range(1, 17)]
    marks = {1: mark("Verse"), 9: mark("Chorus")}
    other = [xml_measure(n, (attributes(3) if n == 1 else "") + marks.get(n, ""), quarters=3) for n in range(1, 17)]
    assert shape(read(put(tmp_path, "t.xml", xml_score(melody, other)))) == "Verse24 Chorus24"


def test_xml_tempo_change_and_words_without_a_number(tmp_path: Path):
    bars = [xml_measure(1, attributes() + words("Andante")), xml_measure(2)]
    path = put(tmp_path, "t.xml", xml_score(bars))
    assert "music.tempo" in refusal(path)
    bars = [xml_measure(1, attributes() + metronome(60)), xml_measure(2, metronome(120))]
    assert read(put(tmp_path, "t.xml", xml_score(bars))).end_s == pytest.approx(6.0)


def test_xml_without_a_time_signature(tmp_path: Path):
    bars = [xml_measure(1, "<attributes><divisions>1</divisions></attributes>" + metronome(60)), xml_measure(2)]
    path = put(tmp_path, "t.xml", xml_score(bars))
    assert "TML027" in refusal(path)
    assert read(path, beats_per_bar=4).length_beats == 8


def test_midi_is_exact(tmp_path: Path):
    timeline = read(put(tmp_path, "t.mid", midi([i / 2 for i in range(64)])))
    assert timeline.origin == "midi"
    assert (timeline.length_beats, timeline.beats_per_minute) == (32, pytest.approx(120))
    assert read(put(tmp_path, "w.mid", midi(range(24), metre=(3, 2), tempo=666_667))).beats_per_bar == 3


def test_midi_asks_for_metre_and_tempo(tmp_path: Path):
    path = put(tmp_path, "t.mid", midi(range(16), metre=None, tempo=None))
    assert "TML027" in refusal(path)
    assert "music.tempo" in refusal(path, beats_per_bar=4)
    assert read(path, beats_per_bar=4, tempo=90).length_beats == 16


def test_midi_lead_in_is_said(tmp_path: Path):
    timeline = read(put(tmp_path, "t.mid", midi(range(8, 24))))
    assert timeline.notes == ("The first 2 bars are silent; to dance from the first sound say first_bar: 3.",)


@pytest.mark.parametrize(("spread", "free"), [(0.0, False), (0.03, False), (0.5, True)])
def test_freely_played_midi_goes_the_audio_way(tmp_path: Path, spread: float, free: bool):
    chance = random.Random(1)
    onsets = [i / 2 + 1 + chance.uniform(-spread, spread) for i in range(200)]
    path = put(tmp_path, "t.mid", midi(onsets, length=0.2))
    if free:
        text = refusal(path)
        assert "TML031" in text
        assert "'track'" in text
    else:
        assert read(path)


def test_the_tools_own_tunes():
    waltz = read(shipped("scenarios") / "first-dance" / "lanterns-by-the-river.abc")
    assert shape(waltz) == "A24 A24 B24 A24"
    assert (waltz.beats_per_bar, waltz.beats_per_minute) == (3, pytest.approx(88))
    show = read(shipped("scenarios") / "showcase" / "the-clock-strikes-nine.musicxml")
    assert shape(show) == "Intro24 A48 B48 A48 Finale24"
    assert show.notes == ("The tempo changes once.",)
    country = read(shipped("scenarios") / "travelling" / "gravel-road-home.abc")
    assert shape(country) == "A32 B32 A32"
    assert country.beats_per_minute == pytest.approx(112)
