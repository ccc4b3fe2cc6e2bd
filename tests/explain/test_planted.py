"""Planted conflicts at 96 counts: exactly the planted wishes are blamed, and something verified helps."""

from __future__ import annotations

import pytest

from composer.explain.why import why
from composer.outcome import NoRoutine
from tests.explain.planted import KINDS, Planted, planted


def _judge(one: Planted) -> None:
    found = why(one.problem, time_limit_s=30)
    assert isinstance(found, NoRoutine), one.kind
    assert [{member.key for member in clash.members} for clash in found.clashes] == [set(one.keys)], one.kind
    assert all(clash.minimal for clash in found.clashes), one.kind
    assert found.remedies, one.kind
    assert all(remedy.verified for remedy in found.remedies)
    costs = [remedy.cost for remedy in found.remedies]
    assert costs == sorted(costs)


def test_a_few_planted_conflicts_are_found_exactly() -> None:
    for one in planted(6, seed=3, kinds=tuple(kind for kind in KINDS if kind != "narrow")):
        _judge(one)


@pytest.mark.slow
def test_sixty_planted_conflicts_are_found_exactly() -> None:
    kinds = set()
    for one in planted(60):
        _judge(one)
        kinds.add(one.kind)
    assert kinds == set(KINDS)
