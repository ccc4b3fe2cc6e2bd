"""The timeline picture: one row per phrase with bars, counts, hits, figures as blocks and their energy.

Equal figures have equal tints, so repeats show. The bar at the foot of a block is its energy, one step per level;
a diamond on the ruler is a hit of the music, filled when a figure's peak meets it.
"""

from __future__ import annotations

from composer.report.model import AccentMark, FigureLine, PhraseLine, Sheet
from composer.report.svg import TINTS, element, path, picture, shortened, text
from composer.units import TICKS_PER_BEAT

WIDE = 1040.0
LEFT = 104.0
ROW = 104.0
BLOCK_Y, BLOCK_H = 34.0, 50.0


def tints_of(sheet: Sheet) -> dict[str, int]:
    """A tint per different figure, in order of appearance."""
    order = list(dict.fromkeys(f.id for f in sheet.figures))
    return {identity: index % TINTS for index, identity in enumerate(order)}


def timeline_svg(sheet: Sheet, *, standalone: bool = True) -> str:
    """The whole timeline as one SVG picture (byte-stable)."""
    longest = max((p.end_tick - p.start_tick for p in sheet.phrases), default=TICKS_PER_BEAT)
    scale = (WIDE - LEFT - 20) / longest
    tints = tints_of(sheet)
    name = text(shortened(sheet.title, WIDE - 40, 20), 20, 32, 20, font_weight="600")
    rows: list[str] = [name] if standalone else []
    y, section = 52.0 if standalone else 0.0, None
    for phrase in sheet.phrases:
        if phrase.section and phrase.section != section:
            section = phrase.section
            words = f"{section[:1].upper()}{section[1:]}" + (f" · energy {phrase.energy} of 5" if phrase.energy else "")
            rows.append(text(shortened(words, WIDE - 40, 13), 20, y + 16, 13, cls="soft", letter_spacing="1"))
            y += 28
        rows.append(element("g", _row(sheet, phrase, scale, tints), transform=f"translate(0 {y:.0f})"))
        y += ROW
    about = f"{len(sheet.phrases)} phrases, {len(sheet.figures)} figures, {len(sheet.accents)} hits of the music."
    return picture(WIDE, y + 10, f"Timeline: {sheet.title}", about, *rows, standalone=standalone)


def _row(sheet: Sheet, phrase: PhraseLine, scale: float, tints: dict[str, int]) -> str:
    def x_of(tick: int) -> float:
        return LEFT + (tick - phrase.start_tick) * scale

    drawn = [
        text(f"Phrase {phrase.number}", 20, 48, 14, font_weight="700"),
        text(phrase.clock, 20, 66, 12, cls="soft"),
        text(phrase.bars, 20, 82, 12, cls="soft"),
    ]
    drawn += _ruler(sheet, phrase, scale)
    for figure in sheet.figures:
        start, end = max(figure.start_tick, phrase.start_tick), min(figure.end_tick, phrase.end_tick)
        if end > start:
            drawn.append(_block(figure, x_of(start), x_of(end), tints[figure.id], carried=start > figure.start_tick))
    drawn += [_hit(a, x_of(a.tick)) for a in phrase.accents]
    drawn += [
        _peak(x_of(f.peak_tick))
        for f in sheet.figures
        if f.peak_tick is not None and phrase.start_tick <= f.peak_tick < phrase.end_tick
    ]
    return "".join(drawn)


def _ruler(sheet: Sheet, phrase: PhraseLine, scale: float) -> list[str]:
    drawn: list[str] = []
    first, last = phrase.start_tick // TICKS_PER_BEAT, phrase.end_tick // TICKS_PER_BEAT
    every = 1 if scale * TICKS_PER_BEAT >= 16 else 2 if scale * TICKS_PER_BEAT >= 9 else 4
    for beat in range(first, min(last, len(sheet.beats_in_bar))):
        x = LEFT + (beat - first) * TICKS_PER_BEAT * scale
        bar = sheet.beats_in_bar[beat] == 1
        drawn.append(
            element("path", cls="line", d=path([(x, 24 if bar else 29), (x, BLOCK_Y)]), stroke_width=2 if bar else 1)
        )
        if bar or (beat - first) % every == 0:
            drawn.append(
                text(
                    str(beat - first + 1),
                    x + 2,
                    21,
                    10.5,
                    cls="" if bar else "soft",
                    font_weight="700" if bar else "400",
                )
            )
    return drawn


def _block(figure: FigureLine, x0: float, x1: float, tint: int, *, carried: bool) -> str:
    wide = x1 - x0
    name = f"{figure.number}. {figure.name}" + (" (goes on)" if carried else "")
    counts = f"{figure.counts}, {figure.leads}" if figure.change and not carried else figure.counts
    label = shortened(name, wide - 12, 13.8) or str(figure.number)
    energy = element(
        "rect", cls="mark-fill", x=x0 + 4, y=BLOCK_Y + BLOCK_H - 9, width=max((wide - 8) * figure.energy / 5, 1),
        height=4, rx=2,
    )  # fmt: skip
    return element(
        "g",
        f"<title>{_tooltip(figure)}</title>",
        element("rect", cls=f"t{tint}", x=x0 + 0.75, y=BLOCK_Y, width=max(wide - 1.5, 1), height=BLOCK_H, rx=5),
        text(label, x0 + 7, BLOCK_Y + 19, 12.5, font_weight="600"),
        text(shortened(counts, wide - 10, 11), x0 + 7, BLOCK_Y + 34, 11, cls="soft"),
        energy,
        data_figure=figure.number,
    )


def _tooltip(figure: FigureLine) -> str:
    from html import escape

    words = (
        f"{figure.number}. {figure.name}: counts {figure.counts}, energy {figure.energy} of 5, {figure.energy_words}"
    )
    return escape(words + (f", {figure.peak}" if figure.peak else "") + (f", {figure.leads}" if figure.leads else ""))


def _hit(accent: AccentMark, x: float) -> str:
    size = 4.0 + 1.5 * accent.strength
    y = BLOCK_Y - 2
    filled = "mark-fill" if accent.met_by else "card"
    return element(
        "path", cls=filled, stroke="var(--mark)", stroke_width=1.8,
        d=path([(x, y - size), (x + size, y), (x, y + size), (x - size, y)]) + "Z",
    )  # fmt: skip


def _peak(x: float) -> str:
    y = BLOCK_Y + BLOCK_H
    return element("path", cls="mark-fill", d=path([(x, y - 1), (x + 5, y + 9), (x - 5, y + 9)]) + "Z")
