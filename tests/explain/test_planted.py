"""Planted conflicts at 96 counts: exactly the planted wishes are blamed, and something verified helps."""

from __future__ import annotations

import pytest

from composer.explain.why import why
from composer.outcome import NoRoutine
from tests.explain.planted import KINDS, SEVERAL, Planted, planted, planted_several


def _judge(one: Planted) -> None:
    found = why(one.problem, time_limit_s=30)
    assert isinstance(found, NoRoutine), one.kind
    clashes = {frozenset(member.key for member in clash.members) for clash in found.clashes}
    assert clashes == set(one.clashes), one.kind
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


def _judge_several(one: Planted) -> None:
    """Every remedy meets each clash once: as many changes as clashes, or fewer where one meets two."""
    _judge(one)
    found = why(one.problem, time_limit_s=30)
    assert isinstance(found, NoRoutine)
    assert all(1 < len(remedy.changes) <= len(one.clashes) + 1 for remedy in found.remedies), one.kind


def test_two_or_three_planted_at_once_are_told_apart_and_met_together() -> None:
    for one in planted_several(4, seed=5):
        _judge_several(one)


@pytest.mark.slow
def test_twenty_with_two_or_three_planted_at_once() -> None:
    kinds = set()
    for one in planted_several(20):
        _judge_several(one)
        kinds.add(one.kind)
    assert len(kinds) >= len(SEVERAL) - 2
