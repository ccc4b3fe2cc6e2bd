"""The network: laws, dead ends, stable ids; its paths counted by an independent transfer matrix."""

from __future__ import annotations

from collections import Counter
from functools import cache

import numpy as np
from hypothesis import given

from composer.catalogue.model import Stand
from composer.network import Network, build
from composer.network.build import facing_matters
from composer.problem import Problem
from tests.builders import a_figure, a_problem, a_timeline, tiny_problems


def paths(network: Network) -> int:
    """Paths from source to sink."""
    ways = [0] * len(network.nodes)
    ways[network.source] = 1
    for arc in network.arcs:
        ways[arc.head] += ways[arc.tail]
    return ways[network.sink]


def transfer_matrix_paths(problem: Problem) -> int:
    """The same count from the catalogue alone: one matrix per beat, rows and columns are (exit of figure, facing).

    Facing is always kept here; where it cannot matter the first facing is held at 0. In a travelling room the side
    (corners turned modulo 4) is part of the state, and one corner may be turned before each figure.
    """
    style = problem.room.style if problem.room else None
    figures = [f for f in problem.figures().values() if style is None or style in f.styles]
    length = problem.timeline.length_beats
    sides = range(4) if style == "travelling" else (0,)
    states = [(i, faces, side) for i in range(len(figures)) for faces in range(8) for side in sides]
    size = len(states)

    def may(figure_index: int, faces: int, side: int, beat: int) -> bool:
        chart = figures[figure_index].chart
        first = problem.timeline.beats[problem.timeline.usable[0] + beat].in_bar in chart.starts_on
        alignment = (faces + 2 * side) % 8
        return first and not (problem.keeps_alignment and chart.entry.faces and alignment not in chart.entry.faces)

    @cache
    def joins(before: int, after: int) -> bool:
        end = figures[before].chart.exit
        stand = Stand(end.hold, 0, end.leader_free, end.follower_free)
        return problem.catalogue.joins(stand, figures[after])

    ways = {0: np.zeros(size, dtype=object)}
    for beat in range(1, length + 1):
        ways[beat] = np.zeros(size, dtype=object)
    for i, figure in enumerate(figures):
        for faces in range(8) if facing_matters(problem) else (0,):
            if figure.chart.beats <= length and may(i, faces, 0, 0):
                ways[figure.chart.beats][states.index((i, (faces + figure.leader_turn) % 8, 0))] += 1
    for beat in range(1, length):
        for n, (i, faces, before) in enumerate(states):
            if ways[beat][n]:
                for j, figure in enumerate(figures):
                    for side in {before, (before + 1) % len(sides)}:
                        if beat + figure.chart.beats <= length and joins(i, j) and may(j, faces, side, beat):
                            m = states.index((j, (faces + figure.leader_turn) % 8, side))
                            ways[beat + figure.chart.beats][m] += ways[beat][n]
    return int(sum(ways[length]))


@given(tiny_problems())
def test_paths_are_as_many_as_the_transfer_matrix_says(problem: Problem) -> None:
    assert paths(build(problem)) == transfer_matrix_paths(problem)


@given(tiny_problems())
def test_ids_are_positions_and_nothing_is_dead(problem: Problem) -> None:
    network = build(problem)
    assert [n.id for n in network.nodes] == list(range(len(network.nodes)))
    assert [a.id for a in network.arcs] == list(range(len(network.arcs)))
    assert [a.tail for a in network.arcs] == sorted(a.tail for a in network.arcs)
    ticks = [n.tick for n in network.nodes]
    assert ticks == sorted(ticks)
    assert all(a.tail < a.head and ticks[a.tail] == a.start and ticks[a.head] == a.end for a in network.arcs)
    inner = range(1, len(network.nodes) - 1)
    assert set(inner) <= {a.head for a in network.arcs}
    assert set(inner) <= {a.tail for a in network.arcs}
    assert build(problem) == network


def figures_at(network: Network, start_beat: int) -> Counter[str]:
    return Counter(a.figure.split("/")[-1] for a in network.arcs if a.figure and a.start == 12 * start_beat)


def test_a_figure_must_fit_exactly_and_one_beat_more_does_not() -> None:
    four, five = a_figure("four", beats=4), a_figure("five", beats=5)
    assert paths(build(a_problem([four], timeline=a_timeline(2)))) == 1
    assert paths(build(a_problem([five], timeline=a_timeline(2)))) == 0
    assert len(build(a_problem([five], timeline=a_timeline(2))).nodes) == 2


def test_a_figure_begins_only_on_its_beats_of_the_bar() -> None:
    six, one = a_figure("six", beats=6), a_figure("one", beats=6, starts_on=(1,))
    network = build(a_problem([six, one], timeline=a_timeline(3)))
    assert figures_at(network, 0) == {"six": 1, "one": 1}
    assert figures_at(network, 6) == {"six": 1}


def test_feet_and_holds_must_agree() -> None:
    start = a_figure("start", beats=4, feet="LR", feet_after="RL")
    wrong_feet = a_figure("wrong-feet", beats=4)
    wrong_hold = a_figure("wrong-hold", beats=4, entry="two-hands", feet="RL")
    right = a_figure("right", beats=4, feet="RL")
    network = build(a_problem([start, wrong_feet, wrong_hold, right], timeline=a_timeline(2)))
    starts = {a.head for a in network.arcs if a.figure == "test/start"}
    assert {a.figure for a in network.arcs if a.tail in starts and a.figure} == {"test/right"}


def test_letting_a_hand_go_is_allowed_and_joining_one_is_not() -> None:
    both = a_figure("both", beats=4, entry="two-hands")
    one = a_figure("one", beats=4, entry="left-to-right")
    network = build(a_problem([both, one], timeline=a_timeline(2)))
    pairs = {(a.figure, b.figure) for a in network.arcs for b in network.arcs if a.head == b.tail and b.figure}
    assert pairs == {("test/both", "test/both"), ("test/both", "test/one"), ("test/one", "test/one")}


def test_alignment_binds_without_a_room_and_not_in_a_show() -> None:
    turn = a_figure("turn", beats=4, turn=3, faces=(0,))
    on = a_figure("on", beats=4, turn=1, faces=(4,))
    free = {"style": "show", "width": 9, "depth": 9}
    assert paths(build(a_problem([turn, on], timeline=a_timeline(2)))) == 0
    assert paths(build(a_problem([turn, on], timeline=a_timeline(2), room=free))) == 8 * 4
    turn = a_figure("turn", beats=4, turn=4, faces=(0,))
    assert paths(build(a_problem([turn, on], timeline=a_timeline(2)))) == 1


def test_facings_that_cannot_matter_are_not_kept() -> None:
    figures = [a_figure("a", beats=4, turn=1), a_figure("b", beats=4, turn=3)]
    plain = build(a_problem(figures, timeline=a_timeline(4)))
    faced = build(a_problem(figures, {"closing": {"faces": "LOD"}}, timeline=a_timeline(4)))
    assert not plain.keeps_facing
    assert {a.faces for a in plain.arcs} == {0}
    assert faced.keeps_facing
    assert paths(faced) == 8 * paths(plain)


def test_a_figure_of_another_style_of_room_is_not_there() -> None:
    figures = [a_figure("spot", beats=4, suits=("spot",)), a_figure("moving", beats=4, suits=("travelling",))]
    network = build(a_problem(figures, timeline=a_timeline(1), room={"style": "spot", "width": 4, "depth": 4}))
    assert {a.figure for a in network.arcs if a.figure} == {"test/spot"}


def test_only_dances_asked_for() -> None:
    figures = [a_figure("a", beats=4), a_figure("other/b", beats=4)]
    assert {a.figure for a in build(a_problem(figures, timeline=a_timeline(1))).arcs} == {"test/a", ""}
    both = build(a_problem(figures, timeline=a_timeline(1), dance=("test", "other")))
    assert {a.figure for a in both.arcs} == {"test/a", "other/b", ""}
