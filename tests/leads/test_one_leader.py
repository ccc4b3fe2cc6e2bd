"""A brief with one leader gives the network it always gave, byte for byte, and a record that does not speak of roles.

The digests were taken before partners could change roles at all; nothing that has to do with roles may move them.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from typing import Any

import pytest

from composer.network.build import build
from composer.network.model import Network
from composer.outcome import Found
from composer.problem import Problem
from composer.routine import as_data
from composer.rules import leads
from composer.rules.base import Stated
from composer.solve import solve
from tests.builders import a_figure, a_problem, a_timeline

CASES: dict[str, tuple[Mapping[str, Any], Mapping[str, Any] | None, tuple[int, int, str]]] = {
    "no room": ({"repeats": {"most": 2}}, None, (168, 345, "d3e3139ea25f7003")),
    "spot": (
        {"spinning": {"turns": 1, "within": 12}},
        {"style": "spot", "width": 4, "depth": 4},
        (218, 440, "16f2a1a30ad384ab"),
    ),
    "show": (
        {"closing": {"faces": "audience"}},
        {"style": "show", "width": 6, "depth": 5, "audience": "south"},
        (218, 440, "16f2a1a30ad384ab"),
    ),
    "travelling": ({}, {"style": "travelling", "width": 8, "depth": 5}, (498, 1597, "6e24a838e6bd7f82")),
}


def problem_of(name: str) -> Problem:
    """Figures that change holds and feet, many of which would let roles change."""
    wishes, room, _ = CASES[name]
    figures = [
        a_figure("a", 4, "two-hands"),
        a_figure("b", 4, "two-hands", feet="RL"),
        a_figure("c", 4, "two-hands", feet_after="RL", turn=2, travel=(300, 0), energy=4),
        a_figure("d", 8, "two-hands", "left-to-right", feet="RL", feet_after="LR", turn=-3, peak=5),
        a_figure("e", 4, "left-to-right", "two-hands", travel=(0, 200)),
        a_figure("f", 6, "closed", "two-hands", faces=(0, 1, 2)),
        a_figure("g", 6, "two-hands", "closed"),
    ]
    music = a_timeline(6, 4, 2, sections=[(2, "A", 2), (4, "B", 4)], hits=[9])
    return a_problem(figures, wishes, room, timeline=music)


def digest(network: Network) -> tuple[int, int, str]:
    """Sizes of a network and a digest of all it says; who leads is nothing that it says here."""
    rows: list[tuple[Any, ...]] = []
    for node in network.nodes:
        s = node.stand
        stand = None if s is None else (s.hold, s.faces, s.leader_free, s.follower_free)
        rows.append((node.id, node.tick, stand, node.corners))
    rows += [(a.id, a.figure, a.start, a.end, a.faces, a.tail, a.head, a.corners) for a in network.arcs]
    said = repr((rows, network.length_ticks, network.keeps_facing))
    return len(network.nodes), len(network.arcs), hashlib.sha256(said.encode()).hexdigest()[:16]


@pytest.mark.parametrize("name", sorted(CASES))
def test_the_network_is_what_it_was(name: str) -> None:
    network = build(problem_of(name))
    assert digest(network) == CASES[name][2]
    assert leads.state(problem_of(name), network) == Stated()
    assert not any(node.swapped for node in network.nodes)
    assert not any(arc.swapped for arc in network.arcs)


@pytest.mark.parametrize("name", ["no room", "show", "spot"])
def test_the_record_does_not_speak_of_roles(name: str) -> None:
    outcome = solve(problem_of(name))
    assert isinstance(outcome, Found)
    assert all("leads" not in figure and "swapped" not in figure for figure in as_data(outcome.routine)["figures"])
