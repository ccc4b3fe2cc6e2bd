"""What is measured of one case by one engine, in a process of its own (peak memory, nothing warm).

``ours`` is :func:`composer.solve.solve` from the problem to the checked routine, one thread. The peers get the same
network and rows from the same code, unreduced: ``highs`` is HiGHS's integer solver, two threads; ``cpsat`` is CP-SAT as
it comes with two workers. What all share (building the network, stating the rules, making arrays) is timed in the
peers' processes as *stages* and not counted for peers, so the comparison is to their advantage.

Times are given twice: ``cpu`` are processor seconds of the process with all its threads, which another load on the
machine hardly changes, ``clock`` are seconds on the wall. ``work`` is deterministic time as CP-SAT counts it.
"""

from __future__ import annotations

import math
import multiprocessing
import resource
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

from composer.units import TICKS_PER_BEAT
from tests.benchmarks.instances import Any_

MOMENTS_S = (5, 15, 60)
NEAR = 0.01
Facts = dict[str, Any]


@dataclass
class Heard:
    """What progress told, each with processor and clock seconds: (cpu, clock, score or None, bound or None)."""

    lines: list[tuple[float, float, int | None, int | None]] = field(default_factory=list)
    cpu: float = field(default_factory=time.process_time)
    clock: float = field(default_factory=time.monotonic)

    def __call__(self, score: int | None, bound: int | None) -> None:
        """Keep what is new."""
        if not self.lines or self.lines[-1][2:] != (score, bound):
            self.lines.append((*self.now(), score, bound))

    def now(self) -> tuple[float, float]:
        """Processor and clock seconds since the start."""
        return time.process_time() - self.cpu, time.monotonic() - self.clock

    def first(self) -> tuple[float, float] | None:
        """When the first routine was told."""
        return next((line[:2] for line in self.lines if line[2] is not None), None)

    def gaps(self) -> Iterator[tuple[float, float | None]]:
        """Processor seconds and from then on the distance of the best bound from the best score (:func:`gap`)."""
        score = bound = None
        for cpu, _, new, ceiling in self.lines:
            score = new if score is None or (new is not None and new > score) else score
            bound = ceiling if bound is None or (ceiling is not None and ceiling < bound) else bound
            yield cpu, gap(score, bound)

    def gap_at(self, moment_s: float) -> float | None:
        """The distance by a moment, in processor seconds."""
        return next((part for cpu, part in reversed(list(self.gaps())) if cpu <= moment_s), None)

    def near(self) -> float | None:
        """When the routine in hand was proved to lack ``NEAR`` at most; None when it never was."""
        return next((round(cpu, 3) for cpu, part in self.gaps() if part is not None and part <= NEAR), None)


def gap(score: int | None, bound: int | None) -> float | None:
    """How far the bound lies above the score, as a part of the score."""
    if score is None or bound is None:
        return None
    return max(0.0, round((bound - score) / max(1, abs(score)), 5))


def peak_mb() -> int:
    """Most memory this process ever held, in megabytes (Linux counts it in kilobytes)."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024


def ours(case: Any_, limit_s: float) -> Facts:
    """The composer; the seed is the case's variant."""
    from composer.outcome import Found, NoRoutine, Undecided
    from composer.solve import solve
    from composer.solve.decide import Effort

    problem = case.problem()
    before = peak_mb()
    effort, heard = Effort(), Heard()
    outcome = solve(problem, seed=getattr(case, "variant", 0), time_limit_s=limit_s, progress=heard, effort=effort)
    cpu, clock = heard.now()
    match outcome:
        case Found(routine=routine, proven_best=best, bound=bound):
            heard(routine.score, bound)
            verdict, score = ("best" if best else "good"), routine.score
        case NoRoutine():
            verdict, score, bound = "none", None, None
        case Undecided(bound=bound):
            verdict, score = "unknown", None
    first = heard.first()
    return {
        "verdict": verdict,
        "score": score,
        "bound": bound,
        "cpu": round(cpu, 3),
        "clock": round(clock, 3),
        "first cpu": None if first is None else round(first[0], 3),
        "first clock": None if first is None else round(first[1], 3),
        "gap": gap(score, bound),
        "near cpu": heard.near(),
        **{f"gap at {moment}": heard.gap_at(moment) for moment in MOMENTS_S},
        "work": round(effort.work, 3),
        "usable arcs": effort.arcs,
        "arcs in last band": effort.arcs_in_last_band,
        "bands": effort.bands,
        "first ceiling": effort.first_ceiling,
        "peak MB": peak_mb(),
        "MB before": before,
    }


def _arrays(case: Any_) -> tuple[Any, Facts]:
    """The arrays of a case, their size, and how long each stage took in processor seconds."""
    from composer.network import build
    from composer.rules import state_all
    from composer.solve.linear import linear_from

    problem = case.problem()
    times = [time.process_time()]
    network = build(problem)
    times.append(time.process_time())
    stated = state_all(problem, network)
    times.append(time.process_time())
    linear = linear_from(network, stated)
    times.append(time.process_time())
    facts: Facts = {
        "counts": problem.length_ticks // TICKS_PER_BEAT,
        "figures": len(problem.figures()),
        "arcs": len(network.arcs),
        "nodes": len(network.nodes),
        "rows": len(linear.least),
        "unknowns": len(linear.names),
        "weights": int(linear.on_arcs.nnz),
    }
    for stage, (begun, done) in zip(("build", "state", "arrays"), pairwise(times), strict=True):
        facts[f"{stage} cpu"] = round(done - begun, 3)
    return linear, facts


def stages(case: Any_, limit_s: float) -> Facts:
    """Only what all engines share; nothing is solved."""
    del limit_s
    return {**_arrays(case)[1], "peak MB": peak_mb()}


def highs(case: Any_, limit_s: float) -> Facts:
    """HiGHS on the same network as an integer program, two threads."""
    from composer.solve.relax import program, silent_solver

    linear, facts = _arrays(case)
    if not linear.feasible_path:
        return {**facts, "verdict": "none", "cpu": 0.0, "clock": 0.0, "peak MB": peak_mb()}
    heard = Heard()
    solver = silent_solver()
    for name, value in (("threads", 2), ("time_limit", float(limit_s)), ("mip_rel_gap", 0.0), ("mip_abs_gap", 0.5)):
        solver.setOptionValue(name, value)
    solver.passModel(program(linear, integer=True)[0])
    solver.run()
    cpu, clock = heard.now()
    information = solver.getInfo()
    status = solver.modelStatusToString(solver.getModelStatus())
    score, bound = _number(-information.objective_function_value), _number(-information.mip_dual_bound)
    verdict = {"Optimal": "best", "Infeasible": "none"}.get(status, "unknown" if score is None else "good")
    return {
        **facts,
        "verdict": verdict,
        "score": score,
        "bound": bound,
        "gap": gap(score, bound),
        "cpu": round(cpu, 3),
        "clock": round(clock, 3),
        "peak MB": peak_mb(),
    }


def _number(value: float) -> int | None:
    return round(value) if abs(value) < 1e15 else None


def cpsat(case: Any_, limit_s: float) -> Facts:
    """CP-SAT as it comes, two workers, on the whole model."""
    from composer.solve.cpsat import Built, Limits

    linear, facts = _arrays(case)
    if not linear.feasible_path:
        return {**facts, "verdict": "none", "cpu": 0.0, "clock": 0.0, "peak MB": peak_mb()}
    heard = Heard()
    answer = Built(linear).solve(Limits(work=math.inf, wall_s=limit_s, workers=2, linearization=1))
    cpu, clock = heard.now()
    score = answer.score if answer.arcs else None
    return {
        **facts,
        "verdict": answer.verdict,
        "score": score,
        "bound": answer.bound,
        "gap": gap(score, answer.bound),
        "cpu": round(cpu, 3),
        "clock": round(clock, 3),
        "work": round(answer.deterministic_time, 3),
        "peak MB": peak_mb(),
    }


def startup(repeats: int = 7) -> dict[str, list[tuple[float, float]]]:
    """(processor, clock) seconds of quick commands, each a process; the first, which warms up, is left out."""
    found = {}
    for name, arguments in (("--help", ["--help"]), ("figures show", ["figures", "show", "waltz/whisk"])):
        times = []
        for _ in range(repeats + 1):
            before, clock = resource.getrusage(resource.RUSAGE_CHILDREN), time.monotonic()
            subprocess.run([sys.executable, "-m", "composer", *arguments], stdout=subprocess.DEVNULL, check=True)
            after = resource.getrusage(resource.RUSAGE_CHILDREN)
            cpu = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
            times.append((round(cpu, 3), round(time.monotonic() - clock, 3)))
        found[name] = times[1:]
    return found


def yardstick() -> float:
    """Processor seconds of a fixed piece of work, half Python, half numpy: how fast the machine is just now."""
    import numpy as np

    numbers = np.random.default_rng(1).random(3_000_000)
    begun = time.process_time()
    total = 0
    for number in range(4_000_000):
        total += number
    np.sort(numbers)
    return round(time.process_time() - begun, 3)


ENGINES: dict[str, Callable[[Any_, float], Facts]] = {"ours": ours, "highs": highs, "cpsat": cpsat, "stages": stages}


def _worker(pipe: Any, engine: str, case: Any_, limit_s: float, memory_mb: int) -> None:
    resource.setrlimit(resource.RLIMIT_AS, (memory_mb << 20, memory_mb << 20))
    try:
        pipe.send(ENGINES[engine](case, limit_s))
    except MemoryError:
        pipe.send({"verdict": "out of memory"})


def alone(engine: str, case: Any_, limit_s: float, memory_mb: int = 8000) -> Facts:
    """One engine on one case in a fresh process that may not take more memory than given."""
    context = multiprocessing.get_context("spawn")
    here, there = context.Pipe(duplex=False)
    process = context.Process(target=_worker, args=(there, engine, case, limit_s, memory_mb))
    process.start()
    there.close()
    began, patience_s = time.monotonic(), None if engine in ("ours", "stages") else 2 * limit_s + 60
    try:
        if here.poll(patience_s):
            result: Facts = here.recv()
        else:  # HiGHS looks at its limit between steps only, and some steps are long
            process.kill()
            spent = round(time.monotonic() - began, 3)
            result = {"verdict": "unknown", "score": None, "bound": None, "cpu": None, "clock": spent, "killed": True}
    except EOFError:
        result = {"verdict": "crashed"}
    process.join()
    return result
