"""What people write for a figure, and which figure is meant."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from composer.brief.names import FigureNames, plain
from composer.errors import Where
from tests.builders import a_catalogue, a_figure

CATALOGUE = a_catalogue([a_figure("one/turn"), a_figure("two/turn"), a_figure("one/side-step"), a_figure("three/rock")])


def names(*dances: str) -> FigureNames:
    return FigureNames(CATALOGUE, dances, elsewhere=["four/hop"])


@pytest.mark.parametrize(
    "written", ["side-step", "Side Step", " SIDE__step ", "one/side-step", "One / Side step", "ｓｉｄｅ step"]
)
def test_case_gaps_and_width_make_no_difference(written: str) -> None:
    assert names("one", "two").find(written, Where()) == "one/side-step"


def test_a_stem_of_two_dances_is_refused_with_both_ids_and_clear_when_only_one_is_danced() -> None:
    both = names("one", "two")
    assert both.find("turn", Where()) is None
    assert [(f.code, f.remedy) for f in both.faults] == [("BRF022", "Write 'one/turn' or 'two/turn'.")]
    assert names("two").find("turn", Where()) == "two/turn"


def test_a_figure_of_another_dance_is_told_as_such_unless_anywhere_is_fine() -> None:
    for name in ("rock", "three/rock", "hop", "four/hop"):
        asked = names("one")
        assert asked.find(name, Where()) is None
        assert [f.code for f in asked.faults] == ["BRF026"]
        assert asked.find(name, Where(), anywhere=True) in {"three/rock", "four/hop"}


@given(st.text(max_size=60))
def test_no_text_is_too_strange_and_evening_out_twice_changes_nothing(text: str) -> None:
    asked = names("one", "two")
    found = asked.find(text, Where())
    assert (found is None) == (len(asked.faults) == 1)
    assert plain(plain(text)) == plain(text)
