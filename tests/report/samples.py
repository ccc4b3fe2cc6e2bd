"""A small real routine for the report tests: two charts written here, really simulated, danced to steady music."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

from composer.catalogue.model import Catalogue, Figure
from composer.charts import FigureFile
from composer.errors import Where
from composer.kinematics.simulate import simulate
from composer.problem import Problem
from composer.report import Sheet, sheet_from
from composer.routine import Placed, Routine, ScoreLine
from composer.textfiles import validated, yaml_document
from composer.timeline.model import Timeline
from tests.builders import a_catalogue, a_problem, a_timeline, the_holds

BASIC = """
format: figure/1
name: Plain six
dance: test
level: 1
beats: 6
energy: 2
about: "Two walks and two triples forward."
entry: {hold: closed, leader_free: L, follower_free: R}
exit: {hold: closed, leader_free: L, follower_free: R}
lead: [{at: 1, say: "Begin with the body."}]
follow: [{at: 3, say: "Small steps."}]
leader:
  - {at: 1, foot: L, do: forward, work: H}
  - {at: 2, foot: R, do: forward, work: H}
  - {at: 3, foot: L, do: forward, work: BF}
  - {at: "3&", foot: R, do: close, work: B}
  - {at: 4, foot: L, do: forward, size: small, work: BF}
  - {at: 5, foot: R, do: forward, work: BF}
  - {at: "5&", foot: L, do: close, work: B}
  - {at: 6, foot: R, do: forward, size: small, work: BF}
follower:
  - {at: 1, foot: R, do: back, work: T}
  - {at: 2, foot: L, do: back, work: T}
  - {at: 3, foot: R, do: back, work: BF}
  - {at: "3&", foot: L, do: close, work: B}
  - {at: 4, foot: R, do: back, size: small, work: BF}
  - {at: 5, foot: L, do: back, work: BF}
  - {at: "5&", foot: R, do: close, work: B}
  - {at: 6, foot: L, do: back, size: small, work: BF}
"""
CURVE = """
format: figure/1
name: Curving four
dance: test
level: 2
beats: 4
energy: 4
peak: 3
about: "Four steps that curve a quarter to the left."
entry: {hold: closed, leader_free: L, follower_free: R}
exit: {hold: closed, leader_turn: -2, follower_turn: -2, leader_free: L, follower_free: R}
cautions: [fast-spin]
leader:
  - {at: 1, foot: L, do: forward, turn: -1}
  - {at: 2, foot: R, do: side, size: small}
  - {at: 3, foot: L, do: back, turn: -1}
  - {at: 4, foot: R, do: side, size: small}
follower:
  - {at: 1, foot: R, do: back, turn: -1}
  - {at: 2, foot: L, do: side, size: small}
  - {at: 3, foot: R, do: forward, turn: -1}
  - {at: 4, foot: L, do: side, size: small}
"""


@cache
def real_figure(text: str, identity: str) -> Figure:
    """A chart simulated."""
    document = yaml_document(text, f"{identity}.yaml")
    chart = validated(FigureFile, document, code="FIG")
    motion, faults = simulate(chart, the_holds(), _where)
    assert motion is not None, [str(f) for f in faults]
    return Figure(identity, chart, motion, document.file, ("travelling", "slot", "spot", "show"))


def _where(*path: str | int) -> Where:
    return Where("figure.yaml", 1, ".".join(str(p) for p in path))


def the_catalogue() -> Catalogue:
    """Both figures."""
    return a_catalogue([real_figure(BASIC, "test/plain-six"), real_figure(CURVE, "test/curving-four")])


ORDER = ("plain-six", "curving-four", "plain-six", "curving-four", "plain-six", "plain-six")


def a_dance(
    room: Mapping[str, Any] | None = None,
    *,
    title: str = "Our <first> & best",
    couple: Mapping[str, Any] | None = None,
    timeline: Timeline | None = None,
    order: tuple[str, ...] = ORDER,
    faces: int = 0,
    at: tuple[int, int] | None = None,
) -> tuple[Problem, Routine]:
    """Thirty-two counts in the given order, scored with made-up points."""
    music = timeline or a_timeline(8, 4, 4, sections=[(4, "verse", 2), (4, "chorus", 4)], hits=[9, (20, 3)])
    problem = a_problem(catalogue=the_catalogue(), timeline=music, room=room, couple=couple)
    placed, tick = [], 0
    place = at
    for name in order:
        figure = problem.catalogue.figures[f"test/{name}"]
        placed.append(Placed(figure.id, tick, tick + figure.length_ticks, faces, *(place or (None, None))))
        if place is not None:
            from composer.floor.placing import travel_of

            dx, dy = travel_of(figure.motion, faces)
            place = (place[0] + dx, place[1] + dy)
        tick, faces = tick + figure.length_ticks, figure.end_of(faces).faces
    card = (ScoreLine("music", "peaks on hits", 30, (0, 10, 0, 20, 0, 0)), ScoreLine("variety", "different", 12))
    return problem, Routine(title, ("test",), tick, tuple(placed), "best", 42, 42, card)


def a_sheet(room: Mapping[str, Any] | None = None, **given: Any) -> Sheet:
    """The sheet of :func:`a_dance`."""
    return sheet_from(*a_dance(room, **given))


SHOW_ROOM = {"style": "show", "width": 12, "depth": 10, "margin": "50 cm", "audience": "south"}
HOSTILE = "<script>alert('x')</script> \"quoted\" & שלום עולם مرحبا 💃🕺 \u202eabc\u0007 " + "long " * 50
