"""Many small sums side by side in whole words: what a walk has used of every row that limits something.

A row that allows ``most`` has a field of a few bits. Its sum begins so far below a power of two that the highest bit of
the field is set as soon as, and only if, the sum becomes larger than ``most``; a walk whose sums are all within bounds
can take one more figure without spilling into the next field. A walk keeps 300 rows of at most 3 in 15 words.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np

from composer.solve.linear import Flags, Ints

BITS: Final = 62
"""Bits of a word that are used; the sign is left alone."""


class Packed:
    """Sums of some rows, for arcs numbered as the columns of ``weights`` (rows x arcs, CSR, nothing below zero)."""

    def __init__(self, weights: Any, most: Ints) -> None:
        widths = [int(limit).bit_length() + 1 for limit in most.tolist()]
        self.word, self.shift = np.zeros((2, len(widths)), dtype=np.int64)
        word, used = 0, 0
        for row, width in enumerate(widths):
            if used + width > BITS:
                word, used = word + 1, 0
            self.word[row], self.shift[row] = word, used
            used += width
        self.most, self.width = most.astype(np.int64), np.array(widths, dtype=np.int64)
        self.words = word + 1 if widths else 0
        self.none = (np.int64(1) << (self.width - 1)) - 1 - self.most
        """What stands in a field when nothing has been used."""
        self.full = np.zeros(self.words, dtype=np.int64)
        np.bitwise_or.at(self.full, self.word, np.int64(1) << (self.shift + self.width - 1))
        self.add = np.zeros((weights.shape[1], self.words), dtype=np.int64)
        """By arc and word: what is added when the arc is danced."""
        rows, arcs = np.repeat(np.arange(weights.shape[0]), np.diff(weights.indptr)), weights.indices
        value = np.minimum(weights.data, self.most[rows] + 1).astype(np.int64) << self.shift[rows]
        np.add.at(self.add, (arcs, self.word[rows]), value)
        self.words_of, self.adds = few_of_many(self.add)

    def nothing(self) -> Ints:
        """The sums of a walk that has not begun, (1, words)."""
        sums = np.zeros((1, self.words), dtype=np.int64)
        np.add.at(sums[0], self.word, self.none << self.shift)
        return sums

    def fits(self, sums: Ints, walk: Ints, arc: Ints) -> Flags:
        """Whether each walk may go on with its arc; ``sums`` are those of all walks."""
        ok = np.ones(len(walk), dtype=np.bool_)
        for words, adds in zip(self.words_of.T, self.adds.T, strict=True):
            word = words[arc]
            ok &= (sums[walk, word] + adds[arc]) & self.full[word] == 0
        return ok

    def after(self, sums: Ints, walk: Ints, arc: Ints) -> Ints:
        """The sums of walks gone on with their arcs."""
        return sums[walk] + self.add[arc]

    def least(self, sums: Ints, begins: Ints) -> Ints:
        """The least of every sum in runs of walks that begin at ``begins``."""
        if not self.words:
            return sums[begins]
        together = np.zeros((len(begins), self.words), dtype=np.int64)
        for row in range(len(self.word)):
            word, shift = self.word[row], self.shift[row]
            field = (sums[:, word] >> shift) & ((np.int64(1) << self.width[row]) - 1)
            together[:, word] += np.minimum.reduceat(field, begins) << shift
        return together


def few_of_many(weights: Ints) -> tuple[Ints, Ints]:
    """Per arc the columns that are not zero and their numbers, side by side; column 0 with nothing fills up."""
    arc, column = np.nonzero(weights)
    begins = np.searchsorted(arc, np.arange(len(weights)))
    place = np.arange(len(arc)) - begins[arc]
    shape = len(weights), int(place.max(initial=-1)) + 1
    columns, numbers = np.zeros(shape, dtype=np.int64), np.zeros(shape, dtype=np.int64)
    columns[arc, place], numbers[arc, place] = column, weights[arc, column]
    return columns, numbers
