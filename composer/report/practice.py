"""``practice.html``: plays the music or a click while both dancers move on the floor plan. One self-contained page.

The page's script is in ``templates/practice-core.js`` (sums, tested with node) and ``templates/practice.js``
(sound and picture); there is no build step. The page gets the sheet's numbers as JSON and works out only where
something is *between* two of them.
"""

from __future__ import annotations

import json
from typing import Any

from composer.report.footchart import sole
from composer.report.footdata import Print
from composer.report.lines import StepLine
from composer.report.model import FigureLine, FootKey, PhraseLine, Sheet
from composer.report.page import palette_css, shipped_text
from composer.report.plan import Frame, dancer, floor, frame_of
from composer.report.strip import tints_of
from composer.report.svg import element, path

WIDE, TALL, EDGE = 900.0, 640.0, 30.0
AROUND_MM = 4000
FOLLOW_ABOVE_MM = 7000
"""On more floor than this the picture can follow the couple; without a room it begins that way."""


def practice_html(sheet: Sheet, *, track: str = "") -> str:
    """The page as text. ``track`` is the address of a recording beside the page, empty when there is none."""
    from jinja2 import Environment, FunctionLoader, StrictUndefined
    from markupsafe import Markup

    environment = Environment(
        loader=FunctionLoader(shipped_text),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    frame = frame_of(sheet, sheet.stills, WIDE, TALL)
    wide, tall = frame.size
    left, upper = -EDGE, -EDGE
    if sheet.room is None:
        # Open floor goes on outside the danced part, for when the picture follows the couple.
        left, upper = (AROUND_MM * frame.scale - EDGE,) * 2
        frame = Frame(
            frame.x0 - AROUND_MM, frame.y0 - AROUND_MM, frame.x1 + AROUND_MM, frame.y1 + AROUND_MM, frame.scale
        )
    whole = f"{left:.1f} {upper:.1f} {wide + 2 * EDGE:.1f} {tall + 2 * EDGE:.1f}"
    follows = max(wide, tall) > FOLLOW_ABOVE_MM * frame.scale
    text = json.dumps(_data(sheet, frame, whole, follows), ensure_ascii=False, separators=(",", ":"), sort_keys=True)
    return environment.get_template("practice.html").render(
        sheet=sheet,
        css=Markup(palette_css() + shipped_text("practice.css")),
        core=Markup(shipped_text("practice-core.js")),
        js=Markup(shipped_text("practice.js")),
        # Inside a script element only "<" could end it; as an escape it is the same JSON.
        data=Markup(text.replace("<", "\\u003c")),
        floor=Markup(floor(sheet, frame) + _ways(sheet, frame)),
        body=lambda role: Markup(dancer(0, 0, 0, role, 150 * frame.scale)),
        sole=lambda side: Markup(_sole(side, frame)),
        whole=whole,
        follows=follows,
        tints=tints_of(sheet),
        blocks={phrase.number: _blocks(sheet, phrase) for phrase in sheet.phrases},
        track=track,
    )


def _sole(side: str, frame: Frame) -> str:
    # Drawn with its toe to the right, because the page turns it clockwise from east.
    return sole(Print("L" if side == "left" else "R", 0, 0, 4, False), 0, 0, frame.scale)


def _ways(sheet: Sheet, frame: Frame) -> str:
    drawn = ""
    for cls, spots in (("follow", [s.follower for s in sheet.stills]), ("lead", [s.leader for s in sheet.stills])):
        points = [frame.at(spot.x_mm, spot.y_mm) for spot in spots]
        drawn += element("path", cls=cls, d=path(points), stroke_width=1.2, opacity=0.28, stroke_linejoin="round")
    return drawn


def _blocks(sheet: Sheet, phrase: PhraseLine) -> list[tuple[FigureLine, int, float]]:
    """Figures that begin in a phrase: their share of the row, and the empty share before the first (in per cent)."""
    found: list[tuple[FigureLine, int, float]] = []
    span = phrase.end_tick - phrase.start_tick
    for number in phrase.figures:
        figure = sheet.figures[number - 1]
        lead = round(100 * (figure.start_tick - phrase.start_tick) / span, 2) if not found else 0.0
        found.append((figure, min(figure.end_tick, phrase.end_tick) - figure.start_tick, lead))
    return found


def _keys(track: tuple[FootKey, ...]) -> list[list[int]]:
    return [[k.tick, k.x_mm, k.y_mm, k.points16, int(k.weight)] for k in track]


def _steps(steps: tuple[StepLine, ...]) -> list[dict[str, Any]]:
    return [{"tick": s.tick, "count": s.count, "words": s.plain} for s in steps]


def _data(sheet: Sheet, frame: Frame, whole: str, follows: bool) -> dict[str, Any]:
    return {
        "beats": list(sheet.beats_s),
        "inBar": list(sheet.beats_in_bar),
        "length": sheet.length_ticks,
        "frame": {"x0": frame.x0, "y1": frame.y1, "scale": frame.scale, "whole": whole, "follow": follows},
        "bodies": {
            "leader": [[s.tick, s.leader.x_mm, s.leader.y_mm, s.leader.facing16, 1] for s in sheet.stills],
            "follower": [[s.tick, s.follower.x_mm, s.follower.y_mm, s.follower.facing16, 1] for s in sheet.stills],
        },
        "feet": {
            "leader_left": _keys(sheet.tracks.leader_left),
            "leader_right": _keys(sheet.tracks.leader_right),
            "follower_left": _keys(sheet.tracks.follower_left),
            "follower_right": _keys(sheet.tracks.follower_right),
        },
        "phrases": [{"number": p.number, "start": p.start_tick, "end": p.end_tick} for p in sheet.phrases],
        "figures": [
            {
                "number": f.number,
                "name": f.name,
                "start": f.start_tick,
                "end": f.end_tick,
                "hold": f.entry.hold if f.entry.hold == f.exit.hold else f"{f.entry.hold} to {f.exit.hold}",
                "leader": _steps(f.steps_of("leader")),
                "follower": _steps(f.steps_of("follower")),
                **({"leads": f.leads} if f.leads else {}),
            }
            for f in sheet.figures
        ],
    }
