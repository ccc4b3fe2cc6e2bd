"""How feet move in time, and when figures are called: what the practice page, the audio and the captions share.

A foot leaves at the earliest when the foot before it has landed and takes at most :data:`SWING` ticks; it lands on
its count exactly. The body keeps the times of the simulation (see :mod:`composer.kinematics.motion`).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from composer.report.model import Call, FigureLine, FootKey, FootSpot, FootTracks, Sheet, Still
from composer.timeline.model import Timeline
from composer.units import TICKS_PER_BEAT

SWING: Final = 8


def foot_tracks(stills: tuple[Still, ...]) -> FootTracks:
    """Keys of all four feet, one run over the whole routine."""
    return FootTracks(
        _track(stills, lambda s: s.leader.left),
        _track(stills, lambda s: s.leader.right),
        _track(stills, lambda s: s.follower.left),
        _track(stills, lambda s: s.follower.right),
    )


def _track(stills: tuple[Still, ...], foot: Callable[[Still], FootSpot]) -> tuple[FootKey, ...]:
    if not stills:
        return ()
    keys = [_key(stills[0].tick, foot(stills[0]))]
    landed = stills[0].tick
    for still in stills[1:]:
        now, last = foot(still), keys[-1]
        lands = still.tick if still.at_tick is None else still.at_tick
        moved = (now.x_mm, now.y_mm, now.points16) != (last.x_mm, last.y_mm, last.points16)
        if moved or now.weight != last.weight:
            leaves = max(landed, lands - SWING, last.tick)
            if moved and lands > leaves > last.tick:
                keys.append(FootKey(leaves, last.x_mm, last.y_mm, last.points16, last.weight and not now.weight))
            if lands > keys[-1].tick:
                keys.append(_key(lands, now))
            else:
                keys[-1] = _key(keys[-1].tick, now)
        landed = max(landed, lands)
    return tuple(keys)


def _key(tick: int, spot: FootSpot) -> FootKey:
    return FootKey(tick, spot.x_mm, spot.y_mm, spot.points16, spot.weight)


def seconds_at(timeline: Timeline, tick: int) -> float:
    """Seconds of the music at a tick; ticks before the first danced beat go back at its tempo."""
    if tick >= 0:
        return timeline.seconds_at(tick)
    beat = timeline.seconds_at(TICKS_PER_BEAT) - timeline.seconds_at(0)
    return timeline.seconds_at(0) + tick / TICKS_PER_BEAT * beat


def calls_of(figures: tuple[FigureLine, ...], timeline: Timeline) -> tuple[Call, ...]:
    """One call per figure, one bar ahead; when the figure before is shorter than a bar, right at its start."""
    calls: list[Call] = []
    bar = timeline.beats_per_bar * TICKS_PER_BEAT
    for figure in figures:
        tick = figure.start_tick - bar
        if calls:
            tick = max(tick, calls[-1].figure_tick)
        at, then = seconds_at(timeline, tick), seconds_at(timeline, figure.start_tick)
        words = f"{figure.leads}: {figure.name}" if figure.change else figure.name
        calls.append(Call(tick, round(at, 4), figure.number, figure.start_tick, round(then, 4), words))
    return tuple(calls)


def said_counts(sheet: Sheet) -> tuple[str, ...]:
    """What a teacher counts aloud on every beat: one to eight within the phrase, or the beats of bars of three."""
    found: list[str] = []
    for beat, place in enumerate(sheet.beats_in_bar[: sheet.length_ticks // TICKS_PER_BEAT]):
        tick = beat * TICKS_PER_BEAT
        phrase = next((p for p in sheet.phrases if p.start_tick <= tick < p.end_tick), None)
        inside = beat - (phrase.start_tick // TICKS_PER_BEAT if phrase else 0)
        found.append(str(inside % 8 + 1 if sheet.beats_per_bar in {2, 4} else place))
    return tuple(found)
