"""Changes made finer: which figures to learn instead of a level, which count instead of any."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

import numpy as np

from composer.brief.schema import Must
from composer.explain.asking import ask
from composer.explain.degrees import Rung, learning
from composer.explain.oracle import Oracle, restated
from composer.explain.paths import Paths
from composer.explain.stock import Stock
from composer.explain.trying import Search, Tried, joined
from composer.routine import Routine
from composer.rules.base import Change, Row, Swap, Unknown
from composer.rules.look import begins, call, count_of, figure_id

LEARN: Final = "explain:learn:"
MOVES: Final = 4
"""Counts tried for a figure that cannot begin where it is wanted, the nearest first."""

Finer = tuple[Rung, Tried]
"""The finer change, and what came of it together with the others."""


def finer(search: Search, rungs: Sequence[Rung]) -> Tried:
    """The same with a level to be learned narrowed to figures, and "any count" to one, where this asks no more."""
    best, parts = search.tried(*rungs), list(rungs)
    if any(_is_level(rung) for rung in parts):
        others = [rung for rung in parts if not _is_level(rung)]
        found = learned(search, others)
        if found is not None and found[1].rung.cost <= best.rung.cost:
            parts, best = [found[0], *others], found[1]
    for rung in rungs:
        wish = _to_any_count(rung)
        if wish is None:
            continue
        others = [one for one in parts if one is not rung]
        found = _moved_to(search, rung.changes[0].key, wish, _counts_for(search, wish, best.routine), others)
        if found is not None and found[1].rung.cost <= best.rung.cost:
            parts, best = [found[0], *others], found[1]
    return best


def _is_level(rung: Rung) -> bool:
    path = rung.changes[0].path
    return path[0] == "couple" and path[-1] == "level"


def _to_any_count(rung: Rung) -> Must | None:
    """The wish for a figure on a count that this change makes one for the figure on any count."""
    value = rung.changes[0].value
    if not isinstance(value, Swap) or not isinstance(value.old, Must) or not isinstance(value.new, Must):
        return None
    return value.old if value.old.at is not None and value.new.at is None else None


def _counts_for(search: Search, wish: Must, routine: Routine | None) -> list[int]:
    """The nearest counts on which the laws let a figure begin, and those on which the routine has it."""
    paths, name = Paths(search.oracle.stock), figure_id(search.problem, wish.figure)
    near = _nearest(wish, [count_of(tick) for tick in paths.ways(paths.open(())).starts(name)])
    there = [count_of(p.start_tick) for p in routine.figures if p.figure == name] if routine is not None else []
    return [*near, *(count for count in _nearest(wish, there) if count not in near and len(near) == MOVES)]


def moved(search: Search, key: str) -> Tried | None:
    """A figure asked for on a count: the nearest other count on which it can begin."""
    problem = search.problem
    named = [(must, figure_id(problem, must.figure)) for must in problem.brief.wishes.must if must.at is not None]
    wish, name = next(((must, name) for must, name in named if key.startswith(must_key(name, must.at))), (None, ""))
    if wish is None:
        return None
    oracle, paths = search.oracle, Paths(search.oracle.stock)
    ways = paths.ways(paths.open([other for other in oracle.wishes if other != key]))
    found = _moved_to(search, key, wish, _nearest(wish, [count_of(tick) for tick in ways.starts(name)]))
    return None if found is None else found[1]


def _nearest(wish: Must, counts: Iterable[int]) -> list[int]:
    """The nearest counts to the one asked for."""
    at = wish.at or 0
    return sorted(set(counts) - {at}, key=lambda count: (abs(count - at), count))[:MOVES]


def _moved_to(search: Search, key: str, wish: Must, counts: Iterable[int], others: Sequence[Rung] = ()) -> Finer | None:
    """The first of these counts to which a figure can be moved, together with other changes."""
    name = call(search.problem, figure_id(search.problem, wish.figure))
    for tries, count in enumerate(counts):
        text, cost = f"let {name} begin on count {count} instead of {wish.at}", 1
        if tries >= MOVES:  # one of many, not the nearest: no more than an example
            text, cost = f"let {name} begin on another count than {wish.at}, for example on {count}", 2
        swap = Swap(wish, wish.model_copy(update={"at": count}))
        rung = Rung(f"{key} wishes.must", text, cost, (Change(key, text, ("wishes", "must"), swap, cost),))
        tried = search.tried(rung, *others)
        if tried.routine is not None:
            return rung, tried
    return None


def must_key(figure: str, at: int | None) -> str:
    """The key of the demand that an entry of ``must`` becomes (the first of its kind)."""
    return f"must_never:must-{figure}" + (f"@{at}" if at is not None else "")


def learned(search: Search, others: Sequence[Rung] = ()) -> Finer | None:
    """The fewest figures to learn, of the lowest level, with other changes; one question per number and level."""
    oracle, problem = search.oracle, search.problem
    stock = oracle.stock
    if others:
        together = joined(others)
        families = together.families()
        if families is None:
            return None
        stock = restated(stock, together.applied(problem), oracle.network, families)
    keys = [key for key in stock.wishes if key.startswith("learned:") and key != "learned:budget"]
    out = {oracle.network.arcs[i].figure for key in keys for i in stock.parts[key].forbids.tolist()}
    couple = problem.brief.couple
    known = max(1, min(couple.leader.level, couple.follower.level))
    levels = sorted({problem.catalogue.figures[name].chart.level for name in out})
    for number in (1, 2, 3):
        for highest in levels:
            if highest < known or not oracle.budget.left:
                continue
            names = [name for name in sorted(out) if problem.catalogue.figures[name].chart.level <= highest]
            chosen = _choose(oracle, stock, keys, names, out, number)
            if chosen:
                rung = learning(problem, chosen)
                tried = search.tried(rung, *others)
                if tried.routine is not None:
                    return rung, tried
    return None


def _choose(
    oracle: Oracle, stock: Stock, keys: Sequence[str], names: Sequence[str], out: set[str], number: int
) -> list[str]:
    """At most so many of these figures with which a routine exists."""
    table = oracle.network.table
    arcs, none = table.by_figure, np.zeros(0, dtype=np.int32)
    figures = oracle.problem.catalogue.figures
    unknowns = tuple(Unknown(LEARN + name, 0, 1) for name in names)
    own = {name: arcs.get(name, none) for name in names}
    rows = [row for name in names for row in begins(LEARN + name, table, own[name], figures[name].length_ticks)]
    rows.append(Row(dict.fromkeys((LEARN + name for name in names), 1), most=number))
    never = [arc for name in sorted(out - set(names)) for arc in arcs.get(name, none).tolist()]
    if never:
        rows.append(Row(dict.fromkeys(never, 1), most=0))
    linear = stock.linear([key for key in stock.wishes if key not in keys], tuple(rows), unknowns)
    said = ask(oracle.network, linear, oracle.budget.limits())
    oracle.budget.spend(said, linear)
    if not said.possible:
        return []
    danced = {oracle.network.arcs[i].figure for i in said.arcs}
    return sorted(danced & set(names))
