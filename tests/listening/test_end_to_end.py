"""From a sound file to a checked routine whose peaks fall on the hits of the track."""

from __future__ import annotations

from pathlib import Path

import pytest

from composer.brief import load_problem
from composer.outcome import Found
from composer.solve import solve
from composer.verify import verify
from tests.listening.sounds import band, save


@pytest.mark.slow
def test_a_routine_to_a_track_dances_its_hits(tmp_path: Path):
    played = band(88, 3, "AAB", lead_s=0.4)
    save(tmp_path, played.samples, "waltz.flac")
    (tmp_path / "brief.yaml").write_text(
        f"""format: brief/1
title: From a track
dance: waltz
music:
  track: waltz.flac
  phrase_bars: 8
  last_bar: 24
  corrections: {{bar_1_at: {played.beats[0]:.2f}}}
  hits: [{{bar: 10, beat: 2}}, {{bar: 18, beat: 2}}]
couple: {{leader: {{level: 3}}, follower: {{level: 3}}}}
wishes: {{hits: must}}
""",
        encoding="utf-8",
    )
    problem = load_problem(tmp_path / "brief.yaml")
    assert problem.timeline.doubts == ()
    hits = {accent.tick for accent in problem.timeline.accents}
    assert len(hits) == 2
    for tick, bar in zip(sorted(hits), (10, 18), strict=True):
        assert problem.timeline.seconds_at(tick) == pytest.approx(played.beats[3 * (bar - 1) + 1], abs=0.03)
    outcome = solve(problem, time_limit_s=60)
    assert isinstance(outcome, Found)
    figures = problem.catalogue.figures
    peaks = {
        placed.start_tick + peak
        for placed in outcome.routine.figures
        if (peak := figures[placed.figure].peak_tick) is not None
    }
    assert hits <= peaks
    assert verify(problem, outcome.routine) == []
