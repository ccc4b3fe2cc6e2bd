"""The smallest changes after which a routine exists, each solved anew and checked before it is shown.

What can be given up at all is known from the clashes (every smallest set of wishes to give up); each such wish is then
softened by degrees and the lowest degree that helps is found by halving. Two more ways do not belong to one wish: to
learn a figure or two (the search chooses them) and to dance a few bars less or more.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Final

from composer.explain.asking import ask
from composer.explain.degrees import Ladder, Rung, bars_ladders, ladders_for, learning
from composer.explain.oracle import Oracle, bare_routine, restated, stock_of
from composer.explain.paths import Paths
from composer.network import build
from composer.outcome import Remedy
from composer.routine import Routine
from composer.rules.base import Change, Row, Swap, Unknown
from composer.rules.look import arcs_by_figure, begins, call, count_of, figure_id
from composer.verify import verify

MOST_SHOWN: Final = 6
SINGLES_WANTED: Final = 2
"""With so many remedies that change one thing, nothing is looked for that changes two."""
MOST_TOGETHER: Final = 3
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
    oracle: Oracle, corrections: Sequence[frozenset[str]], *, lengths: Iterable[int] = ()
) -> tuple[Remedy, ...]:
    """Verified remedies, the least asked first, the cheapest of each kind.

    Parameters
    ----------
    corrections : smallest sets of wishes to give up (see :mod:`composer.explain.clashes`).
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
    if len(found) < SINGLES_WANTED:
        for keys in sorted((c for c in corrections if len(c) > 1), key=len):
            found += filter(None, [_together(search, sorted(keys, key=oracle.wishes.index))])
            if len(found) >= SINGLES_WANTED or not oracle.budget.left:
                break
    best: dict[str, Tried] = {}
    for tried in found:
        known = best.get(tried.rung.kind)
        if known is None or tried.rung.cost < known.rung.cost:
            best[tried.rung.kind] = tried
    ranked = sorted(best.values(), key=lambda tried: (tried.rung.cost, tried.rung.sentence))
    return tuple(_remedy(tried.rung) for tried in ranked)


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
    if wish is None or wish.at is None:
        return None
    oracle, paths = search.oracle, Paths(search.oracle.stock)
    ways = paths.ways(paths.open([other for other in oracle.wishes if other != key]))
    at = wish.at
    for count in sorted((count_of(tick) for tick in ways.starts(name)), key=lambda c: (abs(c - at), c))[:MOVES]:
        text = f"let {call(problem, name)} begin on count {count} instead of {at}"
        swap = Swap(wish, wish.model_copy(update={"at": count}))
        tried = search.tried(Rung(f"{key} wishes.must", text, 1, (Change(key, text, ("wishes", "must"), swap, 1),)))
        if tried.routine is not None:
            return tried
    return None


def must_key(figure: str, at: int | None) -> str:
    """The key of the demand that an entry of ``must`` becomes (the first of its kind)."""
    return f"must_never:must-{figure}" + (f"@{at}" if at is not None else "")


def _together(search: Search, keys: Sequence[str]) -> Tried | None:
    """Several wishes softened: all as far as they go, then one after another as little as is enough."""
    choices = [ladders_for(search.problem, key) for key in keys]
    if any(not ladders for ladders in choices):
        return None
    chosen: list[Ladder] = []
    for ladders in choices:  # one change may soften several wishes: all boundaries, all accents
        known = {_line(ladder) for ladder in chosen}
        if not any(_line(ladder) in known for ladder in ladders):
            chosen.append(min(ladders, key=lambda ladder: ladder.rungs[-1].cost))
    if len(chosen) > MOST_TOGETHER:
        return None
    if len(chosen) == 1:
        return search.lowest(chosen[0])
    rungs = [ladder.rungs[-1] for ladder in chosen]
    if search.tried(*rungs).routine is None:
        return None
    for at, ladder in enumerate(chosen):
        others = [rung for i, rung in enumerate(rungs) if i != at]
        lowest = search.lowest(ladder, *others)
        if lowest is not None:
            rungs[at] = next(r for r in ladder.rungs if r.sentence in lowest.rung.sentence)
    return search.tried(*rungs)


def _line(ladder: Ladder) -> tuple[object, ...]:
    """What of the brief a ladder changes: a value, or one item of a list."""
    change = ladder.rungs[-1].changes[0]
    return (change.path, change.value.old if isinstance(change.value, Swap) else None)


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
    """The fewest figures to learn, of the lowest level; chosen by one question per number and level."""
    if not any(all(key.startswith("learned:") for key in keys) for keys in corrections):
        return None
    oracle, problem = search.oracle, search.problem
    keys = [key for key in oracle.wishes if key.startswith("learned:") and key != "learned:budget"]
    out = {oracle.network.arcs[i].figure for key in keys for i in oracle.stock.parts[key].forbids.tolist()}
    couple = problem.brief.couple
    known = max(1, min(couple.leader.level, couple.follower.level))
    levels = sorted({problem.catalogue.figures[name].chart.level for name in out})
    for number in (1, 2, 3):
        for highest in levels:
            if highest < known or not oracle.budget.left:
                continue
            names = [name for name in sorted(out) if problem.catalogue.figures[name].chart.level <= highest]
            chosen = _choose(oracle, keys, names, out, number)
            if chosen:
                tried = search.tried(learning(problem, chosen))
                if tried.routine is not None:
                    return tried
    return None


def _choose(oracle: Oracle, keys: Sequence[str], names: Sequence[str], out: set[str], number: int) -> list[str]:
    """At most so many of these figures with which a routine exists."""
    arcs = arcs_by_figure(oracle.network)
    figures = oracle.problem.catalogue.figures
    unknowns = tuple(Unknown(LEARN + name, 0, 1) for name in names)
    rows = [row for name in names for row in begins(LEARN + name, arcs.get(name, []), figures[name].length_ticks)]
    rows.append(Row(dict.fromkeys((LEARN + name for name in names), 1), most=number))
    never = [arc.id for name in sorted(out - set(names)) for arc in arcs.get(name, [])]
    if never:
        rows.append(Row(dict.fromkeys(never, 1), most=0))
    said = oracle.say([key for key in oracle.wishes if key not in keys], tuple(rows), unknowns)
    if not said.possible:
        return []
    danced = {oracle.network.arcs[i].figure for i in said.arcs}
    return sorted(danced & set(names))
