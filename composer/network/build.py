"""Builds the time-expanded network of a problem: forward expansion, then dead ends cut off from behind.

Laws only: a figure begins where the last one left the couple (hold, both free feet), on a beat of the bar its
chart allows, in an alignment its chart allows where the room keeps alignments, and the routine fills the music
exactly. A figure that does not suit the style of the room at all is a law too: it was never made for it.

Where no rule can look at facings (no room, no alignment that binds, no wish to face somewhere) every facing
stands for all eight: the network then keeps facing 0 throughout and ``Network.keeps_facing`` is False; whoever
reads a routine from it adds the turns up. Ids follow (tick, stand) and (tail, figure, facing), so they depend
on the problem alone.

Where both partners lead (``couple.both_lead``) there are two layers, one for each as the leader. Between two figures
the partners may change roles where hands and stance allow it (:mod:`composer.catalogue.roles`) and the figure that
follows begins with the feet, the facing and on the beat that the new leader then has. Otherwise there is one layer.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from composer.catalogue.model import Figure, Stand
from composer.collecting import uncollected
from composer.network.model import Network, Node
from composer.network.table import Arcs, Numbers, Table
from composer.problem import Problem

Key = tuple[int, str, int, str, str, int, bool]
"""(tick, hold, facing, leader's free foot, follower's free foot, corners turned modulo 4, roles exchanged)."""
Way = tuple[str, int, str, str, int, bool]
"""How the couple stands whatever the tick: a key without its tick."""


@uncollected()
def build(problem: Problem) -> Network:
    """The network of every dance of the brief; without any path it has just source and sink."""
    return _Builder(problem).network()


@uncollected()
def build_unturned(problem: Problem) -> Network:
    """The network with every facing standing for all eight: exact where alignments do not bind and nothing faces."""
    return _Builder(problem, turns=False).network()


def available(problem: Problem) -> dict[str, Figure]:
    """Figures the laws leave: of the dances asked for and made for this style of room."""
    style = None if problem.room is None else problem.room.style
    return {k: f for k, f in problem.figures().items() if style is None or style in f.styles}


def facing_matters(problem: Problem) -> bool:
    """Whether any law or wish can tell one facing from another."""
    wishes = problem.brief.wishes
    if problem.room is not None or wishes.opening.faces != "any" or wishes.closing.faces != "any":
        return True
    return problem.keeps_alignment and any(f.chart.entry.faces is not None for f in available(problem).values())


@dataclass(frozen=True)
class _Choices:
    """What can be danced from a way of standing at a beat of the bar, the same at every tick that begins so.

    ``columns`` has rows (figure's number, length, facing, corners, swapped, number of the way it ends in), a column
    for every choice. ``ends`` are those ways by length.
    """

    columns: Numbers
    ends: dict[int, frozenset[int]]


class _Builder:
    def __init__(self, problem: Problem, *, turns: bool | None = None) -> None:
        self.problem = problem
        self.length = problem.length_ticks
        self.figures = available(problem)
        self.number = {name: k for k, name in enumerate(sorted({"", *self.figures}))}
        self.turns = facing_matters(problem) if turns is None else turns
        self.travels = problem.room is not None and problem.room.style == "travelling"
        self.begins = problem.room.begins if problem.room is not None else 0
        self.layers = (False, True) if problem.both_lead else (False,)
        self.joinable: dict[tuple[str, str, str], list[Figure]] = {}
        self.able: dict[tuple[str, str, str, int, int, int], list[tuple[Figure, int, str, int, str, str]]] = {}
        self.over: dict[tuple[str, str, str, int], list[Stand]] = {}
        self.ways: list[Way] = []
        self.way_of: dict[Way, int] = {}
        self.known: dict[tuple[int, int], _Choices] = {}
        self.ends: dict[tuple[str, int], tuple[str, int, str, str]] = {}

    def network(self) -> Network:
        begun, reached = self.expanded()
        alive = self.leads_home(begun, reached)
        keys = sorted((tick, *self.ways[way]) for tick, ways in alive.items() for way in ways)
        stands = {way: _stand((0, *way)) for way in self.ways}
        nodes = [Node(0, 0, None, self.begins)]
        nodes += [Node(i, key[0], stands[key[1:]], key[5], key[6]) for i, key in enumerate(keys, 1)]
        sink = len(nodes)
        nodes.append(Node(sink, self.length, None))
        return Network(tuple(nodes), Arcs(self.table(begun, keys, sink)), self.length, self.turns)

    def expanded(self) -> tuple[dict[tuple[int, int], _Choices], dict[int, set[int]]]:
        """Choices by (tick, way), the source's as (-1, -1), and the ways reached by tick; dead ends included."""
        first = self.firsts()
        begun, reached = {(-1, -1): first}, {0: set[int]()}
        for length, ways in first.ends.items():
            reached.setdefault(length, set()).update(ways)
        waiting = set(reached)
        while waiting:
            tick = min(waiting)
            waiting.remove(tick)
            in_bar = self.problem.timeline.beat_in_bar(tick) if tick < self.length else 0
            for way in sorted(reached[tick]) if tick < self.length else ():
                begun[tick, way] = choices = self.choices(tick, way, in_bar)
                for length, ways in choices.ends.items():
                    if tick + length <= self.length:
                        if tick + length not in reached:
                            reached[tick + length] = set()
                            waiting.add(tick + length)
                        reached[tick + length] |= ways
        return begun, reached

    def leads_home(self, begun: dict[tuple[int, int], _Choices], reached: dict[int, set[int]]) -> dict[int, set[int]]:
        """The ways by tick from which the end of the music can be reached exactly."""
        alive: dict[int, set[int]] = {self.length: reached.get(self.length, set())}
        for tick in sorted(reached.keys() - {self.length}, reverse=True):
            alive[tick] = {
                way
                for way in reached[tick]
                if any(not ways.isdisjoint(alive.get(tick + n, ())) for n, ways in begun[tick, way].ends.items())
            }
        return alive

    def table(self, begun: dict[tuple[int, int], _Choices], keys: list[Key], sink: int) -> Table:
        """Arcs between nodes that are alive, by tail, figure, facing, corners, roles, head; the sink's come last."""
        place = np.zeros((self.length + 1, max(1, len(self.ways))), dtype=np.int32)
        for number, key in enumerate(keys, 1):
            place[key[0], self.way_of[key[1:]]] = number
        tails = [
            (0, 0, -1, -1),
            *((number, key[0], key[0], self.way_of[key[1:]]) for number, key in enumerate(keys, 1)),
        ]
        tails = [tail for tail in tails if tail[2:] in begun]
        parts = [begun[tail[2:]].columns for tail in tails]
        columns = np.concatenate(parts, axis=1)
        sizes = [part.shape[1] for part in parts]
        tail, start = (np.repeat(np.array([t[k] for t in tails], dtype=np.int32), sizes) for k in (0, 1))
        end = start + columns[1]
        inside = np.flatnonzero(end <= self.length)
        inside = inside[place[end[inside], columns[5][inside]] > 0]
        columns, tail, start, end = columns[:, inside], tail[inside], start[inside], end[inside]
        head = place[end, columns[5]]
        danced = [columns[0], start, end, columns[2], tail, head, columns[3], columns[4]]
        last = [(0, self.length, self.length, k[2], n, sink, k[5], int(k[6])) for n, k in enumerate(keys, 1)
                if k[0] == self.length]  # fmt: skip
        ends = np.array(last, dtype=np.int32).reshape(len(last), 8).T
        return Table(
            tuple(self.number),
            *(np.concatenate([column, more], dtype=np.int32) for column, more in zip(danced, ends, strict=True)),
        )

    def numbered(self, way: Way) -> int:
        """A number for every way of standing."""
        if way not in self.way_of:
            self.way_of[way] = len(self.ways)
            self.ways.append(way)
        return self.way_of[way]

    def gathered(self, rows: list[tuple[int, int, int, int, int, int]]) -> _Choices:
        """Choices given one by one, put in the order of arcs; a way, a figure and its facing leave one end only."""
        rows.sort(key=lambda row: (row[0], *row[2:]))
        ends: dict[int, set[int]] = {}
        for row in rows:
            ends.setdefault(row[1], set()).add(row[5])
        columns = np.array(rows, dtype=np.int32).reshape(len(rows), 6).T
        return _Choices(columns, {length: frozenset(ways) for length, ways in ends.items()})

    def choices(self, tick: int, way: int, in_bar: int) -> _Choices:
        """What can be danced next: on this side of the room or the next, with either leader where both lead."""
        if (way, in_bar) not in self.known:
            tail: Key = (tick, *self.ways[way])
            rows = []
            for corners in self.sides(tail[5]):
                for faces, swapped, found in self.led(tail, corners):
                    for figure, length, *stand in found:
                        head = self.numbered((*stand, corners, swapped))  # type: ignore[arg-type]
                        rows.append((self.number[figure.id], length, faces, corners, int(swapped), head))
            self.known[way, in_bar] = self.gathered(rows)
        return self.known[way, in_bar]

    def led(
        self, tail: Key, corners: int
    ) -> Iterator[tuple[int, bool, Iterable[tuple[Figure, int, str, int, str, str]]]]:
        """What can be danced next on a side of the room, with who leads it and the leader's facing."""
        yield tail[2], tail[6], self.onward(tail, corners)
        if len(self.layers) > 1:
            found: dict[str, tuple[Figure, int, str, int, str, str]] = {}
            faces = tail[2]
            for stand in self.handed_over(tail):
                faces = stand.faces
                key = (tail[0], stand.hold, faces, stand.leader_free, stand.follower_free, corners, not tail[6])
                for item in self.onward(key, corners):
                    found.setdefault(item[0].id, item)  # it may begin from more than one of the holds they stand in
            yield faces, not tail[6], found.values()

    def handed_over(self, tail: Key) -> list[Stand]:
        """How the couple stands once roles have changed; facing 0 throughout where facings do not matter."""
        known = self.over.get((tail[1], tail[3], tail[4], tail[2]))
        if known is None:
            known = [
                stand if self.turns else replace(stand, faces=0)
                for stand in self.problem.catalogue.handed_over(_stand(tail))
            ]
            self.over[tail[1], tail[3], tail[4], tail[2]] = known
        return known

    def sides(self, corners: int) -> tuple[int, ...]:
        """On, or round the next corner."""
        return (corners, (corners + 1) % 4) if self.travels else (corners,)

    def firsts(self) -> _Choices:
        """Any figure may open the routine, in any facing its chart allows, on the first side of the room."""
        in_bar, side = self.problem.timeline.beat_in_bar(0), self.begins
        rows = []
        for figure in self.figures.values():
            if figure.length_ticks <= self.length and in_bar in figure.chart.starts_on:
                for faces in range(8) if self.turns else (0,):
                    if self.aligned(figure, (faces + 2 * side) % 8):
                        for swapped in self.layers:
                            head = self.numbered((*self.after(figure, faces), side, swapped))
                            rows.append((self.number[figure.id], figure.length_ticks, faces, side, int(swapped), head))
        return self.gathered(rows)

    def onward(self, tail: Key, corners: int) -> Iterable[tuple[Figure, int, str, int, str, str]]:
        """What can be danced from a stand at the beat of the bar of its tick, on a side of the room."""
        tick, hold, faces, left, right = tail[:5]
        in_bar = self.problem.timeline.beat_in_bar(tick)
        known = self.able.get((hold, left, right, faces, in_bar, corners))
        if known is None:
            known = [
                (figure, figure.length_ticks, *self.after(figure, faces))
                for figure in self.joining(_stand(tail))
                if in_bar in figure.chart.starts_on and self.aligned(figure, (faces + 2 * corners) % 8)
            ]
            self.able[(hold, left, right, faces, in_bar, corners)] = known
        return known

    def joining(self, stand: Stand) -> list[Figure]:
        key = (stand.hold, stand.leader_free, stand.follower_free)
        if key not in self.joinable:
            joins = self.problem.catalogue.joins
            self.joinable[key] = [f for f in self.figures.values() if joins(stand, f)]
        return self.joinable[key]

    def aligned(self, figure: Figure, alignment: int) -> bool:
        wanted = figure.chart.entry.faces
        return wanted is None or not self.problem.keeps_alignment or alignment in wanted

    def after(self, figure: Figure, faces: int) -> tuple[str, int, str, str]:
        if (figure.id, faces) not in self.ends:
            stand = figure.end_of(faces)
            facing = stand.faces if self.turns else 0
            self.ends[figure.id, faces] = stand.hold, facing, stand.leader_free, stand.follower_free
        return self.ends[figure.id, faces]


def _stand(key: Key) -> Stand:
    hold, faces, left, right = key[1:5]
    return Stand(hold, faces, "L" if left == "L" else "R", "L" if right == "L" else "R")
