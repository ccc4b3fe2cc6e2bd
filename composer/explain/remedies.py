"""The smallest changes after which a routine exists, each solved anew and checked before it is shown.

What can be given up at all is known from the clashes (every smallest set of wishes to give up); each such wish is then
softened by degrees and the lowest degree that helps is found by halving. Where several things clash, or where less in
two places asks less than much in one, changes are combined (:mod:`composer.explain.combined`). Two more ways do not
belong to one wish: to learn a figure or two (the search chooses them) and to dance a few bars less or more.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Final

from composer.brief.schema import Must
from composer.explain.asking import ask
from composer.explain.combined import helps, ladders_of
from composer.explain.degrees import Ladder, Rung, bars_ladders, ladders_for, learning
from composer.explain.oracle import Oracle, bare_routine, restated, stock_of
from composer.explain.paths import Paths
from composer.explain.stock import Stock
from composer.network import build
from composer.outcome import Remedy
from composer.routine import Routine
from composer.rules.base import Change, Row, Swap, Unknown
from composer.rules.look import arcs_by_figure, begins, call, count_of, figure_id
from composer.verify import verify

MOST_SHOWN: Final = 6
CHEAPER_SHOWN: Final = 2
"""So many combinations at most are looked for beside changes that help alone."""
LEAST_WORTH: Final = 3
"""Two changes together cost 2 at least: what costs less alone need not be compared."""
LEARN: Final = "explain:learn:"
MOVES: Final = 4
"""Counts tried for a figure that cannot begin where it is wanted, the nearest first."""


@dataclass(frozen=True)
class Tried:
    """A change and what came of it: ``routine`` when one exists (checked), None when not; ``decided`` False if open."""

    rung: Rung
    routine: Routine | None
    decided: bool = True


class Search:
    """Tries changes on one problem; every answer is remembered."""

    def __init__(self, oracle: Oracle) -> None:
        self.oracle = oracle
        self.problem = oracle.problem
        self._known: dict[tuple[object, ...], Tried] = {}
        self._pool: list[Routine] = []

    def tried(self, *rungs: Rung) -> Tried:
        """Make these changes together, solve, check."""
        rung = rungs[0] if len(rungs) == 1 else _joined(rungs)
        name = (rung.sentence, rung.bars)
        if name not in self._known:
            self._known[name] = self._solved(rung)
        return self._known[name]

    def _solved(self, rung: Rung) -> Tried:
        budget = self.oracle.budget
        if not budget.left:
            return Tried(rung, None, decided=False)
        problem = rung.applied(self.problem)
        for routine in reversed(self._pool):  # what helped elsewhere may do here; the checker decides
            if routine.length_ticks == problem.length_ticks and not verify(problem, routine):
                return Tried(rung, routine)
        families = rung.families()
        network, stock = self.oracle.network, self.oracle.stock
        if families is None:
            network = build(problem)
            stock = stock_of(problem, network, self.oracle.laws)
        else:
            stock = restated(stock, problem, network, families)
        linear = stock.linear(stock.wishes)
        said = ask(network, linear, budget.limits())
        budget.spend(said, linear)
        if not said.possible:
            return Tried(rung, None, decided=said.possible is False)
        routine = replace(bare_routine(problem, network, said), status="by hand")
        if verify(problem, routine):
            return Tried(rung, None, decided=False)
        self._pool.append(routine)
        return Tried(rung, routine)

    def lowest(self, ladder: Ladder, *others: Rung) -> Tried | None:
        """The lowest rung of a ladder that helps, together with other changes; None when none does."""
        rungs = ladder.rungs
        if not rungs or self.tried(rungs[-1], *others).routine is None:
            return None
        if len(rungs) > 1 and self.tried(rungs[0], *others).routine is not None:
            return self.tried(rungs[0], *others)
        fails, helps = 0, len(rungs) - 1
        while helps - fails > 1:
            middle = (fails + helps) // 2
            if self.tried(rungs[middle], *others).routine is not None:
                helps = middle
            else:
                fails = middle
        return self.tried(rungs[helps], *others)


def remedies(
    oracle: Oracle,
    corrections: Sequence[frozenset[str]],
    clashes: Sequence[frozenset[str]] = (),
    *,
    lengths: Iterable[int] = (),
) -> tuple[Remedy, ...]:
    """Verified remedies, the least asked first, the cheapest of each kind.

    Parameters
    ----------
    corrections, clashes : smallest sets of wishes to give up, and that cannot all hold (see
        :mod:`composer.explain.clashes`).
    lengths : numbers of bars to add (above 0) or leave out (below) that are worth a try.
    """
    search = Search(oracle)
    found: list[Tried] = []
    singles = [next(iter(keys)) for keys in corrections if len(keys) == 1]
    found += filter(None, [learned(search, corrections)])
    for key in singles:
        found += filter(None, [_moved(search, key)])
        for ladder in ladders_for(oracle.problem, key):
            found += filter(None, [search.lowest(ladder)])
    found += _bars(search, set(lengths))
    found += _together(search, corrections, clashes, min((tried.rung.cost for tried in found), default=None))
    best: dict[str, Tried] = {}
    for tried in found:
        known = best.get(tried.rung.kind)
        if known is None or tried.rung.cost < known.rung.cost:
            best[tried.rung.kind] = tried
    ranked = sorted(best.values(), key=lambda tried: (tried.rung.cost, tried.rung.sentence))
    return tuple(_remedy(tried.rung) for tried in ranked)


def _together(
    search: Search, corrections: Sequence[frozenset[str]], clashes: Sequence[frozenset[str]], known: int | None
) -> list[Tried]:
    """Changes that help together: only cheaper ones where a single change is known to help."""
    oracle = search.oracle
    taking_part = {key for keys in (*corrections, *clashes) for key in keys}
    ladders = ladders_of(search.problem, [key for key in oracle.wishes if key in taking_part])
    if not ladders or (known is not None and known < LEAST_WORTH):
        return []
    most = MOST_SHOWN if known is None else CHEAPER_SHOWN
    found = helps(search, ladders, clashes, oracle.budget, most=most, below=known)
    return [_finer(search, help_.rungs) for help_ in found]


def _finer(search: Search, rungs: Sequence[Rung]) -> Tried:
    """The same with a level to be learned narrowed to figures, and "any count" to the nearest one."""
    best = search.tried(*rungs)
    for rung in rungs:
        others = [one for one in rungs if one is not rung]
        change = rung.changes[0]
        finer = None
        if change.path[0] == "couple" and change.path[-1] == "level":
            finer = _learned(search, [one for one in others if one.changes[0].path[-1] != "level"])
        elif isinstance(change.value, Swap) and isinstance(change.value.old, Must) and change.value.old.at is not None:
            wish, new = change.value.old, change.value.new
            if isinstance(new, Must) and new.at is None:
                finer = _nearest(search, change.key, wish, _starts(search, wish), others)
        if finer is not None and finer.routine is not None and finer.rung.cost < best.rung.cost:
            return finer
    return best


def _remedy(rung: Rung) -> Remedy:
    sentence = rung.sentence[0].upper() + rung.sentence[1:] + "."
    changes = tuple(f"{'.'.join(change.path)}" for change in rung.changes)
    if rung.bars:
        changes = (*changes, f"music: {abs(rung.bars)} bars {'more' if rung.bars > 0 else 'fewer'}")
    return Remedy(sentence, changes, rung.cost, verified=True)


def _joined(rungs: Sequence[Rung]) -> Rung:
    kinds = " + ".join(sorted(rung.kind for rung in rungs))
    text = ", and ".join(dict.fromkeys(rung.sentence for rung in rungs))
    changes = tuple(change for rung in rungs for change in rung.changes)
    return Rung(kinds, text, sum(rung.cost for rung in rungs), changes, sum(rung.bars for rung in rungs))


def _moved(search: Search, key: str) -> Tried | None:
    """A figure asked for on a count: the nearest other count on which it can begin."""
    problem = search.problem
    named = [(must, figure_id(problem, must.figure)) for must in problem.brief.wishes.must if must.at is not None]
    wish, name = next(((must, name) for must, name in named if key.startswith(must_key(name, must.at))), (None, ""))
    if wish is None:
        return None
    oracle, paths = search.oracle, Paths(search.oracle.stock)
    ways = paths.ways(paths.open([other for other in oracle.wishes if other != key]))
    return _nearest(search, key, wish, [count_of(tick) for tick in ways.starts(name)])


def _starts(search: Search, wish: Must) -> list[int]:
    """Counts on which the laws let a figure begin."""
    paths = Paths(search.oracle.stock)
    ways = paths.ways(paths.open(()))
    return [count_of(tick) for tick in ways.starts(figure_id(search.problem, wish.figure))]


def _nearest(search: Search, key: str, wish: Must, counts: Iterable[int], others: Sequence[Rung] = ()) -> Tried | None:
    """The nearest of these counts to which a figure can be moved, together with other changes."""
    at = wish.at or 0
    name = call(search.problem, figure_id(search.problem, wish.figure))
    for count in sorted(set(counts) - {at}, key=lambda c: (abs(c - at), c))[:MOVES]:
        text = f"let {name} begin on count {count} instead of {at}"
        swap = Swap(wish, wish.model_copy(update={"at": count}))
        rung = Rung(f"{key} wishes.must", text, 1, (Change(key, text, ("wishes", "must"), swap, 1),))
        tried = search.tried(rung, *others)
        if tried.routine is not None:
            return tried
    return None


def must_key(figure: str, at: int | None) -> str:
    """The key of the demand that an entry of ``must`` becomes (the first of its kind)."""
    return f"must_never:must-{figure}" + (f"@{at}" if at is not None else "")


def _bars(search: Search, worth: set[int]) -> list[Tried]:
    """The fewest bars to leave out, the fewest to add."""
    found, done = [], set()
    for rung in bars_ladders(search.problem):
        if rung.bars in worth and rung.kind not in done:
            tried = search.tried(rung)
            if tried.routine is not None:
                found.append(tried)
                done.add(rung.kind)
    return found


def learned(search: Search, corrections: Sequence[frozenset[str]]) -> Tried | None:
    """The fewest figures to learn, of the lowest level; None where learning alone is no way out."""
    if not any(all(key.startswith("learned:") for key in keys) for keys in corrections):
        return None
    return _learned(search)


def _learned(search: Search, others: Sequence[Rung] = ()) -> Tried | None:
    """The fewest figures to learn together with other changes; chosen by one question per number and level."""
    oracle, problem = search.oracle, search.problem
    stock = oracle.stock
    if others:
        joined = _joined(others)
        families = joined.families()
        if families is None:
            return None
        stock = restated(stock, joined.applied(problem), oracle.network, families)
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
                tried = search.tried(learning(problem, chosen), *others)
                if tried.routine is not None:
                    return tried
    return None


def _choose(
    oracle: Oracle, stock: Stock, keys: Sequence[str], names: Sequence[str], out: set[str], number: int
) -> list[str]:
    """At most so many of these figures with which a routine exists."""
    arcs = arcs_by_figure(oracle.network)
    figures = oracle.problem.catalogue.figures
    unknowns = tuple(Unknown(LEARN + name, 0, 1) for name in names)
    rows = [row for name in names for row in begins(LEARN + name, arcs.get(name, []), figures[name].length_ticks)]
    rows.append(Row(dict.fromkeys((LEARN + name for name in names), 1), most=number))
    never = [arc.id for name in sorted(out - set(names)) for arc in arcs.get(name, [])]
    if never:
        rows.append(Row(dict.fromkeys(never, 1), most=0))
    linear = stock.linear([key for key in stock.wishes if key not in keys], tuple(rows), unknowns)
    said = ask(oracle.network, linear, oracle.budget.limits())
    oracle.budget.spend(said, linear)
    if not said.possible:
        return []
    danced = {oracle.network.arcs[i].figure for i in said.arcs}
    return sorted(danced & set(names))
