"""On random tiny problems, for paths of the network: demands hold exactly when the checker finds nothing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from composer.floor.placing import placed as turned
from composer.network.build import build
from composer.network.model import Arc, Network
from composer.problem import Problem
from composer.routine import Routine
from composer.rules import breaches_of, points_of, state_all
from composer.rules.base import Stated
from tests.builders import a_problem, tiny_problems
from tests.rules.judge import Judge, paths, routine_of

PATHS = 12
PLACES = ("room:", "line_of_dance:", "loop:", "spread:")
SLOWLY = settings(deadline=None, max_examples=80, suppress_health_check=[HealthCheck.too_slow])


def _cases(problem: Problem) -> Iterator[tuple[Network, Stated, tuple[Arc, ...], Judge]]:
    network = build(problem)
    stated = state_all(problem, network)
    for way in paths(network, PATHS):
        yield network, stated, way, Judge(stated, way)


@st.composite
def busy_problems(draw: st.DrawFn) -> Problem:
    """A tiny problem in which every wish is made at once; demands are judged one by one, so none hides another."""
    problem = draw(tiny_problems())
    name = st.sampled_from(sorted(problem.catalogue.figures))
    wishes = {
        "must": [{"figure": draw(name), "times": draw(st.integers(1, 3))}, {"figure": draw(name), "at": 5}],
        "never": [draw(name)],
        "prefer": {draw(name): draw(st.integers(-20, 20))},
        "repeats": {"most": draw(st.integers(1, 3)), "apart": draw(st.integers(0, 9))},
        "at_least_different": draw(st.integers(1, 3)),
        "at_most_different": draw(st.integers(1, 3)),
        "learn": {"most": draw(st.integers(1, 2)), "level": draw(st.integers(1, 3))},
        "alike": True,
        "weights": {"memory": draw(st.integers(0, 2))},
        "spinning": {"turns": 1, "within": draw(st.integers(3, 16))},
        "protect": draw(st.sampled_from(["sections", "phrases"])),
        "hits": draw(st.sampled_from(["must", "prefer"])),
        "final_pose": True,
        "opening": {"hold": "closed", "faces": "W", "figure": draw(name)},
        "closing": {"hold": "two-hands", "faces": "ALOD", "figure": draw(name)},
    }
    couple = {"leader": {"level": 1, "not_yet": [draw(name)]}, "follower": {"level": 2, "knows": [draw(name)]}}
    room = problem.document.data.get("room")
    return a_problem(None, wishes, room, couple, problem.timeline, catalogue=problem.catalogue)


LED_BY_BOTH = tiny_problems(both_lead=True)


@SLOWLY
@given(st.one_of(tiny_problems(), busy_problems(), LED_BY_BOTH))
def test_every_demand_agrees_with_the_checker(problem: Problem) -> None:
    """Walls and lanes apart, whose demands depend on where the couple begins."""
    for network, stated, way, judge in _cases(problem):
        routine = routine_of(problem, network, way)
        stated = replace(stated, demands=tuple(d for d in stated.demands if not d.key.startswith(PLACES)))
        broken = {demand.key for demand in stated.demands if not judge.holds(demand)}
        found = {b.key for b in breaches_of(problem, routine) if not b.key.startswith(PLACES)}
        assert broken == found, [arc.figure for arc in way]
        together = judge.holds(*stated.demands)
        assert together == (not found)


@SLOWLY
@given(st.one_of(tiny_problems(), busy_problems(), LED_BY_BOTH))
def test_every_term_agrees_with_the_checker(problem: Problem) -> None:
    for network, stated, way, judge in _cases(problem):
        points = points_of(problem, routine_of(problem, network, way))
        assert {p.term: p.total for p in points} == {t.key: judge.worth(t.key) for t in stated.terms}
        for item in points:
            assert sum(item.by_figure) == item.total
            assert len(item.by_figure) == len(way)


@SLOWLY
@given(st.one_of(tiny_problems(), LED_BY_BOTH))
def test_the_floor_agrees_with_a_replay(problem: Problem) -> None:
    """Where places exist the replay accepts them; where none does, the lowest possible place is refused."""
    if problem.room is None:
        return
    network = build(problem)
    stated = state_all(problem, network)
    demands = [d for d in stated.demands if d.key.startswith(PLACES)]

    def refused(at: tuple[int, int]) -> bool:
        return any(b.key.startswith(PLACES) for b in breaches_of(problem, routine_of(problem, network, way, at)))

    for way in paths(network, PATHS):
        values = Judge(stated, way).solve(row for demand in demands for row in demand.rows)
        if values is not None:
            assert not refused((values["room:x@0"], values["room:y@0"]))
        else:
            assert refused(_lowest(problem, routine_of(problem, network, way, (0, 0))))


def _lowest(problem: Problem, from_origin: Routine) -> tuple[int, int]:
    """The only starting place worth a try: the given one, else as far south-west as walls and lanes allow."""
    room = problem.room
    assert room is not None
    if room.start_x_mm is not None and room.start_y_mm is not None:
        return room.start_x_mm, room.start_y_mm
    xs, ys = [], []
    for placed in from_origin.figures:
        assert placed.x_mm is not None
        assert placed.y_mm is not None
        if room.style == "travelling" and room.lane_mm is not None:
            xs.append(room.lane(placed.corners)[0] - placed.x_mm)
            ys.append(room.lane(placed.corners)[1] - placed.y_mm)
        for moment in problem.catalogue.figures[placed.figure].motion.moments:
            for pose in (moment.leader, moment.follower):
                dx, dy = turned(pose.forward_mm, pose.right_mm, placed.faces)
                xs.append(room.inside[0] - placed.x_mm - dx)
                ys.append(room.inside[1] - placed.y_mm - dy)
    return max(xs), max(ys)
