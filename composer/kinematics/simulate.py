"""Runs both charts of a figure from the hold's standing place and derives its motion, or says why it cannot be danced.

The order: what the charts say alone (:mod:`.chartcheck`), the places as affine forms (:mod:`.tracks`), the fit
(:mod:`.fit`), what the fitted motion shows (:mod:`.motioncheck`).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from composer.charts import FigureFile, HoldsFile
from composer.errors import Diagnostic, Where
from composer.kinematics.armwalk import ArmWalk, walk_arms
from composer.kinematics.chartcheck import chart_faults, ticks_of
from composer.kinematics.directions import FOLLOWER_STATURE_MM, LEADER_STATURE_MM
from composer.kinematics.fit import Asked, Fitted, Gap, Mark, asked_places, fit, turn_between
from composer.kinematics.moments import pose_at, settled_ticks, with_pivots
from composer.kinematics.motion import Moment, Motion, Pose
from composer.kinematics.motioncheck import fit_faults, gaps_allowed, motion_faults
from composer.kinematics.tracks import Pace, Standing, Unknowns, other, start, unknowns_needed, walk
from composer.units import TICKS_PER_BEAT, ticks_from_beats

if TYPE_CHECKING:
    from composer.kinematics.bounded import Vector

AGAINST_THE_TURN: Final = 0.7
"""Partners who change places go round as their bodies turn unless the other side strains them that much less."""
SCALES: Final = (0.6, 0.7, 0.8, 0.9, 1.1, 1.2, 1.3)
MEASURED: Final = (0.8, 0.9, 1.1, 1.2)
"""How far bodies stray is measured at these scales, and at the least and the greatest."""
SCALE_SLACK_MM: Final = 50
SCALE_SLACK: Final = 0.05
"""A scaled figure may miss the scaled travel by this much and this part of it; what is more is no scaling."""


@dataclass(frozen=True)
class Layout:
    """A figure ready to be fitted: both dancers after every event (the entry first) with unknown strides.

    ``other_way`` is what is asked when partners who change places pass on the other side.
    """

    ticks: tuple[int, ...]
    leader: tuple[Standing, ...]
    follower: tuple[Standing, ...]
    unknowns: Unknowns
    marks: tuple[Mark, ...]
    asked: tuple[Asked, ...]
    other_way: tuple[Asked, ...]
    gaps: tuple[Gap, ...]


def simulate(
    chart: FigureFile,
    holds: HoldsFile,
    where: Callable[..., Where],
    scale: float = 1.0,
    *,
    tempo_most: float | None = None,
    beats_per_bar: int = 4,
) -> tuple[Motion | None, list[Diagnostic]]:
    """Simulate one figure.

    Parameters
    ----------
    where : place of a key path in the file, such as ``where('leader', 4, 'foot')``.
    scale : strides in parts of the natural ones (the declared travel is then not compared).
    tempo_most : the fastest usual tempo of the dance in beats a minute; sharpens the limits of speed.

    Returns
    -------
    The motion, or None when there is none to show, and all faults found (a motion may come with faults).
    """
    faults = list(chart_faults(chart, holds, where, tempo_most, beats_per_bar))
    if any(f.code in {"FIG010", "FIG011", "FIG012", "FIG013", "FIG020"} for f in faults):
        return None, faults
    layout = lay_out(chart, holds, tempo_most)
    fitted = _solved(layout, None, 1.0)
    base = fitted.values
    if scale != 1.0:
        fitted = _solved(layout, base, scale)
    stretch = Stretch()
    fit_problems = list(fit_faults(chart, holds, layout, fitted, where))
    if not fit_problems and scale == 1.0:
        stretch = _scale_range(chart, holds, layout, base)
    arms = walk_arms(chart, holds, layout, fitted, where)
    motion = _motion(chart, layout, fitted, stretch, arms)
    faults += fit_problems
    faults += arms.faults
    faults += motion_faults(chart, holds, motion, where, tempo_most, scaled=scale != 1.0)
    return motion, faults


def lay_out(chart: FigureFile, holds: HoldsFile, tempo_most: float | None = None) -> Layout:
    """The figure with its strides unknown. The charts must have passed the checks of :mod:`.chartcheck`."""
    stance = holds.stances[holds.holds[chart.entry.hold].stance]
    size = unknowns_needed(chart.leader) + unknowns_needed(chart.follower)
    unknowns = Unknowns()
    length = chart.length_ticks
    leader_start = start(0, 0, 0, chart.entry.leader_free, size)
    follower_start = start(stance.forward, stance.right, stance.facing, chart.entry.follower_free, size)
    leader = walk(chart.leader, leader_start, Pace(LEADER_STATURE_MM, tempo_most), unknowns, length)
    follower = walk(chart.follower, follower_start, Pace(FOLLOWER_STATURE_MM, tempo_most), unknowns, length)
    ticks = ticks_of(chart)
    leaders = _at_events(leader_start, leader, [s.tick for s in chart.leader], ticks)
    followers = _at_events(follower_start, follower, [s.tick for s in chart.follower], ticks)
    marks = _marks(chart, ticks)
    asked, other_way = (
        tuple(asked_places(marks, leaders, followers, dict(holds.holds), dict(holds.stances), way)) for way in (1, -1)
    )
    gaps = gaps_allowed(chart, holds, ticks, marks, leaders, followers)
    return Layout(tuple(ticks), leaders, followers, unknowns, tuple(marks), asked, other_way, tuple(gaps))


def laid_out_and_fitted(chart: FigureFile, holds: HoldsFile, tempo_most: float | None = None) -> tuple[Layout, Fitted]:
    """The figure with its natural strides, for a chart that has passed the checks of :mod:`.chartcheck`."""
    layout = lay_out(chart, holds, tempo_most)
    return layout, _solved(layout, None, 1.0)


def _at_events(
    first: Standing, after: Sequence[Standing], own: Sequence[int], ticks: Sequence[int]
) -> tuple[Standing, ...]:
    reached = dict(zip(own, after, strict=True))
    here, result = first, [first]
    for tick in ticks:
        here = reached.get(tick, here)
        result.append(here)
    return tuple(result)


def _marks(chart: FigureFile, ticks: Sequence[int]) -> list[Mark]:
    marks = {0: chart.entry.hold}
    for via in chart.via:
        tick = ticks_from_beats(via.at - 1)
        marks[sum(1 for t in ticks if t <= tick)] = via.hold
    marks[0] = chart.entry.hold
    marks[len(ticks)] = chart.exit.hold
    return [Mark(index, marks[index]) for index in sorted(marks)]


def _solved(layout: Layout, base: Vector | None, scale: float) -> Fitted:
    unknowns = layout.unknowns
    if base is not None:
        natural = [min(max(b * scale, lo), hi) for b, lo, hi in
                   zip(base.tolist(), unknowns.least, unknowns.most, strict=True)]  # fmt: skip
        unknowns = Unknowns(unknowns.least, natural, unknowns.most, unknowns.pull)
    fitted = fit(layout.leader, layout.follower, unknowns, layout.asked, layout.gaps)
    if layout.other_way == layout.asked:
        return fitted
    other = fit(layout.leader, layout.follower, unknowns, layout.other_way, layout.gaps)
    turns = any(turn_between(a, b, layout.leader, layout.follower) for a, b in pairwise(layout.marks))
    return other if other.strain < (AGAINST_THE_TURN if turns else 1.0) * fitted.strain else fitted


@dataclass(frozen=True)
class Stretch:
    """How far strides may shrink and grow, and how far bodies stray at the scales measured (percent, mm)."""

    shortest: float = 1.0
    longest: float = 1.0
    strays: tuple[tuple[int, int], ...] = ()


def _scale_range(chart: FigureFile, holds: HoldsFile, layout: Layout, base: Vector) -> Stretch:
    """How far strides may shrink and grow: the figure still fits, and carries the leader that much less or farther."""
    end = layout.leader[-1].centre
    natural = end[:, :-1] @ base + end[:, -1]

    def fits(scale: float) -> bool:
        fitted = _solved(layout, base, scale)
        off = float(((end[:, :-1] @ fitted.values + end[:, -1] - scale * natural) ** 2).sum() ** 0.5)
        allowed = SCALE_SLACK_MM + SCALE_SLACK * float((natural**2).sum() ** 0.5)
        return off <= allowed and not any(True for _ in fit_faults(chart, holds, layout, fitted, _nowhere))

    shortest, longest = (
        _farthest(fits, [s for s in SCALES if s < 1]),
        _farthest(fits, [s for s in SCALES if s > 1][::-1]),
    )
    measured = sorted({s for s in (*MEASURED, shortest, longest) if shortest <= s <= longest and s != 1})
    strays = (_stray(layout, chart.length_ticks, base, _solved(layout, base, scale).values) for scale in measured)
    return Stretch(shortest, longest, tuple(zip((round(100 * s) for s in measured), strays, strict=True)))


def _stray(layout: Layout, length: int, base: Vector, values: Vector) -> int:
    """How far (mm, rounded up) scaled bodies are, at most, from their natural way with the ground spread evenly."""
    end = layout.leader[-1].centre
    more = end[:, :-1] @ (values - base)
    farthest = 0.0
    for tick, *standings in zip((0, *settled_ticks(layout.ticks, length)), layout.leader, layout.follower, strict=True):
        for standing in standings:
            off = standing.centre[:, :-1] @ (values - base) - min(1.0, tick / length) * more
            farthest = max(farthest, float((off**2).sum() ** 0.5))
    return math.ceil(farthest)


def _farthest(fits: Callable[[float], bool], scales: Sequence[float]) -> float:
    """The first of the scales (the farthest from 1 first) that fits with all nearer ones; 1 when none does.

    The farthest is tried first and the nearer ones are then taken to fit. That is nearly so, not always: where bodies
    meet the way may bend, and strides between two that fit were seen to miss the allowance by a millimetre.
    """
    if fits(scales[0]):
        return scales[0]
    reached = 1.0
    for scale in reversed(scales[1:]):
        if not fits(scale):
            break
        reached = scale
    return reached


def _nowhere(*_: str | int) -> Where:
    return Where()


def _motion(chart: FigureFile, layout: Layout, fitted: Fitted, stretch: Stretch, arms: ArmWalk) -> Motion:
    values, length = fitted.values, chart.length_ticks
    leaders = [pose_at(s, values) for s in layout.leader]
    followers = [pose_at(s, values) for s in layout.follower]
    known = {mark.index: mark.hold for mark in layout.marks}
    known |= {item.index: item.hold for item in layout.asked if item.hold}
    settled = [0, *settled_ticks(layout.ticks, length)]
    at: list[int | None] = [None, *layout.ticks]
    moments = [
        Moment(tick, leaders[i], followers[i], known.get(i), at[i], arms.hands[i])
        for i, tick in enumerate(settled)
        if tick < length
    ]
    end_at = None if len(moments) == len(settled) else at[-1]
    moments.append(Moment(length, leaders[-1], followers[-1], chart.exit.hold, end_at, arms.hands[-1]))
    gaps = [float((line**2).sum() ** 0.5) for line in fitted.between]
    first, last = leaders[0], leaders[-1]
    return Motion(
        moments=with_pivots(moments),
        length_ticks=length,
        leader_turn16=last.facing16 - first.facing16,
        follower_turn16=followers[-1].facing16 - followers[0].facing16,
        travel_forward_mm=last.forward_mm,
        travel_right_mm=last.right_mm,
        leader_free=other(last.weight),
        follower_free=other(followers[-1].weight),
        residual_mm=round(max((miss for _, miss in fitted.misses_mm), default=0.0)),
        least_gap_mm=round(min(gaps)),
        most_gap_mm=round(max(gaps)),
        fastest_mm_per_beat=_fastest(chart, layout, leaders, followers),
        shortest_scale=stretch.shortest,
        longest_scale=stretch.longest,
        scaled_percents=tuple(percent for percent, _ in stretch.strays),
        strays_mm=tuple(mm for _, mm in stretch.strays),
        under=arms.under,
    )


def _fastest(chart: FigureFile, layout: Layout, leaders: Sequence[Pose], followers: Sequence[Pose]) -> int:
    """Fastest body in mm per beat; a step has the time from half-way before its count to half-way after."""
    fastest = 0.0
    for steps, poses in ((chart.leader, leaders), (chart.follower, followers)):
        for number, step in enumerate(steps):
            before = steps[number - 1].tick if number else step.tick - TICKS_PER_BEAT
            after = steps[number + 1].tick if number + 1 < len(steps) else chart.length_ticks
            event = layout.ticks.index(step.tick) + 1
            a, b = poses[event - 1], poses[event]
            way = math.hypot(b.forward_mm - a.forward_mm, b.right_mm - a.right_mm)
            fastest = max(fastest, way / ((after - before) / 2 / TICKS_PER_BEAT))
    return round(fastest)
