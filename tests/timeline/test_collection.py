"""A published fiddle collection that music21 ships: its dance tunes are whole numbers of eight-bar phrases.

Facts: tests/facts/music21_ryans_summary.csv, counted once over the whole collection from note lengths alone (the
share of tunes within half a bar of a multiple of 8). Here bars are counted after repeats, by this tool.
"""

from __future__ import annotations

import csv
from collections import Counter
from pathlib import Path

import pytest

from composer.errors import BadInput
from composer.timeline import Timeline, assemble, read_score

FACTS = Path(__file__).parents[1] / "facts" / "music21_ryans_summary.csv"
SAMPLE = {
    # name of the tune in the collection: bars and letters, read off the printed notes
    "AcaciaReel": (32, "AABB"),
    "AdmiralsHornpipe": (32, "AABB"),
    "AmericanHornpipe": (32, "AABB"),
    "BelleOfTheKitchenJig": (32, "AABB"),
    "BillyORourkesJig": (32, "AABB"),
    "AWillieWeHaveMissdYouStrathspey": (16, "AB"),
    "42dHighlandRegimentStrathspey": (32, "AAB"),  # 8 + 8 + 16 bars
    "ArbanaReel": (32, "AABBCCDD"),  # four parts of 4 bars
}


def folder() -> Path:
    from music21 import corpus

    return Path(corpus.getWork("ryansMammoth/AcaciaReel")).parent


def tune(name: str) -> Timeline:
    return assemble(read_score(folder() / f"{name}.abc", tempo=110))


@pytest.mark.parametrize("name", SAMPLE)
def test_dance_tunes_of_32_and_16_bars(name: str):
    timeline = tune(name)
    bars = timeline.length_beats // timeline.beats_per_bar
    assert (bars, "".join(section.label for section in timeline.sections)) == SAMPLE[name]


def test_jigs_are_counted_in_two():
    assert (tune("BelleOfTheKitchenJig").beats_per_bar, tune("BelleOfTheKitchenJig").length_beats) == (2, 64)
    assert tune("AWillieWeHaveMissdYouStrathspey").beats_per_bar == 4


def test_a_tune_whose_repeats_do_not_fit_together_is_refused():
    with pytest.raises(BadInput, match="TML026"):
        tune("BoyneHuntReel")


@pytest.mark.slow
def test_every_fourth_tune_has_whole_eight_bar_phrases():
    with FACTS.open(encoding="utf-8") as stream:
        facts = {row["tune_type"]: row for row in csv.DictReader(stream)}
    read: dict[str, Counter[int]] = {}
    refused = total = 0
    for path in sorted(folder().glob("*.abc"))[::4]:
        text = path.read_text(encoding="utf-8", errors="replace")
        kind = next((line[2:].strip().capitalize() for line in text.splitlines() if line.startswith("R:")), "")
        total += 1
        try:
            bars = len(read_score(path, tempo=110).bars)
        except BadInput:
            refused += 1
            continue
        read.setdefault(kind, Counter())[bars] += 1
    assert refused / total < 0.08
    for kind in ("Reel", "Hornpipe", "Jig", "Strathspey"):
        number = sum(read[kind].values())
        whole = sum(count for bars, count in read[kind].items() if bars % 8 == 0)
        for found, expected in (
            (whole / number, float(facts[kind]["share"])),
            (read[kind][32] / number, int(facts[kind]["exact_32"]) / int(facts[kind]["n"])),
        ):
            margin = 3 * (expected * (1 - expected) / number) ** 0.5 + 1 / number
            assert found >= expected - margin, (kind, found, expected, read[kind])
