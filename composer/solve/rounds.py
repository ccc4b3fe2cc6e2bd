"""A first routine for a travelling floor: walks round the room figure by figure, many at once, with exact places.

A linear relaxation says little about where a couple gets to, so a routine of whole laps is found late by it. A walk
knows: it keeps how far the leader is from the first place, and the box of first places from which everything so far
stays within walls and lanes (both are boxes in a rectangle, so nothing is lost by leaving the first place open). Walks
at the same node, as many corners on and nearly at the same place are rivals; of the rest those stay that are where a
couple should be by then. The best walks' figures go to CP-SAT as one small problem, which alone decides; no walk proves
anything, and what it finds is kept only when the search of the whole problem finds nothing better.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any, Final, NamedTuple

import numpy as np

from composer.floor.model import CLOSING_MM, Room
from composer.floor.shape import blocks
from composer.network import build
from composer.network.model import Arc, Network
from composer.outcome import Found, Outcome, Undecided
from composer.problem import Problem
from composer.rules.places import Ways
from composer.solve.cpsat import Answer, Built, Limits
from composer.solve.decide import Effort
from composer.solve.linear import Linear, linear_from
from composer.solve.read import Judges, routine_from
from composer.solve.solve import Progress, limits_for, solve_stated
from composer.solve.solve import solve as anywhere

Box = tuple[int, int, int, int]
WIDTHS: Final = (400, 1500)
"""Walks kept at one tick; more when few bring none home."""
NEARLY_MM: Final = 400
TRIED: Final = (1, 12, 60)
"""So many of the best walks together are given to CP-SAT, one after another."""
LEEWAY: Final = 0.06
"""Part of its way a closed walk may be off where strides can make up for it."""
STEPS_PER_WORK: Final = 20_000
"""Walks gone on with for every second of work allowed; a walk that needs more is left to the whole search."""


def solve(
    problem: Problem,
    *,
    seed: int = 0,
    time_limit_s: float = 20.0,
    progress: Progress | None = None,
    effort: Effort | None = None,
) -> Outcome:
    """Like :func:`composer.solve.solve.solve`; on a travelling floor a walk's routine is the least that comes back.

    Where nothing is scored, a walk's routine is as good as any, and is looked for first.

    ``effort``, when given, is filled with what was done (benchmarks).
    """
    from composer.rules import breaches_of, points_of, state_all

    room = walkable(problem)
    if room is None:
        return anywhere(problem, seed=seed, time_limit_s=time_limit_s, progress=progress, effort=effort)
    network = build(problem)
    stated = state_all(problem, network)
    limits = limits_for(time_limit_s, seed)
    judges = Judges(breaches_of, points_of)
    linear = linear_from(network, stated)
    scored = bool(linear.points.any() or linear.unknown_points.any())
    undecided: Undecided | None = None
    if scored:
        outcome = solve_stated(problem, network, stated, judges, limits, progress, effort)
        if not isinstance(outcome, Undecided):
            return outcome
        undecided = outcome
    elif progress is not None:
        progress(None, None)
    first = walked(problem, room, network, linear, limits, progress)
    if first is None:
        return undecided or solve_stated(problem, network, stated, judges, limits, progress, effort)
    bound = first.score
    if undecided is not None:
        known = int(linear.points.clip(min=0).sum()) if undecided.bound is None else undecided.bound
        bound = max(known, first.score)
    proven = not scored or first.score >= bound
    first = replace(first, verdict="best" if proven else "good", bound=bound)
    mine = replace(routine_from(problem, network, stated, first, judges), seed=seed)
    if progress is not None:
        progress(mine.score, bound)
    return Found(mine, proven, bound)


def walkable(problem: Problem) -> Room | None:
    """The floor of a problem when it is one that walks can go round: a rectangle with nothing on it, and one leader."""
    room = problem.room
    if room is None or room.style != "travelling" or room.outline or blocks(room) or problem.both_lead:
        return None
    return room


def walked(
    problem: Problem,
    room: Room,
    network: Network,
    linear: Linear,
    limits: Limits,
    progress: Progress | None = None,
) -> Answer | None:
    """A routine from the best walks, or None. Every answer keeps all rows; ``progress`` may cancel by raising."""
    search = _Walks(problem, room, network, linear)
    search.left, search.progress_to = int(limits.work * STEPS_PER_WORK), progress
    for width in WIDTHS:
        answer = _best_together(search.finished(width), linear, limits)
        if answer is not None:
            return answer
    return None


def _best_together(walks: list[tuple[int, ...]], linear: Linear, limits: Limits) -> Answer | None:
    """The best routine of few walks' figures, of more when those have none."""
    for most in TRIED:
        if not walks:
            return None
        keep = np.zeros(len(linear.points), dtype=np.bool_)
        for walk in walks[:most]:
            keep[list(walk)] = True
        few = linear.narrowed(keep)
        if few.feasible_path:
            answer = Built(few).solve(replace(limits, work=limits.work / 8, wall_s=limits.wall_s / 8))
            if answer.verdict in ("best", "good"):
                return answer
        if most >= len(walks):
            return None
    return None


class _Begun(NamedTuple):
    """How a walk began: what the end must lead back to when the lap closes."""

    hold: str
    leader: str
    follower: str
    faces: int


@dataclass(slots=True)
class _Walk:
    """``x, y`` from the first place; ``firsts`` are the first places that fit; ``path`` links back, latest first."""

    node: int
    x: int
    y: int
    turned: int
    begun: _Begun
    firsts: Box
    points: int
    far: int
    path: Any
    danced: dict[str, int]

    @property
    def worth(self) -> float:
        """Points, and a little for room to spare."""
        return _worth(self.points, self.firsts)


def _worth(points: int, firsts: Box) -> float:
    return points + min(firsts[2] - firsts[0], firsts[3] - firsts[1], NEARLY_MM) / NEARLY_MM


class _Walks:
    def __init__(self, problem: Problem, room: Room, network: Network, linear: Linear) -> None:
        self.problem, self.room, self.network, self.linear = problem, room, network, linear
        self.ways = Ways(problem, room)
        self.floor = room.inside
        self.left = 10**9
        self.progress_to: Progress | None = None
        self.out: dict[int, list[Arc]] = defaultdict(list)
        for arc in network.arcs:
            if linear.usable[arc.id]:
                self.out[arc.tail].append(arc)
        self.bounds: dict[tuple[str, int, int, bool], tuple[tuple[int, int], Box, bool]] = {}
        self.limited = problem.brief.wishes.repeats.most is not None
        self.most = problem.brief.wishes.repeats.most or 0
        start = room.start_x_mm, room.start_y_mm
        self.anywhere: Box = room.inside if start[0] is None or start[1] is None else (*start, *start)  # type: ignore[assignment]

    def finished(self, width: int) -> list[tuple[int, ...]]:
        """Arcs of the walks that come to the end, the best first; ``width`` walks are kept at every tick."""
        waiting: dict[int, dict[Any, _Walk]] = defaultdict(dict)
        begun = _Walk(self.network.source, 0, 0, 0, _Begun("", "", "", 0), self.anywhere, 0, 0, None, {})
        ended: list[_Walk] = []
        self.step(begun, waiting, ended)
        while waiting:
            tick = min(waiting)
            if self.progress_to is not None:
                self.progress_to(None, None)
            walks = self.kept(tick, list(waiting.pop(tick).values()), width)
            self.left -= len(walks)
            if self.left < 0:
                return []
            for walk in walks:
                self.step(walk, waiting, ended)
        ended.sort(key=lambda walk: (-walk.points, abs(walk.x) + abs(walk.y)))
        return [tuple(_arcs(walk.path)) for walk in ended]

    def step(self, walk: _Walk, waiting: dict[int, dict[Any, _Walk]], ended: list[_Walk]) -> None:
        """Everything a walk can go on with."""
        left, low, right, high = walk.firsts
        for arc in self.out.get(walk.node, ()):
            if not arc.figure:
                if self.ends_well(walk):
                    ended.append(replace(walk, path=(walk.path, arc.id)))
                continue
            (dx, dy), box, turns = self.begins(arc)
            firsts = (
                max(left, box[0] - walk.x),
                max(low, box[1] - walk.y),
                min(right, box[2] - walk.x),
                min(high, box[3] - walk.y),
            )
            turned = walk.turned + turns
            if firsts[0] > firsts[2] or firsts[1] > firsts[3]:
                continue
            if self.room.corners is not None and turned > self.room.corners:
                continue
            if self.limited and walk.danced.get(arc.figure, 0) >= self.most:
                continue
            begun = self.begun(arc) if walk.path is None else walk.begun
            x, y, points = walk.x + dx, walk.y + dy, walk.points + int(self.linear.points[arc.id])
            key = (arc.head, turned, x // NEARLY_MM, y // NEARLY_MM, begun)
            rival = waiting[arc.end].get(key)
            if rival is not None and rival.worth >= _worth(points, firsts):
                continue
            danced = walk.danced
            if self.limited:
                danced = {**danced, arc.figure: danced.get(arc.figure, 0) + 1}
            far, path = walk.far + abs(dx) + abs(dy), (walk.path, arc.id)
            waiting[arc.end][key] = _Walk(arc.head, x, y, turned, begun, firsts, points, far, path, danced)

    def begun(self, arc: Arc) -> _Begun:
        """What an end must lead back to when this figure opens the routine."""
        entry = self.problem.catalogue.figures[arc.figure].chart.entry
        return _Begun(entry.hold, entry.leader_free, entry.follower_free, arc.faces)

    def begins(self, arc: Arc) -> tuple[tuple[int, int], Box, bool]:
        """Travel of a figure, where the leader may begin it (walls, lane, corner), and whether a corner is turned."""
        turns = arc.corners != self.network.nodes[arc.tail].corners
        key = (arc.figure, arc.faces, arc.corners, turns)
        if key not in self.bounds:
            way, floor = self.ways.of(arc.figure, arc.faces, arc.corners), self.room.inside
            (low_x, low_y), (high_x, high_y) = (side(way.bodies, axis=(0, 1)).tolist() for side in (np.min, np.max))
            low, high = (floor[0] + way.stray, floor[1] + way.stray), (floor[2] - way.stray, floor[3] - way.stray)
            bands = [(low[0] - low_x, low[1] - low_y, high[0] - high_x, high[1] - high_y)]
            bands.append(self.room.lane(arc.corners))
            if turns:
                bands.append(self.room.turning_place(arc.corners))
            west, south, east, north = zip(*bands, strict=True)
            self.bounds[key] = way.travel, (max(west), max(south), min(east), min(north)), turns
        return self.bounds[key]

    def kept(self, tick: int, walks: list[_Walk], width: int) -> list[_Walk]:
        """The walks to go on with: where the couple should be by now, then by points; a share for every node."""
        if len(walks) <= width:
            return walks
        walks.sort(key=lambda walk: (self.astray(walk, tick) // 0.5, -walk.worth))
        groups: dict[tuple[int, _Begun], int] = defaultdict(int)
        share = max(2, 4 * width // len({(walk.node, walk.begun) for walk in walks}))
        kept: list[_Walk] = []
        for walk in walks:
            group = (walk.node, walk.begun)
            if groups[group] < share and len(kept) < width:
                groups[group] += 1
                kept.append(walk)
        return kept

    def astray(self, walk: _Walk, tick: int) -> float:
        """How many corners a walk is before or behind its time; near the end of a closed lap also how far from home."""
        if self.room.corners is None:
            return 0.0
        length = self.network.length_ticks
        start = self.progress(walk, 0, 0, 0) if self.room.closed else 0.5
        off = abs(self.progress(walk, walk.x, walk.y, walk.turned) - start - self.room.corners * tick / length)
        if self.room.closed:
            reach = walk.far / max(1, tick) * (length - tick) / 2
            off += max(0.0, max(abs(walk.x), abs(walk.y)) - reach) / 1000
        return off

    def progress(self, walk: _Walk, dx: int, dy: int, turned: int) -> float:
        """Corners turned, and the part of the side behind the couple."""
        floor, firsts = self.floor, walk.firsts
        x, y = (firsts[0] + firsts[2]) / 2 + dx, (firsts[1] + firsts[3]) / 2 + dy
        wide, deep = max(1, floor[2] - floor[0]), max(1, floor[3] - floor[1])
        ways = ((x - floor[0]) / wide, (y - floor[1]) / deep, (floor[2] - x) / wide, (floor[3] - y) / deep)
        return turned + ways[(turned + self.room.begins) % 4]

    def ends_well(self, walk: _Walk) -> bool:
        """Laps as asked for; a closed lap stands as it began, nearly where it began."""
        room, stand = self.room, self.network.nodes[walk.node].stand
        if room.corners is not None and walk.turned < room.corners - 1:
            return False
        if not room.closed or stand is None:
            return True
        begun = walk.begun
        if (stand.leader_free, stand.follower_free, stand.faces) != (begun.leader, begun.follower, begun.faces):
            return False
        leeway = CLOSING_MM + (LEEWAY * walk.far / 2 if room.stretches else 0)
        near = max(abs(walk.x), abs(walk.y)) <= leeway
        return near and walk.turned % 4 in (0, 3) and self.problem.catalogue.fits(stand.hold, begun.hold)


def _arcs(path: Any) -> Iterator[int]:
    while path is not None:
        path, arc = path
        yield arc
