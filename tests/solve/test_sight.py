"""The relaxation over few arcs in sight is the relaxation over all of them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import breadth_first_order

from composer.solve import sight
from composer.solve.linear import Linear, on_paths
from composer.solve.longest import SCALE, Levels, priced, whole_multipliers
from composer.solve.relax import relaxed
from composer.solve.sight import CLOSE, Sight
from tests.benchmarks.instances import Case
from tests.builders import a_figure, a_problem, a_timeline
from tests.solve.test_walks import linear_of

CASES = [Case(96, 100, False), Case(96, 100, True, 1), Case(192, 100, False, 2)]


def both(linear: Linear, monkeypatch: pytest.MonkeyPatch) -> tuple[float, float, float]:
    """The relaxation's value with all arcs in sight, with a few, and the bound that the latter proves for all."""
    everything = relaxed(linear)
    monkeypatch.setattr(sight, "MANY_ARCS", 0)
    monkeypatch.setattr(sight, "FEWEST", 20)
    few = relaxed(linear)
    assert everything is not None
    assert few is not None
    proofs = priced(linear, Levels(linear), whole_multipliers(linear, few.multipliers))
    assert proofs is not None
    return everything.value, few.value, proofs.bound_scaled / SCALE


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_few_arcs_in_sight_promise_what_all_do(case: Case, monkeypatch: pytest.MonkeyPatch) -> None:
    linear = linear_of(case.problem())
    everything, few, bound = both(linear, monkeypatch)
    first = Sight(linear)
    assert not first.whole
    assert few == pytest.approx(everything, abs=2 * CLOSE)
    assert bound <= everything + 2 * CLOSE
    assert int(first.part.usable.sum()) < int(linear.usable.sum()) / 4


def test_what_must_come_is_seen_though_it_brings_little(monkeypatch: pytest.MonkeyPatch) -> None:
    """Forty figures that are liked and one that is not, but must come."""
    figures = [a_figure(name, beats=4) for name in (*(f"f{k}" for k in range(40)), "dull")]
    wishes = {"must": [{"figure": "dull"}], "prefer": {f"f{k}": 3 for k in range(40)}}
    linear = linear_of(a_problem(figures, wishes, timeline=a_timeline(4, 4, 2)))
    everything, few, bound = both(linear, monkeypatch)
    assert few == pytest.approx(everything, abs=2 * CLOSE)
    assert bound <= everything + 2 * CLOSE


def test_what_must_come_and_cannot_any_more_divides_nothing_by_zero() -> None:
    """A row that asks for arcs of which none is left: no warning reaches whoever composes."""
    figures = [a_figure(name, beats=4) for name in "abcdefgh"]
    linear = linear_of(a_problem(figures, {"must": [{"figure": "a"}]}, timeline=a_timeline(4, 4, 2)))
    asks = np.flatnonzero((np.diff(linear.on_unknowns.indptr) == 0) & (linear.least > 0))
    assert len(asks)
    empty = linear.on_arcs.tolil()
    empty[asks[0]] = 0
    with np.errstate(divide="raise"):
        found = sight._worth(replace(linear, on_arcs=empty.tocsr()), Levels(linear))
    assert np.isfinite(found).all()


def test_what_nobody_can_dance_is_said_of_all_arcs(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two figures that must come, where the music has room for one."""
    figures = [a_figure(name, beats=4) for name in "abcdefgh"]
    linear = linear_of(a_problem(figures, {"must": [{"figure": "a"}, {"figure": "b"}]}, timeline=a_timeline(1)))
    monkeypatch.setattr(sight, "MANY_ARCS", 0)
    monkeypatch.setattr(sight, "FEWEST", 2)
    assert linear.feasible_path
    assert relaxed(linear) is None


@st.composite
def arcs_between_nodes(draw: st.DrawFn) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """(tick by node, tail, head, usable) as networks have them: arcs go by tail, tails by tick, heads come later."""
    tick = np.array([-1, *sorted(draw(st.lists(st.integers(0, 6), max_size=12))), 7])
    pairs = [(a, b) for a in range(len(tick)) for b in range(len(tick)) if tick[a] < tick[b]]
    chosen = sorted(draw(st.sets(st.sampled_from(pairs), max_size=30)))
    tail, head = np.array(chosen, dtype=np.int64).reshape(len(chosen), 2).T
    usable = np.array(draw(st.lists(st.booleans(), min_size=len(chosen), max_size=len(chosen))), dtype=np.bool_)
    return tick, tail, head, usable


@given(arcs_between_nodes())
def test_arcs_on_paths_are_those_reached_from_both_ends(
    given_arcs: tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray],
) -> None:
    """Against the breadth-first search of scipy."""
    tick, tail, head, usable = given_arcs
    joined = coo_matrix((np.ones(usable.sum()), (tail[usable], head[usable])), shape=(len(tick), len(tick))).tocsr()
    there = breadth_first_order(joined, 0, return_predecessors=False)
    back = breadth_first_order(joined.T.tocsr(), len(tick) - 1, return_predecessors=False)
    expected = usable & np.isin(tail, there) & np.isin(head, back)
    assert (on_paths(tick, tail, head, usable) == expected).all()
