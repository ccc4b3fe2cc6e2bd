"""The model that decides, in CP-SAT: one 0/1 unknown per usable arc, flow at every node, the stated rows.

One worker, a fixed seed and deterministic time limits: the same input gives the same answer on a busy machine and
on an idle one. The wall clock is only a net far above the deterministic limit; where it cuts in, nothing is
claimed. Linearization level 2 was the fastest of those measured (DEVELOPERS.md).
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from composer.solve.compact import compact
from composer.solve.engine import LEAST, MOST, Model
from composer.solve.linear import OPEN, Flags, Linear

Verdict = Literal["best", "good", "none", "unknown"]
Watch = Callable[[int, int], None]


@dataclass(frozen=True)
class Answer:
    """What an engine says: ``best`` (proved), ``good`` (a solution, no proof), ``none`` (proved), ``unknown``.

    ``bound`` is an upper bound on the points of any solution the engine was asked about (None when it has none).
    """

    verdict: Verdict
    arcs: tuple[int, ...] = ()
    values: Mapping[str, int] = field(default_factory=dict)
    score: int = 0
    bound: int | None = None
    deterministic_time: float = 0.0
    missed: int = 0
    """By how much soft rows are broken in all; 0 without soft rows."""


@dataclass(frozen=True)
class Limits:
    """How long an engine may run: ``work`` in deterministic seconds, ``wall_s`` as the safety net."""

    work: float
    wall_s: float
    seed: int = 0
    workers: int = 1
    linearization: int = 2
    deadline: float = math.inf
    """On the monotonic clock; ``wall_s`` is cut to what is left."""

    @property
    def wall_left_s(self) -> float:
        """Seconds on the wall clock that one run may take from now on."""
        return max(0.01, min(self.wall_s, self.deadline - time.monotonic()))


class Built:
    """A CP-SAT model of a :class:`Linear` with its unknowns."""

    def __init__(
        self,
        linear: Linear,
        *,
        objective: bool = True,
        floor: int | None = None,
        ceiling: int | None = None,
        soft: Flags | None = None,
    ):
        """Build the model.

        Parameters
        ----------
        floor : only solutions with at least so many points.
        ceiling : points that are proved not to be exceeded; lets the search stop as soon as it gets there.
        soft : rows that may be broken; then the objective is to break them by as little as possible in all.
        """
        self.given = linear
        few = compact(linear, soft)
        self.linear = linear = few.linear
        self.model = Model()
        self.ids = np.flatnonzero(linear.usable).tolist()
        self.arc: dict[int, int] = {i: self.model.unknown(0, 1) for i in self.ids}
        self.unknown = [
            self.model.unknown(lo, hi) for lo, hi in zip(linear.low.tolist(), linear.high.tolist(), strict=True)
        ]
        self.soft = None if soft is None else soft[few.rows]
        self.broken: list[int] = []
        self._flow()
        self._rows()
        scored, points = self._score()
        if floor is not None or ceiling is not None:
            self.model.row(scored, points, LEAST if floor is None else floor, MOST if ceiling is None else ceiling)
        if soft is not None:
            self.model.aim(self.broken, [1] * len(self.broken), high=False)
        elif objective:
            self.model.aim(scored, points, high=True)

    @property
    def size(self) -> int:
        """Unknowns and rows."""
        return len(self.model.proto.variables) + len(self.model.proto.constraints)

    def _flow(self) -> None:
        into: dict[int, list[int]] = {}
        out: dict[int, list[int]] = {}
        ids = self.ids
        for i, tail, head in zip(ids, self.linear.tail[ids].tolist(), self.linear.head[ids].tolist(), strict=True):
            out.setdefault(tail, []).append(self.arc[i])
            into.setdefault(head, []).append(self.arc[i])
        self.model.exactly_one(out.get(0, []))
        self.model.exactly_one(into.get(self.linear.sink, []))
        for node in sorted(out.keys() - {0}):
            come, go = into[node], out[node]
            self.model.row(come + go, [1] * len(come) + [-1] * len(go), 0, 0)

    def _rows(self) -> None:
        linear = self.linear
        on_arcs = linear.on_arcs[:, self.ids]
        for row in range(len(linear.least)):
            least, most = int(linear.least[row]), int(linear.most[row])
            start, end = on_arcs.indptr[row : row + 2]
            unknowns: list[int] = [self.arc[self.ids[c]] for c in on_arcs.indices[start:end].tolist()]
            weights: list[int] = on_arcs.data[start:end].tolist()
            start, end = linear.on_unknowns.indptr[row : row + 2]
            unknowns += [self.unknown[c] for c in linear.on_unknowns.indices[start:end].tolist()]
            weights += linear.on_unknowns.data[start:end].tolist()
            if self.soft is not None and self.soft[row]:
                for side, weight in ((least, 1), (most, -1)):
                    if abs(side) != OPEN:
                        self.broken.append(self.model.unknown(0, 1 << 20))
                        unknowns, weights = [*unknowns, self.broken[-1]], [*weights, weight]
            if unknowns:
                low, high = LEAST if least == -OPEN else least, MOST if most == OPEN else most
                self.model.row(unknowns, weights, low, high)
            elif not least <= 0 <= most:
                self.model.impossible()

    def _score(self) -> tuple[list[int], list[int]]:
        """Unknowns that count points, and how many."""
        linear = self.linear
        scored = [i for i in self.ids if linear.points[i]]
        extra = [j for j, points in enumerate(linear.unknown_points.tolist()) if points]
        return (
            [self.arc[i] for i in scored] + [self.unknown[j] for j in extra],
            linear.points[scored].tolist() + linear.unknown_points[extra].tolist(),
        )

    def hint(self, arcs: Sequence[int], values: Mapping[str, int]) -> None:
        """Where to look first."""
        used = set(arcs)
        for i in self.ids:
            self.model.hint(self.arc[i], int(i in used))
        for name, unknown in zip(self.linear.names, self.unknown, strict=True):
            if name in values:
                self.model.hint(unknown, values[name])

    def solve(self, limits: Limits, watch: Watch | None = None, **parameters: int) -> Answer:
        """Run within the limits; ``watch(score, bound)`` hears of every better solution.

        Parameters
        ----------
        parameters : more of CP-SAT's own.
        """
        said = self.model.solved(
            watch,
            num_workers=limits.workers,
            linearization_level=limits.linearization,
            random_seed=limits.seed,
            max_deterministic_time=max(limits.work, 1e-6),
            max_time_in_seconds=limits.wall_left_s,
            **parameters,
        )
        if said.none:
            return Answer("none", deterministic_time=said.work)
        if not said.values:
            # a search cut off early reports a bound of 0 that nobody proved: none is claimed
            return Answer("unknown", deterministic_time=said.work)
        arcs = tuple(i for i in self.ids if said.values[self.arc[i]])
        missed = sum(said.values[slack] for slack in self.broken)
        values = dict.fromkeys(self.given.names, 0)
        values.update((name, said.values[v]) for name, v in zip(self.linear.names, self.unknown, strict=True))
        score = self.given.score_of(arcs, values)
        bound = _whole(said.bound) if self.soft is None else None
        return Answer("best" if said.proved else "good", arcs, values, score, bound, said.work, missed)


def _whole(bound: float | None) -> int | None:
    """CP-SAT reports a whole-number bound as a float; nothing above 2**53 is claimed."""
    return None if bound is None or abs(bound) > 2**52 else round(bound)
