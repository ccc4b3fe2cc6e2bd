"""Short statements follow what is added to the whole one, or are left aside."""

from __future__ import annotations

from dataclasses import replace

from composer.network import build
from composer.outcome import Found, NoRoutine
from composer.revise.kept import changed_counts, keeping
from composer.revise.leastchange import Least, least_change
from composer.rules import breaches_of, points_of, state_all
from composer.rules.base import Demand, Row, Term
from composer.solve.cpsat import Limits
from composer.solve.read import Judges
from composer.solve.shortcuts import aligned
from composer.solve.solve import solve_stated
from tests.builders import a_figure, a_problem, a_timeline

PILLAR = {"style": "spot", "width": 5, "depth": 4, "obstacles": [{"name": "pillar", "x": 2.5, "y": 2, "radius": 0.2}]}
FIGURES = [a_figure("walk", 4, travel=(600, 0)), a_figure("turn", 4, turn=2), a_figure("side", 4, travel=(0, 500))]


def test_an_added_demand_holds_in_every_statement() -> None:
    problem = a_problem(FIGURES, {"at_least_different": 2}, PILLAR, timeline=a_timeline(4))
    network = build(problem)
    stated = state_all(problem, network)
    assert stated.stricter is not None
    turns = frozenset(arc.id for arc in network.arcs if arc.figure == "test/turn")
    more = replace(stated, demands=(*stated.demands, Demand("test:no-turn", "Nobody turns", law=True, forbids=turns)))
    outcome = solve_stated(problem, network, more, Judges(breaches_of, points_of), Limits(work=20, wall_s=60))
    assert isinstance(outcome, Found)
    assert "test/turn" not in {placed.figure for placed in outcome.routine.figures}
    everything = frozenset(arc.id for arc in network.arcs if arc.figure)
    none = replace(stated, demands=(*stated.demands, Demand("test:none", "Nothing", law=True, forbids=everything)))
    assert isinstance(
        solve_stated(problem, network, none, Judges(breaches_of, points_of), Limits(work=20, wall_s=60)), NoRoutine
    )


def test_other_points_are_asked_of_every_statement() -> None:
    """The least change beside a pillar: points for what stays, not for the score."""
    problem = a_problem(FIGURES, {"at_least_different": 2}, PILLAR, timeline=a_timeline(4))
    from composer.solve import solve

    outcome = solve(problem)
    assert isinstance(outcome, Found)
    found = least_change(problem, keeping(outcome.routine, problem.length_ticks))
    assert isinstance(found, Least)
    assert found.least_proven
    assert changed_counts(outcome.routine, found.routine) == ()


def test_what_needs_unknowns_of_its_own_goes_without_short_statements() -> None:
    problem = a_problem(FIGURES, None, PILLAR, timeline=a_timeline(2))
    network = build(problem)
    stated = state_all(problem, network)
    assert aligned(stated) is not None
    assert aligned(replace(stated, terms=(Term("test", "test", {"test:own": 1}),))) is None
    strange = Demand("test:own", "test", rows=(Row({"test:own": 1}, most=1),))
    assert aligned(replace(stated, demands=(*stated.demands, strange))) is None
    assert aligned(replace(stated, stricter=None)) is None
