"""All walks at once, where they are too many: those that are nearly alike go on as one that promises what any did.

Walks at one node, in one state and in nearly the same zones are *merged*: the merged walk has the zones that hold all
of theirs, the most points, and has used of every row only what all have used. It may become more than any of them
could, so what comes home is no routine; but every routine of the points asked for is still among the ways through the
merged walks. The best way is a ceiling, and a figure that is on no good way is in no routine that good.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from composer.solve.account import Used
from composer.solve.linear import Flags, Ints
from composer.solve.longest import SCALE
from composer.solve.stepping import BORN, Labels, Stepping

SIZES_MM: Final = (100, 200, 400, 800, 1600, 3200, 1 << 20)
"""Zones whose ends lie in the same intervals of a size are merged; the smallest size that leaves few enough walks."""
NOWHERE: Final = -(1 << 60)


@dataclass(frozen=True)
class Left:
    """Points no routine over the arcs exceeds, the arcs on ways of the points asked for, and the steps it took."""

    ceiling: int
    arcs: Flags
    stepped: int


@dataclass
class _Ways:
    """Ways from merged walks at one tick: arcs, where from, points when danced, and (filled in later) where to."""

    arc: Ints
    begin: Ints
    gone: Ints
    end: Ints


def left_by(walks: Stepping, width: int, least: int, most_steps: int) -> Left | None:
    """What is left for routines of ``least`` points, about ``width`` walks at a tick; None with too many steps."""
    tick, tried, number = walks.linear.tick, 0, 0
    waiting: dict[int, list[tuple[Labels, _Ways, Ints]]] = {}
    steps: list[_Ways] = []
    gone: list[Ints] = []
    labels = walks.start()
    while True:
        gone.append(labels.gone)
        labels.log = number + np.arange(len(labels.at))
        number += len(labels.at)
        if labels.at[0] == walks.linear.sink:
            break
        tried += int((walks.after[labels.at] - walks.first[labels.at]).sum())
        born, arcs = walks.stepped(labels, least * SCALE)
        tried += BORN * len(arcs)
        if tried > most_steps:
            return None
        ways = _Ways(arcs, born.log, born.gone, np.zeros(len(arcs), dtype=np.int64))
        steps.append(ways)
        heads = tick[born.at]
        for then in np.unique(heads).tolist():
            chosen = np.flatnonzero(heads == then)
            waiting.setdefault(then, []).append((born.take(chosen), ways, chosen))
        if not waiting:
            break
        come = waiting.pop(min(waiting))
        labels = Labels.joined([part for part, _, _ in come])
        group, labels = merged(labels, width, walks)
        at = 0
        for _, way, chosen in come:
            way.end[chosen] = number + group[at : at + len(chosen)]
            at += len(chosen)
    return _looked_back(walks, steps, np.concatenate(gone), least, tried)


def _looked_back(walks: Stepping, steps: list[_Ways], gone: Ints, least: int, tried: int) -> Left:
    """From the end backwards, what every merged walk can still bring, and so what every way can."""
    arcs = np.zeros(len(walks.linear.points), dtype=np.bool_)
    onward = np.full(len(gone), NOWHERE, dtype=np.int64)
    most = (least - 1) * SCALE
    for ways in reversed(steps):
        home = walks.linear.head[ways.arc] == walks.linear.sink
        brings = ways.gone - gone[ways.begin] + np.where(home, 0, onward[ways.end])
        np.maximum.at(onward, ways.begin, brings)
        through = gone[ways.begin] + brings
        good = through >= least * SCALE
        arcs[ways.arc[good]] = True
        most = max(most, int(through.max(initial=most)))
    return Left(most // SCALE, arcs, tried)


def merged(labels: Labels, width: int, walks: Stepping) -> tuple[Ints, Labels]:
    """(number of the merged walk of each walk, merged walks)."""
    if len(labels.at) <= 1:
        return np.zeros(len(labels.at), dtype=np.int64), labels
    same = _exactly(labels)
    if walks.ground is None:
        group, order, begins = _runs(same, _by_promise(labels, same, width))
    else:
        for size in SIZES_MM:
            group, order, begins = _runs(same, _nearly(labels, size))
            if len(begins) <= width:
                break
    return group, _together(labels.take(order), begins, walks)


def _runs(same: Ints, near: Ints) -> tuple[Ints, Ints, Ints]:
    """Walks with the same two numbers: (number of its run by walk, walks in order of these, where each begins)."""
    order = np.lexsort((near, same))
    new = np.ones(len(order), dtype=np.bool_)
    new[1:] = (same[order[1:]] != same[order[:-1]]) | (near[order[1:]] != near[order[:-1]])
    group = np.empty(len(order), dtype=np.int64)
    group[order] = np.cumsum(new) - 1
    return group, order, np.flatnonzero(new)


def _by_promise(labels: Labels, same: Ints, width: int) -> Ints:
    """A number for what was used, where no places tell walks apart; one for all but the most promising ``width``."""
    used = np.zeros_like(same)
    for columns in (labels.used.bits, labels.used.sums, labels.used.danced, labels.used.tally):
        for column in columns.reshape(len(same), -1).T:
            used = used * np.int64(1_000_003) + column
    if len(same) > width:
        used[labels.reach < np.partition(labels.reach, -width)[-width]] = 0
    return used


def _exactly(labels: Labels) -> Ints:
    """A number for all that must be the same in walks that are merged."""
    same = labels.at.astype(np.int64)
    for part in (labels.state, labels.begun):
        same = same * (int(part.max()) + 1) + part
    for ties in (labels.used.begun, labels.used.had):
        if ties.shape[1]:
            alike = np.unique(ties, axis=0, return_inverse=True)[1].ravel()
            same = np.unique(same * (int(alike.max()) + 1) + alike, return_inverse=True)[1].ravel()
    return same


def _nearly(labels: Labels, size: int) -> Ints:
    """A number for nearly the same zones and points (two that differ may share one, which does no harm)."""
    near = labels.reach // SCALE if size <= SIZES_MM[2] else np.zeros(len(labels.at), dtype=np.int64)
    flat = labels.zones.reshape(len(labels.at), -1)
    for column in flat.T:
        near = near * np.int64(1_000_003) + column // size
    return near


def _together(labels: Labels, begins: Ints, walks: Stepping) -> Labels:
    """Sorted walks merged in runs."""
    used, price = labels.used, walks.account.price
    least, most = (part.reduceat(used.tally, begins, axis=0) for part in (np.minimum, np.maximum))
    together = Used(
        bits=np.bitwise_and.reduceat(used.bits, begins, axis=0),
        sums=walks.account.sums.least(used.sums, begins),
        danced=np.bitwise_and.reduceat(used.danced, begins, axis=0),
        tally=np.where(price > 0, most, least),
        begun=used.begun[begins],
        had=used.had[begins],
    )
    zones = np.minimum.reduceat(labels.zones, begins, axis=0)
    zones[..., 1] = np.maximum.reduceat(labels.zones[..., 1], begins, axis=0)
    first = labels.take(begins)
    gone, reach = (np.maximum.reduceat(part, begins) for part in (labels.gone, labels.reach))
    return replace(first, gone=gone, reach=reach, zones=zones, used=together)
