"""Dancers' words for the data of a chart: feet, steps, turns, footwork, hands, lengths and clock times.

Two voices: *chart* words as the trade writes them (short, for people who know the terms) and *plain* words that
a person who has never danced can follow. Turns are sixteenths, clockwise (to the right) positive.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Final, Literal

from composer.charts import Action, Caution, Foot, HandEvent, HoldFile, Pair, Step

Lengths = Literal["metres", "feet"]
Role = Literal["leader", "follower"]

FOOT: Final[dict[Foot, str]] = {"L": "left", "R": "right"}

CHART_STEP: Final[dict[Action, str]] = {
    "forward": "forward",
    "back": "back",
    "side": "to side",
    "diagonal-forward": "diagonally forward",
    "diagonal-back": "diagonally back",
    "forward-and-side": "forward, slightly to side",
    "side-and-forward": "to side, slightly forward",
    "side-and-back": "to side, slightly back",
    "back-and-side": "back, slightly to side",
    "forward-across": "forward and across",
    "back-across": "back and across",
    "cross-in-front": "crosses in front",
    "cross-behind": "crosses behind",
    "close": "closes",
    "in-place": "in place",
    "replace": "replaces weight",
    "tap": "taps, no weight",
    "point": "points, no weight",
    "brush": "brushes past, no weight",
    "kick": "kicks, no weight",
    "flick": "flicks, no weight",
    "hold": "held, no step",
    "swivel": "swivels",
    "sweep": "sweeps round, no weight",
    "pose": "posed, no step",
}

# {foot} is "left" or "right"; {side} the side that foot is on, which is the way a side step goes.
_PLAIN_STEP: Final[dict[Action, str]] = {
    "forward": "step forward with the {foot} foot",
    "back": "step back with the {foot} foot",
    "side": "step to the {side} with the {foot} foot",
    "diagonal-forward": "step forward and to the {side} with the {foot} foot",
    "diagonal-back": "step back and to the {side} with the {foot} foot",
    "forward-and-side": "step forward and slightly to the {side} with the {foot} foot",
    "side-and-forward": "step to the {side} and slightly forward with the {foot} foot",
    "side-and-back": "step to the {side} and slightly back with the {foot} foot",
    "back-and-side": "step back and slightly to the {side} with the {foot} foot",
    "forward-across": "step forward with the {foot} foot, across the other foot",
    "back-across": "step back with the {foot} foot, across the other foot",
    "cross-in-front": "cross the {foot} foot in front of the other and stand on it",
    "cross-behind": "cross the {foot} foot behind the other and stand on it",
    "close": "bring the {foot} foot next to the other and stand on it",
    "in-place": "step in place with the {foot} foot",
    "replace": "put the weight back on the {foot} foot",
    "tap": "tap the floor with the {foot} foot, weight stays where it is",
    "point": "point the {foot} foot, weight stays where it is",
    "brush": "brush the {foot} foot past the standing leg",
    "kick": "kick the {foot} foot low",
    "flick": "flick the {foot} foot from the knee",
    "hold": "wait, no step",
    "swivel": "swivel on the {foot} foot",
    "sweep": "sweep the {foot} foot round along the floor",
    "pose": "hold the pose, no step",
}

_SIZE_CHART: Final = {"tiny": "tiny", "small": "small", "normal": "", "large": "large"}
_SIZE_PLAIN: Final = {"tiny": "a tiny step", "small": "a small step", "normal": "", "large": "a large step"}

_FOOTWORK: Final = {
    "H": "heel",
    "T": "toe",
    "B": "ball",
    "BF": "ball, then flat",
    "HT": "heel, then toe",
    "TH": "toe, then heel",
    "THT": "toe, heel, then toe",
    "HF": "heel, then flat",
    "W": "whole foot",
    "flat": "whole foot",
    "F": "whole foot",
    "IE": "inside edge",
    "NFR": "no foot rise",
}

_TURN_WORDS: Final = {
    Fraction(1, 16): "a sixteenth",
    Fraction(1, 8): "an eighth",
    Fraction(3, 16): "three sixteenths",
    Fraction(1, 4): "a quarter",
    Fraction(5, 16): "five sixteenths",
    Fraction(3, 8): "three eighths",
    Fraction(1, 2): "half a turn",
    Fraction(5, 8): "five eighths",
    Fraction(3, 4): "three quarters",
    Fraction(7, 8): "seven eighths",
    Fraction(1): "one full turn",
    Fraction(3, 2): "one and a half turns",
    Fraction(2): "two full turns",
}

CAUTION: Final[dict[Caution, str]] = {
    "behind-the-back": "An arm goes behind the follower's back: let it sink by the side first, hand at or below the "
    "waist, and never push it up.",
    "wrap": "A wrap: keep the joined hands at waist height and the grip loose.",
    "neck-wrap": "An arm passes the neck: agree on it first, light hands, and let go at once when it catches.",
    "dip": "A dip: agree on it first; each partner keeps their own weight over their own foot.",
    "lift": "A lift: only with a qualified teacher and a spotter until it is safe, and only where the event allows it.",
    "fast-spin": "A fast spin: dry floor, shoes that turn, and a free space all round.",
    "drop": "A drop: only with a qualified teacher; agree on a stop word.",
    "deep-knee": "A deep knee bend: leave it out or make it small when a knee complains.",
    "weight-sharing": "Shared weight: build it up slowly and keep a way out.",
}


def fraction_text(value: Fraction) -> str:
    """``3/8``, ``1`` or ``1 1/2``."""
    whole, rest = divmod(value, 1)
    part = f"{rest.numerator}/{rest.denominator}" if rest else ""
    return " ".join(p for p in (str(whole) if whole or not rest else "", part) if p)


def turn_chart(sixteenths: int) -> str:
    """``1/4 right``; empty when there is no turn."""
    if sixteenths == 0:
        return ""
    return f"{fraction_text(Fraction(abs(sixteenths), 16))} {'right' if sixteenths > 0 else 'left'}"


def turn_plain(sixteenths: int) -> str:
    """``a quarter to the right``; empty when there is no turn."""
    if sixteenths == 0:
        return ""
    amount = Fraction(abs(sixteenths), 16)
    words = _TURN_WORDS.get(
        amount, f"{fraction_text(amount)} of a turn" if amount < 1 else f"{fraction_text(amount)} turns"
    )
    return f"{words} to the {'right' if sixteenths > 0 else 'left'}"


def step_chart(step: Step) -> str:
    """What the foot does, in the trade's words."""
    size = _SIZE_CHART[step.size]
    return f"{CHART_STEP[step.do]} ({size})" if size else CHART_STEP[step.do]


def step_plain(step: Step) -> str:
    """One sentence, without its count: what to do for someone who knows no terms."""
    side = FOOT[step.foot]
    text = _PLAIN_STEP[step.do].format(foot=FOOT[step.foot], side=side)
    size = _SIZE_PLAIN[step.size]
    parts = [text, size if step.takes_weight else "", f"turning {turn_plain(step.body16)}" if step.body16 else ""]
    sentence = ", ".join(part for part in parts if part)
    return sentence[0].upper() + sentence[1:] + "."


def footwork_words(code: str | None) -> str:
    """``heel, then toe`` for ``HT``; the text itself when it is no known abbreviation."""
    return "" if code is None else _FOOTWORK.get(code, _FOOTWORK.get(code.upper(), code))


def pair_words(pair: Pair) -> str:
    """``leader's left and follower's right`` for ``LR``."""
    names: dict[str, str] = {"L": "left", "R": "right"}
    return f"leader's {names[pair[0]]} and follower's {names[pair[1]]}"


def hands_words(hold: HoldFile) -> str:
    """How hands are joined in a hold."""
    joined = [f"{pair_words(j.pair)} joined{', raised' if j.high else ''}" for j in hold.hands]
    if hold.frame:
        joined.append("leader's right hand on the follower's back")
    if hold.lie == "crossed":
        joined.append("arms crossed" + (f", leader's {FOOT[hold.top]} on top" if hold.top else ""))
    if hold.lie == "wrapped":
        joined.append("follower's arms wrapped in front")
    if hold.lie == "behind-the-back":
        joined.append("one arm behind the follower's back")
    if hold.lie == "at-the-neck":
        joined.append("an arm at the neck")
    return "; ".join(joined) or "no hands joined"


_EVENT: Final = {"join": "join {pair}", "drop": "let go of {pair}", "lift": "lift {pair}", "lower": "lower {pair}"}


def event_words(event: HandEvent) -> str:
    """What is done with a pair of hands, without the count."""
    return _EVENT[event.do].format(pair=pair_words(event.pair))


def clock(seconds: float) -> str:
    """``mm:ss.s`` from the start of the music, rounded to the nearest tenth."""
    tenths = round(seconds * 10)
    minutes, rest = divmod(tenths, 600)
    return f"{minutes}:{rest // 10:02d}.{rest % 10}"


def length_text(millimetres: int, lengths: Lengths) -> str:
    """``5.2 m``, or ``17 ft 1 in``."""
    if lengths == "metres":
        return f"{millimetres / 1000:.2f}".rstrip("0").rstrip(".") + " m"
    inches = round(millimetres / 25.4)
    feet, rest = divmod(abs(inches), 12)
    sign = "-" if inches < 0 else ""
    return f"{sign}{feet} ft" + (f" {rest} in" if rest else "")


_BIDI: Final = re.compile("[\u202a-\u202e\u2066-\u2069]")
"""Direction overrides: the pages isolate user text themselves, an override would only garble it."""
_CONTROL: Final = re.compile("[\x00-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]+")


def clean(words: str) -> str:
    """User text as one line without direction overrides and characters that HTML, SVG or PDF cannot carry."""
    return _CONTROL.sub(" ", _BIDI.sub("", words)).strip()


def listed(items: list[str]) -> str:
    """``a, b and c``."""
    return items[0] if len(items) == 1 else ", ".join(items[:-1]) + " and " + items[-1] if items else ""
