"""Before and after: two routines side by side, as data that terminal, page and JSON only lay out."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import Any

from composer.problem import Problem
from composer.revise.kept import Counts, Piece, changed_counts, danced_as, stretches
from composer.routine import Placed, Routine
from composer.rules.look import partner_words
from composer.units import TICKS_PER_BEAT


@dataclass(frozen=True)
class Line:
    """What is danced from a count on, before and after; "" where nothing is.

    ``before_goes_on``, ``after_goes_on``: the figure named began on an earlier count and is still danced.
    """

    count: int
    before: str
    after: str
    same: bool
    before_goes_on: bool = False
    after_goes_on: bool = False


@dataclass(frozen=True)
class TermChange:
    """One term of the score, before and after."""

    sentence: str
    before: int
    after: int


@dataclass(frozen=True)
class Difference:
    """How two routines differ. ``changed`` of ``counts`` counts are danced differently, in ``stretches``.

    ``moved``: counts are those of the new music. ``gone`` counts of the old routine have no place in it.
    """

    counts: int
    changed: int
    gone: int
    moved: bool
    stretches: tuple[Counts, ...]
    lines: tuple[Line, ...]
    figures_in: tuple[str, ...]
    figures_out: tuple[str, ...]
    score_before: int
    score_after: int
    terms: tuple[TermChange, ...] = ()

    def as_data(self) -> dict[str, Any]:
        """Plain data for JSON."""
        return asdict(self)


def difference(problem: Problem, old: Routine, new: Routine, pieces: Iterable[Piece] = ()) -> Difference:
    """Compare two routines of one couple; ``pieces`` say where old stretches fall when the music changed."""
    moves = tuple(pieces)
    changed = set(changed_counts(old, new, moves))
    before: dict[int, str] = {}
    placed_before: set[tuple[str, int]] = set()
    gone = 0
    for placed in old.figures:
        begins = _moved(placed.start_tick, moves)
        if begins is None:
            gone += (placed.end_tick - placed.start_tick) // TICKS_PER_BEAT
            continue
        before[begins] = _led_name(problem, placed)
        placed_before.add((danced_as(placed.figure, placed.swapped), begins))
    after = {placed.start_tick: placed for placed in new.figures}
    starts = [(_moved(placed.start_tick, moves), placed.end_tick - placed.start_tick) for placed in old.figures]
    running = {begins: begins + length for begins, length in starts if begins is not None}
    lines = []
    for tick in sorted(before.keys() | after.keys()):
        now = after.get(tick)
        same = now is not None and (danced_as(now.figure, now.swapped), tick) in placed_before
        after_name = _led_name(problem, now) if now is not None else ""
        was_on = next((b for b, end in running.items() if b < tick < end and not same), None)
        is_on = next((p for p in new.figures if p.start_tick < tick < p.end_tick), None)
        lines.append(
            Line(
                tick // TICKS_PER_BEAT + 1,
                before.get(tick) or ("" if was_on is None else before[was_on]),
                after_name or ("" if is_on is None else _led_name(problem, is_on)),
                same,
                before_goes_on=tick not in before and was_on is not None,
                after_goes_on=now is None and is_on is not None,
            )
        )
    was, now_danced = {p.figure for p in old.figures}, {p.figure for p in new.figures}
    return Difference(
        counts=new.length_ticks // TICKS_PER_BEAT,
        changed=len(changed),
        gone=gone,
        moved=bool(moves),
        stretches=stretches(changed),
        lines=tuple(lines),
        figures_in=tuple(_name(problem, f) for f in sorted(now_danced - was)),
        figures_out=tuple(_name(problem, f) for f in sorted(was - now_danced)),
        score_before=old.score,
        score_after=new.score,
        terms=_terms(old, new),
    )


def _terms(old: Routine, new: Routine) -> tuple[TermChange, ...]:
    """Terms of the score that changed, in the order of the new card."""
    was, now = ({line.term: line for line in routine.score_card} for routine in (old, new))
    found = []
    for term in (*now, *(term for term in was if term not in now)):
        line = now.get(term) or was[term]
        points = [card[term].points if term in card else 0 for card in (was, now)]
        if points[0] != points[1]:
            found.append(TermChange(line.sentence, *points))
    return tuple(found)


def _led_name(problem: Problem, placed: Placed) -> str:
    """The figure's name; where the partner whom the brief calls follower leads it that is said."""
    name = _name(problem, placed.figure)
    return f"{name} ({partner_words(problem, 'follower')} leads)" if placed.swapped else name


def _name(problem: Problem, figure: str) -> str:
    known = problem.catalogue.figures.get(figure)
    return known.chart.name if known is not None else figure


def _moved(tick: int, pieces: tuple[Piece, ...]) -> int | None:
    if not pieces:
        return tick
    return next((tick - p.old + p.new for p in pieces if p.old <= tick < p.old + p.length), None)
