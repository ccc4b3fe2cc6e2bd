"""Description length: runs and repeated blocks are told once, nothing is lost in the telling."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from composer.revise.remember import Telling, told_shortly
from composer.routine import Placed, Routine


def a_dance(names: str) -> Routine:
    placed = tuple(Placed(name, 12 * i, 12 * i + 12, 0) for i, name in enumerate(names))
    return Routine("x", ("test",), 12 * len(names), placed)


def spelled(telling: Telling) -> str:
    blocks = dict(telling.blocks)

    def out(name: str) -> str:
        return "".join(out(inner) * times for inner, times in blocks[name]) if name in blocks else name

    return "".join(out(name) * times for name, times in telling.things)


def test_a_block_that_returns_is_learned_once() -> None:
    assert told_shortly(a_dance("abcd")).length == 4
    assert told_shortly(a_dance("abcdabcd")).length == 4 + 2
    assert told_shortly(a_dance("aaaa")).length == 2
    assert told_shortly(a_dance("abab")).length == 4, "naming a block of two for two uses saves nothing"
    assert told_shortly(a_dance("ababab")).length == 2 + 2
    assert told_shortly(a_dance("abcxabcyabc")).figures == 5


@given(st.text("abc", min_size=1, max_size=24))
def test_nothing_is_lost_and_it_is_never_longer(names: str) -> None:
    telling = told_shortly(a_dance(names))
    assert spelled(telling) == names
    assert telling.figures == len(set(names))
    assert telling.figures <= telling.length <= len(names)
