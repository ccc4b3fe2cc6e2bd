"""How much there is to remember: a routine told as shortly as repeated blocks allow.

A figure danced several times in a row is one thing and its number, a block of figures that comes again is learned once
and then named. The description length is the number of such things, after taking out the block that saves most again
and again (a greedy choice: a shorter telling may exist). Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from composer.revise.kept import danced_as
from composer.routine import Routine

Thing = tuple[str, int]
"""(figure or the name of a block, how often in a row)."""


@dataclass(frozen=True)
class Telling:
    """The routine told shortly: ``things`` in order, ``blocks`` by name with what is in them, and the length."""

    things: tuple[Thing, ...]
    blocks: tuple[tuple[str, tuple[Thing, ...]], ...]
    figures: int

    @property
    def length(self) -> int:
        """Things to remember: everything told, blocks told once."""
        return _cost(self.things) + sum(_cost(block) for _, block in self.blocks)


def told_shortly(routine: Routine) -> Telling:
    """The routine as things and blocks."""
    names = [danced_as(placed.figure, placed.swapped) for placed in routine.figures]
    things: list[Thing] = [(name, len(list(run))) for name, run in groupby(names)]
    blocks: list[tuple[str, tuple[Thing, ...]]] = []
    while (block := _best_block(things)) is not None:
        name = f"block {len(blocks) + 1}"
        blocks.append((name, block))
        things = _runs(_replaced(things, block, name))
    return Telling(tuple(things), tuple(blocks), len(set(names)))


def _cost(things: Sequence[Thing]) -> int:
    return sum(1 if times == 1 else 2 for _, times in things)


def _best_block(things: list[Thing]) -> tuple[Thing, ...] | None:
    """The block that saves most when told once; of equals the longer, then the earlier one."""
    best: tuple[int, int, int] | None = None
    chosen: tuple[Thing, ...] | None = None
    for length in range(2, len(things) // 2 + 1):
        for start in range(len(things) - 2 * length + 1):
            block = tuple(things[start : start + length])
            times = _times(things, block)
            if times >= 2:
                cost = _cost(block)
                saved = times * cost - times - cost
                mark = (saved, length, -start)
                if saved > 0 and (best is None or mark > best):
                    best, chosen = mark, block
    return chosen


def _times(things: list[Thing], block: tuple[Thing, ...]) -> int:
    found, at = 0, 0
    while at + len(block) <= len(things):
        if tuple(things[at : at + len(block)]) == block:
            found += 1
            at += len(block)
        else:
            at += 1
    return found


def _replaced(things: list[Thing], block: tuple[Thing, ...], name: str) -> list[Thing]:
    found: list[Thing] = []
    at = 0
    while at < len(things):
        if tuple(things[at : at + len(block)]) == block:
            found.append((name, 1))
            at += len(block)
        else:
            found.append(things[at])
            at += 1
    return found


def _runs(things: list[Thing]) -> list[Thing]:
    """Blocks that follow themselves as one thing and a number."""
    found: list[Thing] = []
    for name, times in things:
        if found and found[-1][0] == name and name.startswith("block "):
            found[-1] = (name, found[-1][1] + times)
        else:
            found.append((name, times))
    return found
