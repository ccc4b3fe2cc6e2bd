"""The floor plan and the timeline drawn on paper (PDF), with the same look as the SVG pictures."""

from __future__ import annotations

import math
from collections.abc import Callable

from composer.report.labels import MOST_WIDE, Labels, free_place, room_names, round_box
from composer.report.model import RoomMark, Sheet, Spot, Still
from composer.report.paper import FAINT, FOLLOW, INK, LEAD, LINE, MARK, MARK_WASH, SOFT, TINTS, Paper
from composer.report.plan import GRID_FEET_MM, Frame, Part, frame_of, parts_of
from composer.report.strip import tints_of
from composer.report.svg import shortened
from composer.report.words import Role
from composer.units import TICKS_PER_BEAT

Place = Callable[[float, float], tuple[float, float]]
PX_PER_MM = 3.6
"""Numbers are placed in the units of the SVG plan; this many of them make a millimetre on paper."""
NAME_PX = 8.0
"""Size of the names of things: six points."""


def draw_timeline(paper: Paper, sheet: Sheet, top: float) -> float:
    """One row per phrase from ``top``; returns the y below. Breaks the page between rows."""
    pdf = paper.pdf
    left, label = paper.left, 20.0
    longest = max((p.end_tick - p.start_tick for p in sheet.phrases), default=TICKS_PER_BEAT)
    scale = (paper.width - label) / longest
    tints, y = tints_of(sheet), top
    for phrase in sheet.phrases:
        if y + 13 > paper.bottom:
            pdf.add_page()
            y = paper.top
        paper.font(7.5, "B")
        paper.one_line(f"Phrase {phrase.number}", left, y + 3, label - 1, 3.2)
        paper.font(6.5, colour=SOFT)
        paper.one_line(f"{phrase.clock}, {phrase.bars}", left, y + 6.2, label - 1, 3)
        for beat in range(phrase.start_tick // TICKS_PER_BEAT, phrase.end_tick // TICKS_PER_BEAT):
            x = left + label + (beat * TICKS_PER_BEAT - phrase.start_tick) * scale
            if beat < len(sheet.beats_in_bar) and sheet.beats_in_bar[beat] == 1:
                pdf.set_draw_color(LINE)
                pdf.set_line_width(0.3)
                pdf.line(x, y + 0.8, x, y + 3)
        for figure in sheet.figures:
            start, end = max(figure.start_tick, phrase.start_tick), min(figure.end_tick, phrase.end_tick)
            if end <= start:
                continue
            x, wide = left + label + (start - phrase.start_tick) * scale, (end - start) * scale
            pdf.set_fill_color(TINTS[tints[figure.id]])
            pdf.rect(x + 0.2, y + 3, wide - 0.4, 7.4, style="F", round_corners=True, corner_radius=1)
            pdf.set_fill_color(MARK)
            pdf.rect(x + 0.8, y + 9.2, max((wide - 1.6) * figure.energy / 5, 0.1), 0.6, style="F")
            paper.font(6.5, "B")
            paper.one_line(f"{figure.number}. {figure.name}", x + 0.2, y + 3.6, wide - 0.6, 3)
            paper.font(6, colour=SOFT)
            paper.one_line(figure.counts, x + 0.2, y + 6.3, wide - 0.6, 2.6)
        for accent in phrase.accents:
            x = left + label + (accent.tick - phrase.start_tick) * scale
            _diamond(paper, x, y + 2.6, 0.9 + 0.25 * accent.strength, filled=accent.met_by is not None)
        y += 12.4
    return y


def _diamond(paper: Paper, x: float, y: float, size: float, *, filled: bool) -> None:
    paper.pdf.set_draw_color(MARK)
    paper.pdf.set_fill_color(MARK if filled else "#ffffff")
    paper.pdf.set_line_width(0.3)
    paper.pdf.polygon([(x, y - size), (x + size, y), (x, y + size), (x - size, y)], style="DF")


def draw_plan(paper: Paper, sheet: Sheet, top: float) -> float:
    """All pictures of the plan, two beside each other when there are several; returns the y below."""
    parts = parts_of(sheet)
    columns = 1 if len(parts) == 1 else 2
    gap = 8.0
    wide = (paper.width - gap * (columns - 1)) / columns
    y = top
    for index in range(0, len(parts), columns):
        row = parts[index : index + columns]
        tall = max(_height(sheet, part, wide) for part in row)
        if y + tall > paper.bottom and y > paper.top + 1:
            paper.pdf.add_page()
            y = paper.top
        for column, part in enumerate(row):
            _draw_part(paper, sheet, part, paper.left + column * (wide + gap), y, wide)
        y += tall
    return y


def _runs(sheet: Sheet, part: Part) -> tuple[tuple[Still, ...], tuple[Still, ...]]:
    runs = [f.stills for f in sheet.figures]
    earlier = tuple(s for run in runs[: part.first - 1] for s in run)
    return earlier, tuple(s for run in runs[part.first - 1 : part.last] for s in run)


def _height(sheet: Sheet, part: Part, wide: float) -> float:
    return frame_of(sheet, _runs(sheet, part)[1], (wide - 12) * PX_PER_MM, 78 * PX_PER_MM).size[1] / PX_PER_MM + 22


def _draw_part(paper: Paper, sheet: Sheet, part: Part, left: float, top: float, wide: float) -> None:
    pdf = paper.pdf
    earlier, now = _runs(sheet, part)
    frame = frame_of(sheet, now, (wide - 12) * PX_PER_MM, 78 * PX_PER_MM)
    w, h = (side / PX_PER_MM for side in frame.size)
    x0, y0 = left + (wide - w) / 2, top + 11
    paper.font(8, colour=SOFT)
    paper.one_line(part.heading, left, top, wide, 4)

    def at(x_mm: float, y_mm: float) -> tuple[float, float]:
        x, y = frame.at(x_mm, y_mm)
        return x0 + x / PX_PER_MM, y0 + y / PX_PER_MM

    pdf.set_line_width(0.15)
    pdf.set_draw_color(FAINT)
    step = 1000.0 if sheet.lengths == "metres" else GRID_FEET_MM
    for index in range(math.ceil(frame.x0 / step), math.floor(frame.x1 / step) + 1):
        pdf.line(at(index * step, 0)[0], y0, at(index * step, 0)[0], y0 + h)
    for index in range(math.ceil(frame.y0 / step), math.floor(frame.y1 / step) + 1):
        pdf.line(x0, at(0, index * step)[1], x0 + w, at(0, index * step)[1])
    if sheet.room is not None:
        _draw_room(paper, sheet.room, at)
        _draw_audience(paper, sheet.room.audience, x0, y0, w, h)
    for role, colour in (("follower", FOLLOW), ("leader", LEAD)):
        dash = {"dash": 0.4, "gap": 1.1} if role == "follower" else {}
        for stills, thick in ((earlier if sheet.room else (), 0.15), (now, 0.55)):
            if len(stills) > 1:
                pdf.set_draw_color(colour)
                pdf.set_line_width(thick)
                pdf.set_dash_pattern(**dash)
                pdf.polyline([at(_spot(s, role).x_mm, _spot(s, role).y_mm) for s in stills])  # type: ignore[arg-type]
    pdf.set_dash_pattern()
    if now:
        _draw_ends(paper, now, at)
    labels = Labels(*frame.size)
    _draw_numbers(paper, sheet, part, (x0, y0, frame.size[0], frame.size[1]), at, labels)
    if sheet.room is not None:
        _draw_names(paper, sheet.room, frame, (x0, y0), labels)


def _spot(still: Still, role: Role) -> Spot:
    return still.leader if role == "leader" else still.follower


def _draw_room(paper: Paper, room: RoomMark, at: Place) -> None:
    pdf = paper.pdf
    pdf.set_line_width(0.2)
    pdf.set_draw_color(MARK)
    pdf.set_fill_color(MARK_WASH)
    for thing in room.obstacles:
        places = [at(x, y) for x, y in thing.corners]
        if len(places) == 1:
            (x, y), (edge, _) = places[0], at(thing.corners[0][0] + thing.radius_mm, thing.corners[0][1])
            radius = max(edge - x, 0.6)
            pdf.ellipse(x - radius, y - radius, 2 * radius, 2 * radius, style="DF")
        else:
            pdf.polygon(places, style="DF")
    pdf.set_line_width(1.2)
    for door in room.doors:
        pdf.line(*at(*door.ends[0]), *at(*door.ends[1]))
    pdf.set_draw_color(INK)
    pdf.set_line_width(0.5)
    pdf.polygon([at(x, y) for x, y in room.outer], style="D")
    if room.inset:
        pdf.set_draw_color(LINE)
        pdf.set_line_width(0.2)
        pdf.set_dash_pattern(dash=0.5, gap=1)
        pdf.polygon([at(x, y) for x, y in room.inset], style="D")
        pdf.set_dash_pattern()


def _draw_audience(paper: Paper, side: str | None, x: float, y: float, w: float, h: float) -> None:
    if side is None:
        return
    box = {
        "south": (x, y + h + 1, w, 4),
        "north": (x, y - 5, w, 4),
        "east": (x + w + 1, y, 4, h),
        "west": (x - 5, y, 4, h),
    }
    left, top, wide, tall = box[side]
    paper.pdf.set_fill_color(MARK_WASH)
    paper.pdf.rect(left, top, wide, tall, style="F")
    paper.font(6)
    if side in {"south", "north"}:
        paper.one_line("AUDIENCE", left, top, wide, tall, align="C")
    else:
        with paper.pdf.rotation(90, left + wide / 2, top + tall / 2):
            paper.one_line("AUDIENCE", left + wide / 2 - 12, top + tall / 2 - 2, 24, 4, align="C")


def _draw_ends(paper: Paper, now: tuple[Still, ...], at: Place) -> None:
    pdf = paper.pdf
    for still, filled in ((now[0], True), (now[-1], False)):
        for role, colour in (("follower", FOLLOW), ("leader", LEAD)):
            spot = still.leader if role == "leader" else still.follower
            x, y = at(spot.x_mm, spot.y_mm)
            pdf.set_draw_color(colour)
            pdf.set_fill_color(colour if filled else "#ffffff")
            pdf.set_line_width(0.5)
            if role == "leader":
                pdf.rect(x - 1.5, y - 1.5, 3, 3, style="DF")
            else:
                pdf.ellipse(x - 1.7, y - 1.7, 3.4, 3.4, style="DF")


def _draw_numbers(
    paper: Paper, sheet: Sheet, part: Part, box: tuple[float, float, float, float], at: Place, labels: Labels
) -> None:
    x0, y0, wide, tall = box
    taken: list[tuple[float, float]] = []
    chosen = sheet.figures[part.first - 1 : part.last]
    for figure in chosen:
        spot = figure.stills[0].leader
        px, py = at(spot.x_mm, spot.y_mm)
        fx, fy = free_place((px - x0) * PX_PER_MM, (py - y0) * PX_PER_MM, taken, wide, tall, 15)
        taken.append((fx, fy))
        labels.taken.append(round_box(fx, fy))
        x, y = x0 + fx / PX_PER_MM, y0 + fy / PX_PER_MM
        paper.pdf.set_draw_color(INK)
        paper.pdf.set_line_width(0.2)
        paper.pdf.line(px, py, x, y)
        paper.pdf.set_fill_color("#ffffff")
        paper.pdf.ellipse(x - 2, y - 2, 4, 4, style="DF")
        paper.font(6, "B")
        paper.pdf.set_xy(x - 4, y - 2)
        paper.pdf.cell(8, 4, str(figure.number), align="C")
    if chosen:
        paper.font(7, "B", colour=MARK)
        for words, spot in (("start", chosen[0].stills[0].leader), ("end", chosen[-1].stills[-1].leader)):
            px, py = at(spot.x_mm, spot.y_mm)
            fx, fy = free_place((px - x0) * PX_PER_MM, (py - y0) * PX_PER_MM + 18, taken, wide - 10, tall, 15)
            taken.append((fx, fy))
            labels.taken.append((fx - 14, fy - 7, fx + 14, fy + 7))
            paper.pdf.set_xy(x0 + fx / PX_PER_MM - 6, y0 + fy / PX_PER_MM - 2)
            paper.pdf.cell(12, 4, words, align="C")


def _draw_names(paper: Paper, room: RoomMark, frame: Frame, corner: tuple[float, float], labels: Labels) -> None:
    """Names of obstacles and doors where they cover neither a number nor each other."""
    for name, places in room_names(room):
        words = shortened(name, MOST_WIDE, NAME_PX)
        spots = [frame.at(*place) for place in places]
        x, y = (sum(spot[axis] for spot in spots) / len(spots) for axis in (0, 1))
        px, py = labels.put(words, x, y + 4, NAME_PX)
        left, base = corner[0] + px / PX_PER_MM, corner[1] + py / PX_PER_MM
        paper.font(6)
        paper.one_line(words, left - 20, base - 2.2, 40, 3, align="C")
