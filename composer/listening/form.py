"""Form of a heard track: letters for alike phrases, energy, hits, breaks, where the music begins and ends."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Any, Final

from composer.listening.features import FRAMES_PER_S, Heard
from composer.listening.phrases import bar_vectors
from composer.listening.slots import means, peak

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

ALIKE: Final = 0.35
"""Least mean likeness (cosine, the track's mean taken away) of two phrases that share a letter."""
BREAK_DB: Final = 10.0
QUIET_DB: Final = 35.0


def music_span(heard: Heard) -> tuple[float, float]:
    """Seconds of the first and the last sound within 35 dB of the track's loud level."""
    import numpy as np

    loud = np.asarray(heard.loud_db, np.float64)
    level = float(np.percentile(loud, 90)) - QUIET_DB
    on = np.flatnonzero(loud > level)
    if not len(on):
        return 0.0, len(loud) / FRAMES_PER_S
    return float(on[0]) / FRAMES_PER_S, float(on[-1]) / FRAMES_PER_S


def last_onset(heard: Heard, until_s: float) -> float:
    """Seconds of the last strong onset."""
    import numpy as np

    strong = np.flatnonzero(np.asarray(heard.full[: int(until_s * FRAMES_PER_S) + 1]) > 0.35)
    return float(strong[-1]) / FRAMES_PER_S if len(strong) else until_s


def letters(heard: Heard, edges: Array, starts: tuple[int, ...]) -> list[str]:
    """A letter per phrase; phrases that sound alike, bar by bar, share one. A short first stretch is an intro."""
    harmony, _ = bar_vectors(heard, edges)
    bounds = [*starts, len(harmony)]
    if bounds[0] != 0:
        bounds = [0, *bounds]
    parts = [harmony[a:b] for a, b in pairwise(bounds)]
    names: list[str] = []
    kinds: list[tuple[str, Any]] = []
    for index, part in enumerate(parts):
        if index == 0 and starts and starts[0] != 0:
            names.append("Intro")
            continue
        if index == len(parts) - 1 and index and len(part) < min(4, len(parts[index - 1])):
            names.append("End")
            continue
        best, at = ALIKE, ""
        for name, other in kinds:
            size = min(len(part), len(other))
            if size < 0.75 * max(len(part), len(other)):
                continue
            value = float((part[:size] * other[:size]).sum(axis=1).mean())
            if value > best:
                best, at = value, name
        if not at:
            number = len({name for name, _ in kinds})
            at = chr(ord("A") + number) if number < 26 else f"Z{number}"
        kinds.append((at, part))
        names.append(at)
    return names


def energies(heard: Heard, spans: list[tuple[float, float]]) -> list[int]:
    """Energy 1..5 of each span of seconds: loudness and density of onsets against the rest of the track."""
    import numpy as np

    if not spans:
        return []
    edges = np.array([a for a, _ in spans] + [spans[-1][1]])
    loud = means(heard.loud_db[:, None], edges, 1)[:, 0]
    dense = means((heard.full[:, None] > 0.2).astype(np.float32), edges, 1)[:, 0]
    score = loud / 4.0 + 8.0 * (dense - dense.mean())
    middle = float(np.median(score))
    return [int(np.clip(round(3 + (value - middle)), 1, 5)) for value in score]


def hits(heard: Heard, beats: Array, metre: int) -> list[tuple[int, int]]:
    """(beat index, strength 1..3) of beats that stand out: louder onsets than two bars around, at most 1 in 4 bars."""
    import numpy as np

    strength = peak(heard.full + heard.low, beats, 0.05)
    gap = np.diff(beats, append=2 * beats[-1] - beats[-2])
    after = means(heard.loud_db[:, None], np.append(beats, beats[-1] + gap[-1]), 1)[:, 0]
    rise = after - np.concatenate([after[:1], after[:-1]])
    value = strength + 0.12 * np.clip(rise, 0, 12)
    width = 2 * metre
    found: list[tuple[int, int]] = []
    order = np.argsort(-value)
    usual, spread = float(np.median(value)), float(value.std()) or 1.0
    for beat in order:
        if value[beat] < usual + 1.5 * spread or len(found) >= max(1, len(beats) // (4 * metre)):
            break
        if all(abs(int(beat) - other) >= width for other, _ in found):
            found.append((int(beat), 3 if value[beat] > usual + 2.5 * spread else 2))
    return sorted(found)


def breaks(heard: Heard, beats: Array) -> list[int]:
    """Beats that end a break: the music was at least 10 dB under its local level for a beat and comes back."""
    import numpy as np
    from scipy.ndimage import median_filter

    gap = np.diff(beats, append=2 * beats[-1] - beats[-2])
    level = means(heard.loud_db[:, None], np.append(beats, beats[-1] + gap[-1]), 1)[:, 0]
    local = median_filter(level, 17, mode="nearest")
    quiet = level < local - BREAK_DB
    return [i for i in range(2, len(beats) - 1) if quiet[i - 1] and not quiet[i] and i + 4 < len(beats)]
