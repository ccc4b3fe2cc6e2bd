"""What to learn next: the gains are those of brute force; positions open what only they open."""

from __future__ import annotations

from itertools import combinations

from hypothesis import assume, event, given, settings
from hypothesis import strategies as st

from composer.outcome import Found
from composer.problem import Problem
from composer.revise.learnnext import best_with, is_new, learn_next, new_figures, with_budget
from composer.revise.learnpositions import EACH, known_holds, learn_positions, opened_by, unknown_holds
from composer.rules import points_of
from composer.verify import verify
from tests.builders import a_figure, a_problem, a_timeline
from tests.revise.test_least_change import the_routine
from tests.solve.brute import TooMany, is_broken, sequences, with_places

BEGINNERS = {"leader": {"level": 1}, "follower": {"level": 1}}


def promenade_class(each: int = 1, **more: object) -> Problem:
    """A couple that knows a basic; promenade and the wrap each need a way in and a way out."""
    figures = [
        a_figure("basic", 4), a_figure("better", 4, level=2),
        a_figure("into-promenade", 4, exit="promenade", level=2),
        *(a_figure(f"promenade-walk-{i}", 4, entry="promenade", level=2) for i in range(each)),
        a_figure("out-of-promenade", 4, entry="promenade", exit="closed", level=2),
        a_figure("wrap-in", 4, entry="promenade", exit="wrapped", level=3),
        a_figure("wrap-out", 4, entry="wrapped", exit="closed", level=3),
    ]  # fmt: skip
    ends = {"opening": {"hold": "closed"}, "closing": {"hold": "closed"}}
    wishes = {"weights": {"variety": 0}, **ends, **more}
    return a_problem(figures, wishes, None, BEGINNERS, a_timeline(4))


def test_a_position_opens_what_only_it_opens() -> None:
    problem = promenade_class()
    assert "promenade" not in known_holds(problem)
    assert unknown_holds(problem) == ("promenade", "wrapped")
    assert opened_by(problem, ("promenade",)) == (
        "test/into-promenade", "test/out-of-promenade", "test/promenade-walk-0",
    )  # fmt: skip
    assert opened_by(problem, ("wrapped",)) == ("test/wrap-out",), "the way in begins in promenade"
    assert len(opened_by(problem, ("promenade", "wrapped"))) == 5


def test_a_hold_had_by_letting_go_is_known() -> None:
    figures = [a_figure("a", 4, entry="two-hands"), a_figure("b", 4, entry="left-to-right", level=2)]
    assert unknown_holds(a_problem(figures, None, None, BEGINNERS)) == ()


def test_promenade_gains_what_its_figures_are_worth() -> None:
    """With prices by hand: 16 counts are basic, in, walk, out; only the walk is liked."""
    problem = promenade_class(prefer={"promenade-walk-0": 10})
    single = learn_next(problem)
    assert single is not None
    assert single.singles == (), "no single figure leads anywhere"
    found = learn_positions(problem, single.today)
    assert [item.holds for item in found.singles] == [("promenade",)]
    best = found.singles[0]
    assert best.gain.figures == ("test/into-promenade", "test/out-of-promenade", "test/promenade-walk-0")
    walks = [p for p in best.gain.routine.figures if p.figure == "test/promenade-walk-0"]
    assert len(walks) == 2
    assert best.gain.proven
    assert found.order_proven
    assert found.pair_proven


def test_three_figures_of_a_position_and_not_a_fourth() -> None:
    """No figure comes twice: the way in, the way out and one walk are learned, not both walks."""
    figures = [
        *(a_figure(f"basic-{i}", 4) for i in range(4)),
        a_figure("in", 4, exit="promenade", level=2), a_figure("out", 4, entry="promenade", exit="closed", level=2),
        *(a_figure(f"walk-{i}", 4, entry="promenade", level=2) for i in range(2)),
    ]  # fmt: skip
    ends = {"opening": {"hold": "closed"}, "closing": {"hold": "closed"}}
    liked = {"walk-0": 10, "walk-1": 10, "basic-0": 1}
    wishes = {"weights": {"variety": 0}, "prefer": liked, "repeats": {"most": 1}, **ends}
    problem = a_problem(figures, wishes, None, BEGINNERS, a_timeline(4))
    today = best_with(problem, 0, (), 20, 0)
    assert isinstance(today, Found)
    (best,) = learn_positions(problem, today).singles
    assert len(best.opens) == EACH + 1
    assert {p.figure for p in best.gain.routine.figures} >= {"test/basic-0", "test/in", "test/out"}
    assert len(best.gain.figures) == EACH
    with_one_more = best_with(problem, EACH + 1, (), 20, 0)
    assert isinstance(with_one_more, Found)
    assert with_one_more.routine.score - best.gain.routine.score == 10 - 1


def test_two_positions_together_gain_more_than_one() -> None:
    problem = promenade_class(prefer={"wrap-out": 20, "wrap-in": 20})
    today = best_with(problem, 0, (), 20, 0)
    assert isinstance(today, Found)
    found = learn_positions(problem, today)
    assert found.pair is not None
    assert found.pair.holds == ("promenade", "wrapped")
    assert {"test/wrap-in", "test/wrap-out"} <= set(found.pair.gain.figures)
    assert all(found.pair.gain.gain > item.gain.gain for item in found.singles)
    assert found.pair_proven


def test_what_is_avoided_never_or_not_yet_wanted_opens_nothing() -> None:
    problem = promenade_class(never=["into-promenade"], prefer={"promenade-walk-0": 20})
    today = best_with(problem, 0, (), 20, 0)
    assert isinstance(today, Found)
    found = learn_positions(problem, today)
    assert found.singles == ()
    assert found.order_proven


HOLDS = ("closed", "promenade", "handshake", "counter-promenade")


@st.composite
def classes(draw: st.DrawFn) -> Problem:
    """A basic everybody knows, and new figures between holds of which most are unknown."""
    hold = st.sampled_from(HOLDS)
    new = [
        a_figure(f"new-{i}", draw(st.sampled_from([2, 4])), entry=draw(hold), exit=draw(hold), level=2)
        for i in range(draw(st.integers(1, 3)))
    ]
    for there in HOLDS[1 : draw(st.integers(2, 3))]:
        new += [a_figure(f"into-{there}", 4, exit=there, level=2),
                a_figure(f"from-{there}", 4, entry=there, exit="closed", level=2)]  # fmt: skip
    names = [figure.id for figure in new]
    wishes = {
        "prefer": {name: draw(st.integers(-6, 12)) for name in names},
        "opening": {"hold": "closed"},
        "closing": {"hold": "closed"},
        "never": draw(st.lists(st.sampled_from(names), max_size=1)),
    }
    return a_problem([a_figure("basic", 4), *new], wishes, None, BEGINNERS, a_timeline(3))


@given(classes())
@settings(max_examples=settings.default.max_examples)
def test_every_gain_is_that_of_brute_force(problem: Problem) -> None:
    today = best_with(problem, 0, (), 20, 0)
    assert isinstance(today, Found)
    unknown = unknown_holds(problem)
    found = learn_positions(problem, today, most=10)
    open_to_all = with_budget(problem, 100)
    try:
        everything = list(sequences(open_to_all, 3000))
    except TooMany:
        assume(False)
        return
    good = [r for p in everything if not is_broken(open_to_all, r := the_routine(problem, with_places(problem, p)))]

    def best(holds: tuple[str, ...]) -> int:
        opens = set(opened_by(problem, holds))
        marks = [0]
        for routine in good:
            new = set(new_figures(problem, routine))
            ends = [{(c := problem.catalogue.figures[n].chart).entry.hold, c.exit.hold} for n in new]
            if new <= opens and len(new) <= EACH * len(holds) and all(any(h in e for e in ends) for h in holds):
                marks.append(sum(p.total for p in points_of(problem, routine)) - today.routine.score)
        return max(marks)

    single = {(hold,): best((hold,)) for hold in unknown}
    assert {item.holds: item.gain.gain for item in found.singles} == {h: g for h, g in single.items() if g > 0}
    event(f"{len(found.singles)} positions, pair {found.pair is not None}")
    assert found.order_proven
    top = max(single.values(), default=0)
    pair = max((best(holds) for holds in combinations(unknown, 2)), default=0)
    assert (found.pair.gain.gain if found.pair else top) == max(pair, top)
    for item in found.singles:
        assert all(is_new(problem, name) for name in item.gain.figures)
        assert verify(with_budget(problem, EACH), item.gain.routine) == []
