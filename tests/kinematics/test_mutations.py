"""Good figures of the catalogue, each spoiled in one way: the right diagnostic says so, at the right place.

A mutation names the figure, what is changed, the code expected and the key at fault. Where one change breaks several
things (a wrong foot leaves the wrong foot free), the others may be told too, but the named one must be there.
"""

from __future__ import annotations

import copy
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Any

import pytest
import yaml

from composer.charts import DanceFile, FigureFile
from composer.errors import BadInput, Diagnostic
from composer.kinematics.simulate import simulate
from composer.resources import shipped
from composer.textfiles import read_yaml, validated, yaml_document
from tests.kinematics.builders import the_holds

Data = dict[str, Any]
Change = Callable[[Data], object]


@cache
def page(dance: str) -> DanceFile:
    return validated(DanceFile, read_yaml(shipped("catalog") / dance / "dance.yaml"), code="DNC")


def told(data: Data) -> list[Diagnostic]:
    """What reading and simulating a figure file says; the file is written out first so that lines exist."""
    document = yaml_document(yaml.safe_dump(data, sort_keys=False), "spoiled.yaml")
    try:
        chart = validated(FigureFile, document, code="FIG")
    except BadInput as problem:
        return list(problem.diagnostics)
    dance = page(chart.dance)
    options = {"tempo_most": dance.tempo.most, "beats_per_bar": dance.beats_per_bar}
    return simulate(chart, the_holds(), document.where, **options)[1]  # type: ignore[arg-type]


def figure(name: str) -> Data:
    return copy.deepcopy(dict(read_yaml(shipped("catalog") / f"{name}.yaml").data))


@dataclass(frozen=True)
class Mutation:
    sentence: str
    figure: str
    change: Change
    code: str
    key: str
    words: str = ""


def step(role: str, number: int, **changes: Any) -> Change:
    return lambda d: d[role][number].update(changes)


def end(**changes: Any) -> Change:
    return lambda d: d["exit"].update(changes)


def entry(**changes: Any) -> Change:
    return lambda d: d["entry"].update(changes)


def top(**changes: Any) -> Change:
    return lambda d: d.update(changes)


def without(role: str, number: int) -> Change:
    return lambda d: d[role].pop(number)


def swapped(role: str, one: int, two: int) -> Change:
    def change(data: Data) -> None:
        steps = data[role]
        steps[one]["at"], steps[two]["at"] = steps[two]["at"], steps[one]["at"]

    return change


def no_hands(*acts: str) -> Change:
    """Forget some of the hand events (``lift``, ``join`` ...)."""
    return lambda d: d.update(hands=[h for h in d["hands"] if h["do"] not in acts])


def turning(role: str, factor: float) -> Change:
    def change(data: Data) -> None:
        for item in data[role]:
            for key in ("turn", "body"):
                if key in item:
                    item[key] = item[key] * factor
        data["exit"][f"{role}_turn"] = data["exit"][f"{role}_turn"] * factor

    return change


NATURAL, UNDERARM, WRAP = "waltz/natural-turn", "triple-two/outside-turn", "triple-two/wrap-in"
MUTATIONS = [
    Mutation("a foot that carries the weight steps", NATURAL, step("leader", 2, foot="L"), "FIG012", "leader[2].foot"),
    Mutation("a step is left out", NATURAL, without("leader", 2), "FIG012", "leader[2].foot"),
    Mutation("the tap that would free the foot is a step", "triple-two/basic",
             step("follower", 3, foot="R", do="tap"), "FIG012", "follower[3].foot"),
    Mutation("the first step is on the wrong foot", NATURAL, step("leader", 0, foot="L"), "FIG013", "leader[0].foot"),
    Mutation("the entry frees the other foot", NATURAL, entry(follower_free="R"), "FIG013", "follower[0].foot"),
    Mutation("the exit frees the other foot", NATURAL, end(leader_free="L"), "FIG014", "exit.leader_free"),
    Mutation("the last weight change became a tap", NATURAL, step("follower", 5, do="tap"), "FIG014",
             "exit.follower_free"),
    Mutation("counts are out of order", NATURAL, swapped("leader", 1, 2), "FIG010", "leader[2].at"),
    Mutation("two steps on one count", NATURAL, step("leader", 1, at=1), "FIG010", "leader[1].at"),
    Mutation("a step after the end", NATURAL, step("leader", 5, at=7), "FIG011", "leader[5].at"),
    Mutation("the figure is made too short", NATURAL, top(beats=4), "FIG011", "leader[4].at"),
    Mutation("the figure is made too long", NATURAL, top(beats=12), "FIG015", "leader[5].at"),
    Mutation("the chart begins late", NATURAL, lambda d: (without("leader", 0)(d), without("leader", 0)(d),
             without("leader", 0)(d), entry(leader_free="L")(d)), "FIG015", "leader[0].at"),
    Mutation("the foot points too far from the body", NATURAL, step("leader", 4, body=0), "FIG016", "leader[4].turn"),
    Mutation("the body never catches up with the feet", NATURAL, step("leader", 5, body=0), "FIG016", "leader[5].body"),
    Mutation("two turns on one quick step", UNDERARM, step("follower", 3, turn=16), "FIG017", "follower[3].turn"),
    Mutation("the couple ends between two alignments", NATURAL,
             lambda d: (step("leader", 5, body=1.5, turn=0.5)(d), step("follower", 5, turn=1.5)(d)),
             "FIG018", "exit.leader_turn"),
    Mutation("an unknown hold", NATURAL, entry(hold="closd"), "FIG020", "entry.hold", "Did you mean 'closed'?"),
    Mutation("an unknown hold on the way", "triple-two/change-places",
             lambda d: d["via"][0].update(hold="passing-rite"), "FIG020", "via[0].hold", "passing-right"),
    Mutation("a wrap without its caution", WRAP, top(cautions=[]), "FIG022", "exit.hold", "wrap"),
    Mutation("the peak lies outside", NATURAL, top(peak=9), "FIG023", "peak"),
    Mutation("the partners do not face as the hold says", NATURAL,
             lambda d: (step("follower", 5, turn=0)(d), end(follower_turn=5)(d)), "FIG030", "exit.hold"),
    Mutation("one partner forgets to turn", NATURAL, step("follower", 1, turn=0, body=0), "FIG030", "follower"),
    Mutation("the follower walks the other way", NATURAL, step("follower", 0, do="forward"), "FIG031", "follower"),
    Mutation("the leader backs away from her", "triple-two/basic", step("leader", 0, do="back"), "FIG031", "follower"),
    Mutation("nobody goes out of the way", "triple-two/change-places",
             lambda d: (d.pop("via"), step("leader", 0, do="forward")(d), step("leader", 2, do="forward")(d),
                        step("follower", 0, do="forward")(d), step("follower", 1, do="forward")(d)),
             "FIG03", ""),
    Mutation("large steps apart with joined hands", "triple-two/open-basic",
             lambda d: [step("leader", i, do="back", size="large")(d) for i in (0, 1)], "FIG033", "follower"),
    Mutation("the declared turn of the leader is wrong", NATURAL, end(leader_turn=7), "FIG036", "exit.leader_turn"),
    Mutation("a whole turn is left out of the exit", UNDERARM, end(follower_turn=0), "FIG036", "exit.follower_turn"),
    Mutation("the declared travel is half a metre off", NATURAL,
             lambda d: d["exit"].update(travel={"forward": "3 m", "right": 0}), "FIG037", "exit.travel"),
    Mutation("the hand is never lowered", UNDERARM, no_hands("lower"), "FIG040", "exit.hold", "still raised"),
    Mutation("the exit needs hands that never join", "triple-two/opening-out", no_hands("join"), "FIG040", "exit.hold",
             "join RL"),
    Mutation("a hold with fewer hands and nothing dropped", "triple-two/hand-change", no_hands("drop"), "FIG041",
             "hands"),
    Mutation("hands are lifted that are not joined", UNDERARM, lambda d: d["hands"][0].update(pair="RL"), "FIG041",
             "hands[0]", "not joined"),
    Mutation("a busy hand joins", UNDERARM,
             lambda d: d["hands"].insert(0, {"at": 1, "do": "join", "pair": "RR"}), "FIG041", "hands[0]", "in LR"),
    Mutation("two turns under a low hand", UNDERARM,
             lambda d: (no_hands("lift", "lower")(d), turning("follower", 2)(d)), "FIG042", "follower", "Lift LR"),
    Mutation("the underarm turn without lifting", UNDERARM, no_hands("lift", "lower"), "FIG04", ""),
    Mutation("the wrap is turned the other way", WRAP, turning("follower", -1), "FIG0", ""),
    Mutation("one arm stays behind the back", UNDERARM,
             lambda d: (entry(hold="two-hands")(d), end(hold="two-hands")(d)), "FIG043", "exit.hold",
             "left arm (pair RL) lies behind the back"),
    Mutation("an arm led behind the back is not warned of", "triple-two/hammerlock-in", top(cautions=[]), "FIG044", "",
             "behind-the-back"),
    Mutation("a wrap on the way is not warned of", WRAP, top(cautions=[]), "FIG044", "follower", "Add wrap"),
    Mutation("an unknown key", NATURAL, lambda d: d["leader"][0].update(foott="R"), "FIG001", "leader[0].foott"),
    Mutation("an unknown action", NATURAL, step("leader", 0, do="forwards"), "FIG003", "leader[0].do"),
]  # fmt: skip


@pytest.mark.parametrize("name", sorted({m.figure for m in MUTATIONS}))
def test_unspoiled_figures_are_good(name: str) -> None:
    assert told(figure(name)) == []


@pytest.mark.parametrize("mutation", MUTATIONS, ids=lambda m: m.sentence)
def test_spoiled_figure_is_refused_with_the_right_words(mutation: Mutation) -> None:
    data = figure(mutation.figure)
    mutation.change(data)
    found = told(data)
    fitting = [
        d
        for d in found
        if d.code.startswith(mutation.code)
        and (d.where.key or "").startswith(mutation.key)
        and mutation.words in str(d)
    ]
    assert fitting, "\n".join(map(str, found)) or "nothing was said"
    assert all(d.where.file == "spoiled.yaml" and d.where.line for d in found)
