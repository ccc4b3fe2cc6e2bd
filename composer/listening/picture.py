"""A picture of a music map (SVG): waveform, beats, bars, phrases with their letters, hits, and what is not sure.

Thirty seconds to a row, so that beats can be told apart; colours repeat for equal letters.
"""

from __future__ import annotations

from html import escape
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
WAVE: Final = 60
ROW: Final = 124
HEAD: Final = 64
COLOURS: Final = ("#b9d7ea", "#f6d6a8", "#cfe3bf", "#e6c6dc", "#d9d3c3", "#c4cdf0", "#f0c4c4", "#c9e6e2")


def picture_svg(sound: Sound, timeline: Timeline) -> str:
    """The picture as SVG text."""
    rows = max(1, int(-(-sound.length_s // ROW_S)))
    doubts = list(timeline.doubts)
    height = HEAD + rows * ROW + 22 * len(doubts) + 16
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH + LEFT + 20} {height}" '
        f'font-family="sans-serif" font-size="13" role="img" aria-label="{_text(_headline(timeline))}">',
        f'<rect width="100%" height="{height}" fill="#ffffff"/>',
        f'<text x="{LEFT}" y="24" font-size="18">{_text(timeline.title)}</text>',
        f'<text x="{LEFT}" y="46" fill="#444">{_text(_headline(timeline))}</text>',
    ]
    wave = _envelope(sound.samples)
    for row in range(rows):
        parts += _row(row, wave, timeline, sound.length_s)
    for index, doubt in enumerate(doubts):
        y = HEAD + rows * ROW + 22 * (index + 1)
        parts.append(f'<text x="{LEFT}" y="{y}" fill="#a33">{_text(doubt)}</text>')
    parts.append("</svg>")
    return "\n".join(parts) + "\n"


def _headline(timeline: Timeline) -> str:
    sure = ", ".join(f"{kind} {value:.0%}" for kind, value in timeline.confidence.items())
    bars = timeline.length_beats / timeline.beats_per_bar
    text = f"{timeline.beats_per_minute:.1f} beats a minute, {timeline.beats_per_bar} to the bar, {bars:g} bars"
    return f"{text}; sure: {sure}" if sure else text


def _text(text: str) -> str:
    return escape("".join(c for c in text if c >= " "), quote=True)


def _envelope(samples: NDArray[np.float32]) -> list[tuple[float, float]]:
    """(least, most) per pixel of a row, over the whole track, scaled to the loudest sample."""
    import numpy as np

    size = int(ROW_S * RATE / WIDTH)
    count = len(samples) // size
    pieces = samples[: count * size].reshape(count, size) / max(1e-6, float(np.abs(samples).max()))
    return [(float(a), float(b)) for a, b in zip(pieces.min(axis=1), pieces.max(axis=1), strict=True)]


def _row(row: int, wave: list[tuple[float, float]], timeline: Timeline, length_s: float) -> list[str]:
    begin, end = row * ROW_S, min(length_s, (row + 1) * ROW_S)
    top = HEAD + row * ROW

    def x(at_s: float) -> float:
        return round(LEFT + (at_s - begin) / ROW_S * WIDTH, 1)

    parts = [f'<text x="6" y="{top + 46}" fill="#666">{int(begin) // 60}:{int(begin) % 60:02d}</text>']
    parts += _phrase_bands(timeline, begin, end, top, x)
    middle = top + 20 + WAVE / 2
    piece = wave[row * WIDTH : (row + 1) * WIDTH]
    if piece:
        upper = [f"{LEFT + i},{middle - b * WAVE / 2:.1f}" for i, (_, b) in enumerate(piece)]
        lower = [f"{LEFT + i},{middle - a * WAVE / 2:.1f}" for i, (a, _) in reversed(list(enumerate(piece)))]
        parts.append(f'<polygon points="{" ".join(upper + lower)}" fill="#5b6b7a"/>')
    for beat in (*timeline.before, *timeline.beats):
        if begin <= beat.at_s < end:
            high, colour = (WAVE + 8, "#111") if beat.in_bar == 1 else (10, "#777")
            foot = top + 24 + WAVE
            parts.append(f'<path d="M{x(beat.at_s)} {foot + 4} v-{high}" stroke="{colour}" stroke-width="1"/>')
    for accent in timeline.accents:
        at_s = timeline.seconds_at(accent.tick)
        if begin <= at_s < end:
            colour = {"hit": "#c0392b", "break": "#8e44ad", "end": "#1e8449"}[accent.kind]
            size = 3 + 2 * accent.strength
            foot = top + 32 + WAVE
            points = f"{x(at_s)},{foot} {x(at_s) - size / 2},{foot + size} {x(at_s) + size / 2},{foot + size}"
            parts.append(f'<polygon points="{points}" fill="{colour}"><title>{accent.kind}</title></polygon>')
    return parts


def _phrase_bands(timeline: Timeline, begin: float, end: float, top: int, x: object) -> list[str]:
    parts = []
    letters = {section.label: i for i, section in enumerate(reversed(timeline.sections))}
    for phrase in timeline.phrases:
        start = timeline.seconds_at(phrase.start * TICKS_PER_BEAT)
        stop = timeline.seconds_at((phrase.start + phrase.beats) * TICKS_PER_BEAT)
        if stop <= begin or start >= end:
            continue
        section = next((s for s in timeline.sections if s.start <= phrase.start < s.start + s.beats), None)
        label = section.label if section else phrase.label
        colour = COLOURS[letters.get(label, 0) % len(COLOURS)]
        left, right = x(max(start, begin)), x(min(stop, end))  # type: ignore[operator]
        parts.append(
            f'<rect x="{left}" y="{top}" width="{max(0, round(right - left - 1, 1))}" height="{WAVE + 28}" '
            f'fill="{colour}" opacity="0.75"/>'
        )
        if start >= begin:
            energy = f" ({section.energy})" if section and section.energy and section.start == phrase.start else ""
            parts.append(f'<text x="{left + 3}" y="{top + 14}">{_text(phrase.label or "phrase")}{energy}</text>')
    return parts
