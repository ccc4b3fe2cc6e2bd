"""What lies behind a clash, as sentences that come from computed facts: lengths, ways through the figures, extents.

Every number and every name in a sentence was worked out for this brief: from the figures the clash leaves, from paths
through the real network, or from a finished search. Where nothing simple is found, nothing is said.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from composer.explain.amounts import amounts
from composer.explain.deadends import gaps, ways_in_and_out
from composer.explain.leading import lead_reasons
from composer.explain.lengths import LOOK_AHEAD, around, can_words, danceable, made_of, representable
from composer.explain.oracle import Oracle
from composer.explain.paths import Paths, Ways
from composer.rules.cautions import WORDS
from composer.rules.look import call, count_of, figure_id, listed
from composer.solve.linear import Flags
from composer.units import TICKS_PER_BEAT

MOST_REASONS = 4
FEW_NAMED = 6
SMALL = 20_000
"""Networks with fewer arcs are built anew for other music without a thought."""


@dataclass
class Scene:
    """A clash with what its forbidding wishes leave."""

    oracle: Oracle
    keys: tuple[str, ...]
    paths: Paths
    open: Flags

    @classmethod
    def of(cls, oracle: Oracle, keys: frozenset[str]) -> Scene:
        """The scene of a clash."""
        paths = Paths(oracle.stock)
        ordered = tuple(key for key in oracle.wishes if key in keys)
        return cls(oracle, ordered, paths, paths.open(ordered))

    def named(self, figures: list[str], most: int = 4) -> str:
        """``Whisk, Hover and 3 more``."""
        return listed([call(self.oracle.problem, name) for name in figures], most)

    def without(self, key: str) -> Ways:
        """Ways when one wish is left out."""
        return self.paths.ways(self.paths.open([other for other in self.keys if other != key]))

    def exact_without(self, key: str) -> bool:
        """Whether :meth:`without` says all there is, so that what it leaves can really be danced."""
        return self.paths.exact([other for other in self.keys if other != key])

    @property
    def left(self) -> set[str]:
        """Figures the clash does not take out altogether, whatever the music."""
        out = {name for key in self.keys for name in self.paths.wholly_out(key)}
        return set(_available(self.oracle)) - out


def _available(oracle: Oracle) -> list[str]:
    from composer.network.build import available

    return list(available(oracle.problem))


def reasons_for(oracle: Oracle, keys: frozenset[str]) -> tuple[str, ...]:
    """Up to four sentences, the most telling first; without full stops."""
    scene = Scene.of(oracle, keys)
    if _plain(scene):
        return ()
    if ruled_out := list(_ruled_out(scene)):
        return tuple(ruled_out)
    said: list[str] = []
    structural = not scene.paths.ways(scene.open).any
    facts: tuple[Callable[[Scene], Iterator[str]], ...]
    facts = (_musts_at_all, _lengths, _musts_in_time, lead_reasons, amounts)
    for fact in facts:
        if len(said) < MOST_REASONS:
            said += [text for text in fact(scene) if text not in said]
    if len(said) < MOST_REASONS:
        said += list(ways_in_and_out(scene))
    if structural or not said:
        if len(said) < MOST_REASONS:
            said += [text for text in _ends(scene) if text not in said]
        if structural and len(said) < 2:
            said += list(gaps(scene))
    if not said:
        said += list(_number_of_ways(scene))
    return tuple(said[:MOST_REASONS])


def _ruled_out(scene: Scene) -> Iterator[str]:
    """A figure asked for that another wish of a clash of two takes out: what it has that is not wanted."""
    if len(scene.keys) != 2:
        return
    problem = scene.oracle.problem
    for name in asked_for(scene):
        for key in scene.keys:
            if name in scene.paths.wholly_out(key) and len(scene.paths.arcs_of(name)):
                if key.endswith("-level"):
                    yield f"{call(problem, name)} is level {problem.catalogue.figures[name].chart.level}"
                elif key.startswith("cautions:"):
                    words = next(words for caution, words in WORDS.items() if key == f"cautions:{caution}")
                    yield f"{call(problem, name)} has {words}"


def _plain(scene: Scene) -> bool:
    """Whether two wishes contradict each other in so many words, so that nothing needs to be added."""
    if len(scene.keys) != 2:
        return False
    named = asked_for(scene)
    other = [key for key in scene.keys if not key.startswith(("must_never:must-", "opening_closing:"))]
    if len(other) != 1 or len(named) != 1:
        return False
    if other[0] == "repeats:most":
        most = scene.oracle.problem.brief.wishes.repeats.most or 0
        musts = scene.oracle.problem.brief.wishes.must
        return any(figure_id(scene.oracle.problem, must.figure) == named[0] and must.times > most for must in musts)
    return other[0] == f"must_never:never-{named[0]}" or other[0].endswith(f"-not-yet-{named[0]}")


def lengths_worth_trying(oracle: Oracle, keys: frozenset[str]) -> list[int]:
    """Bars to leave out (below 0) or to add that could help: all that fit where the length is the trouble, else few."""
    scene = Scene.of(oracle, keys)
    music = oracle.problem.timeline
    beats, total = music.beats_per_bar, music.length_beats
    fits = _fillable(scene)
    if not fits[total]:
        found = [bars for bars in range(-8, 9) if bars and 0 < total + bars * beats < len(fits)]
        return [bars for bars in sorted(found, key=abs) if fits[total + bars * beats]][:3]
    on_a_count = any(key.startswith("must_never:must-") and "@" in key for key in keys)
    if on_a_count and any(key.startswith("phrasing:") for key in keys) and len(oracle.network.arcs) < SMALL:
        return [-1, -2, -3]  # the phrases begin elsewhere when the music is begun later
    rows = {key.split(":")[0] for key in keys if len(oracle.stock.parts[key].rows.least)}
    forbidden = any(key.startswith("must_never:never") for key in keys)
    elsewhere = forbidden or bool(rows & {"room", "line_of_dance", "accents", "dizziness"}) or len(keys) < 2
    if rows & {"must_never", "variety", "motif"} and not elsewhere:
        return [1, 2, 4]
    return []


def _boundaries(scene: Scene) -> list[int]:
    """Counts (from 0) that the clash does not let figures run across."""
    return sorted(int(key.rsplit("-", 1)[1]) - 1 for key in scene.keys if key.startswith("phrasing:across-"))


def _fillable(scene: Scene) -> list[bool]:
    """Which numbers of counts the figures left fill, without and with the boundaries of the clash."""
    problem = scene.oracle.problem
    music = problem.timeline
    figures = {name: problem.catalogue.figures[name] for name in sorted(scene.left)}
    bars = [music.beats[music.usable[0] + at].in_bar for at in range(music.length_beats)]
    upto = music.length_beats + max(LOOK_AHEAD, 8 * music.beats_per_bar)
    return danceable(problem.catalogue, figures, upto, bars, boundaries=_boundaries(scene), both_lead=problem.both_lead)


def _lengths(scene: Scene) -> Iterator[str]:
    """The counts of the music, or between two boundaries, that the figures left cannot fill."""
    problem = scene.oracle.problem
    total = problem.timeline.length_beats
    left = sorted(scene.left)
    lengths = sorted({problem.catalogue.figures[name].chart.beats for name in left})
    if not left:
        yield "no figure of this dance is left"
        return
    if _fillable(scene)[total]:
        return
    cuts = [0, *_boundaries(scene), total]
    alone = representable(lengths, total + LOOK_AHEAD)
    for start, end in pairwise(cuts):
        span = end - start
        if alone[span]:
            continue
        where = f"the {span} counts" if len(cuts) == 2 else f"the {span} counts from count {start + 1} to {end}"
        can = can_words(*around(alone, span))
        each = listed([str(length) for length in lengths], 8)
        text = f"the figures left take {each} counts; {where} cannot be made of {made_of(lengths)}"
        yield f"{text}, {can}" if can else text
        others = _other_lengths(scene, lengths, span)
        if others:
            yield f"a figure of {listed([str(n) for n in others])} counts would make them up"
        return
    whole = danceable(
        problem.catalogue,
        {name: problem.catalogue.figures[name] for name in left},
        total + LOOK_AHEAD,
        [problem.timeline.beats[problem.timeline.usable[0] + at].in_bar for at in range(total)],
        both_lead=problem.both_lead,
    )
    if not whole[total]:
        can = can_words(*around(whole, total))
        yield (
            f"lengths alone would do, but with the holds, feet and beats on which the figures left begin and end, "
            f"no order of them fills {total} counts" + (f"; {can} be filled" if can else "")
        )
    else:
        yield f"the figures left fill {total} counts only by running across {_marks(scene)}"


def _marks(scene: Scene) -> str:
    return listed([f"count {at + 1}" for at in _boundaries(scene)])


def _other_lengths(scene: Scene, lengths: list[int], span: int) -> list[int]:
    """Lengths of figures the clash takes out with which the span could be made."""
    figures = scene.oracle.problem.catalogue.figures
    more = sorted({figures[name].chart.beats for name in _available(scene.oracle)} - set(lengths))
    return [length for length in more if representable([*lengths, length], span)[span]][:4]


def _musts_at_all(scene: Scene) -> Iterator[str]:
    """Figures that are asked for and cannot be danced in this setting at all, whatever else is given up."""
    problem = scene.oracle.problem
    for name in asked_for(scene):
        figure = problem.catalogue.figures.get(name)
        if figure is None or len(scene.paths.arcs_of(name)):
            continue
        title = figure.chart.name
        if name not in _available(scene.oracle) and problem.room is not None:
            yield f"{title} is made for {' and '.join(figure.styles)} floors, not for this one ({problem.room.style})"
        elif figure.chart.beats > problem.timeline.length_beats:
            yield f"{title} takes {figure.chart.beats} counts, the music has {problem.timeline.length_beats}"
        else:
            yield f"nothing leads into {title} and on from it to the end of the music"


def asked_for(scene: Scene) -> list[str]:
    """Figures the clash asks for by name."""
    problem = scene.oracle.problem
    wishes = problem.brief.wishes
    named = [figure_id(problem, must.figure) for must in wishes.must]
    found = [name for name in named if any(key.startswith(f"must_never:must-{name}") for key in scene.keys)]
    for end in ("opening", "closing"):
        wanted = getattr(wishes, end).figure
        if wanted is not None and f"opening_closing:{end}-figure" in scene.keys:
            found.append(figure_id(problem, wanted))
    return list(dict.fromkeys(found))


def _musts_in_time(scene: Scene) -> Iterator[str]:
    """Counts on which a figure that is asked for at a count could begin."""
    problem = scene.oracle.problem
    for must in problem.brief.wishes.must:
        name = figure_id(problem, must.figure)
        key = next((k for k in scene.keys if must.at and k.startswith(f"must_never:must-{name}@{must.at}")), None)
        if key is None or must.at is None:
            continue
        title, start = call(problem, name), (must.at - 1) * TICKS_PER_BEAT
        figure = problem.catalogue.figures[name]
        if start >= problem.length_ticks:
            yield f"count {must.at} comes after the music has ended, at count {count_of(problem.length_ticks - 1)}"
            continue
        in_bar = problem.timeline.beat_in_bar(start)
        if in_bar not in figure.chart.starts_on:
            allowed = " or ".join(map(str, figure.chart.starts_on))
            yield f"count {must.at} is beat {in_bar} of the bar; {title} begins on beat {allowed}"
            continue
        possible = [count_of(tick) for tick in scene.without(key).starts(name)]
        if must.at in possible:
            continue
        near = _nearest(possible, must.at)
        if not scene.exact_without(key):
            yield f"with the other wishes {title} cannot begin on count {must.at}"
        elif near:
            yield f"with the other wishes {title} can begin on count {' or '.join(map(str, near))}, not on {must.at}"


def _nearest(counts: list[int], wanted: int) -> list[int]:
    """The two counts nearest to one, in order."""
    return sorted(sorted(counts, key=lambda count: abs(count - wanted))[:2])


def _ends(scene: Scene) -> Iterator[str]:
    """For each wish that only rules figures out: what the others would need just there."""
    for key in scene.keys:
        if len(scene.oracle.stock.parts[key].rows.least):
            continue
        ways = scene.without(key)
        if not ways.any:
            continue
        family, detail = key.split(":", 1)
        if key in ("accents:final-pose", "opening_closing:closing-hold", "opening_closing:closing-figure"):
            yield _few(scene, ways.last(), "the routine can only end with", "come last")
        elif key in ("opening_closing:opening-hold", "opening_closing:opening-figure"):
            yield _few(scene, ways.first(), "it can only begin with", "come first")
        elif family == "phrasing":
            tick = (int(detail.rsplit("-", 1)[1]) - 1) * TICKS_PER_BEAT
            changes = [count_of(t) for t in ways.changes()]
            text = f"with the other wishes no figure can begin on count {count_of(tick)}"
            near = _nearest(changes, count_of(tick)) if scene.exact_without(key) else []
            yield f"{text}; the nearest are {' and '.join(f'count {c}' for c in near)}" if near else text
        else:
            yield from _needed(scene, key, ways)


def _few(scene: Scene, names: list[str], only: str, where: str) -> str:
    if len(names) <= FEW_NAMED:
        return f"with the other wishes {only} {scene.named(names, FEW_NAMED)}"
    return f"with the other wishes {len(names)} figures could {where}, none of them as asked"


def _needed(scene: Scene, key: str, ways: Ways) -> Iterator[str]:
    """Which of the figures this wish rules out the others cannot do without."""
    out = np.zeros(len(ways.usable), dtype=np.bool_)
    out[scene.oracle.stock.parts[key].forbids] = True
    arcs = scene.oracle.network.arcs
    kept = sorted({arcs[i].figure for i in np.flatnonzero(ways.usable & out).tolist()} - {""})
    if not kept:
        return
    needed = [name for name in kept if _unavoidable(scene, ways, name)]
    problem = scene.oracle.problem
    if needed:
        told = [f"{call(problem, name)}{_level(scene, key, name)}" for name in needed]
        yield f"with the other wishes every routine needs {listed(told)}"
    elif len(kept) <= 6:
        told = [f"{call(problem, name)}{_level(scene, key, name)}" for name in kept]
        one = "this" if len(kept) == 1 else "one of these"
        yield f"with the other wishes every routine needs {one}: {listed(told, 6)}"
    else:
        sentence = scene.oracle.stock.parts[key].demand.sentence
        yield f"with the other wishes every routine needs at least one of {len(kept)} figures ruled out by: {sentence}"


def _unavoidable(scene: Scene, ways: Ways, figure: str) -> bool:
    usable = ways.usable.copy()
    usable[scene.paths.arcs_of(figure)] = False
    return not scene.paths.ways(usable).any


def _level(scene: Scene, key: str, name: str) -> str:
    if not key.endswith("-level"):
        return ""
    return f" (level {scene.oracle.problem.catalogue.figures[name].chart.level})"


def _number_of_ways(scene: Scene) -> Iterator[str]:
    """How many orders of figures the ruling-out wishes leave; the search went through all of them."""
    ways = scene.paths.ways(scene.open)
    if not ways.any:
        return
    stock = scene.oracle.stock
    orders = [0] * len(stock.tick)
    orders[0] = 1
    for arc in np.flatnonzero(ways.usable).tolist():
        orders[int(stock.head[arc])] += orders[int(stock.tail[arc])]
    number = orders[-1]
    total = scene.oracle.problem.timeline.length_beats
    words = f"{number:,}" if number < 10**7 else f"more than 10 to the power of {len(str(number)) - 1}"
    figures = len(ways.figures())
    text = f"the {figures} figures that are left can fill the {total} counts in {words} ways"
    yield f"{text}; the search excluded every one"
