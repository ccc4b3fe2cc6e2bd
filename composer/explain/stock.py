"""Everything stated about one problem, demand by demand, ready to be put together for any choice of wishes.

A demand is compiled once: the arcs it forbids, its rows over arcs, its rows over extra unknowns. Extra unknowns only
define something (which figures occur, where the couple stands); their ties can be kept whatever is danced, so those
that no standing demand looks at are left out. Points play no part here: an explanation asks whether, not how well.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from composer.network.model import Network
from composer.rules.base import Demand, Row, Stated, Unknown
from composer.rules.weights import parted
from composer.solve.linear import OPEN, Ints, Linear, node_ticks, on_paths


@dataclass(frozen=True)
class Block:
    """Rows in arrays: ``arcs`` is (rows x arcs) CSR; ``cells`` are (row, unknown's name, weight)."""

    arcs: Any
    cells: tuple[tuple[int, str, int], ...]
    least: Ints
    most: Ints

    @property
    def names(self) -> set[str]:
        """Unknowns these rows look at."""
        return {name for _, name, _ in self.cells}


@dataclass(frozen=True)
class Part:
    """One demand compiled."""

    demand: Demand
    forbids: Ints
    rows: Block


class Stock:
    """All demands over one network. Wishes can be left out or replaced; laws always stand."""

    def __init__(self, network: Network, stated: Stated) -> None:
        self.network = network
        self.tick = node_ticks(network)
        self.tail, self.head = network.table.tail.astype(np.int64), network.table.head.astype(np.int64)
        self.parts = {demand.key: self._part(demand) for demand in stated.demands}
        self.laws = tuple(key for key, part in self.parts.items() if part.demand.law)
        self.wishes = tuple(key for key, part in self.parts.items() if not part.demand.law)
        self.unknowns = {unknown.name: unknown for unknown in stated.unknowns}
        self.ties = _components(self._block, stated.unknown_rows)

    def replaced(self, family: str, stated: Stated) -> Stock:
        """The same with everything one family states stated anew (for a changed brief over the same network)."""
        other = object.__new__(Stock)
        other.__dict__.update(self.__dict__)
        prefix = f"{family}:"
        kept = {key: part for key, part in self.parts.items() if not key.startswith(prefix)}
        other.parts = {**kept, **{demand.key: self._part(demand) for demand in stated.demands}}
        other.laws = tuple(key for key, part in other.parts.items() if part.demand.law)
        other.wishes = tuple(key for key, part in other.parts.items() if not part.demand.law)
        other.unknowns = {n: u for n, u in self.unknowns.items() if not n.startswith(prefix)}
        other.unknowns |= {unknown.name: unknown for unknown in stated.unknowns}
        ties = {n: b for n, b in self.ties.items() if not n.startswith(prefix)}
        other.ties = {**ties, **_components(self._block, stated.unknown_rows)}
        return other

    def linear(self, wishes: Collection[str], more: Iterable[Row] = (), unknowns: Iterable[Unknown] = ()) -> Linear:
        """Laws and these wishes as arrays, with rows and unknowns of the caller's own on top; no points."""
        chosen = [self.parts[key] for key in (*self.laws, *(key for key in self.parts if key in wishes))]
        chosen = list({part.demand.key: part for part in chosen}.values())
        extra = self._block(tuple(more))
        blocks = [part.rows for part in chosen] + [extra]
        named = {name for block in blocks for name in block.names}
        ties: list[Block] = [self.ties[""]] if "" in self.ties else []
        told: set[int] = {id(block) for block in ties}
        for name in sorted(named):
            block = self.ties.get(name)
            if block is not None and id(block) not in told:
                told.add(id(block))
                ties.append(block)
        named |= {name for block in ties for name in block.names}
        known = {**self.unknowns, **{unknown.name: unknown for unknown in unknowns}}
        names = tuple(sorted(named))
        owner = [np.full(len(block.least), index, dtype=np.int64) for index, block in enumerate(blocks[:-1])]
        owner += [np.full(len(block.least), -1, dtype=np.int64) for block in (extra, *ties)]
        return self._assembled(chosen, [*blocks, *ties], owner, names, [known[name] for name in names])

    def _assembled(
        self, chosen: list[Part], blocks: list[Block], owner: list[Ints], names: tuple[str, ...], known: list[Unknown]
    ) -> Linear:
        from composer.solve.sparse import csr_matrix, vstack

        usable = np.ones(len(self.tail), dtype=np.bool_)
        for part in chosen:
            usable[part.forbids] = False
        place = {name: column for column, name in enumerate(names)}
        rows, columns, values, at = [], [], [], 0
        for block in blocks:
            for row, name, weight in block.cells:
                rows.append(at + row)
                columns.append(place[name])
                values.append(weight)
            at += len(block.least)
        on_unknowns = csr_matrix(
            (np.array(values, dtype=np.int64), (rows, columns)), shape=(at, len(names)), dtype=np.int64
        )
        return Linear(
            tick=self.tick,
            demands=tuple(part.demand for part in chosen),
            tail=self.tail,
            head=self.head,
            points=np.zeros(len(self.tail), dtype=np.int64),
            usable=on_paths(self.tick, self.tail, self.head, usable),
            on_arcs=vstack([block.arcs for block in blocks], format="csr", dtype=np.int64),
            on_unknowns=on_unknowns,
            least=np.concatenate([block.least for block in blocks]),
            most=np.concatenate([block.most for block in blocks]),
            owner=np.concatenate(owner),
            names=names,
            low=np.array([u.least for u in known], dtype=np.int64),
            high=np.array([u.most for u in known], dtype=np.int64),
            unknown_points=np.zeros(len(names), dtype=np.int64),
        )

    def _part(self, demand: Demand) -> Part:
        forbids = np.fromiter(sorted(demand.forbids), dtype=np.int64, count=len(demand.forbids))
        return Part(demand, forbids, self._block(demand.rows))

    def _block(self, rows: tuple[Row, ...]) -> Block:
        from composer.solve.sparse import csr_matrix

        parts = [parted(row.weights) for row in rows]
        cells = [(n, name, weight) for n, (_, _, named) in enumerate(parts) for name, weight in named.items() if weight]
        starts = np.cumsum([0, *(len(columns) for columns, _, _ in parts)])
        none = np.zeros(0, dtype=np.int64)
        columns, values = (np.concatenate([none, *(part[k] for part in parts)]) for k in (0, 1))
        arcs = csr_matrix((values.astype(np.int64), columns, starts), shape=(len(rows), len(self.tail)))
        arcs.eliminate_zeros()
        least = np.array([-OPEN if row.least is None else row.least for row in rows], dtype=np.int64)
        most = np.array([OPEN if row.most is None else row.most for row in rows], dtype=np.int64)
        return Block(arcs, tuple(cells), least, most)


def _components(block: Any, rows: tuple[Row, ...]) -> Mapping[str, Block]:
    """For every unknown the rows it hangs together with; under "" the rows without any unknown."""
    parent: dict[str, str] = {}

    def root(name: str) -> str:
        while parent.setdefault(name, name) != name:
            parent[name] = parent[parent[name]]
            name = parent[name]
        return name

    named = [list(parted(row.weights)[2]) for row in rows]
    for names in named:
        for name in names[1:]:
            parent[root(name)] = root(names[0])
    groups: dict[str, list[Row]] = {}
    for row, names in zip(rows, named, strict=True):
        groups.setdefault(root(names[0]) if names else "", []).append(row)
    blocks = {key: block(tuple(own)) for key, own in groups.items()}
    return {**{name: blocks[root(name)] for name in parent}, **({"": blocks[""]} if "" in blocks else {})}
