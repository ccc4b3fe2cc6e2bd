"""The network kept between problems is always the one a new building would give."""

from __future__ import annotations

import gc
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from composer.collecting import uncollected
from composer.network import build
from composer.network.kept import build_anew
from composer.problem import Problem
from tests.builders import a_catalogue, a_figure, a_problem, a_timeline, tiny_problems

FIGURES = [
    a_figure("a", beats=4, exit="two-hands", turn=2),
    a_figure("b", beats=4, entry="two-hands", exit="closed", starts_on=(1,)),
    a_figure("c", beats=2, entry="two-hands"),
]
CATALOGUE = a_catalogue(FIGURES)
MUSIC = a_timeline(4)


def problem(**given: object) -> Problem:
    """The same catalogue and music, whatever else is asked."""
    return a_problem(catalogue=CATALOGUE, timeline=MUSIC, **given)  # type: ignore[arg-type]


def test_other_wishes_have_the_same_network() -> None:
    first = build(problem())
    again = build(problem(wishes={"never": ["test/c"], "repeats": {"most": 2}}, couple={"leader": {"level": 3}}))
    assert again is first


@pytest.mark.parametrize(
    "other",
    [
        problem(room={"style": "spot", "width": 5, "depth": 4}),
        problem(room={"style": "travelling", "width": 20, "depth": 10}),
        problem(wishes={"opening": {"faces": "W"}}),
        replace(problem(), timeline=a_timeline(3)),
        replace(problem(), timeline=a_timeline(4, first_beat=1, drop_last=3)),
        replace(problem(), catalogue=a_catalogue(FIGURES[:2])),
        replace(problem(), catalogue=a_catalogue([a_figure("a", beats=8), *FIGURES[1:]])),
    ],
    ids=["a spot", "a travelling room", "a facing", "less music", "another beat", "a figure less", "a figure changed"],
)
def test_whatever_shapes_the_network_has_it_built_anew(other: Problem) -> None:
    for one, two in ((problem(), other), (other, problem())):
        build(one)
        assert build(two) == build_anew(two)
    assert build_anew(other) != build_anew(problem())


@given(tiny_problems(), tiny_problems(), st.booleans(), st.booleans())
def test_any_change_of_the_brief_gives_the_network_of_the_new_brief(
    first: Problem, second: Problem, same_music: bool, both: bool
) -> None:
    changed = replace(second, catalogue=first.catalogue, timeline=first.timeline if same_music else second.timeline)
    build(first)
    assert build(changed) == build_anew(changed)
    if both:
        build(first)
        couple = changed.brief.couple.model_copy(update={"both_lead": 50})
        handed = replace(changed, brief=changed.brief.model_copy(update={"couple": couple}))
        assert build(handed) == build_anew(handed)


def test_garbage_is_collected_as_before_even_after_a_fault() -> None:
    @uncollected()
    def faulty() -> None:
        assert not gc.isenabled()
        raise RuntimeError

    with pytest.raises(RuntimeError):
        faulty()
    assert gc.isenabled()
