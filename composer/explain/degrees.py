"""Asking for a little less: ladders of changes, mildest first, for every kind of wish.

A ladder goes up by degrees (one repeat more, ten centimetres of floor, one level); its last rung is as far as it goes.
Rungs of one ladder only ever ask for less, so that the lowest rung that helps can be found by halving. What a rung
costs is what it asks of the couple, on the scale of :class:`composer.rules.base.Change`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from composer.problem import Problem
from composer.rules.base import Change, Swap
from composer.rules.changes import changed, changes_for
from composer.rules.look import call, times
from composer.timeline.model import Timeline
from composer.units import TICKS_PER_BEAT

ROOM_STEP_MM, ROOM_MOST_MM = 100, 6000
FLOOR = frozenset(("room", "line_of_dance", "spread", "loop"))
"""Families that a change of the floor can touch."""
OTHER_NETWORK = frozenset((("room", "style"), ("couple", "both_lead")))
"""What decides the shape of the network."""


@dataclass(frozen=True)
class Rung:
    """One way to ask for less. ``kind`` groups what is alike.

    ``bars`` are bars of music added (below 0: left out), ``music`` is what it is then, ``said`` how a brief says so.
    """

    kind: str
    sentence: str
    cost: int
    changes: tuple[Change, ...] = ()
    bars: int = 0
    music: Timeline | None = None
    said: str = ""

    def applied(self, problem: Problem) -> Problem:
        """The problem with this change made."""
        made = changed(problem, self.changes) if self.changes else problem
        return made if self.music is None else replace(made, timeline=self.music)

    def families(self) -> set[str] | None:
        """Rule families that state something else afterwards; None when the network is another."""
        if self.music is not None or any(change.path in OTHER_NETWORK for change in self.changes):
            return None
        found = {change.key.split(":")[0] for change in self.changes}
        return found | FLOOR if any(change.path[0] == "room" for change in self.changes) else found


@dataclass(frozen=True)
class Ladder:
    """Rungs of one kind, mildest first."""

    kind: str
    rungs: tuple[Rung, ...] = field(default=())


def ladders_for(problem: Problem, key: str) -> list[Ladder]:
    """All ladders that soften one wish."""
    own = list(_own(problem, key))
    taken = {rung.changes[0].path for ladder in own for rung in ladder.rungs if rung.changes}
    rest: dict[tuple[str, ...], list[Rung]] = {}
    for change in changes_for(problem, key):
        if change.path in taken or (change.path[0] == "couple" and change.path[-1] == "level"):
            continue
        rest.setdefault(change.path, []).append(Rung(_kind(change), change.sentence, change.cost, (change,)))
    levels = [
        Rung(f"level {' '.join(change.path[1:-1])}", change.sentence, change.cost, (change,))
        for change in changes_for(problem, key)
        if change.path[-1] == "level" and change.path[0] == "couple"
    ]
    found = [*own, *(Ladder(rungs[0].kind, tuple(rungs)) for rungs in rest.values())]
    return [*found, Ladder(levels[0].kind, tuple(levels))] if levels else found


def _kind(change: Change) -> str:
    return f"{change.key} {'.'.join(change.path)}"


def _own(problem: Problem, key: str) -> Iterator[Ladder]:
    """Finer steps than the families offer, where the wish is a number."""
    wishes = problem.brief.wishes
    if key == "repeats:most" and wishes.repeats.most is not None:
        most = wishes.repeats.most
        highest = max(most + 1, problem.length_ticks // (TICKS_PER_BEAT * _shortest(problem)))
        yield _ladder(key, ("wishes", "repeats", "most"), [
            (f"let a figure come up to {times(n)} instead of {times(most)}", n, min(6, n - most))
            for n in range(most + 1, highest + 1)
        ])  # fmt: skip
    elif key == "repeats:apart" and wishes.repeats.apart:
        apart = wishes.repeats.apart
        yield _ladder(key, ("wishes", "repeats", "apart"), [
            (f"let a figure come back after {n} counts instead of {apart}" if n else "let a figure be repeated at once",
             n, min(5, 1 + 4 * (apart - n) // apart))
            for n in range(apart - 1, -1, -1)
        ])  # fmt: skip
    elif key == "variety:at-least" and wishes.at_least_different is not None:
        least = wishes.at_least_different
        yield _ladder(key, ("wishes", "at_least_different"), [
            (f"be content with {n} different figure{'s' if n > 1 else ''} instead of {least}", n, min(6, least - n))
            for n in range(least - 1, 0, -1)
        ])  # fmt: skip
    elif key == "variety:at-most" and wishes.at_most_different is not None:
        most = wishes.at_most_different
        yield _ladder(key, ("wishes", "at_most_different"), [
            (f"remember {n} different figures instead of {most}", n, min(8, 1 + n - most))
            for n in range(most + 1, most + 1 + min(30, len(problem.figures())))
        ])  # fmt: skip
    elif key == "learned:budget" and wishes.learn is not None:
        yield _ladder(key, ("wishes", "learn"), [
            (f"learn {n} new figures instead of {wishes.learn.most}",
             wishes.learn.model_copy(update={"most": n}), min(8, 2 * (n - wishes.learn.most)))
            for n in range(wishes.learn.most + 1, wishes.learn.most + 9)
        ])  # fmt: skip
    elif key.startswith("dizziness:") and wishes.spinning is not None:
        turns = wishes.spinning.turns
        yield _ladder(key, ("wishes", "spinning"), [
            (f"allow {n} full turns the same way in {wishes.spinning.within} counts instead of {turns}",
             wishes.spinning.model_copy(update={"turns": n}), min(6, 2 * (n - turns)))
            for n in range(turns + 1, 21)
        ])  # fmt: skip
    elif key.startswith("must_never:must-"):
        yield from _musts(problem, key)
    elif key in ("room:walls", "line_of_dance:lane"):
        yield from _rooms(problem, key)


def _ladder(key: str, path: tuple[str, ...], steps: list[tuple[str, object, int]]) -> Ladder:
    kind = f"{key} {'.'.join(path)}"
    return Ladder(
        kind, tuple(Rung(kind, text, cost, (Change(key, text, path, value, cost),)) for text, value, cost in steps)
    )


def _musts(problem: Problem, key: str) -> Iterator[Ladder]:
    """A must by degrees: any count, fewer times, not at all."""
    path = ("wishes", "must")
    for change in changes_for(problem, key):
        wish = change.value.old if isinstance(change.value, Swap) else None
        if wish is None:
            continue
        name = call(problem, wish.figure)  # type: ignore[attr-defined]
        number, at = wish.times, wish.at  # type: ignore[attr-defined]
        steps: list[tuple[str, object, int]] = []
        if at is not None:
            moved = wish.model_copy(update={"at": None})  # type: ignore[attr-defined]
            yield _ladder(f"{key}", path, [(f"let {name} begin on any count", Swap(wish, moved), 2)])
        for n in range(number - 1, 0, -1):
            fewer = wish.model_copy(update={"times": n})  # type: ignore[attr-defined]
            steps.append((f"dance {name} {times(n)} instead of {times(number)}", Swap(wish, fewer), min(5, number - n)))
        steps.append((f"do without {name}" if at is None else f"do without {name} on count {at}", Swap(wish), 6))
        yield _ladder(key, path, steps)
        return


def _rooms(problem: Problem, key: str) -> Iterator[Ladder]:
    """A floor ten centimetres larger at a time, a smaller margin; for lanes, what the family offers."""
    given = problem.brief.room
    if given is None:
        return
    if key == "room:walls" and given.margin:
        steps: list[tuple[str, object, int]] = [
            (f"keep {_cm(n)} clear of the edge instead of {_cm(given.margin)}", n, 2 if n else 3)
            for n in range((given.margin - 1) // 10 * 10, -1, -ROOM_STEP_MM // 2)
        ]
        if steps and steps[-1][1] != 0:
            steps.append((f"dance right up to the edge instead of {_cm(given.margin)} from it", 0, 3))
        yield _ladder(key, ("room", "margin"), steps)
    for side, word in (("width", "wide"), ("depth", "deep")):
        size = getattr(given, side)
        yield _ladder(key, ("room", side), [
            (f"find a floor {_metres(size + more)} {word} instead of {_metres(size)} ({_cm(more)} more)",
             size + more, 4 + more // 500)
            for more in range(ROOM_STEP_MM, ROOM_MOST_MM + 1, ROOM_STEP_MM)
            if size + more <= 200_000
        ])  # fmt: skip


def learning(problem: Problem, figures: list[str]) -> Rung:
    """Both partners learn these figures (whoever has not)."""
    changes: list[Change] = []
    cost = 0
    for name in figures:
        level = problem.catalogue.figures[name].chart.level
        short = 0
        for role in ("leader", "follower"):
            dancer = getattr(problem.brief.couple, role)
            text = f"the {role} learns {call(problem, name)}"
            if name in dancer.not_yet:
                path = ("couple", role, "not_yet")
                changes.append(Change(f"learned:{role}-not-yet-{name}", text, path, Swap(name), 3))
            if level > dancer.level and name not in dancer.knows:
                short = max(short, level - dancer.level)
                changes.append(Change(f"learned:{role}-level", text, ("couple", role, "knows"), Swap(new=name), 3))
        cost += 3 + max(0, short - 1)
    who = {change.path[1] for change in changes}
    words = [f"{call(problem, name)} (level {problem.catalogue.figures[name].chart.level})" for name in figures]
    subject = f"let the {who.pop()} learn" if len(who) == 1 else "learn"
    return Rung("learn a figure", f"{subject} {' and '.join(words)}", cost, tuple(changes))


def _shortest(problem: Problem) -> int:
    return min((figure.chart.beats for figure in problem.figures().values()), default=1)


def _metres(mm: int) -> str:
    return f"{mm / 1000:.2f}".rstrip("0").rstrip(".") + " m"


def _cm(mm: int) -> str:
    return f"{-(-mm // 10)} cm"
