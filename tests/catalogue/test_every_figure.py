"""What holds for every figure of the shipped catalogue."""

from __future__ import annotations

import math
from functools import cache
from itertools import pairwise

import pytest

from composer.catalogue import Catalogue, Figure, load_catalogue
from composer.kinematics.motion import Pose


@cache
def catalogue() -> Catalogue:
    return load_catalogue()


def each() -> list[str]:
    return sorted(catalogue().figures)


def away(one: Pose, two: Pose) -> float:
    return math.hypot(one.forward_mm - two.forward_mm, one.right_mm - two.right_mm)


def stance_error(figure: Figure, *, at_end: bool) -> float:
    """How far the follower is from where the entry or exit hold has her."""
    moment = figure.motion.moments[-1 if at_end else 0]
    hold = figure.chart.exit.hold if at_end else figure.chart.entry.hold
    stance = catalogue().stances[catalogue().holds[hold].stance]
    angle = moment.leader.facing16 * math.pi / 8
    cos, sin = math.cos(angle), math.sin(angle)
    forward = moment.leader.forward_mm + stance.forward * cos - stance.right * sin
    right = moment.leader.right_mm + stance.forward * sin + stance.right * cos
    assert (moment.follower.facing16 - moment.leader.facing16 - stance.facing) % 16 == 0
    return math.hypot(moment.follower.forward_mm - forward, moment.follower.right_mm - right)


@pytest.mark.parametrize("dance", sorted({key.split("/")[0] for key in each()}))
def test_figures_of(dance: str) -> None:
    for key in (k for k in each() if k.startswith(f"{dance}/")):
        figure = catalogue().figures[key]
        motion, chart = figure.motion, figure.chart
        assert stance_error(figure, at_end=False) < 2, key
        assert stance_error(figure, at_end=True) < 62, key
        ticks = [m.tick for m in motion.moments]
        assert ticks[0] == 0, key
        assert ticks[-1] == figure.length_ticks, key
        assert all(a < b for a, b in pairwise(ticks)), key
        assert (motion.leader_turn16, motion.follower_turn16) == (chart.exit.leader_turn, chart.exit.follower_turn)
        assert (motion.leader_free, motion.follower_free) == (chart.exit.leader_free, chart.exit.follower_free)
        declared = chart.exit.travel
        off = math.hypot(declared.forward - motion.travel_forward_mm, declared.right - motion.travel_right_mm)
        assert off <= 200, key
        hands = {(h.pair, h.high) for h in motion.moments[-1].hands}
        assert hands == {(j.pair, j.high) for j in catalogue().holds[chart.exit.hold].hands}, key
        for before, after in pairwise(motion.moments):
            assert away(after.leader, after.follower) >= 215, key
            for a, b in ((before.leader, after.leader), (before.follower, after.follower)):
                assert away(a, b) < 1300, key
                # Not both feet leave the floor: the foot that carried the weight has not moved.
                if after.at_tick is not None and before.at_tick is not None:
                    same = (a.left, b.left) if a.weight == "L" else (a.right, b.right)
                    assert (same[0].forward_mm, same[0].right_mm) == (same[1].forward_mm, same[1].right_mm), key


def test_everything_can_be_reached_and_left() -> None:
    """Something in its dance leads to every figure and follows it, openings and endings apart."""
    for dance in catalogue().dances:
        figures = [f for f in catalogue().figures.values() if f.chart.dance == dance]
        for figure in figures:
            reached = any(catalogue().joins(other.end_of(0), figure) for other in figures)
            left = any(catalogue().joins(figure.end_of(0), other) for other in figures)
            assert reached or "opening" in figure.chart.good_for, figure.id
            assert left or "ending" in figure.chart.good_for, figure.id
