"""How sure the music map is, kind by kind, and what to ask when it is not.

Confidence is a probability fitted on the ``tune`` half of the listening set (scripts/listening/fit.py): how often
a reading with such a margin was right. Below :data:`ASK_BELOW` (right 48 of 49 times) the map asks for an anchor.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp
from typing import Final

from composer.listening.bars import weights

ASK_BELOW: Final = 48 / 49


@dataclass(frozen=True)
class Margins:
    """What the confidences are made from (see the modules that compute them); a given thing counts as certain."""

    beats: float
    rival: float
    bars: float
    metre: float
    phrases: float
    metre_given: bool = False
    bars_given: bool = False
    phrases_given: bool = False
    tempo_given: bool = False


def confidences(margins: Margins) -> dict[str, float]:
    """Probability per kind: beats, metre, bars, phrases."""
    beats = _likely("beats", margins.beats - 0.5 * max(0.0, margins.rival - margins.beats))
    metre = 1.0 if margins.metre_given else _likely("metre", margins.metre)
    bars = 1.0 if margins.bars_given else min(metre, _likely("bars", margins.bars))
    phrases = 1.0 if margins.phrases_given else min(bars, _likely("phrases", margins.phrases))
    return {
        "beats": round(beats, 3),
        "metre": round(metre, 3),
        "bars": round(min(beats, bars), 3),
        "phrases": round(min(beats, phrases), 3),
    }


def _likely(kind: str, margin: float) -> float:
    slope, middle = weights()["sure"][kind]
    return 1 / (1 + exp(-max(-40.0, min(40.0, slope * (margin - middle)))))


def questions(sure: dict[str, float], first_bar_s: float, beats_per_minute: float, metre: int) -> tuple[str, ...]:
    """What to ask, each with the correction that answers it; empty when everything is sure enough."""
    asked = []
    if sure["beats"] < ASK_BELOW:
        asked.append(
            f"The beat is not sure ({beats_per_minute:.0f} a minute heard): listen to the clicks; if they are wrong, "
            "say music.tempo (beats per minute), or corrections.tempo or corrections.shift."
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
