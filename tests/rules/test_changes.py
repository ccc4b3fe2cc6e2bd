"""Asking for less: every change can be made, softens what it says it softens, and forbids nothing new."""

from __future__ import annotations

from types import ModuleType

from hypothesis import HealthCheck, given, settings

from composer.brief.schema import Couple
from composer.network.build import build
from composer.network.model import Network
from composer.problem import Problem
from composer.rules import FAMILIES, room, state_all
from composer.rules.base import Change, Stated, Swap
from composer.rules.changes import changed, changes_for
from tests.builders import a_figure, a_problem, a_timeline
from tests.rules.judge import Judge, paths
from tests.rules.test_agreement import busy_problems


@settings(deadline=None, max_examples=25, suppress_health_check=[HealthCheck.too_slow])
@given(busy_problems())
def test_a_softer_wish_allows_whatever_the_wish_allowed(problem: Problem) -> None:
    """Whatever met every demand of a family before still meets every demand of the family after the change."""
    network = build(problem)
    ways = list(paths(network, 6))
    for family in FAMILIES:
        stated = _stated(family, problem, network)
        met = [way for way in ways if Judge(stated, way).holds(*stated.demands)]
        for demand in stated.demands if met else ():
            for change in changes_for(problem, demand.key) if demand.key.startswith(f"{family.NAME}:") else ():
                softened = _stated(family, changed(problem, [change]), network)
                for way in met:
                    assert Judge(softened, way).holds(*softened.demands), (change, [arc.figure for arc in way])


def _stated(family: ModuleType, problem: Problem, network: Network) -> Stated:
    """What a family states; lanes and loops stand on the places of the room."""
    own = family.state(problem, network)
    if family.NAME not in {"line_of_dance", "loop", "spread"}:
        return own
    places = room.state(problem, network)
    return Stated(
        (*places.demands, *own.demands),
        (*places.unknowns, *own.unknowns),
        (*places.unknown_rows, *own.unknown_rows),
    )


@settings(deadline=None, max_examples=25, suppress_health_check=[HealthCheck.too_slow])
@given(busy_problems())
def test_every_wish_can_be_softened_except_what_is_avoided(problem: Problem) -> None:
    for demand in state_all(problem, build(problem)).demands:
        changes = changes_for(problem, demand.key)
        assert changes or demand.law or demand.key in {"learned:leader-level", "learned:follower-level"}
        assert [change.cost for change in changes] == sorted(change.cost for change in changes)
        assert all(change.key == demand.key for change in changes)
        assert len({change.sentence for change in changes}) == len(changes)
        for change in changes:
            assert changed(problem, [change]).brief != problem.brief


def test_what_the_couple_avoids_is_not_talked_away() -> None:
    problem = a_problem([a_figure("a", 4, cautions=("dip",))], couple={"avoid": ["dip"]}, timeline=a_timeline(1))
    assert changes_for(problem, "cautions:dip") == []
    (change,) = changes_for(a_problem([a_figure("a", 4, cautions=("dip",))], timeline=a_timeline(1)), "cautions:dip")
    assert change.value == Swap(new="dip")


def test_changes_to_one_list_add_up() -> None:
    problem = a_problem(
        [a_figure("a", 4), a_figure("b", 4), a_figure("c", 4)], {"never": ["test/a", "test/b", "test/c"]}
    )
    changes = [changes_for(problem, f"must_never:never-test/{name}")[0] for name in "ab"]
    assert changed(problem, changes).brief.wishes.never == ("test/c",)
    assert problem.brief.wishes.never == ("test/a", "test/b", "test/c"), "the problem given is not touched"


def test_a_larger_room_is_a_larger_room() -> None:
    problem = a_problem([a_figure("a", 4)], room={"width": 4, "depth": 3, "margin": "20 cm"})
    changes = {change.sentence: change for change in changes_for(problem, "room:walls")}
    wide = changed(
        problem, [changes["find a floor 4.5 m wide"], changes["keep 0 m clear of the edge instead of 0.2 m"]]
    )
    assert wide.room is not None
    assert (wide.room.inside, wide.room.style) == ((300, 300, 4200, 2700), "spot")


def test_an_unknown_key_has_no_changes() -> None:
    problem = a_problem([a_figure("a", 4)])
    assert changes_for(problem, "nothing:here") == []
    assert changes_for(problem, "energy:x") == []
    assert changed(problem, [Change("x:y", "accept", ("couple",), Couple(), 1)]).brief.couple == Couple()
