"""The smallest changes after which a routine exists, each solved anew and checked before it is shown.

What can be given up at all is known from the clashes (every smallest set of wishes to give up); each such wish is then
softened by degrees and the lowest degree that helps is found by halving. Where several things clash, or where less in
two places asks less than much in one, changes are combined (:mod:`composer.explain.combined`). Two more ways do not
belong to one wish: to learn a figure or two (the search chooses them) and to dance a few bars less or more.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Final

from composer.explain.combined import helps, ladders_of
from composer.explain.degrees import Rung, ladders_for
from composer.explain.finer import finer, learned, moved
from composer.explain.music import bars_rungs
from composer.explain.oracle import Oracle
from composer.explain.trying import Search, Tried
from composer.outcome import Remedy

MOST_SHOWN: Final = 6
CHEAPER_SHOWN: Final = 2
"""So many combinations at most are looked for beside changes that help alone."""
BARS_TRIED: Final = 4
"""Of every way to have less or more music."""
ALIKE: Final = ("do without ", "allow ")
CHEAPER_SHARE: Final = 0.05
"""Part of the time left for those."""
LEAST_WORTH: Final = 3
"""Two changes together cost 2 at least: what costs less alone need not be compared."""


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
    if any(all(key.startswith("learned:") for key in keys) for keys in corrections):
        found += [tried for _, tried in filter(None, [learned(search)])]
    for key in singles:
        found += filter(None, [moved(search, key)])
        for ladder in ladders_for(oracle.problem, key):
            found += filter(None, [search.lowest(ladder)])
    found += _bars(search, set(lengths))
    found += _together(search, corrections, clashes, min((tried.rung.cost for tried in found), default=None))
    best: dict[str, Tried] = {}
    for tried in found:
        known = best.get(tried.rung.kind)
        if known is None or tried.rung.cost < known.rung.cost:
            best[tried.rung.kind] = tried
    ranked = sorted((tried.rung for tried in best.values()), key=lambda rung: (rung.cost, rung.sentence))
    return tuple(_remedy(rung) for rung in _one_of_many(ranked))


def _one_of_many(ranked: Sequence[Rung]) -> list[Rung]:
    """The same given up of one figure or another is told as one change: any of them helps by itself."""
    alike: dict[tuple[str, int], list[Rung]] = {}
    for rung in ranked:
        verb = next((verb for verb in ALIKE if rung.sentence.startswith(verb)), None)
        if verb is not None and len(rung.changes) == 1:
            alike.setdefault((verb, rung.cost), []).append(rung)
    found = list(ranked)
    for (verb, _), rungs in alike.items():
        if len(rungs) > 2:
            names = [rung.sentence.removeprefix(verb) for rung in rungs]
            text = f"{verb}{', '.join(names[:-1])} or {names[-1]} (one of them is enough)"
            found[found.index(rungs[0])] = replace(rungs[0], sentence=text)
            found = [rung for rung in found if rung not in rungs[1:]]
    return found


def _together(
    search: Search, corrections: Sequence[frozenset[str]], clashes: Sequence[frozenset[str]], known: int | None
) -> list[Tried]:
    """Changes that help together: only cheaper ones where a single change is known to help."""
    oracle = search.oracle
    taking_part = {key for keys in (*corrections, *clashes) for key in keys}
    ladders = ladders_of(search.problem, [key for key in oracle.wishes if key in taking_part])
    if not ladders or (known is not None and known < LEAST_WORTH):
        return []
    most, share = (MOST_SHOWN, 1.0) if known is None else (CHEAPER_SHOWN, CHEAPER_SHARE)
    with oracle.budget.part(share):
        found = helps(search, ladders, clashes, oracle.budget, most=most, below=known)
    return [finer(search, help_.rungs) for help_ in found]


def _remedy(rung: Rung) -> Remedy:
    sentence = rung.sentence[0].upper() + rung.sentence[1:] + "."
    changes = tuple(f"{'.'.join(change.path)}" for change in rung.changes)
    if rung.bars:
        changes = (*changes, rung.said)
    return Remedy(sentence, changes, rung.cost, verified=True)


def _bars(search: Search, worth: set[int]) -> list[Tried]:
    """The fewest bars to leave out and to add, of every way to do so."""
    found: list[Tried] = []
    tries: Counter[str] = Counter()
    for rung in bars_rungs(search.problem, worth):
        if tries[rung.kind] < BARS_TRIED:
            tries[rung.kind] += 1
            tried = search.tried(rung)
            if tried.routine is not None:
                found.append(tried)
                tries[rung.kind] = BARS_TRIED
    return found
