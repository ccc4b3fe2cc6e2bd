"""The floor plan: where both dancers go, figure by figure, in the room. Lays out a sheet; computes nothing new.

North is up. The leader's way is a solid line that begins at a square, the follower's a dashed line that begins at a
circle. Numbers are the figures of the sheet, drawn where each begins; a triangle shows the way. When a plan would be
crowded it is drawn in several pictures, one per section (or per phrase), with the earlier way left faint.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from composer.report.labels import MOST_WIDE, Labels, free_place, room_names, round_box, text_box
from composer.report.model import RoomMark, Sheet, Spot, Still
from composer.report.svg import element, path, picture, shortened, text
from composer.report.words import Role, length_text

WIDE = 560.0
CROWDED = 9
GAP = 24.0
GRID_FEET_MM = 1524.0
"""Five feet."""
ROLES: tuple[Role, ...] = ("follower", "leader")


@dataclass(frozen=True)
class Frame:
    """The part of the floor that is drawn, and its scale: ``x0, y1`` is the upper left corner in mm."""

    x0: int
    y0: int
    x1: int
    y1: int
    scale: float

    @property
    def size(self) -> tuple[float, float]:
        """Width and height on the picture."""
        return (self.x1 - self.x0) * self.scale, (self.y1 - self.y0) * self.scale

    def at(self, x_mm: float, y_mm: float) -> tuple[float, float]:
        """A place on the floor as a place on the picture."""
        return (x_mm - self.x0) * self.scale, (self.y1 - y_mm) * self.scale


@dataclass(frozen=True)
class Part:
    """One picture of the plan: figure numbers from..to (1-based, inclusive) and its heading."""

    heading: str
    first: int
    last: int


def frame_of(sheet: Sheet, stills: tuple[Still, ...], wide: float, tall: float) -> Frame:
    """The room, or what the given moments cover with some space round it when there is no room."""
    if sheet.room is not None:
        x0, y0, x1, y1 = 0, 0, sheet.room.width_mm, sheet.room.depth_mm
    else:
        spots = [spot for still in stills for spot in (still.leader, still.follower)]
        xs, ys = [s.x_mm for s in spots] or [0], [s.y_mm for s in spots] or [0]
        spare = 800
        x0, y0, x1, y1 = min(xs) - spare, min(ys) - spare, max(xs) + spare, max(ys) + spare
        lack = (x1 - x0) // 2 - (y1 - y0)
        if lack > 0:
            y0, y1 = y0 - lack // 2, y1 + lack // 2
    return Frame(x0, y0, x1, y1, min(wide / (x1 - x0), tall / (y1 - y0)))


def parts_of(sheet: Sheet) -> tuple[Part, ...]:
    """How the plan is divided into pictures: whole, by section, and by phrase where a section is crowded."""
    count = len(sheet.figures)
    if count <= CROWDED:
        return (Part("Whole routine", 1, count),)
    parts: list[Part] = []
    for section in sheet.sections:
        numbers = _begun(sheet, section.start_tick, section.end_tick)
        if len(numbers) <= CROWDED:
            parts += _part(section.label, numbers)
            continue
        for phrase in sheet.phrases:
            inside = [n for n in numbers if n in phrase.figures]
            parts += _part(f"{section.label}, phrase {phrase.number}", inside)
    return tuple(parts) or (Part("Whole routine", 1, count),)


def _begun(sheet: Sheet, start: int, end: int) -> list[int]:
    return [f.number for f in sheet.figures if start <= f.start_tick < end]


def _part(label: str, numbers: list[int]) -> list[Part]:
    if not numbers:
        return []
    which = f"figure {numbers[0]}" if len(numbers) == 1 else f"figures {numbers[0]} to {numbers[-1]}"
    return [Part(f"{label[:1].upper()}{label[1:]}: {which}", numbers[0], numbers[-1])]


def plan_pictures(sheet: Sheet) -> tuple[tuple[str, str], ...]:
    """(heading, SVG for use inside a page) of every picture of the plan."""
    drawn: list[tuple[str, str]] = []
    for part in parts_of(sheet):
        body, wide, tall = _panel(sheet, part, WIDE)
        about = f"Floor plan with numbered figures. {sheet.room.words if sheet.room else 'No room given'}."
        drawn.append((part.heading, picture(wide, tall, part.heading, about, body, standalone=False)))
    return tuple(drawn)


def plan_svg(sheet: Sheet) -> str:
    """The whole plan as one stand-alone SVG picture (byte-stable)."""
    parts = parts_of(sheet)
    columns = 1 if len(parts) == 1 else 2
    panels = [_panel(sheet, part, WIDE if columns == 1 else WIDE * 0.85) for part in parts]
    cell_w, top, head = max(wide for _, wide, _ in panels), 44.0, 30.0
    rows = [panels[i : i + columns] for i in range(0, len(panels), columns)]
    full_w = cell_w * columns + GAP * (columns - 1)
    inside = [text(shortened(sheet.title, full_w - 40, 20), 20, 30, 20, font_weight="600")]
    y, index = top, 0
    for row in rows:
        for column, (body, wide, _) in enumerate(row):
            x = column * (cell_w + GAP)
            name = text(shortened(parts[index].heading, cell_w - 30, 14), 20, 20, 14, cls="soft")
            inside.append(element("g", name, transform=f"translate({x:.0f} {y:.0f})"))
            inside.append(element("g", body, transform=f"translate({x + (cell_w - wide) / 2:.0f} {y + head:.0f})"))
            index += 1
        y += head + max(tall for _, _, tall in row) + GAP
    about = (
        f"Floor plan with {len(sheet.figures)} numbered figures. {sheet.room.words if sheet.room else 'No room given'}."
    )
    return picture(full_w, y, f"Floor plan: {sheet.title}", about, *inside)


def _panel(sheet: Sheet, part: Part, most_wide: float) -> tuple[str, float, float]:
    """One picture of the plan: its drawing, width and height, with space round the floor for audience and scale."""
    runs = [f.stills for f in sheet.figures]
    earlier = tuple(s for run in runs[: part.first - 1] for s in run)
    now = tuple(s for run in runs[part.first - 1 : part.last] for s in run)
    side, head, foot = 30.0, 30.0, 60.0
    frame = frame_of(sheet, now, most_wide - 2 * side, 560.0)
    wide, tall = frame.size
    drawn, labels = [floor(sheet, frame, names=False)], labels_of(sheet, frame)
    ways = []
    for role in ROLES:
        if earlier and sheet.room is not None:
            ways.append(_way(frame, earlier, role, faint=True))
        ways.append(_way(frame, now, role))
    drawn += [*ways, _arrows(sheet, frame, part)]
    if now:
        drawn += [_start(frame, now[0]), _end(frame, now[-1]), _numbers(sheet, frame, part, labels)]
    if sheet.room is not None:
        drawn.append(_names(sheet.room, frame, labels))
    drawn.append(_scale_bar(sheet, frame))
    body = element("g", *drawn, transform=f"translate({side:.0f} {head:.0f})")
    return body, max(wide + 2 * side, 280.0), tall + head + foot


def floor(sheet: Sheet, frame: Frame, *, names: bool = True) -> str:
    """Walls, a grid, the margin, obstacles, doors and the audience (or only the grid when there is no room).

    ``names``: with the names of what stands there; else somebody else puts them.
    """
    wide, tall = frame.size
    room = sheet.room
    if room is None:
        return element("rect", cls="card", width=wide, height=tall) + _grid(sheet, frame)
    drawn = [_outline(frame, room.outer, cls="card"), _grid(sheet, frame)]
    drawn.append(_outline(frame, room.outer, fill="none", stroke="var(--ink)", stroke_width=2))
    if room.inset:
        drawn.append(_outline(frame, room.inset, cls="line", stroke_dasharray="2 5", stroke_width=1.5))
    for thing in room.obstacles:
        xs, ys = [x for x, _ in thing.corners], [y for _, y in thing.corners]
        x, y = frame.at(sum(xs) / len(xs), sum(ys) / len(ys))
        look: dict[str, str | float] = {"cls": "wash", "stroke": "var(--mark)", "stroke_width": 1.5}
        drawn.append(
            element("circle", cx=x, cy=y, r=max(thing.radius_mm * frame.scale, 3), **look)
            if len(thing.corners) == 1
            else _outline(frame, thing.corners, **look)
        )
    for door in room.doors:
        (x0, y0), (x1, y1) = frame.at(*door.ends[0]), frame.at(*door.ends[1])
        drawn.append(element("path", d=path([(x0, y0), (x1, y1)]), stroke="var(--mark)", stroke_width=6))
    if room.style == "travelling":
        drawn += [text(words, x, y, 11, cls="soft", text_anchor="middle") for words, x, y in _line_of_dance(wide, tall)]
    if names:
        drawn.append(_names(room, frame, labels_of(sheet, frame)))
    return "".join(drawn) + _audience(room.audience, wide, tall)


def labels_of(sheet: Sheet, frame: Frame) -> Labels:
    """The words a floor has in any case."""
    labels = Labels(*frame.size)
    if sheet.room is not None and sheet.room.style == "travelling":
        labels.taken += [text_box(words, x, y, 11) for words, x, y in _line_of_dance(*frame.size)]
    return labels


def _names(room: RoomMark, frame: Frame, labels: Labels) -> str:
    """Names of obstacles and doors where they cover nothing, with a thin line where they had to move."""
    drawn: list[str] = []
    for name, places in room_names(room):
        words = shortened(name, MOST_WIDE, 11)
        if not words:
            continue
        spots = [frame.at(*place) for place in places]
        x, y = (sum(spot[axis] for spot in spots) / len(spots) for axis in (0, 1))
        px, py = labels.put(words, x, y + 4, 11)
        if math.dist((x, y + 4), (px, py)) > 14:
            drawn.append(element("path", cls="line", d=path([(x, y), (px, py - 4)]), stroke_width=1))
        drawn.append(text(words, px, py, 11, text_anchor="middle"))
    return "".join(drawn)


def _outline(frame: Frame, corners: tuple[tuple[int, int], ...], **look: str | float) -> str:
    return element("path", d=path([frame.at(x, y) for x, y in corners]) + "Z", **look)


def _grid(sheet: Sheet, frame: Frame) -> str:
    wide, tall = frame.size
    step = 1000 if sheet.lengths == "metres" else GRID_FEET_MM
    drawn: list[str] = []
    for index in range(math.ceil(frame.x0 / step), math.floor(frame.x1 / step) + 1):
        x, _ = frame.at(index * step, 0)
        if 1 < x < wide - 1:
            drawn.append(element("path", cls="faint", d=path([(x, 1), (x, tall - 1)])))
    for index in range(math.ceil(frame.y0 / step), math.floor(frame.y1 / step) + 1):
        _, y = frame.at(0, index * step)
        if 1 < y < tall - 1:
            drawn.append(element("path", cls="faint", d=path([(1, y), (wide - 1, y)])))
    return "".join(drawn)


def _line_of_dance(wide: float, tall: float) -> list[tuple[str, float, float]]:
    """Words and an arrow along each long side, counter-clockwise, and where they stand."""
    return [("line of dance →", wide / 2, tall - 8), ("← line of dance", wide / 2, 16)]


def _audience(side: str | None, wide: float, tall: float) -> str:
    if side is None:
        return ""
    thick = 18.0
    x, y, w, h = {
        "south": (0.0, tall + 4, wide, thick),
        "north": (0.0, -thick - 4, wide, thick),
        "east": (wide + 4, 0.0, thick, tall),
        "west": (-thick - 4, 0.0, thick, tall),
    }[side]
    turn = (
        "" if side in {"south", "north"} else f"rotate({90 if side == 'east' else -90} {x + w / 2:.1f} {y + h / 2:.1f})"
    )
    label = text("AUDIENCE", x + w / 2, y + h / 2 + 4, 11, text_anchor="middle", letter_spacing="3", transform=turn)
    return element("rect", cls="wash", x=x, y=y, width=w, height=h, rx=3) + label


def _spot(still: Still, role: Role) -> Spot:
    return still.leader if role == "leader" else still.follower


def _way(frame: Frame, stills: tuple[Still, ...], role: Role, *, faint: bool = False) -> str:
    points = [frame.at(_spot(s, role).x_mm, _spot(s, role).y_mm) for s in stills]
    look = {"leader": ("lead", "none", 3.0), "follower": ("follow", "1 7", 3.0)}[role]
    return element(
        "path", cls=look[0], d=path(points), stroke_width=1.5 if faint else look[2], opacity=0.22 if faint else 0.95,
        stroke_linejoin="round", stroke_linecap="round", stroke_dasharray=look[1],
    )  # fmt: skip


def heading(x: float, y: float, facing16: int, size: float, cls: str) -> str:
    """A small triangle that points where somebody faces or goes."""
    turn = facing16 * 22.5
    d = path([(size, 0), (-size * 0.7, size * 0.75), (-size * 0.7, -size * 0.75)]) + "Z"
    return element("path", cls=cls, d=d, transform=f"translate({x:.1f} {y:.1f}) rotate({turn:.1f})")


def _arrows(sheet: Sheet, frame: Frame, part: Part) -> str:
    """One triangle in the middle of the longest leg of every figure that moves."""
    drawn: list[str] = []
    for figure in sheet.figures[part.first - 1 : part.last]:
        legs = [
            (frame.at(a.leader.x_mm, a.leader.y_mm), frame.at(b.leader.x_mm, b.leader.y_mm))
            for a, b in zip(figure.stills, figure.stills[1:], strict=False)
        ]
        (x0, y0), (x1, y1) = max(legs, key=lambda leg: math.dist(*leg), default=((0.0, 0.0), (0.0, 0.0)))
        if math.dist((x0, y0), (x1, y1)) < 16:
            continue
        turn = math.degrees(math.atan2(y1 - y0, x1 - x0))
        d = path([(7, 0), (-5, 5), (-5, -5)]) + "Z"
        drawn.append(
            element(
                "path", cls="lead-fill", d=d,
                transform=f"translate({(x0 + x1) / 2:.1f} {(y0 + y1) / 2:.1f}) rotate({turn:.1f})",
            )
        )  # fmt: skip
    return "".join(drawn)


def dancer(x: float, y: float, facing16: int, role: Role, size: float = 9.0) -> str:
    """A dancer from above: square (leader) or circle (follower) with a nose that shows the facing."""
    cls = "lead-fill" if role == "leader" else "follow-fill"
    shape = (
        element("rect", cls=cls, x=-size, y=-size, width=2 * size, height=2 * size, rx=2)
        if role == "leader"
        else element("circle", cls=cls, r=size)
    )
    nose = element(
        "path", cls=cls, d=path([(size * 1.75, 0), (size * 0.8, size * 0.7), (size * 0.8, -size * 0.7)]) + "Z"
    )
    return element("g", shape, nose, transform=f"translate({x:.1f} {y:.1f}) rotate({facing16 * 22.5:.1f})")


def _start(frame: Frame, still: Still) -> str:
    lead, follow = still.leader, still.follower
    return dancer(*frame.at(follow.x_mm, follow.y_mm), follow.facing16, "follower", 8) + dancer(
        *frame.at(lead.x_mm, lead.y_mm), lead.facing16, "leader", 7
    )


def _end(frame: Frame, still: Still) -> str:
    x, y = frame.at(still.leader.x_mm, still.leader.y_mm)
    fx, fy = frame.at(still.follower.x_mm, still.follower.y_mm)
    ring = element("rect", cls="lead", x=x - 7, y=y - 7, width=14, height=14, rx=2, stroke_width=2.5)
    disc = element("circle", cls="follow", cx=fx, cy=fy, r=8, stroke_width=2.5)
    noses = heading(x, y, still.leader.facing16, 5, "lead-fill") + heading(
        fx, fy, still.follower.facing16, 5, "follow-fill"
    )
    return disc + ring + noses


def _numbers(sheet: Sheet, frame: Frame, part: Part, labels: Labels) -> str:
    """Figure numbers near where each begins, moved aside (with a thin line) when they would cover something.

    What is drawn is added to the labels.
    """
    wide, tall = frame.size
    chosen = sheet.figures[part.first - 1 : part.last]
    taken: list[tuple[float, float]] = []
    for still in (chosen[0].stills[0], chosen[-1].stills[-1]):
        taken += [frame.at(s.x_mm, s.y_mm) for s in (still.leader, still.follower)]
    fixed = tuple(labels.taken)
    labels.taken += [(x - 8, y - 8, x + 8, y + 8) for x, y in taken]
    drawn: list[str] = []
    for figure in chosen:
        x, y = frame.at(figure.stills[0].leader.x_mm, figure.stills[0].leader.y_mm)
        px, py = free_place(x, y, taken, wide, tall, boxes=fixed)
        taken.append((px, py))
        labels.taken.append(round_box(px, py))
        if math.dist((x, y), (px, py)) > 12:
            drawn.append(element("path", cls="line", d=path([(x, y), (px, py)]), stroke_width=1))
        drawn.append(
            element("circle", cls="card", cx=px, cy=py, r=10.5, stroke="var(--ink)", stroke_width=1.2)
            + text(str(figure.number), px, py + 4, 11, text_anchor="middle", font_weight="700")
        )
    first, last = chosen[0].stills[0].leader, chosen[-1].stills[-1].leader
    for words, spot in (("start", first), ("end", last)):
        x, y = frame.at(spot.x_mm, spot.y_mm)
        px, py = labels.put(words, x, y + 30, 12)
        drawn.append(text(words, px, py, 12, cls="mark-fill", text_anchor="middle", font_weight="700"))
    return "".join(drawn)


def _scale_bar(sheet: Sheet, frame: Frame) -> str:
    unit = 1000.0 if sheet.lengths == "metres" else 304.8
    most = 0.4 * (frame.x1 - frame.x0) / unit
    bar_mm = max([n for n in (0.5, 1.0, 2.0, 5.0, 10.0, 20.0) if n <= most] or [0.5]) * unit
    _, tall = frame.size
    y, wide = tall + 40, bar_mm * frame.scale
    bar = element(
        "path",
        stroke="var(--ink)",
        fill="none",
        stroke_width=1.5,
        d=path([(0, y - 5), (0, y), (wide, y), (wide, y - 5)]),
    )
    return bar + text(length_text(round(bar_mm), sheet.lengths), wide + 8, y + 4, 12, cls="soft")
