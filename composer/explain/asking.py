"""Asks whether any routine keeps some wishes: a path, a finished proof that there is none, or "undecided".

Points play no part, so the engines are used for what each does best, cheapest first: paths alone where no row is left;
the linear relaxation, whose multipliers either *prove* in whole numbers that the rows cannot all hold (Farkas: a sum of
rows that no path can keep) or point at a narrow band of arcs in which CP-SAT finds a path at once; on a travelling
floor walks round the room; CP-SAT on all arcs for the rest. Problems that differ only in facing are merged first;
"impossible" carries over from there.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from composer.network.model import Network
from composer.problem import Problem
from composer.solve.collapse import collapse
from composer.solve.cpsat import Answer, Built, Limits
from composer.solve.linear import OPEN, Flags, Ints, Linear
from composer.solve.longest import Levels, priced, whole_multipliers
from composer.solve.relax import MANY_ROWS, Floats, program, silent_solver

FEW: Final = 700
"""So few arcs are given to CP-SAT at once."""
BAND: Final = 500
QUICK_ARCS: Final = 20_000
QUICK_WORK: Final = 0.03
"""A short look by CP-SAT before anything else: many contradictions are plain to it and not to the relaxation."""
WALK_WORK: Final = 1.5
LP_WORK_PER_ARC: Final = 3e-5
BUILD_WORK_PER_ARC: Final = 2e-5
"""Work that CP-SAT does not count, as measured on large travelling floors."""
LP_SECONDS: Final = 10.0
LP_ROUNDS: Final = 5
SLACK_POINTS: Final = 1000
"""What a unit of a broken row costs against the few points that make the relaxation choose a corner."""


@dataclass(frozen=True)
class Said:
    """``possible`` True with a path (arc ids, values of the unknowns), False when proved, None when undecided."""

    possible: bool | None
    arcs: tuple[int, ...] = ()
    values: Mapping[str, int] | None = None
    work: float = 0.0


NO: Final = Said(False)

Walk = Callable[[Linear, Limits], Answer | None]
"""Looks for a path in a way of its own; what it finds keeps every row, what it does not find proves nothing."""


def walk_of(problem: Problem, network: Network) -> Walk | None:
    """Walks round the room, on the floors that the composer itself walks."""
    from composer.solve.rounds import walkable, walked

    room = walkable(problem)
    if room is None:
        return None

    def walk(linear: Linear, limits: Limits) -> Answer | None:
        return walked(problem, room, network, linear, limits)

    return walk


def ask(network: Network, linear: Linear, limits: Limits, walk: Walk | None = None) -> Said:
    """Whether a path keeps every row of ``linear``."""
    linear = _cleared(linear)
    if not linear.feasible_path or not _rows_can_hold(linear):
        return NO
    if not len(linear.least):
        return Said(True, _any_path(linear), {})
    if int(linear.usable.sum()) <= FEW:
        return _by_cpsat(linear, limits)
    if walk is not None:
        walked = walk(linear, replace(limits, work=min(WALK_WORK, limits.work)))
        if walked is not None:
            return Said(True, walked.arcs, walked.values, WALK_WORK / 2)
        if limits.work <= WALK_WORK:
            return Said(None, work=limits.work)
        rest = ask(network, linear, replace(limits, work=limits.work - WALK_WORK))
        return _plus(rest, WALK_WORK)
    merged = collapse(network, linear)
    if merged is not None:
        small = _large(merged.small, replace(limits, work=limits.work / 2))
        if small.possible is False:
            return small
        if small.possible:
            lifted = _by_cpsat(linear.narrowed(merged.members(small.arcs)), limits)
            if lifted.possible:
                return replace(lifted, work=small.work + lifted.work)
        return _plus(_large(linear, replace(limits, work=max(0.01, limits.work - small.work))), small.work)
    return _large(linear, limits)


def _cleared(linear: Linear) -> Linear:
    """The same without the arcs beside one that has to be danced: where a row asks for one of arcs that share a moment,
    nothing else can be danced at that moment.
    """
    plain = (linear.least == 1) & (np.diff(linear.on_unknowns.indptr) == 0) & (np.diff(linear.on_arcs.indptr) > 0)
    start, end = np.maximum(linear.tick[linear.tail], 0), linear.tick[linear.head]
    keep = np.ones(len(linear.usable), dtype=np.bool_)
    for row in np.flatnonzero(plain).tolist():
        begin, stop = linear.on_arcs.indptr[row : row + 2]
        arcs = linear.on_arcs.indices[begin:stop][linear.on_arcs.data[begin:stop] > 0]
        if not len(arcs) or (linear.on_arcs.data[begin:stop] > 1).any():
            continue
        moment = int(start[arcs].max())
        if moment < int(end[arcs].min()):
            beside = (start <= moment) & (moment < end)
            beside[arcs] = False
            keep &= ~beside
    return linear if keep.all() else linear.narrowed(keep)


def _large(linear: Linear, limits: Limits) -> Said:
    """A quick look; the relaxation; CP-SAT on what the relaxation points at; CP-SAT on everything."""
    if not linear.feasible_path or not _rows_can_hold(linear):
        return NO
    if not len(linear.least):
        return Said(True, _any_path(linear), {})
    if int(linear.usable.sum()) <= FEW:
        return _by_cpsat(linear, limits)
    used = 0.0
    if int(linear.usable.sum()) <= QUICK_ARCS:
        said = _by_cpsat(linear, replace(limits, work=min(limits.work, QUICK_WORK)))
        if said.possible is not None:
            return said
        used += said.work
    size = int(linear.usable.sum())
    if size > QUICK_ARCS and used + LP_WORK_PER_ARC * size > limits.work:
        return Said(None, work=used)
    advice = _advice(linear, limits)
    used += LP_WORK_PER_ARC * size
    if advice is not None and advice.impossible:
        return Said(False, work=used)
    if advice is not None:
        for width in (BAND, 6 * BAND):
            keep = advice.band(width)
            if keep is None or width > size // 2:
                break
            said = _by_cpsat(linear.narrowed(keep), replace(limits, work=limits.work / 4))
            used += said.work
            if said.possible:
                return replace(said, work=used)
    if size > QUICK_ARCS and used + BUILD_WORK_PER_ARC * size > limits.work:
        return Said(None, work=used)
    return _plus(_by_cpsat(linear, replace(limits, work=max(0.01, limits.work - used))), used)


def _plus(said: Said, work: float) -> Said:
    return replace(said, work=said.work + work)


def _rows_can_hold(linear: Linear) -> bool:
    """False when a row without any weight left asks for the impossible."""
    empty = (np.diff(linear.on_arcs.indptr) == 0) & (np.diff(linear.on_unknowns.indptr) == 0)
    return not bool((empty & ((linear.least > 0) | (linear.most < 0))).any())


def _any_path(linear: Linear) -> tuple[int, ...]:
    """The first path in the order of the arcs; every usable arc lies on one."""
    onward: dict[int, int] = {}
    for arc in np.flatnonzero(linear.usable)[::-1].tolist():
        onward[int(linear.tail[arc])] = arc
    node, path = 0, []
    while node != linear.sink:
        path.append(onward[node])
        node = int(linear.head[onward[node]])
    return tuple(path)


@dataclass(frozen=True)
class _Advice:
    """What the relaxation says; ``impossible`` is proved in whole numbers, ``through`` only orders the arcs."""

    impossible: bool
    through: Ints | None
    usable: Flags

    def band(self, size: int) -> Flags | None:
        if self.through is None:
            return None
        levels = np.sort(self.through[self.usable])[::-1]
        cut = int(levels[min(size, len(levels)) - 1])
        keep: Flags = self.through >= cut
        return keep


def _advice(linear: Linear, limits: Limits) -> _Advice | None:
    soft = _softened(linear)
    found = _relaxation(soft, min(limits.wall_s, LP_SECONDS))
    if found is None:
        return None
    multipliers = whole_multipliers(soft, found)
    bare = priced(linear, Levels(linear), multipliers)
    if bare is not None and bare.bound_scaled < 0:
        return _Advice(True, None, linear.usable)
    scored = priced(soft, Levels(soft), multipliers)
    return _Advice(False, None if scored is None else scored.through_scaled, linear.usable)


def _relaxation(linear: Linear, wall_s: float) -> Floats | None:
    """Multipliers of the rows by interior point, rows of large families brought in when they are broken; None when the
    time does not suffice. They are advice only: what they prove is computed in whole numbers afterwards.
    """
    import highspy

    ends_at = time.monotonic() + wall_s
    lazy = np.bincount(linear.owner + 1, minlength=1)[linear.owner + 1] > MANY_ROWS
    active = ~(lazy & (linear.owner >= 0))
    wide = None
    for _ in range(LP_ROUNDS):
        rows = np.flatnonzero(active)
        model, ids, flow_rows = program(linear.with_rows(rows))
        solver = silent_solver()
        for name, value in (
            ("solver", "ipm"),
            ("run_crossover", "off"),
            ("threads", 1),
            ("ipm_iteration_limit", 150),
            ("time_limit", max(0.05, ends_at - time.monotonic())),
        ):
            solver.setOptionValue(name, value)
        solver.passModel(model)
        solver.run()
        if solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            return wide
        solution = solver.getSolution()
        columns = np.asarray(solution.col_value, dtype=np.float64)
        wide = np.zeros(len(linear.least))
        wide[rows] = -np.asarray(solution.row_dual, dtype=np.float64)[flow_rows:]
        values = np.zeros(len(linear.points))
        values[ids] = columns[: len(ids)]
        reached = linear.on_arcs @ values + linear.on_unknowns @ columns[len(ids) :]
        slack = 1e-3 * np.maximum(1.0, np.abs(reached))
        broken = ((reached > linear.most + slack) | (reached < linear.least - slack)) & ~active
        if not broken.any():
            break
        active |= broken
    return wide


def _softened(linear: Linear) -> Linear:
    """Every row may be broken at a price; a few points per arc, always the same, make the best corner unique."""
    from composer.solve.sparse import coo_matrix, hstack

    rows = len(linear.least)
    low, high = np.flatnonzero(linear.least != -OPEN), np.flatnonzero(linear.most != OPEN)
    at = np.concatenate([low, high])
    sign = np.concatenate([np.ones(len(low), dtype=np.int64), -np.ones(len(high), dtype=np.int64)])
    slack = coo_matrix((sign, (at, np.arange(len(at)))), shape=(rows, len(at)))
    size = np.maximum(1, abs(linear.on_arcs).max(axis=1).toarray().ravel()) if rows else np.ones(0, dtype=np.int64)
    points = np.random.default_rng(0).integers(0, 20, len(linear.points))
    return replace(
        linear,
        points=points.astype(np.int64),
        on_unknowns=hstack([linear.on_unknowns, slack]).tocsr(),
        names=(*linear.names, *(f"short:{i}" for i in range(len(at)))),
        low=np.concatenate([linear.low, np.zeros(len(at), dtype=np.int64)]),
        high=np.concatenate([linear.high, np.full(len(at), 1 << 20, dtype=np.int64)]),
        unknown_points=np.concatenate(
            [linear.unknown_points, -np.maximum(1, SLACK_POINTS // size[at]).astype(np.int64)]
        ),
    )


def _by_cpsat(linear: Linear, limits: Limits) -> Said:
    """A path by CP-SAT, without the costly parts of its preparation: the networks here are small or narrow."""
    if not linear.feasible_path:
        return NO
    built = Built(linear, objective=False)
    answer = built.solve(limits, cp_model_probing_level=0, symmetry_level=0)
    work = answer.deterministic_time + BUILD_WORK_PER_ARC * len(built.ids)
    if answer.verdict in ("best", "good"):
        return Said(True, answer.arcs, dict(answer.values), work)
    return Said(False if answer.verdict == "none" else None, work=work)
