"""Two-column beat files: what is read, and what is refused with its line."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from composer.errors import BadInput
from composer.timeline import assemble, beats_from_text, faults, read_beat_file


def lines(metre: int, bars: int, gap: float = 0.5, first: int = 1, start: float = 0.0) -> list[str]:
    return [f"{start + i * gap:.3f}\t{(first - 1 + i) % metre + 1}" for i in range(metre * bars)]


def refused(text: str) -> list[str]:
    with pytest.raises(BadInput) as caught:
        beats_from_text(text, "my.beats")
    return [str(item) for item in caught.value.diagnostics]


@pytest.mark.parametrize("separator", ["\t", "  ", ",", ", ", " ; "])
def test_columns_and_comments(separator: str):
    text = "# tapped by hand\n\n" + "\n".join(line.replace("\t", separator) + " # x" for line in lines(3, 4))
    bars = beats_from_text(text, "my.beats")
    assert bars.beats_per_bar == 3
    assert [len(bar) for bar in bars.bars] == [3] * 4
    assert bars.end_s == pytest.approx(6.0)


def test_pickup_and_unfinished_bar():
    bars = beats_from_text("\n".join(lines(4, 3, first=4, start=1.0)), "my.beats")
    assert bars.pickup == (1.0,)
    assert [len(bar) for bar in bars.bars] == [4, 4]
    assert any("no full bar" in note for note in bars.notes)
    timeline = assemble(bars)
    assert [beat.in_bar for beat in timeline.before] == [4]
    assert timeline.end_s == 5.5


def test_a_bar_with_a_beat_more_is_kept_and_said():
    text = "\n".join([*lines(3, 2), "3.0 1", "3.5 2", "4.0 3", "4.5 4", *lines(3, 2, start=5.0)])
    bars = beats_from_text(text, "my.beats")
    assert [len(bar) for bar in bars.bars] == [3, 3, 4, 3, 3]
    assert "than 3: 3." in bars.notes[0]


def test_a_missing_beat_is_pointed_at():
    rows = lines(4, 4)
    del rows[7]
    rows[6:7] = ["3.0 3", "3.5 4"]
    bars = beats_from_text("\n".join([*rows[:8], "9.0 1", "9.5 2", "10.0 3", "10.5 4"]), "my.beats")
    assert any("is a beat missing" in note for note in bars.notes)


def test_each_bad_line_is_named():
    found = refused("0.0 1\nhello\n0.5 2\n0.4 3\n1.0 1\n1.5 3\nnan 1\n-1 1\n2.0 1.5\n2 3 4\n")
    assert [text.split(":")[1].split()[0] for text in found] == ["2", "7", "8", "9", "10", "4", "6"]
    assert "my.beats:6: beat 3 follows beat 1. After beat 1 comes beat 2" in found[-1]


def test_beats_without_a_bar():
    assert "no beat 1" in refused("0 2\n1 3\n")[0]
    assert "one beat only" in refused("0 1\n1 1\n2 1\n")[0]
    assert "no beat 1" in refused("# nothing\n")[0]


def test_a_whole_file_of_junk_is_summed_up():
    found = refused("x y\n" * 500)
    assert len(found) == 21
    assert "480 more" in found[-1]


def test_unreadable_files(tmp_path: Path):
    binary = tmp_path / "binary.beats"
    binary.write_bytes(bytes(range(256)))
    for path, code in ((tmp_path / "none.beats", "TML001"), (tmp_path, "TML001"), (binary, "TML002")):
        with pytest.raises(BadInput, match=code):
            read_beat_file(path)


@given(
    metre=st.integers(2, 7),
    bars=st.integers(1, 30),
    gaps=st.lists(st.integers(200, 1500), min_size=230, max_size=230),
    first=st.integers(1, 7),
)
def test_any_rising_beats_are_sound(metre: int, bars: int, gaps: list[int], first: int):
    first = min(first, metre)
    at, rows = 0, []
    for i in range(metre * (bars + 1)):
        at += gaps[i]
        rows.append(f"{at / 1000} {(first - 1 + i) % metre + 1}")
    read = beats_from_text("\n".join(rows), "my.beats")
    timeline = assemble(read)
    assert faults(timeline) == []
    assert {beat.in_bar for beat in timeline.beats} == set(range(1, metre + 1))
    assert len(timeline.before) == (metre - first + 1) % metre
