"""Briefs of 96 counts with a conflict planted in them, and nothing else wrong.

A base brief with a routine gets wishes that clash. Before it is used, an engine that the explanations do not use (the
network as a MIP in HiGHS) has shown that the planted wishes alone have no routine and that without any one of them the
whole brief has one: so the planted wishes are the only smallest clash there is.
"""

from __future__ import annotations

import random
from collections.abc import Collection, Iterator
from dataclasses import dataclass, field
from itertools import product
from typing import Any

import highspy

from composer.network import build
from composer.problem import Problem
from composer.rules import state_all
from composer.solve.cpsat import Built, Limits
from composer.solve.linear import linear_from
from composer.solve.relax import program
from tests.builders import a_figure, a_problem, a_timeline

HOLDS = ("closed", "two-hands", "left-to-right", "handshake")
COUNTS = 96


@dataclass(frozen=True)
class Planted:
    """A brief and the keys of the wishes that clash."""

    kind: str
    problem: Problem
    keys: frozenset[str]
    clashes: tuple[frozenset[str], ...] = ()
    """The same one by one, where several were planted."""


def holds_by_mip(problem: Problem, wishes: Collection[str]) -> bool:
    """Whether a routine keeps the laws and these wishes, by HiGHS; where that takes long, by a fresh CP-SAT model."""
    network = build(problem)
    linear = linear_from(network, state_all(problem, network), wishes)
    if not linear.feasible_path:
        return False
    model, _, _ = program(linear, integer=True)
    model.col_cost_ = [0.0] * model.num_col_
    solver = highspy.Highs()
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("threads", 1)
    solver.setOptionValue("time_limit", 10.0)
    solver.passModel(model)
    solver.run()
    status = solver.getModelStatus()
    if status in (highspy.HighsModelStatus.kOptimal, highspy.HighsModelStatus.kInfeasible):
        return bool(status == highspy.HighsModelStatus.kOptimal)
    answer = Built(linear, objective=False).solve(Limits(work=60.0, wall_s=300.0))  # a fresh CP-SAT, all arcs
    assert answer.verdict != "unknown"
    return answer.verdict != "none"


def is_the_only_clash(planted: Planted) -> bool:
    """Whether the planted wishes are the one smallest clash of the brief (see the module header)."""
    network = build(planted.problem)
    wishes = [demand.key for demand in state_all(planted.problem, network).demands if not demand.law]
    if not planted.keys <= set(wishes) or holds_by_mip(planted.problem, planted.keys):
        return False
    return all(holds_by_mip(planted.problem, [k for k in wishes if k != key]) for key in planted.keys)


def _figures(rng: random.Random) -> list[Any]:
    """Two figures for every hold at level 1, ways between the holds, and some of higher levels."""
    found = []
    for at, hold in enumerate(HOLDS):
        onward = HOLDS[(at + 1) % len(HOLDS)]
        found += [
            a_figure(f"{hold}-six", beats=6, entry=hold, energy=rng.randint(1, 5)),
            a_figure(
                f"{hold}-eight", beats=8, entry=hold, turn=rng.choice((0, 2, -2)), travel=(rng.choice((0, 300)), 0)
            ),
            a_figure(f"{hold}-on", beats=rng.choice((6, 8)), entry=hold, exit=onward, peak=rng.choice((None, 1, 5))),
            a_figure(f"{hold}-hard", beats=8, entry=hold, level=3, turn=rng.choice((0, 4)), starts_on=(1, 3)),
        ]
    found += [
        a_figure("spin", beats=8, turn=8),
        a_figure("long-walk", beats=8, travel=(4200, 0)),
        a_figure("pose", beats=8, peak=7, good_for=("ending",)),
        a_figure("dip", beats=8, cautions=("dip",), good_for=("ending",), level=1, peak=8),
        a_figure("flourish", beats=8, peak=1),
        a_figure("into-wrap", beats=6, exit="sweetheart"),
        a_figure("out-of-wrap", beats=6, entry="sweetheart", exit="closed", level=3),
        a_figure("five", beats=5, level=4),
    ]
    return found


def _music(rng: random.Random, **more: Any) -> Any:
    return a_timeline(24, 4, 8, sections=[(8, "A", 2), (8, "B", 4), (8, "A", 3)], **more)


def _base(rng: random.Random) -> dict[str, Any]:
    """Harmless wishes, a few of these."""
    choices: dict[str, Any] = {
        "repeats": {"most": rng.choice((6, 8))},
        "at_least_different": rng.choice((2, 3, 4)),
        "never": ["handshake-hard"],
        "prefer": {"closed-six": 5},
        "opening": {"hold": "closed"},
        "alike": False,
    }
    return {key: choices[key] for key in sorted(rng.sample(sorted(choices), 3))}


@dataclass
class Plant:
    """What a clash of one kind adds to a brief, and its keys."""

    keys: set[str]
    must: tuple[dict[str, Any], ...] = ()
    wishes: dict[str, Any] = field(default_factory=dict)
    couple: dict[str, Any] | None = None
    room: dict[str, Any] | None = None
    hits: tuple[int, ...] = ()


def _plant(rng: random.Random, kind: str) -> Plant:
    if kind == "must and never":
        name = rng.choice(("closed-six", "two-hands-eight", "spin"))
        keys = {f"must_never:must-test/{name}", f"must_never:never-test/{name}"}
        return Plant(keys, ({"figure": name},), {"never": [name]})
    if kind == "level":
        name = rng.choice(("closed-hard", "two-hands-hard", "out-of-wrap"))
        couple = {"leader": {"level": 3}, "follower": {"level": rng.choice((1, 2))}}
        return Plant({f"must_never:must-test/{name}", "learned:follower-level"}, ({"figure": name},), {}, couple)
    if kind == "the only way out":
        keys = {"must_never:must-test/into-wrap", "opening_closing:closing-hold", "learned:follower-level"}
        couple = {"leader": {"level": 3}, "follower": {"level": 1}}
        return Plant(keys, ({"figure": "into-wrap"},), {"closing": {"hold": "closed"}}, couple)
    if kind == "too often":
        most = rng.choice((2, 3, 4))
        must = {"figure": "closed-six", "times": most + 1}
        return Plant({"must_never:must-test/closed-six", "repeats:most"}, (must,), {"repeats": {"most": most}})
    if kind == "wrong count":
        must = {"figure": "two-hands-eight", "at": rng.choice((29, 31, 61, 63))}
        at = must["at"]
        keys = {f"must_never:must-test/two-hands-eight@{at}", f"phrasing:across-{33 if at < 40 else 65}"}
        return Plant(keys, (must,), {"protect": "sections"})
    if kind == "two at once":
        two = ({"figure": "closed-six", "at": 9}, {"figure": "closed-eight", "at": rng.choice((7, 13))})
        keys = {"must_never:must-test/closed-six@9", f"must_never:must-test/closed-eight@{two[1]['at']}"}
        return Plant(keys, two)
    if kind == "few to remember":
        names = ("closed-six", "closed-eight", "spin")
        keys = {"variety:at-most", *(f"must_never:must-test/{name}" for name in names)}
        return Plant(keys, tuple({"figure": name} for name in names), {"at_most_different": 2})
    if kind == "caution":
        return Plant({"must_never:must-test/dip", "cautions:dip"}, ({"figure": "dip"},))
    if kind == "pose":
        keys = {"accents:final-pose", "opening_closing:closing-figure"}
        return Plant(keys, (), {"final_pose": True, "closing": {"figure": "closed-eight"}})
    if kind == "narrow":
        room = {"style": "spot", "width": rng.choice((3, 4)), "depth": rng.choice((3, 4))}
        return Plant({"must_never:must-test/long-walk", "room:walls"}, ({"figure": "long-walk"},), {}, None, room)
    if kind == "hit":
        beat = rng.choice((9, 17, 25))
        keys = {f"accents:hit-{beat}", f"must_never:must-test/closed-eight@{beat}"}
        return Plant(keys, ({"figure": "closed-eight", "at": beat},), {"hits": "must"}, hits=(beat,))
    if kind == "opening":
        keys = {"opening_closing:opening-hold", "must_never:must-test/handshake-six@1"}
        return Plant(keys, ({"figure": "handshake-six", "at": 1},), {"opening": {"hold": "closed"}})
    two = ({"figure": "closed-six", "at": 1}, {"figure": "closed-eight", "at": 65})
    keys = {"motif:alike-1-65", "must_never:must-test/closed-six@1", "must_never:must-test/closed-eight@65"}
    return Plant(keys, two, {"alike": True})


def _candidate(rng: random.Random, *kinds: str) -> Planted:
    """A base brief with clashes of these kinds."""
    wishes, couple = _base(rng), {"leader": {"level": 2}, "follower": {"level": 2}}
    plants = [_plant(rng, kind) for kind in kinds]
    if "few to remember" in kinds:
        wishes.pop("at_least_different", None)
    must: list[dict[str, Any]] = []
    for plant in plants:
        must += plant.must
        wishes |= plant.wishes
        couple = plant.couple or couple
    rooms = [plant.room for plant in plants if plant.room]
    if must:
        wishes["must"] = must
    music = _music(rng, hits=[hit for plant in plants for hit in plant.hits])
    problem = a_problem(_figures(rng), wishes, rooms[0] if rooms else None, couple, music)
    keys = [frozenset(plant.keys) for plant in plants]
    return Planted(" and ".join(kinds), problem, frozenset().union(*keys), tuple(keys))


KINDS = (
    "must and never", "level", "the only way out", "too often", "wrong count", "two at once", "few to remember",
    "caution", "pose", "narrow", "hit", "opening", "alike",
)  # fmt: skip


def planted(number: int, seed: int = 7, kinds: tuple[str, ...] = KINDS) -> Iterator[Planted]:
    """So many planted briefs, the kinds in turn; candidates whose plant is not the only clash are passed over."""
    rng = random.Random(seed)
    made, tried = 0, 0
    while made < number:
        one = _candidate(rng, kinds[tried % len(kinds)])
        tried += 1
        if tried > 10 * number:
            raise AssertionError("too many candidates fail")
        if is_the_only_clash(one):
            made += 1
            yield one


SEVERAL = (
    ("must and never", "caution"), ("too often", "pose"), ("level", "hit"), ("wrong count", "caution"),
    ("opening", "too often"), ("two at once", "pose", "caution"), ("must and never", "hit", "caution"),
    ("wrong count", "opening", "caution"), ("too often", "caution", "pose"), ("few to remember", "pose"),
)  # fmt: skip
"""Kinds that can be planted together, because they say nothing about the same wish."""


def planted_several(number: int, seed: int = 7) -> Iterator[Planted]:
    """So many briefs with two or three clashes that have nothing to do with each other, and no other clash."""
    rng = random.Random(seed)
    made, tried = 0, 0
    while made < number:
        one = _candidate(rng, *SEVERAL[tried % len(SEVERAL)])
        tried += 1
        if tried > 10 * number:
            raise AssertionError("too many candidates fail")
        if are_the_only_clashes(one):
            made += 1
            yield one


def are_the_only_clashes(planted: Planted) -> bool:
    """Whether each planted clash is one, and giving up one wish of each, whichever, is enough."""
    network = build(planted.problem)
    wishes = [demand.key for demand in state_all(planted.problem, network).demands if not demand.law]
    if not planted.keys <= set(wishes) or sum(map(len, planted.clashes)) != len(planted.keys):
        return False
    if any(holds_by_mip(planted.problem, clash) for clash in planted.clashes):
        return False
    return all(
        holds_by_mip(planted.problem, [key for key in wishes if key not in given_up])
        for given_up in product(*planted.clashes)
    )
