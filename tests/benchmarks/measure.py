"""Measures composing on fixed problems: ``python -m tests.benchmarks [--quick] [--out FILE] [--peers SECONDS]``.

Every case runs in a process of its own (peak memory). Times are processor seconds of that process (one thread), so
that a busy machine does not change them much; the clock's seconds are written too. Peers run right after on the same
arrays: HiGHS's integer solver on the same network, CP-SAT with its defaults (2 workers) on the whole model; their times
are clock seconds, limited by ``--peers``. Not part of the test run: nothing here can fail a build.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import resource
import time
from pathlib import Path
from typing import Any

from composer.network import build
from composer.rules import breaches_of, points_of, state_all
from composer.solve.cpsat import Built, Limits
from composer.solve.decide import Effort, decide
from composer.solve.linear import Linear, linear_from
from composer.solve.read import Judges, routine_from
from composer.solve.relax import program, silent_solver
from tests.benchmarks.instances import Case, problem_of

CASES = [
    Case(counts, figures, room, variant)
    for counts, figures in ((96, 100), (96, 300), (192, 100), (192, 300), (288, 300), (96, 1000))
    for room in (False, True)
    for variant in (0, 1)
]
MOMENTS = (5, 15, 60)


def measured(case: Case, seconds: float, peers: float) -> dict[str, Any]:
    """One case, everything about it."""
    problem = problem_of(case)
    began, clock = time.process_time(), time.monotonic()
    network = build(problem)
    stated = state_all(problem, network)
    linear = linear_from(network, stated)
    stated_s = time.process_time() - began
    heard: list[tuple[float, int, int]] = []

    def watch(score: int, bound: int) -> None:
        heard.append((time.process_time() - began, score, bound))

    effort = Effort()
    answer = decide(linear, Limits(work=seconds, wall_s=8 * seconds), watch, effort, network)
    total = time.process_time() - began
    if answer.arcs:
        routine_from(problem, network, stated, answer, Judges(breaches_of, points_of))
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    found = {
        "case": case.name,
        "verdict": answer.verdict,
        "score": answer.score if answer.arcs else None,
        "bound": answer.bound,
        "arcs": len(network.arcs),
        "usable arcs": effort.arcs,
        "arcs in last band": effort.arcs_in_last_band,
        "first ceiling": effort.first_ceiling,
        "network and rules cpu s": round(stated_s, 2),
        "first routine cpu s": round(heard[0][0], 2) if heard else None,
        "total cpu s": round(total, 2),
        "clock s": round(time.monotonic() - clock, 2),
        "deterministic": round(effort.work, 2),
        "peak MB": peak,
    }
    for moment in MOMENTS:
        known = [h for h in heard if h[0] <= moment]
        if total <= moment and answer.verdict == "best":
            found[f"gap at {moment} s"] = 0.0
        elif known:
            found[f"gap at {moment} s"] = round((known[-1][2] - known[-1][1]) / max(1, abs(known[-1][1])), 4)
        else:
            found[f"gap at {moment} s"] = None
    if peers > 0:
        found |= highs(linear, peers) | defaults(linear, peers)
    return found


def highs(linear: Linear, seconds: float) -> dict[str, Any]:
    """HiGHS on the same network as an integer program."""
    began = time.monotonic()
    solver = silent_solver()
    for name, value in (("threads", 2), ("time_limit", float(seconds)), ("mip_rel_gap", 0.0)):
        solver.setOptionValue(name, value)
    solver.passModel(program(linear, integer=True)[0])
    solver.run()
    information = solver.getInfo()
    return {
        "HiGHS status": solver.modelStatusToString(solver.getModelStatus()),
        "HiGHS score": _number(-information.objective_function_value),
        "HiGHS bound": _number(-information.mip_dual_bound),
        "HiGHS clock s": round(time.monotonic() - began, 2),
    }


def _number(value: float) -> int | None:
    return round(value) if abs(value) < 1e15 else None


def defaults(linear: Linear, seconds: float) -> dict[str, Any]:
    """CP-SAT as it comes, two workers, on the whole model."""
    began = time.monotonic()
    answer = Built(linear).solve(Limits(work=1e9, wall_s=seconds, workers=2, linearization=1))
    return {
        "CP-SAT status": answer.verdict,
        "CP-SAT score": answer.score if answer.arcs else None,
        "CP-SAT bound": answer.bound,
        "CP-SAT clock s": round(time.monotonic() - began, 2),
    }


def _worker(pipe: Any, case: Case, seconds: float, peers: float) -> None:
    pipe.send(measured(case, seconds, peers))


def alone(case: Case, seconds: float, peers: float) -> dict[str, Any]:
    """A case in a fresh process."""
    context = multiprocessing.get_context("spawn")
    here, there = context.Pipe()
    process = context.Process(target=_worker, args=(there, case, seconds, peers))
    process.start()
    there.close()
    try:
        result: dict[str, Any] = here.recv()
    except EOFError:
        result = {"case": case.name, "verdict": "crashed"}
    process.join()
    return result


def main() -> None:
    """Run and print one line per case; write all numbers as JSON."""
    parser = argparse.ArgumentParser(description="Benchmarks of the composer.")
    parser.add_argument("--quick", action="store_true", help="only 96 and 192 counts with 100 figures")
    parser.add_argument("--seconds", type=float, default=60.0, help="deterministic seconds per case")
    parser.add_argument("--peers", type=float, default=0.0, help="clock seconds for each peer; 0 leaves them out")
    parser.add_argument("--out", type=Path, default=None, help="JSON file for all numbers")
    chosen = parser.parse_args()
    cases = [c for c in CASES if c.figures == 100] if chosen.quick else CASES
    results = []
    for case in cases:
        result = alone(case, chosen.seconds, chosen.peers)
        results.append(result)
        print("  ".join(f"{key}: {value}" for key, value in result.items()), flush=True)
        if chosen.out is not None:
            chosen.out.write_text(json.dumps(results, indent=1) + "\n", encoding="utf-8")
