"""A score played to sound and heard again: the beats heard are those of the score, within 20 ms on average.

Tunes of a published fiddle collection that music21 ships, played from their notes by the tests' own tones (an upper
octave, with a drone on the beats of the bar as an accompanist keeps time). The score route says when every beat is.
"""

from __future__ import annotations

from pathlib import Path

import mir_eval
import numpy as np
import pytest

from composer.listening import listen
from composer.timeline import assemble, read_score
from tests.listening.sounds import RATE, save, tone

TUNES = ("AcaciaReel", "AdmiralsHornpipe", "AmericanHornpipe")
TEMPO = 108
LEAD_S = 0.5


def played(path: Path) -> tuple[np.ndarray, np.ndarray, int]:
    """(samples, seconds of the score's beats, beats per bar)."""
    from music21 import converter

    timeline = assemble(read_score(path, tempo=TEMPO))
    beats = LEAD_S + np.array([beat.at_s for beat in timeline.beats])
    score = converter.parse(path).expandRepeats().flatten()
    samples = np.zeros(int((beats[-1] + 3) * RATE))

    def put(at_s: float, sound: np.ndarray) -> None:
        begin = round(at_s * RATE)
        samples[begin : begin + len(sound)] += sound[: len(samples) - begin]

    quarter_s = 60 / TEMPO * score.getElementsByClass("TimeSignature")[0].denominator / 4
    for note in score.notes:
        at_s = LEAD_S + float(note.offset) * quarter_s
        put(at_s, tone(note.pitches[-1].frequency, max(0.12, float(note.quarterLength) * quarter_s * 0.9), 5, 0.25))
    for beat in timeline.beats:
        strength = 0.5 if beat.in_bar == 1 else 0.25
        put(LEAD_S + beat.at_s, tone(73.4, 0.3, 8, strength))
    return samples, beats, timeline.beats_per_bar


@pytest.mark.parametrize("name", TUNES)
def test_beats_of_a_rendered_score_are_heard_within_20_ms(tmp_path: Path, name: str):
    from music21 import corpus

    samples, beats, beats_per_bar = played(Path(corpus.getWork("ryansMammoth/AcaciaReel")).parent / f"{name}.abc")
    assert len(beats) == 32 * beats_per_bar
    track = save(tmp_path, (0.6 * samples / np.abs(samples).max()).astype(np.float32))
    timeline = listen(track, None, (TEMPO / 1.1, TEMPO * 1.1))
    heard = np.array([beat.at_s for beat in (*timeline.before, *timeline.beats)])
    off = np.abs(heard[:, None] - beats[None]).min(axis=0)
    assert off.mean() < 0.020
    assert mir_eval.beat.f_measure(beats, heard) > 0.97
