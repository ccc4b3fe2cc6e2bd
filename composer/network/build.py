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
from dataclasses import replace

from composer.catalogue.model import Figure, Stand
from composer.collecting import uncollected
from composer.network.model import Arc, Network, Node
from composer.problem import Problem

Key = tuple[int, str, int, str, str, int, bool]
"""(tick, hold, facing, leader's free foot, follower's free foot, corners turned modulo 4, roles exchanged)."""
Draft = tuple[Key | None, str, int, int, bool, Key]
"""(tail or None for the source, figure, facing, corners turned before it modulo 4, roles exchanged, head)."""


@uncollected()
def build(problem: Problem) -> Network:
    """The network of every dance of the brief; without any path it has just source and sink."""
    return _Builder(problem).network()


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


class _Builder:
    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.length = problem.length_ticks
        self.figures = available(problem)
        self.turns = facing_matters(problem)
        self.travels = problem.room is not None and problem.room.style == "travelling"
        self.layers = (False, True) if problem.both_lead else (False,)
        self.joinable: dict[tuple[str, str, str], list[Figure]] = {}
        self.able: dict[tuple[str, str, str, int, int, int], list[tuple[Figure, int, str, int, str, str]]] = {}
        self.over: dict[tuple[str, str, str, int], list[Stand]] = {}

    def network(self) -> Network:
        drafts = self.expanded()
        alive = self.leads_home(drafts)
        kept = [draft for draft in drafts if draft[-1] in alive]
        keys = sorted({draft[-1] for draft in kept} | {draft[0] for draft in kept if draft[0] is not None})
        number = {key: i + 1 for i, key in enumerate(keys)}
        nodes = [Node(0, 0, None), *(Node(number[k], k[0], _stand(k), k[5], k[6]) for k in keys)]
        sink = len(nodes)
        nodes.append(Node(sink, self.length, None))
        arcs: list[Arc] = []
        in_order = sorted(kept, key=lambda d: (number[d[0]] if d[0] else 0, *d[1:5], number[d[5]]))
        for tail, figure, faces, corners, swapped, head in in_order:
            start, begins = (0, 0) if tail is None else (tail[0], number[tail])
            arcs.append(Arc(len(arcs), figure, start, head[0], faces, begins, number[head], corners, swapped))
        for key in keys:
            if key[0] == self.length:
                arcs.append(Arc(len(arcs), "", self.length, self.length, key[2], number[key], sink, key[5], key[6]))
        return Network(tuple(nodes), tuple(arcs), self.length, self.turns)

    def expanded(self) -> list[Draft]:
        """Every arc that can be reached from the start, dead ends included."""
        drafts: list[Draft] = []
        waiting: dict[int, set[Key]] = {}
        for name, faces, key in self.firsts():
            drafts.append((None, name, faces, 0, key[6], key))
            waiting.setdefault(key[0], set()).add(key)
        while waiting:
            tick = min(waiting)
            tails = waiting.pop(tick)
            for tail in sorted(tails) if tick < self.length else ():
                for corners in self.sides(tail[5]):
                    for faces, swapped, choice in self.choices(tail, corners):
                        for figure, length, *stand in choice:
                            if tick + length <= self.length:
                                head: Key = (tick + length, *stand, corners, swapped)  # type: ignore[assignment]
                                drafts.append((tail, figure.id, faces, corners, swapped, head))
                                waiting.setdefault(head[0], set()).add(head)
        return drafts

    def choices(
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

    def firsts(self) -> Iterator[tuple[str, int, Key]]:
        """Any figure may open the routine, in any facing its chart allows, on the first side of the room."""
        in_bar = self.problem.timeline.beat_in_bar(0)
        for figure in self.figures.values():
            if figure.length_ticks <= self.length and in_bar in figure.chart.starts_on:
                for faces in range(8) if self.turns else (0,):
                    if self.aligned(figure, faces):
                        for swapped in self.layers:
                            yield figure.id, faces, (figure.length_ticks, *self.after(figure, faces), 0, swapped)

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
        stand = figure.end_of(faces)
        return stand.hold, stand.faces if self.turns else 0, stand.leader_free, stand.follower_free

    def leads_home(self, drafts: list[Draft]) -> set[Key]:
        """Keys from which the end of the music can be reached exactly."""
        alive: set[Key] = {draft[-1] for draft in drafts if draft[-1][0] == self.length}
        for tail, *_, head in reversed(drafts):  # drafts are in order of their tail's tick
            if tail is not None and head in alive:
                alive.add(tail)
        return alive


def _stand(key: Key) -> Stand:
    hold, faces, left, right = key[1:5]
    return Stand(hold, faces, "L" if left == "L" else "R", "L" if right == "L" else "R")
