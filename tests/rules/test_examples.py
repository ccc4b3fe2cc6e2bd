"""Every family's own tiny examples: the good ones pass, the ones a step past do not; and the network agrees."""

from __future__ import annotations

from types import ModuleType

import pytest

from composer.network.build import build
from composer.rules import FAMILIES, breaches_of, points_of, state_all
from composer.rules.base import Example
from tests.rules.judge import Judge
from tests.rules.little_dance import dancing, setting

CASES = [(family, example) for family in FAMILIES for example in family.EXAMPLES]
PLACES = {"room", "line_of_dance", "loop", "spread"}
SCORE_ONLY = {"energy", "flow", "preferences"}


def _name(value: object) -> str:
    return value.sentence if isinstance(value, Example) else value.NAME if isinstance(value, ModuleType) else str(value)


@pytest.mark.parametrize(("family", "example"), CASES, ids=_name)
def test_the_checker_judges_the_example(family: ModuleType, example: Example) -> None:
    problem = setting(example)
    found = family.breaches(problem, dancing(example, problem))
    assert (not found) == example.good, found
    assert all(breach.key.startswith(f"{family.NAME}:") for breach in found)


@pytest.mark.parametrize(
    ("family", "example"), [c for c in CASES if c[0].NAME not in {"continuity", "length", *PLACES}], ids=_name
)
def test_the_demands_judge_the_example_alike(family: ModuleType, example: Example) -> None:
    problem = setting(example)
    network = build(problem)
    routine = dancing(example, problem)
    faces = [placed.faces if network.keeps_facing else 0 for placed in routine.figures]
    wanted = [(p.figure, p.start_tick, f, p.swapped) for p, f in zip(routine.figures, faces, strict=True)]
    node, way = network.source, []
    for step in wanted:
        arc = next(a for a in network.arcs if a.tail == node and (a.figure, a.start, a.faces, a.swapped) == step)
        way.append(arc)
        node = arc.head
    stated = family.state(problem, network)
    broken = {d.key for d in stated.demands if not Judge(stated, way).holds(d)}
    assert broken == {breach.key for breach in family.breaches(problem, routine)}


@pytest.mark.parametrize("family", FAMILIES, ids=_name)
def test_a_family_shows_both_sides(family: ModuleType) -> None:
    kinds = {example.good for example in family.EXAMPLES}
    assert kinds == ({True} if family.NAME in SCORE_ONLY else {True, False})


def test_names_keys_and_places_of_a_full_brief() -> None:
    example = Example(
        "everything at once",
        ("four", "side", "eight"),
        wishes={
            "must": [{"figure": "test/four"}, {"figure": "test/four"}],
            "never": ["test/six", "test/six"],
            "prefer": {"test/side": 2},
            "repeats": {"most": 2, "apart": 1},
            "at_least_different": 2,
            "at_most_different": 4,
            "hits": "must",
            "final_pose": True,
            "opening": {"hold": "closed", "faces": "LOD", "figure": "test/four"},
            "closing": {"faces": "audience"},
        },
        couple={"leader": {"level": 1, "not_yet": ["test/six"]}, "avoid": ["wrap"], "accept": ["dip"]},
        room={"style": "show", "width": 6, "depth": 6, "audience": "south", "start": {"x": 3, "y": 3}},
        music={"hits": [9], "energies": [1, 4]},
        at=(3000, 3000),
    )
    problem = setting(example)
    stated = state_all(problem, build(problem))
    defaults = [d for d in stated.demands if d.where is None and not d.law]
    assert {d.key.split(":")[0] for d in defaults} <= {"learned", "cautions", "phrasing", "order"}
    assert all("(" in d.sentence for d in defaults), "a default says that it is one"
    assert all(d.where.line is not None for d in stated.demands if d.where is not None)
    for demand in stated.demands:
        for word in ("variable", "literal", "constraint", "infeasible", " arc", "node", "None"):
            assert word not in demand.sentence
    routine = dancing(example, problem)
    keys = {d.key for d in stated.demands}
    assert {breach.key for breach in breaches_of(problem, routine) if not breach.law} <= keys
    assert {p.term for p in points_of(problem, routine)} == {t.key for t in stated.terms}
