"""How sure the music map is, kind by kind, and what to ask when it is not.

Confidence is how often a reading about as clear was right on the ``tune`` half of the listening set, read by networks
that had not heard the style (scripts/listening/fit.py). Below :data:`ASK_BELOW` (right
48 of 49 times) the map asks for an anchor.
"""

from __future__ import annotations

import json
from bisect import bisect_right
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Final

from composer.listening.bars import Margins as BarMargins

ASK_BELOW: Final = 48 / 49
UNTOLD: Final = 77 / 108
"""How often the beats were right on every fourth track of the ``tune`` half when neither dance nor tempo was told: the
rest were heard at half or double (or two thirds of) the tempo, and no margin tells which; so it always asks then."""


@cache
def weights() -> dict[str, Any]:
    """Fitted numbers of the confidences."""
    loaded: dict[str, Any] = json.loads((Path(__file__).with_name("weights.json")).read_text(encoding="utf-8"))
    return loaded


@dataclass(frozen=True)
class Margins:
    """What the confidences are made from (see the modules that compute them); a given thing counts as certain."""

    bars: BarMargins
    metre: float
    phrases: float
    metre_given: bool = False
    bars_given: bool = False
    phrases_given: bool = False
    tempo_given: bool = False


def confidences(margins: Margins) -> dict[str, float]:
    """Probability per kind: beats, metre, bars, phrases."""
    clear = margins.bars.clarity
    told = margins.bars.beat_clarity if margins.bars_given else clear
    beats = _likely("beats", told)
    if not margins.tempo_given:
        beats = min(beats, UNTOLD)
    metre = 1.0 if margins.metre_given else _likely("metre", margins.metre)
    bars = 1.0 if margins.bars_given else min(metre, _likely("bars", clear))
    phrases = 1.0 if margins.phrases_given else min(bars, _likely("phrases", margins.phrases))
    return {
        "beats": round(beats, 3),
        "metre": round(metre, 3),
        "bars": round(min(beats, bars), 3),
        "phrases": round(min(beats, phrases), 3),
    }


def _likely(kind: str, margin: float) -> float:
    """How often readings about as clear were right; straight between the points fitted, and none below the first."""
    points = weights()["sure"][kind]
    margins, right = points["margins"], points["right"]
    if margin < margins[0]:
        return float(min(0.5, right[0]))
    at = bisect_right(margins, margin)
    if at == len(margins):
        return float(right[-1])
    part = (margin - margins[at - 1]) / (margins[at] - margins[at - 1])
    return float(right[at - 1] + part * (right[at] - right[at - 1]))


def questions(sure: dict[str, float], first_bar_s: float, beats_per_minute: float, metre: int) -> tuple[str, ...]:
    """What to ask, each with the correction that answers it; empty when everything is sure enough."""
    asked = []
    if sure["beats"] < ASK_BELOW:
        asked.append(
            f"The beat is not sure ({beats_per_minute:.0f} a minute heard): listen to the clicks; if they are wrong, "
            "say the dance or music.tempo (beats per minute), or corrections.tempo or corrections.shift."
        )
    if sure["metre"] < ASK_BELOW:
        asked.append(f"It is not sure that the music counts {metre} to the bar: say music.beats_per_bar.")
    if sure["bars"] < ASK_BELOW:
        asked.append(
            f"It is not sure where the bars begin: say corrections.bar_1_at (heard: {first_bar_s:.2f} s), or "
            f"corrections.shift when the clicks are a beat off."
        )
    if sure["phrases"] < ASK_BELOW:
        asked.append("It is not sure where the phrases begin: say one bar that begins a phrase in "
                     "corrections.phrase_starts, or music.phrase_bars.")  # fmt: skip
    return tuple(asked)
