"""Draws a foot chart: a row of step pictures per role, and both dancers' prints on the floor. Computes nothing new.

Every picture carries its own words (count, foot, what it does, turn), so nothing has to be looked up: the foot that
moves is solid when it takes the weight and outlined when it only touches, the arrow is its way, the other foot is
pale, the curved arrow is the turn of the body and the small tip shows the way the dancer faces.
"""

from __future__ import annotations

import math

from composer.report.footdata import FootChart, Print, StepPicture
from composer.report.svg import element, path, picture, shortened, text
from composer.report.words import Role

BOX_W, BOX_H, GAP = 132.0, 222.0, 10.0
SHOE, RING = 0.13, 30.0
LONG, BROAD = 250.0, 92.0
_SOLE = (
    (0, 0.5), (0.42, 0.5), (0.4, 0.2), (0.36, 0.05), (0.62, -0.2), (0.5, -0.5), (-0.06, -0.5),
    (-0.5, -0.5), (-0.46, -0.2), (-0.3, 0.05), (-0.36, 0.25), (-0.42, 0.5), (0, 0.5),
)  # fmt: skip
"""A right sole: start and Bezier corners as shares of its breadth (outwards) and length (to the heel)."""
_COLOUR = {"leader": "var(--lead)", "follower": "var(--follow)"}
_WASH = {"leader": "var(--lead-wash)", "follower": "var(--follow-wash)"}


def sole(mark: Print, x: float, y: float, scale: float, **look: str | float) -> str:
    """A shoe sole from above, its toe along the way the foot points; left and right mirror each other."""
    long, broad = LONG * scale, BROAD * scale
    out = -1 if mark.foot == "L" else 1
    # Heel at the bottom, toe at the top; the outer side (``out``) bulges, the inner side is nearly straight.
    corners = [(out * a * broad, b * long) for a, b in _SOLE]
    numbers = [f"{x:.1f} {y:.1f}" for x, y in corners]
    d = f"M{numbers[0]}" + "".join(f"C{' '.join(numbers[k : k + 3])}" for k in range(1, len(numbers), 3)) + "Z"
    return element("path", d=d, transform=f"translate({x:.1f} {y:.1f}) rotate({mark.points16 * 22.5:.1f})", **look)


def foot_chart_svg(chart: FootChart, *, standalone: bool = True) -> str:
    """The whole foot chart as one SVG picture (byte-stable)."""
    most = max(len(chart.leader), len(chart.follower))
    columns = next((c for c in (6, 7, 8) if most <= c), min((8, 7, 6), key=lambda c: -most % c))
    width = columns * (BOX_W + GAP) - GAP + 40
    drawn: list[str] = []
    y = 0.0
    if standalone:
        drawn += [text(shortened(chart.name, width - 40, 22), 20, 34, 22, font_weight="600")]
        drawn += [text(line, 20, 56 + 17 * i, 13, cls="soft") for i, line in enumerate(wrapped(chart.about, 110)[:2])]
        y = 92.0
    for role, steps in (("leader", chart.leader), ("follower", chart.follower)):
        drawn.append(_role_head(role, y))  # type: ignore[arg-type]
        y += 34
        for index, step in enumerate(steps):
            x = 20 + (index % columns) * (BOX_W + GAP)
            row = y + (index // columns) * (BOX_H + GAP)
            drawn.append(element("g", _box(step), transform=f"translate({x:.0f} {row:.0f})"))
        y += math.ceil(len(steps) / columns) * (BOX_H + GAP) + 6
    floor, tall = _floor(chart, width - 40)
    drawn.append(
        text("Both on the floor; up is the way the leader faced at the start", 20, y + 18, 14, font_weight="700")
    )
    drawn.append(element("g", floor, transform=f"translate(20 {y + 30:.0f})"))
    y += 30 + tall + 16
    about = f"{len(chart.leader)} steps of the leader and {len(chart.follower)} of the follower."
    return picture(width, y, f"Foot chart: {chart.name}", about, *drawn, standalone=standalone)


def _role_head(role: Role, y: float) -> str:
    name = f"{role.capitalize()} — up is the way the {role} faced at the start"
    mark = (
        element("rect", cls="lead-fill", x=20, y=y + 10, width=13, height=13, rx=2)
        if role == "leader"
        else element("circle", cls="follow-fill", cx=26.5, cy=y + 16.5, r=6.5)
    )
    return mark + text(name, 42, y + 22, 14, font_weight="700")


def _box(step: StepPicture) -> str:
    colour, wash = _COLOUR[step.role], _WASH[step.role]
    marks = (step.moved, step.other, step.came_from)
    scale, mid_x, mid_y = _fit(marks)

    def at(mark: Print) -> tuple[float, float]:
        return mid_x + mark.x_mm * scale, mid_y - mark.y_mm * scale

    moved = at(step.moved)
    fill = colour if step.takes_weight else "var(--card)"
    inside = [
        element("rect", cls="card", x=0.5, y=0.5, width=BOX_W - 1, height=BOX_H - 1, rx=8, stroke="var(--line)"),
        _facing(mid_x, mid_y, step, colour),
        text(step.count, 9, 22, 17, font_weight="700"),
        sole(step.other, *at(step.other), SHOE, fill=wash, stroke=colour, stroke_width=1),
        sole(step.moved, *moved, SHOE, fill=fill, stroke=colour, stroke_width=1.6),
        _way(at(step.came_from), moved),
    ]
    lines = [step.foot_words, *wrapped(step.what, 21)]
    if step.turn:
        lines.append(f"body {step.turn}")
    for index, line in enumerate(lines[:4]):
        inside.append(
            text(
                line,
                BOX_W / 2,
                172 + 14.5 * index,
                11.5,
                text_anchor="middle",
                font_weight="700" if index == 0 else "400",
            )
        )
    return "".join(inside)


def _fit(marks: tuple[Print, ...]) -> tuple[float, float, float]:
    """Scale and place of the body so that feet and ring lie inside the upper part of a box."""
    wide, tall, shoe = BOX_W - 10, 126.0, LONG * SHOE / 2
    for scale in (0.1, 0.085, 0.07, 0.055, 0.045, 0.035, 0.025):
        xs = [m.x_mm * scale + s * shoe for m in marks for s in (-1, 1)] + [-RING - 9, RING + 9]
        ys = [-m.y_mm * scale + s * shoe for m in marks for s in (-1, 1)] + [-RING - 9, RING + 9]
        if max(xs) - min(xs) <= wide and max(ys) - min(ys) <= tall:
            break
    return scale, BOX_W / 2 - (max(xs) + min(xs)) / 2, 28 + tall / 2 - (max(ys) + min(ys)) / 2


def _way(start: tuple[float, float], end: tuple[float, float]) -> str:
    """The way of the moving foot: a line that stops short of the new place, with a head."""
    far = math.dist(start, end)
    if far < 10:
        return ""
    ux, uy = (end[0] - start[0]) / far, (end[1] - start[1]) / far
    head = path([(0, 0), (-8, 4.5), (-8, -4.5)]) + "Z"
    turn = math.degrees(math.atan2(uy, ux))
    line = element(
        "path", fill="none", stroke="var(--ink)", stroke_width=1.6, stroke_dasharray="4 3",
        d=path([start, (end[0] - 6 * ux, end[1] - 6 * uy)]),
    )  # fmt: skip
    tip = element(
        "path", fill="var(--ink)", d=head, transform=f"translate({end[0]:.1f} {end[1]:.1f}) rotate({turn:.1f})"
    )
    return element("circle", fill="var(--ink)", cx=start[0], cy=start[1], r=2.2) + line + tip


def _facing(x: float, y: float, step: StepPicture, colour: str) -> str:
    """A ring round the dancer with a tip where they face, and the arc of the turn they made."""
    radius = RING

    def on(sixteenths: float, r: float = radius) -> tuple[float, float]:
        angle = sixteenths * math.pi / 8
        return x + r * math.sin(angle), y - r * math.cos(angle)

    tip = path([on(step.faces16, radius + 9), on(step.faces16 - 0.6, radius), on(step.faces16 + 0.6, radius)]) + "Z"
    drawn = element("circle", cls="faint", cx=x, cy=y, r=radius, stroke_width=1.2) + element("path", fill=colour, d=tip)
    amount = step.faces16 - step.faced16
    if amount == 0:
        return drawn
    sign = 1 if amount > 0 else -1
    ticks = max(abs(amount) * 3, 2)
    end = step.faces16 - sign * 0.5
    points = [on(step.faced16 + (end - step.faced16) * k / ticks) for k in range(ticks + 1)]
    (x0, y0), (x1, y1) = points[-2], points[-1]
    turn = math.degrees(math.atan2(y1 - y0, x1 - x0))
    head = element(
        "path", fill="var(--mark)", d=path([(7, 0), (-4, 5), (-4, -5)]) + "Z",
        transform=f"translate({x1:.1f} {y1:.1f}) rotate({turn:.1f})",
    )  # fmt: skip
    arc = element("path", fill="none", stroke="var(--mark)", stroke_width=3, d=path(points))
    return drawn + arc + head


def _floor(chart: FootChart, width: float) -> tuple[str, float]:
    xs = [p.print.x_mm for p in chart.floor]
    ys = [p.print.y_mm for p in chart.floor]
    spare = 260
    x0, x1, y0, y1 = min(xs) - spare, max(xs) + spare, min(ys) - spare, max(ys) + spare
    scale = min(width / (x1 - x0), 620 / (y1 - y0), 0.2)
    shift = (width - (x1 - x0) * scale) / 2
    tall = (y1 - y0) * scale

    def at(x_mm: float, y_mm: float) -> tuple[float, float]:
        return shift + (x_mm - x0) * scale, (y1 - y_mm) * scale

    drawn = [element("rect", cls="card", width=width, height=tall, rx=8, stroke="var(--line)")]
    for role, way in (("follower", chart.follower_way), ("leader", chart.leader_way)):
        dash = "none" if role == "leader" else "1 7"
        drawn.append(
            element(
                "path", fill="none", stroke=_COLOUR[role], stroke_width=2, opacity=0.5, stroke_dasharray=dash,
                stroke_linecap="round", d=path([at(*point) for point in way]),
            )
        )  # fmt: skip
    taken: list[tuple[float, float]] = []
    for item in chart.floor:
        x, y = at(item.print.x_mm, item.print.y_mm)
        colour = _COLOUR[item.role]
        if not item.count:
            drawn.append(
                sole(item.print, x, y, scale, fill="none", stroke=colour, stroke_width=1, stroke_dasharray="2 2")
            )
            continue
        solid = item.print.weight
        drawn.append(
            sole(item.print, x, y, scale, fill=_WASH[item.role] if solid else "none", stroke=colour, stroke_width=1.4)
        )
    for item in chart.floor:
        if item.count:
            drawn.append(_count_mark(item.count, item.role, *at(item.print.x_mm, item.print.y_mm), taken))
    return "".join(drawn), tall


def _count_mark(count: str, role: Role, x: float, y: float, taken: list[tuple[float, float]]) -> str:
    places = [(x, y)] + [
        (x + r * math.cos(k * math.pi / 4), y + r * math.sin(k * math.pi / 4))
        for r in (14, 24, 34, 46)
        for k in range(8)
    ]
    px, py = next((p for p in places if all(math.dist(p, t) >= 19 for t in taken)), (x, y))
    taken.append((px, py))
    link = element("path", cls="line", d=path([(x, y), (px, py)])) if (px, py) != (x, y) else ""
    back = (
        element("rect", x=px - 9, y=py - 9, width=18, height=18, rx=3, fill=_COLOUR[role])
        if role == "leader"
        else element("circle", cx=px, cy=py, r=9.5, fill=_COLOUR[role])
    )
    return (
        link + back + text(count, px, py + 4, 11, text_anchor="middle", font_weight="700", fill="var(--card)", cls="on")
    )


def wrapped(words: str, most: int) -> list[str]:
    """Words in lines of at most ``most`` letters (a longer word stands alone)."""
    lines: list[str] = []
    for word in words.split():
        if lines and len(lines[-1]) + 1 + len(word) <= most:
            lines[-1] += " " + word
        else:
            lines.append(word)
    return lines
