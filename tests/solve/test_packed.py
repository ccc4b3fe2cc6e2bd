"""Sums side by side in words behave like sums of their own."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from scipy.sparse import csr_matrix

from composer.solve.columns import Columns
from composer.solve.packed import BITS, Packed


@st.composite
def rows(draw: st.DrawFn) -> tuple[np.ndarray, np.ndarray]:
    """(weights, rows x arcs, and the most of every row), many of them near the edges of their fields."""
    number, arcs = draw(st.integers(0, 40)), draw(st.integers(1, 6))
    most = draw(
        st.lists(st.sampled_from([0, 1, 2, 3, 4, 7, 8, 15, 31, 1000, 29_999]), min_size=number, max_size=number)
    )
    weights = draw(
        st.lists(
            st.lists(st.sampled_from([0, 0, 1, 2, 3, 8, 999, 14_000]), min_size=arcs, max_size=arcs),
            min_size=number,
            max_size=number,
        )
    )
    return np.array(weights, dtype=np.int64).reshape(number, arcs), np.array(most, dtype=np.int64)


ONE = np.zeros(1, dtype=np.int64)


def danced(packed: Packed, weights: np.ndarray, most: np.ndarray, walk: list[int]) -> tuple[np.ndarray, np.ndarray]:
    """Packed and plain sums of a walk, which leaves out every arc with which a row has too much: both say the same."""
    sums, plain = packed.nothing(), np.zeros(len(most), dtype=np.int64)
    for step in walk:
        arc = np.array([step % weights.shape[1]])
        fits = (plain + weights[:, arc[0]] <= most).all()
        assert bool(packed.fits(sums, ONE, arc)[0]) == fits
        if fits:
            sums, plain = packed.after(sums, ONE, arc), plain + weights[:, arc[0]]
    return sums[0], plain


@given(rows(), st.lists(st.integers(0, 5), max_size=12))
def test_a_walk_fits_exactly_while_no_row_has_too_much(table: tuple[np.ndarray, np.ndarray], walk: list[int]) -> None:
    weights, most = table
    danced(Packed(csr_matrix(weights), most), weights, most, walk)


@given(rows(), st.lists(st.lists(st.integers(0, 5), max_size=4), min_size=1, max_size=5))
def test_the_least_of_several_walks(table: tuple[np.ndarray, np.ndarray], walks: list[list[int]]) -> None:
    """The least sums of walks allow just what the least of plain sums allow."""
    weights, most = table
    packed = Packed(csr_matrix(weights), most)
    sums, plain = zip(*(danced(packed, weights, most, walk) for walk in walks), strict=True)
    together, least = packed.least(np.array(sums), ONE), np.min(plain, axis=0) if len(most) else np.zeros(0)
    for arc in range(weights.shape[1]):
        assert bool(packed.fits(together, ONE, np.array([arc]))[0]) == (least + weights[:, arc] <= most).all()


def test_many_small_rows_take_few_words() -> None:
    packed = Packed(csr_matrix(np.ones((300, 2), dtype=np.int64)), np.full(300, 3))
    assert packed.words == -(-300 // (BITS // 3))


def test_tables_are_joined_and_taken_by_rows() -> None:
    from dataclasses import dataclass

    @dataclass
    class Inner(Columns):
        number: np.ndarray

    @dataclass
    class Outer(Columns):
        name: np.ndarray
        inner: Inner

    parts = [Outer(np.array(name), Inner(np.arange(6).reshape(2, 3) + base)) for name, base in (("ab", 0), ("cd", 10))]
    for part in parts:
        part.name = np.array(list(str(part.name)))
    assert parts[0].bytes_each == 4 + 24
    both = Outer.joined(parts)
    assert both.name.tolist() == ["a", "b", "c", "d"]
    assert both.take(np.array([3, 0])).inner.number.tolist() == [[13, 14, 15], [0, 1, 2]]
