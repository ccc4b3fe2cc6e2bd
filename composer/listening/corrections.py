"""What a person may say to put a music map right, in a brief under ``music.corrections``.

Few and human: where bar 1 begins, twice or half as fast, half a beat or a beat later, which bars begin phrases,
where the music ends. (Metre, phrase length, sections and hits are said with ``beats_per_bar``, ``phrase_bars``,
``sections`` and ``hits`` as for any music.) Everything else is derived again from them; what cannot all be true is
an error, never quietly settled.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Literal

from pydantic import Field

from composer.charts import Strict
from composer.errors import Diagnostic, Where

Seconds = Annotated[float, Field(ge=0, le=1200, allow_inf_nan=False)]
TempoChange = Literal["double", "half", "times three", "a third"]
Shift = Literal["half a beat later", "half a beat earlier", "a beat later", "a beat earlier"]
SHIFTS: dict[str, float] = {
    "half a beat later": 0.5, "half a beat earlier": -0.5, "a beat later": 1.0, "a beat earlier": -1.0,
}  # fmt: skip
FACTORS: dict[str, float] = {"double": 2.0, "half": 0.5, "times three": 3.0, "a third": 1 / 3}


class Corrections(Strict):
    """Anchors for a track."""

    bar_1_at: Seconds | None = Field(None, description="seconds at which bar 1 begins")
    tempo: TempoChange | None = Field(None, description="the beats heard are to be taken twice, half ... as fast")
    shift: Shift | None = Field(None, description="move the beats (half a beat) or the bars (a beat)")
    phrase_starts: tuple[Annotated[int, Field(ge=1)], ...] = Field((), description="bars that begin a phrase")
    end_at: Seconds | None = Field(None, description="seconds at which the music to be danced ends")
    trust: bool = Field(False, description="use the map although some of it is doubtful")


def contradictions(
    given: Corrections,
    *,
    length_s: float,
    bars: int | None = None,
    phrase_bars: int | None = None,
    section_bars: tuple[int, ...] = (),
    where: Callable[..., Where],
) -> list[Diagnostic]:
    """Corrections that cannot all be true (TML071).

    Parameters
    ----------
    bars : number of bars found, once it is known.
    where : gives the place in the brief of a key path.
    """
    found: list[Diagnostic] = []

    def refuse(key: str, message: str) -> None:
        found.append(Diagnostic("TML071", message, where("music", "corrections", key)))

    for key in ("bar_1_at", "end_at"):
        value = getattr(given, key)
        if value is not None and value > length_s:
            refuse(key, f"{value:g} s lies after the end of the track ({length_s:.1f} s).")
    if given.bar_1_at is not None and given.end_at is not None and given.end_at <= given.bar_1_at:
        refuse("end_at", f"the end ({given.end_at:g} s) does not come after bar 1 ({given.bar_1_at:g} s).")
    if given.bar_1_at is not None and given.shift is not None:
        refuse("shift", "bar_1_at already says where the beats lie; give one of the two.")
    starts = sorted(set(given.phrase_starts))
    if starts and phrase_bars:
        wrong = [bar for bar in starts if (bar - starts[0]) % phrase_bars]
        if wrong:
            refuse(
                "phrase_starts",
                f"bars {starts[0]} and {wrong[0]} cannot both begin a phrase when phrases have {phrase_bars} bars.",
            )
    if starts and section_bars:
        edges = [1]
        for size in section_bars:
            edges.append(edges[-1] + size)
        inside = [bar for bar in edges[:-1] if bar not in starts and bar != 1]
        if inside:
            refuse("phrase_starts", f"a section begins at bar {inside[0]}, which is not among the phrase starts.")
    if bars is not None and starts and starts[-1] > bars:
        refuse("phrase_starts", f"bar {starts[-1]} is asked for, but {bars} bars were heard.")
    return found
