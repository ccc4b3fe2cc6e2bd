"""A picture of a music map: waveform, beats, bars, phrases with their letters, hits, and what is not sure.

Thirty seconds to a row, so that beats can be told apart; colours repeat for equal letters. The picture is worked out
once as plain shapes (units: pixels, y downwards); :func:`picture_svg` and :func:`picture_png` only write them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from html import escape
from io import BytesIO
from typing import TYPE_CHECKING, Final

from composer.listening.audio import RATE, Sound
from composer.timeline import Timeline
from composer.units import TICKS_PER_BEAT

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

ROW_S: Final = 30.0
WIDTH: Final = 1200
LEFT: Final = 50
RIGHT: Final = 20
WAVE: Final = 60
ROW: Final = 124
HEAD: Final = 64
DOTS_PER_INCH: Final = 100
COLOURS: Final = ("#b9d7ea", "#f6d6a8", "#cfe3bf", "#e6c6dc", "#d9d3c3", "#c4cdf0", "#f0c4c4", "#c9e6e2")
ACCENT_COLOURS: Final = {"hit": "#c0392b", "break": "#8e44ad", "end": "#1e8449"}


@dataclass(frozen=True)
class Words:
    """Text whose base line begins at (x, y)."""

    x: float
    y: float
    text: str
    fill: str = "#000"
    size: int = 13


@dataclass(frozen=True)
class Area:
    """A filled polygon; ``title`` is what a reader is told of it."""

    points: tuple[tuple[float, float], ...]
    fill: str
    title: str = ""


@dataclass(frozen=True)
class Band:
    """A see-through rectangle."""

    x: float
    y: float
    width: float
    height: float
    fill: str


@dataclass(frozen=True)
class Stroke:
    """An upright line from its foot."""

    x: float
    foot: float
    high: float
    colour: str


Drawn = Words | Area | Band | Stroke


def picture_svg(sound: Sound, timeline: Timeline) -> str:
    """The picture as SVG text."""
    height = _height(sound, timeline)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH + LEFT + RIGHT} {height}" '
        f'font-family="sans-serif" font-size="13" role="img" aria-label="{_text(_headline(timeline))}">',
        f'<rect width="100%" height="{height}" fill="#ffffff"/>',
        *(_element(drawn) for drawn in _drawn(sound, timeline)),
        "</svg>",
    ]
    return "\n".join(parts) + "\n"


def picture_png(sound: Sound, timeline: Timeline) -> bytes:
    """The picture as a PNG file, a pixel per unit."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure
    from matplotlib.patches import Polygon, Rectangle

    wide, high = WIDTH + LEFT + RIGHT, _height(sound, timeline)
    figure = Figure(figsize=(wide / DOTS_PER_INCH, high / DOTS_PER_INCH), dpi=DOTS_PER_INCH, facecolor="white")
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set_axis_off()
    axes.set_xlim(0, wide)
    axes.set_ylim(high, 0)
    for layer, drawn in enumerate(_drawn(sound, timeline)):
        if isinstance(drawn, Words):
            points = drawn.size * 72 / DOTS_PER_INCH
            axes.text(drawn.x, drawn.y, _shown(drawn.text), color=drawn.fill, fontsize=points, zorder=layer,
                      va="baseline", parse_math=False)  # fmt: skip
        elif isinstance(drawn, Area):
            axes.add_patch(Polygon(drawn.points, closed=True, facecolor=drawn.fill, zorder=layer))
        elif isinstance(drawn, Band):
            place = (drawn.x, drawn.y)
            axes.add_patch(
                Rectangle(place, drawn.width, drawn.height, facecolor=drawn.fill, alpha=0.75, zorder=layer, linewidth=0)
            )
        else:
            axes.plot([drawn.x] * 2, [drawn.foot, drawn.foot - drawn.high], color=drawn.colour, zorder=layer,
                      linewidth=72 / DOTS_PER_INCH)  # fmt: skip
    out = BytesIO()
    FigureCanvasAgg(figure).print_png(out, metadata={"Title": _shown(timeline.title), "Software": None})  # type: ignore[no-untyped-call]
    return out.getvalue()


def _height(sound: Sound, timeline: Timeline) -> int:
    return HEAD + _rows(sound) * ROW + 22 * len(timeline.doubts) + 16


def _rows(sound: Sound) -> int:
    return max(1, int(-(-sound.length_s // ROW_S)))


def _drawn(sound: Sound, timeline: Timeline) -> Iterator[Drawn]:
    """Everything in the picture, from the back to the front."""
    yield Words(LEFT, 24, timeline.title, size=18)
    yield Words(LEFT, 46, _headline(timeline), "#444")
    wave = _envelope(sound.samples)
    for row in range(_rows(sound)):
        yield from _row(row, wave, timeline, sound.length_s)
    for index, doubt in enumerate(timeline.doubts):
        yield Words(LEFT, HEAD + _rows(sound) * ROW + 22 * (index + 1), doubt, "#a33")


def _element(drawn: Drawn) -> str:
    if isinstance(drawn, Words):
        return (
            f'<text x="{drawn.x}" y="{drawn.y}" fill="{drawn.fill}" font-size="{drawn.size}">{_text(drawn.text)}</text>'
        )
    if isinstance(drawn, Stroke):
        return f'<path d="M{drawn.x} {drawn.foot} v-{drawn.high}" stroke="{drawn.colour}" stroke-width="1"/>'
    if isinstance(drawn, Band):
        return (
            f'<rect x="{drawn.x}" y="{drawn.y}" width="{drawn.width}" height="{drawn.height}" '
            f'fill="{drawn.fill}" opacity="0.75"/>'
        )
    points = " ".join(f"{round(x, 1):g},{round(y, 1):g}" for x, y in drawn.points)
    if not drawn.title:
        return f'<polygon points="{points}" fill="{drawn.fill}"/>'
    return f'<polygon points="{points}" fill="{drawn.fill}"><title>{_text(drawn.title)}</title></polygon>'


def _headline(timeline: Timeline) -> str:
    sure = ", ".join(f"{kind} {value:.0%}" for kind, value in timeline.confidence.items())
    bars = timeline.length_beats / timeline.beats_per_bar
    text = f"{timeline.beats_per_minute:.1f} beats a minute, {timeline.beats_per_bar} to the bar, {bars:.3g} bars"
    return f"{text}; sure: {sure}" if sure else text


def _shown(text: str) -> str:
    """Text without control characters."""
    return "".join(c for c in text if c >= " ")


def _text(text: str) -> str:
    return escape(_shown(text), quote=True)


def _envelope(samples: NDArray[np.float32]) -> list[tuple[float, float]]:
    """(least, most) per pixel of a row, over the whole track, scaled to the loudest sample."""
    import numpy as np

    size = int(ROW_S * RATE / WIDTH)
    count = len(samples) // size
    pieces = samples[: count * size].reshape(count, size) / max(1e-6, float(np.abs(samples).max()))
    return [(float(a), float(b)) for a, b in zip(pieces.min(axis=1), pieces.max(axis=1), strict=True)]


def _row(row: int, wave: list[tuple[float, float]], timeline: Timeline, length_s: float) -> Iterator[Drawn]:
    begin, end = row * ROW_S, min(length_s, (row + 1) * ROW_S)
    top = HEAD + row * ROW

    def x(at_s: float) -> float:
        return round(LEFT + (at_s - begin) / ROW_S * WIDTH, 1)

    yield Words(6, top + 46, f"{int(begin) // 60}:{int(begin) % 60:02d}", "#666")
    yield from _phrase_bands(timeline, begin, end, top, x)
    middle = top + 20 + WAVE / 2
    piece = wave[row * WIDTH : (row + 1) * WIDTH]
    if piece:
        upper = [(LEFT + i, middle - b * WAVE / 2) for i, (_, b) in enumerate(piece)]
        lower = [(LEFT + i, middle - a * WAVE / 2) for i, (a, _) in reversed(list(enumerate(piece)))]
        yield Area((*upper, *lower), "#5b6b7a")
    for beat in (*timeline.before, *timeline.beats):
        if begin <= beat.at_s < end:
            high, colour = (WAVE + 8, "#111") if beat.in_bar == 1 else (10, "#777")
            yield Stroke(x(beat.at_s), top + 28 + WAVE, high, colour)
    for accent in timeline.accents:
        at_s = timeline.seconds_at(accent.tick)
        if begin <= at_s < end:
            size = 3 + 2 * accent.strength
            foot = top + 32 + WAVE
            points = ((x(at_s), foot), (x(at_s) - size / 2, foot + size), (x(at_s) + size / 2, foot + size))
            yield Area(points, ACCENT_COLOURS[accent.kind], accent.kind)


def _phrase_bands(
    timeline: Timeline, begin: float, end: float, top: int, x: Callable[[float], float]
) -> Iterator[Drawn]:
    letters = {section.label: i for i, section in enumerate(reversed(timeline.sections))}
    for phrase in timeline.phrases:
        start = timeline.seconds_at(phrase.start * TICKS_PER_BEAT)
        stop = timeline.seconds_at((phrase.start + phrase.beats) * TICKS_PER_BEAT)
        if stop <= begin or start >= end:
            continue
        section = next((s for s in timeline.sections if s.start <= phrase.start < s.start + s.beats), None)
        label = section.label if section else phrase.label
        left, right = x(max(start, begin)), x(min(stop, end))
        colour = COLOURS[letters.get(label, 0) % len(COLOURS)]
        yield Band(left, top, max(0, round(right - left - 1, 1)), WAVE + 28, colour)
        if start >= begin:
            energy = f" ({section.energy})" if section and section.energy and section.start == phrase.start else ""
            yield Words(left + 3, top + 14, f"{phrase.label or 'phrase'}{energy}")
