"""Multipliers that suit what is remembered, and the arcs they leave for routines of so many points.

The relaxation prices every bonus, for it remembers none. Where the look-ahead (:mod:`composer.solve.lookahead`) knows
the worst of them, other prices prove more: a step against what the best path of the moment breaks or leaves, as long as
that brings the bound down (subgradients; Held, Wolfe and Crowder 1974). The best path *through one arc* then shows, as
ever, which arcs no routine of the points asked for can dance; with fewer arcs more can be remembered, and so on.

Whatever the prices, every bound is one of the look-ahead's, and so proved.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np

from composer.solve.fitted import fitted
from composer.solve.linear import Flags, Ints, Linear
from composer.solve.longest import SCALE, Levels, Priced, priced, whole_multipliers
from composer.solve.lookahead import Lookahead, for_proofs
from composer.solve.relax import Floats

STEPS: Final = 20
"""Prices tried before arcs are looked at again."""
ROUNDS: Final = 2
WORTH: Final = 30
"""Another round is worth it when the last one took one arc in so many."""
FIRST_STEP: Final = 0.5
"""A part of the way to the points asked for, as if prices and bound were proportional."""
PATIENCE: Final = 3
"""After so many steps without a better bound steps are halved, from the best prices so far."""


@dataclass(frozen=True)
class Sharp:
    """The arcs left, with rows and prices that fit them; no routine over them has more than ``bound`` points.

    ``cells`` counts the arcs times states that look-aheads saw, ``stepped`` the steps of walks.
    """

    linear: Linear
    proofs: Priced
    bound: int
    cells: int
    stepped: int = 0


def narrowed(linear: Linear, proofs: Priced, least: int) -> Sharp:
    """The arcs that a routine of ``least`` points may dance when the worst is remembered, prices as they are."""
    cells, bound = 0, proofs.bound
    while linear.feasible_path:
        ids = np.flatnonzero(linear.usable)
        ahead = for_proofs(linear, proofs, ids)
        cells, bound = cells + 3 * len(ids) * ahead.states, min(bound, ahead.bound)
        keep = _kept(linear, ids, ahead.through() >= least * SCALE)
        number = int(keep.sum())
        linear, proofs = fitted(linear, proofs, keep)
        if WORTH * number > (WORTH - 1) * len(ids):
            break
    return Sharp(linear, proofs, bound if linear.feasible_path else least - 1, cells)


def sharpened(linear: Linear, proofs: Priced, least: int) -> Sharp:
    """The same with better prices, which take longer to find."""
    sharp = narrowed(linear, proofs, least)
    for _ in range(ROUNDS):
        if not sharp.linear.feasible_path:
            break
        before = int(sharp.linear.usable.sum())
        better, cells = _better(sharp.linear, sharp.proofs, least)
        new = narrowed(sharp.linear, better, least)
        sharp = replace(new, bound=min(sharp.bound, new.bound), cells=sharp.cells + cells + new.cells)
        if WORTH * int(new.linear.usable.sum()) > (WORTH - 1) * before:
            break
    return sharp


def _kept(linear: Linear, ids: Ints, left: Flags) -> Flags:
    keep = np.zeros(len(linear.points), dtype=np.bool_)
    keep[ids[left]] = True
    return keep


def _better(linear: Linear, proofs: Priced, least: int) -> tuple[Priced, int]:
    """Prices whose bound is lower, if a few steps find any; and the cells looked at."""
    ids, levels = np.flatnonzero(linear.usable), Levels(linear)
    prices = proofs.multipliers.astype(np.float64)
    best, lowest, cells, step, failed = proofs, None, 0, FIRST_STEP, 0
    for _ in range(STEPS):
        tried = priced(linear, levels, whole_multipliers(linear, prices / SCALE))
        if tried is None:
            break
        tried = replace(tried, overpaid=proofs.overpaid)
        ahead = Lookahead(linear, tried, ids, overpaid=True, proving=True)
        cells += len(ids) * ahead.states
        value = ahead.bound_scaled
        if lowest is not None and value >= lowest:
            failed += 1
            if failed == PATIENCE:
                step, failed, prices = step / 2, 0, best.multipliers.astype(np.float64)
                continue
        else:
            best, lowest, failed = tried, value, 0
            if value < least * SCALE:
                break
        prices = _stepped(linear, tried, ahead, step * (value - (least - 1) * SCALE))
    return best, cells


def _stepped(linear: Linear, tried: Priced, ahead: Lookahead, length: float) -> Floats:
    """Prices a step away from what the best path breaks, towards what it leaves; none crosses zero."""
    now = tried.multipliers
    path = ahead.ids[ahead.path()]
    danced = np.zeros(len(linear.points), dtype=np.int64)
    danced[path] = 1
    rows: Ints = linear.on_arcs @ danced + linear.on_unknowns @ _chosen(linear, tried, ahead, danced)
    over = np.where(rows > linear.most, linear.most - rows, np.where(rows < linear.least, linear.least - rows, 0))
    against = np.where(now > 0, linear.most - rows, np.where(now < 0, linear.least - rows, over)).astype(np.float64)
    against[[need.row for need in ahead.kept_needs]] = 0
    against[(now == 0) & (np.diff(linear.on_arcs.indptr) == 0)] = 0
    size = float(against @ against)
    found = now - (length / size if size else 0.0) * against
    found[np.sign(found) * np.sign(now) < 0] = 0
    return found


def _chosen(linear: Linear, tried: Priced, ahead: Lookahead, danced: Ints) -> Ints:
    """Values of the unknowns on the best path: what is remembered as it earns it, others as prices make them best."""
    place: dict[str, int] = {name: column for column, name in enumerate(linear.names)}
    values: Any = tried.chosen.copy()
    for bonus in (ahead.bonuses[index] for index in ahead.kept):
        earned = bonus.worth > 0 and danced[ahead.ids[bonus.arcs]].any()
        values[place[bonus.name]] = int(earned)
    found: Ints = values
    return found
