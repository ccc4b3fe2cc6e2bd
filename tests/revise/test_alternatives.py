"""Alternatives: as different and as good as asked; knobs move what they say; budgets say what to learn."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations

import pytest
from hypothesis import assume, given, settings

from composer.brief import load_problem
from composer.problem import Problem
from composer.revise.alternatives import Alternatives, Wanted, alternatives
from composer.revise.kept import changed_counts
from composer.revise.learnnext import learn_next
from composer.revise.styles import STYLES, style_named, style_points
from composer.rules import points_of
from composer.verify import verify
from tests.builders import a_figure, a_problem, a_timeline, tiny_problems
from tests.revise.conftest import Composed
from tests.revise.test_least_change import the_routine
from tests.solve.brute import TooMany, is_broken, sequences, with_places


def check(problem: Problem, found: Alternatives, wanted: Wanted) -> None:
    for item in found.found:
        assert verify(problem, item.routine) == []
        assert item.routine.score >= found.best - wanted.within * abs(found.best)
    for one, other in combinations([item.routine for item in found.found], 2):
        assert len(changed_counts(one, other)) >= wanted.different * found.counts
    for index, item in enumerate(found.found):
        earlier = [len(changed_counts(before.routine, item.routine)) for before in found.found[:index]]
        assert list(item.distances) == earlier


def test_ten_alternatives_of_a_scenario() -> None:
    problem = load_problem("first-dance")
    wanted = Wanted(10, Fraction(3, 10), Fraction(1, 20))
    found = alternatives(problem, wanted)
    assert isinstance(found, Alternatives)
    assert found.complete
    assert len(found.found) == 10
    assert found.best_proven
    check(problem, found, wanted)


@pytest.mark.slow
@pytest.mark.parametrize("style", [None, *sorted(STYLES)])
def test_ten_alternatives_in_every_style(style: str | None) -> None:
    problem = load_problem("travelling")
    wanted = Wanted(10, Fraction(1, 4), Fraction(1, 10), None if style is None else STYLES[style])
    found = alternatives(problem, wanted)
    assert isinstance(found, Alternatives)
    assert found.complete
    check(problem, found, wanted)


def test_the_others_differ_from_a_routine_that_is_there(composed: Composed) -> None:
    problem, routine = composed("first-dance")
    found = alternatives(problem, Wanted(2, Fraction(1, 2), Fraction(1, 10)), first=routine)
    assert isinstance(found, Alternatives)
    assert found.found[0].routine == routine
    assert found.found[1].distances[0] >= 48


@given(tiny_problems(most_beats=12, most_figures=4))
@settings(max_examples=25)
def test_a_second_one_is_found_when_there_is_one(problem: Problem) -> None:
    """Brute force knows whether any other routine is different and good enough."""
    try:
        everything = list(sequences(problem, 2000))
    except TooMany:
        assume(False)
        return
    wanted = Wanted(2, Fraction(1, 2), Fraction(1, 10))
    found = alternatives(problem, wanted)
    good = [r for p in everything if not is_broken(problem, r := the_routine(problem, with_places(problem, p)))]
    if not good:
        assert not isinstance(found, Alternatives)
        return
    assert isinstance(found, Alternatives)
    check(problem, found, wanted)
    first = found.found[0].routine
    others = [
        r
        for r in good
        if sum(p.total for p in points_of(problem, r)) >= found.least_score
        and len(changed_counts(first, r)) >= found.least_different
    ]
    assert found.complete == bool(others)
    assert found.exhausted == (not others)


def test_calmer_and_showier_pull_apart() -> None:
    figures = [a_figure("quiet", 4, energy=1), a_figure("loud", 4, energy=5, peak=2, turn=8)]
    problem = a_problem(figures, {"weights": {"variety": 0, "energy": 0, "music": 0}}, timeline=a_timeline(4))
    danced = {}
    for name in ("calmer", "showier"):
        found = alternatives(problem, Wanted(1, style=STYLES[name]))
        assert isinstance(found, Alternatives)
        danced[name] = {p.figure for p in found.found[0].routine.figures}
        assert found.found[0].style_points == style_points(STYLES[name], problem, found.found[0].routine).total
    assert danced == {"calmer": {"test/quiet"}, "showier": {"test/loud"}}


def test_easier_has_fewest_figures_and_travelling_goes_farthest() -> None:
    figures = [a_figure("a", 4), a_figure("b", 4, travel=(900, 0)), a_figure("c", 4, travel=(300, 0))]
    problem = a_problem(figures, {"weights": {"variety": 0}}, timeline=a_timeline(4))
    easy = alternatives(problem, Wanted(1, style=STYLES["easier"]))
    far = alternatives(problem, Wanted(1, style=STYLES["travelling"]))
    assert isinstance(easy, Alternatives)
    assert isinstance(far, Alternatives)
    assert len({p.figure for p in easy.found[0].routine.figures}) == 1
    assert {p.figure for p in far.found[0].routine.figures} == {"test/b"}


def test_styles_have_plain_names() -> None:
    assert style_named("Easier to remember") == STYLES["easier"]
    assert style_named("more-travelling") == STYLES["travelling"]
    assert style_named("purple") is None


def test_what_to_learn_is_the_figure_that_gains_most() -> None:
    """The favourite is worth 20 a time, the other 5: with one new figure it is the favourite, with two it is both."""
    figures = [
        a_figure("basic", 4), a_figure("good", 4, level=3), a_figure("better", 4, level=4), a_figure("no", 4, level=2)
    ]  # fmt: skip
    wishes: dict[str, object] = {
        "prefer": {"better": 20, "good": 5, "no": 20}, "never": ["no"], "weights": {"variety": 0}
    }  # fmt: skip
    couple = {"leader": {"level": 1}, "follower": {"level": 1}}
    wishes["repeats"] = {"most": 4}
    problem = a_problem(figures, wishes, None, couple, a_timeline(4))
    found = learn_next(problem)
    assert found is not None
    assert [gain.figures for gain in found.singles] == [("test/better",), ("test/good",)]
    assert all(gain.proven for gain in found.singles)
    assert found.singles[0].gain > found.singles[1].gain > 0
    wishes["repeats"] = {"most": 2}
    tighter = learn_next(a_problem([*figures, a_figure("plain", 4)], wishes, None, couple, a_timeline(4)))
    assert tighter is not None
    assert tighter.pair is not None
    assert tighter.pair.figures == ("test/better", "test/good")
    assert tighter.pair.gain > tighter.singles[0].gain


def test_nothing_to_learn_is_proved() -> None:
    figures = [a_figure("basic", 4), a_figure("hard", 4, level=3)]
    wishes = {"prefer": {"hard": -20}, "weights": {"variety": 0}}
    couple = {"leader": {"level": 1}, "follower": {"level": 1}}
    found = learn_next(a_problem(figures, wishes, None, couple, a_timeline(4)))
    assert found is not None
    assert found.singles == ()
    assert found.none_helps
