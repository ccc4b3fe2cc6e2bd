"""Lengths that can be filled: Sylvester's formula, the tables of sixes and eights, and joins counted by hand."""

from __future__ import annotations

import csv
import re
from math import gcd
from pathlib import Path

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from composer.explain.lengths import around, can_words, danceable, largest_gap, made_of, representable
from tests.builders import a_catalogue, a_figure

FACTS = Path(__file__).parents[1] / "facts" / "phrasing.csv"


@given(st.integers(2, 30), st.integers(2, 30))
def test_two_lengths_without_common_factor_leave_sylvesters_gaps(a: int, b: int) -> None:
    """J. J. Sylvester 1882/1884: the largest gap is ab - a - b, and (a - 1)(b - 1) / 2 numbers are gaps."""
    assume(gcd(a, b) == 1)
    largest = a * b - a - b
    possible = representable([a, b], largest + a)
    assert largest_gap([a, b]) == largest
    assert not possible[largest]
    assert all(possible[largest + 1 :])
    assert sum(not one for one in possible) == (a - 1) * (b - 1) // 2


@given(st.lists(st.integers(1, 12), min_size=1, max_size=4), st.integers(0, 60))
def test_representable_is_what_trying_every_number_of_each_finds(lengths: list[int], total: int) -> None:
    sums = {0}
    for length in set(lengths):
        sums = {
            one + length * times
            for one in sums
            for times in range(total // length + 1)
            if one + length * times <= total
        }
    assert representable(lengths, total) == [n in sums for n in range(total + 1)]


def test_lengths_with_a_common_factor_have_no_largest_gap() -> None:
    assert largest_gap([6, 8]) is None
    assert largest_gap([1, 7]) == -1
    assert largest_gap([]) is None


def _rows() -> list[dict[str, str]]:
    with FACTS.open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def _table() -> list[tuple[int, set[tuple[int, int]]]]:
    """(counts, all (sixes, eights)) from the rows "32 = 6a+8b" of tests/facts/phrasing.csv (status: derived)."""
    found = []
    for row in _rows():
        match = re.fullmatch(r"(\d+) = 6a\+8b", row["item"])
        if match:
            pairs = {(int(a), int(b)) for a, b in re.findall(r"\((\d+),(\d+)\)", row["value"])}
            found.append((int(match.group(1)), pairs))
    return found


@pytest.mark.parametrize(("counts", "pairs"), _table())
def test_the_tables_of_sixes_and_eights(counts: int, pairs: set[tuple[int, int]]) -> None:
    tried = {(a, b) for a in range(counts // 6 + 1) for b in range(counts // 8 + 1) if 6 * a + 8 * b == counts}
    assert tried == pairs
    assert representable([6, 8], counts)[counts]
    assert representable([6], counts)[counts] == any(b == 0 for _, b in pairs)


def test_the_table_is_there() -> None:
    assert [counts for counts, _ in _table()] == [32, 48, 64]


@pytest.mark.parametrize(("one", "other", "meets"), [(6, 8, 24), (6, 16, 48), (6, 32, 96)])
def test_sixes_meet_phrases_where_the_facts_say(one: int, other: int, meets: int) -> None:
    """Rows "lcm(6,8)" and so on of tests/facts/phrasing.csv (derived)."""
    assert next(n for n in range(other, 200, other) if representable([one], n)[n]) == meets
    rows = {row["item"]: row["value"] for row in _rows()}
    assert rows[f"lcm({one},{other})"] == str(meets)


def test_joins_beats_and_boundaries_narrow_what_lengths_alone_allow() -> None:
    figures = [
        a_figure("a", beats=6),
        a_figure("out", beats=4, exit="two-hands"),
        a_figure("on-one", beats=2, starts_on=(1,)),
    ]
    known = a_catalogue(figures)
    bars = [n % 4 + 1 for n in range(24)]
    by_id = {figure.id: figure for figure in figures}
    alone = danceable(known, {"test/a": by_id["test/a"]}, 24, bars)
    assert [n for n, can in enumerate(alone) if can and n] == [6, 12, 18, 24]
    with_out = danceable(known, {name: by_id[name] for name in ("test/a", "test/out")}, 16, bars)
    assert [n for n, can in enumerate(with_out) if can and n] == [4, 6, 10, 12, 16]  # nothing leaves two hands
    with_one = danceable(known, {name: by_id[name] for name in ("test/a", "test/on-one")}, 9, bars)
    assert [n for n, can in enumerate(with_one) if can and n] == [2, 6, 8]  # after 2 counts only a six may follow
    cut = danceable(known, {"test/a": by_id["test/a"]}, 24, bars, boundaries=[8])
    assert not cut[24]


def test_words() -> None:
    assert made_of([6]) == "sixes"
    assert made_of([7, 7]) == "figures of 7 counts"
    assert made_of([9, 6, 12]) == "6, 9 and 12"
    assert around(representable([6], 40), 32) == (30, 36)
    assert can_words(30, 36) == "30 and 36 can"
    assert can_words(None, 36) == "36 can"
    assert can_words(None, None) == ""
