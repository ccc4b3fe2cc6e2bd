"""What can be told from a chart alone: feet, counts, turns, holds and hands named in it.

Every check yields diagnostics and never stops at the first. Codes FIG010-FIG029.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction
from typing import Final

from composer.charts import FigureFile, Foot, HoldsFile, Step
from composer.errors import Diagnostic, Where, did_you_mean
from composer.kinematics.tracks import other
from composer.units import TICKS_PER_BEAT, count_text, ticks_from_beats

Place = Callable[..., Where]

MOST_FOOT_AHEAD16: Final = 2
"""On the inside of a turn the foot points up to an eighth ahead of the body (published waltz charts)."""
MOST_TURN16_PER_BEAT: Final = 16
MOST_TURN16_PER_STEP: Final = 24
MOST_DEGREES_PER_SECOND: Final = 640
"""A full turn on the two quicks of a two step at 190 beats a minute is 570 degrees a second (derived)."""
LATEST_FIRST_COUNT: Final = 3
MOST_STILL_BEATS: Final = 3
MOST_HELD_BEATS: Final = 8
NEEDS_FREE_FOOT: Final = frozenset({"tap", "point", "brush", "kick", "flick", "sweep"})
FOOT_NAME: Final[dict[Foot, str]] = {"L": "left", "R": "right"}


def chart_faults(
    chart: FigureFile, holds: HoldsFile, where: Place, tempo_most: float | None = None, beats_per_bar: int = 4
) -> Iterator[Diagnostic]:
    """All faults of form and feet; ``tempo_most`` (beats a minute) sharpens the turning limit."""
    yield from _hold_faults(chart, holds, where)
    for role in ("leader", "follower"):
        steps: Sequence[Step] = getattr(chart, role)
        counts = list(_count_faults(role, steps, chart, where))
        yield from counts
        if not counts:
            yield from _gap_faults(role, steps, chart, where, max(MOST_STILL_BEATS, beats_per_bar - 1))
            yield from _turn_faults(role, steps, where, chart, tempo_most)
        yield from _foot_faults(role, steps, chart, where)
    yield from _moment_faults(chart, where)


def _hold_faults(chart: FigureFile, holds: HoldsFile, where: Place) -> Iterator[Diagnostic]:
    named: list[tuple[str, tuple[str | int, ...]]] = [
        (chart.entry.hold, ("entry", "hold")),
        (chart.exit.hold, ("exit", "hold")),
    ]
    named += [(via.hold, ("via", i, "hold")) for i, via in enumerate(chart.via)]
    for name, path in named:
        if name not in holds.holds:
            yield Diagnostic(
                "FIG020", f"'{name}' is not a known hold.", where(*path), did_you_mean(name, list(holds.holds))
            )
            continue
        missing = [c for c in holds.holds[name].cautions if c not in chart.cautions]
        if missing:
            yield Diagnostic(
                "FIG022",
                f"the hold '{name}' carries the caution {' and '.join(missing)}, which the figure does not.",
                where(*path),
                f"Add {', '.join(missing)} to its cautions.",
            )


def _count_faults(role: str, steps: Sequence[Step], chart: FigureFile, where: Place) -> Iterator[Diagnostic]:
    previous = None
    for index, step in enumerate(steps):
        place = where(role, index, "at")
        said = count_text(step.at)
        if (step.at * TICKS_PER_BEAT).denominator != 1:
            yield Diagnostic("FIG010", f"count {said} is no whole number of twelfths of a beat.", place)
        elif step.at >= chart.beats + 1:
            yield Diagnostic(
                "FIG011", f"count {said} lies after the figure, which has {chart.beats} beats.", place,
                f"Use counts from 1 up to {chart.beats}&, or lengthen the figure.",
            )  # fmt: skip
        elif previous is not None and step.at <= previous:
            yield Diagnostic(
                "FIG010", f"count {said} does not come after count {count_text(previous)}.", place,
                "Write the steps in order, one per count.",
            )  # fmt: skip
        previous = step.at


def _gap_faults(
    role: str, steps: Sequence[Step], chart: FigureFile, where: Place, most_still: int
) -> Iterator[Diagnostic]:
    first = steps[0]
    if first.at > LATEST_FIRST_COUNT:
        yield Diagnostic(
            "FIG015", f"the {role} does nothing until count {count_text(first.at)}.", where(role, 0, "at"),
            "Begin by count 3, or write a hold on count 1.",
        )  # fmt: skip
    for index, step in enumerate(steps):
        end = steps[index + 1].at if index + 1 < len(steps) else Fraction(chart.beats + 1)
        still = end - step.at
        allowed = MOST_HELD_BEATS if step.do in {"hold", "pose"} else most_still
        if still > allowed:
            until = f"count {count_text(end)}" if index + 1 < len(steps) else "the end"
            yield Diagnostic(
                "FIG015",
                f"the {role} does nothing for {count_text(still)} beats, from count {count_text(step.at)} to {until}; "
                "the chart does not fill its length.",
                where(role, index, "at"),
                "Write the missing steps or a hold, or shorten the figure.",
            )


def _turn_faults(
    role: str, steps: Sequence[Step], where: Place, chart: FigureFile, tempo_most: float | None
) -> Iterator[Diagnostic]:
    ahead = 0
    for index, step in enumerate(steps):
        ahead += step.turn - step.body16
        place = where(role, index, "turn")
        if abs(ahead) > MOST_FOOT_AHEAD16:
            yield Diagnostic(
                "FIG016",
                f"on count {count_text(step.at)} the {role}'s foot points {_eighths(ahead)} away from the body; "
                "an eighth is the most a standing leg allows.",
                place,
                "Give the body its own turn with 'body', and complete it on the next step.",
            )
        before = steps[index - 1].tick if index else step.tick - TICKS_PER_BEAT
        after = steps[index + 1].tick if index + 1 < len(steps) else chart.length_ticks
        ticks = max(step.tick - before, after - step.tick)
        most = min(MOST_TURN16_PER_STEP, MOST_TURN16_PER_BEAT * ticks / TICKS_PER_BEAT)
        if tempo_most:
            seconds = ticks / TICKS_PER_BEAT * 60 / tempo_most
            most = min(most, MOST_DEGREES_PER_SECOND * seconds / 22.5)
        turn = max(abs(step.turn), abs(step.body16))
        if turn > most:
            yield Diagnostic(
                "FIG017",
                f"the {role} turns {_eighths(turn)} on count {count_text(step.at)}; in the time of this step people "
                f"turn {_eighths(int(most))} at most.",
                place,
                "Spread the turn over more steps or more time.",
            )
    if ahead and abs(ahead) <= MOST_FOOT_AHEAD16:
        yield Diagnostic(
            "FIG016", f"at the end the {role}'s feet point {_eighths(ahead)} away from the body.",
            where(role, len(steps) - 1, "body"), "Let 'turn' and 'body' add up to the same.",
        )  # fmt: skip


def _eighths(sixteenths: int) -> str:
    whole, half = divmod(abs(sixteenths), 2)
    number = f"{whole}.5" if half else str(whole)
    return f"{number} eighth{'' if number == '1' else 's'}"


def _foot_faults(role: str, steps: Sequence[Step], chart: FigureFile, where: Place) -> Iterator[Diagnostic]:
    free: Foot = getattr(chart.entry, f"{role}_free")
    moved = False
    for index, step in enumerate(steps):
        weight = other(free)
        place, said = where(role, index, "foot"), count_text(step.at)
        if step.foot == weight and (step.takes_weight or step.do in NEEDS_FREE_FOOT):
            if not moved:
                yield Diagnostic(
                    "FIG013",
                    f"the {role}'s first step is on the {FOOT_NAME[step.foot]} foot, but the entry says the "
                    f"{FOOT_NAME[free]} foot is free.",
                    place,
                    "Change the step or the entry.",
                )
            else:
                verb = "steps" if step.takes_weight else step.do + "s"
                yield Diagnostic(
                    "FIG012",
                    f"on count {said} the {role} {verb} with the {FOOT_NAME[weight]} foot, which carries the weight.",
                    place,
                    f"Use the {FOOT_NAME[free]} foot, or change weight before.",
                )
        if step.takes_weight:
            free, moved = other(step.foot), True
    declared: Foot = getattr(chart.exit, f"{role}_free")
    if free != declared:
        yield Diagnostic(
            "FIG014",
            f"the chart leaves the {role}'s {FOOT_NAME[free]} foot free, the exit says {FOOT_NAME[declared]}.",
            where("exit", f"{role}_free"),
            f"Write {free}, or add or take away a weight change.",
        )


def _moment_faults(chart: FigureFile, where: Place) -> Iterator[Diagnostic]:
    if chart.peak is not None and chart.peak >= chart.beats + 1:
        yield Diagnostic(
            "FIG023", f"the peak on count {count_text(chart.peak)} lies outside the figure ({chart.beats} beats).",
            where("peak"), f"Name a count from 1 to {chart.beats}.",
        )  # fmt: skip
    for name in ("via", "hands", "lead", "follow"):
        previous = None
        for index, item in enumerate(getattr(chart, name)):
            if item.at >= chart.beats + 1:
                yield Diagnostic(
                    "FIG011", f"count {count_text(item.at)} lies after the figure ({chart.beats} beats).",
                    where(name, index, "at"),
                )  # fmt: skip
            if previous is not None and (item.at < previous or (name == "via" and item.at == previous)):
                yield Diagnostic(
                    "FIG010", f"count {count_text(item.at)} does not come after count {count_text(previous)}.",
                    where(name, index, "at"), "Write them in order.",
                )  # fmt: skip
            previous = item.at


def ticks_of(chart: FigureFile) -> list[int]:
    """Ticks at which either partner has an entry in the chart, ascending."""
    return sorted({ticks_from_beats(step.at - 1) for step in (*chart.leader, *chart.follower)})
