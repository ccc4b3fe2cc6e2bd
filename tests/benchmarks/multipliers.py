"""Where multipliers come from: ``python -m tests.benchmarks.multipliers``. Bounds and processor time of four sources.

All are held to the same exact bound (:func:`composer.solve.longest.priced`), so only how low it is and what it took
count. Interior point is what the composer uses. Subgradient steps are Polyak's with a target that is drawn in when it
is not met; the bundle is a cutting plane model in a box round the best point, widened and narrowed by success.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from composer.network import build
from composer.rules import state_all
from composer.solve.collapse import collapse
from composer.solve.linear import OPEN, Linear, linear_from
from composer.solve.longest import SCALE, Levels, priced, whole_multipliers
from composer.solve.relax import program, relaxed, silent_solver
from tests.benchmarks.instances import Case, problem_of

Floats = NDArray[np.float64]
CASES = [Case(counts, figures, True, variant) for counts, figures in ((96, 100), (192, 100)) for variant in (0, 1, 2)]


class Bound:
    """The bound as a function of the multipliers, with a slope; counts how often it is asked."""

    def __init__(self, linear: Linear) -> None:
        self.linear, self.levels, self.asked = linear, Levels(linear), 0
        pays = abs(linear.on_unknowns) @ np.abs(linear.unknown_points) > 0
        self.counts = (np.diff(linear.on_unknowns.indptr) == 0) | pays
        """Rows of arcs or points; those of places say nothing once most walls are forgotten."""

    def at(self, prices: Floats) -> tuple[float, Floats]:
        """(points no routine can exceed, slope per row) at multipliers made valid."""
        linear = self.linear
        self.asked += 1
        proofs = priced(linear, self.levels, whole_multipliers(linear, prices))
        assert proofs is not None
        danced = np.zeros(len(linear.points), dtype=np.int64)
        danced[list(proofs.path)] = 1
        value = linear.on_arcs @ danced + linear.on_unknowns @ proofs.chosen
        high = np.where(linear.most == OPEN, np.maximum(value, linear.least), linear.most)
        low = np.where(linear.least == -OPEN, np.minimum(value, linear.most), linear.least)
        side = np.where(prices > 0, high, np.where(prices < 0, low, np.clip(value, low, high)))
        return proofs.bound_scaled / SCALE, np.where(self.counts, side - value, 0).astype(float)

    def valid(self, prices: Floats) -> Floats:
        """Nearest multipliers a row may have."""
        least = np.where(self.linear.least == -OPEN, 0.0, -np.inf)
        most = np.where(self.linear.most == OPEN, 0.0, np.inf)
        return np.clip(prices, least, most)


def interior_point(bound: Bound) -> float:
    """What the composer does."""
    advice = relaxed(bound.linear)
    assert advice is not None
    return bound.at(bound.valid(advice.multipliers))[0]


def simplex(bound: Bound) -> float:
    """The same relaxation, all rows at once, by the simplex method."""
    model, _, flow_rows = program(bound.linear)
    solver: Any = silent_solver()
    solver.setOptionValue("solver", "simplex")
    solver.setOptionValue("threads", 1)
    solver.setOptionValue("time_limit", 60.0)
    solver.passModel(model)
    solver.run()
    duals = -np.asarray(solver.getSolution().row_dual, dtype=np.float64)[flow_rows:]
    return bound.at(bound.valid(duals))[0]


def subgradient(bound: Bound, steps: int) -> float:
    """Polyak steps from nothing."""
    prices = np.zeros(len(bound.linear.least))
    best, slope = bound.at(prices)
    now, gap, quiet = best, 0.05 * abs(best), 0
    for _ in range(steps):
        size = float(slope @ slope)
        if size == 0:
            break
        prices = bound.valid(prices - (now - best + gap) / size * slope)
        now, slope = bound.at(prices)
        quiet = 0 if now < best - 1e-6 else quiet + 1
        best = min(best, now)
        if quiet >= 15:
            gap, quiet = gap / 2, 0
    return best


def bundle(bound: Bound, steps: int) -> float:
    """Cutting planes within a box round the best point."""
    rows = len(bound.linear.least)
    centre = np.zeros(rows)
    best, slope = bound.at(centre)
    cuts: list[tuple[float, Floats]] = [(best, slope)]
    box = 2.0
    for _ in range(steps):
        trial, promised = _lowest(cuts, centre, box, bound)
        if best - promised < 0.5:
            box *= 2
            if box > 64:
                break
            continue
        now, slope = bound.at(trial)
        cuts.append((now - float(slope @ trial), slope))
        if now < best - 0.1 * (best - promised):
            centre, best, box = trial, now, box * 1.5
        else:
            best, box = min(best, now), max(0.05, box * 0.8)
    return best


def _lowest(cuts: list[tuple[float, Floats]], centre: Floats, box: float, bound: Bound) -> tuple[Floats, float]:
    """The lowest point of the cutting plane model in the box, and its height."""
    from scipy.optimize import linprog

    slopes = np.array([slope for _, slope in cuts])
    used = np.flatnonzero(np.any(slopes != 0, axis=0))
    left = np.hstack([slopes[:, used], -np.ones((len(cuts), 1))])
    right = -np.array([height for height, _ in cuts]) - slopes @ np.where(
        np.isin(np.arange(len(centre)), used), 0, centre
    )
    low, high = bound.valid(centre - box)[used], bound.valid(centre + box)[used]
    found = linprog(
        np.append(np.zeros(len(used)), 1.0),
        A_ub=left,
        b_ub=right,
        bounds=[*zip(low.tolist(), high.tolist(), strict=True), (None, None)],
        method="highs-ds",
    )
    trial = centre.copy()
    trial[used] = found.x[:-1]
    return bound.valid(trial), float(found.fun)


SOURCES: dict[str, Callable[[Bound], float]] = {
    "interior point": interior_point,
    "simplex": simplex,
    "subgradient, 300 steps": lambda bound: subgradient(bound, 300),
    "subgradient, 1500 steps": lambda bound: subgradient(bound, 1500),
    "bundle, 100 steps": lambda bound: bundle(bound, 100),
}


def main() -> None:
    """One line per case and source: the bound in points and the processor time it took."""
    for case in CASES:
        problem = problem_of(case)
        network = build(problem)
        merged = collapse(network, linear_from(network, state_all(problem, network)))
        assert merged is not None
        for name, source in SOURCES.items():
            bound = Bound(merged.small)
            began = time.process_time()
            value = source(bound)
            took = time.process_time() - began
            print(f"{case.name}: {name}: {value:.1f} points, {took:.2f} s, asked {bound.asked} times", flush=True)


if __name__ == "__main__":
    main()
