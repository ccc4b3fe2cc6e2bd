"""What the fitted motion shows: facings, standing places, distance, speed, and whether the declared exit is true.

Codes FIG030-FIG039. Distances are between body centres in millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from composer.charts import FigureFile, HoldsFile, Pair
from composer.errors import Diagnostic, Where
from composer.kinematics.directions import MOST_MM_PER_S, OUTER_SPEED
from composer.kinematics.fit import BODIES_MM, KEPT_WEIGHT, Asked, Fitted, Gap, Mark, mismatch16
from composer.kinematics.motion import Motion
from composer.kinematics.tracks import turned
from composer.units import TICKS_PER_BEAT, count_at, count_text, ticks_from_beats

if TYPE_CHECKING:
    from composer.kinematics.simulate import Layout
    from composer.kinematics.tracks import Standing

Place = Callable[..., Where]

EXIT_TOLERANCE_MM: Final = 60
KEPT_TOLERANCE_MM: Final = 160
PASSED_TOLERANCE_MM: Final = 200
DISTANCE_TOLERANCE_MM: Final = 30
STRETCHED_ARMS_MM: Final = 1400
"""Two straight arms, shoulder to shoulder (sum of published arm lengths less half hands)."""
NO_HANDS_MM: Final = 3500
WORTH_SAYING_MM: Final = 50
HOLD_GIVE_MM: Final = 50
FRAME_GIVE_MM: Final = 100
MOST_MM_PER_BEAT: Final = 1250
TRAVEL_TOLERANCE_MM: Final = 200


def joined_after(chart: FigureFile, holds: HoldsFile, ticks: Sequence[int], marks: Sequence[Mark]) -> list[set[Pair]]:
    """Which pairs of hands are joined after every event (entry first), by holds and hand events."""
    known = {mark.index: mark.hold for mark in marks if mark.index != marks[-1].index}
    joined: set[Pair] = set()
    result = []
    done = 0
    for index in range(len(ticks) + 1):
        if index in known:
            joined = {j.pair for j in holds.holds[known[index]].hands}
        while index and done < len(chart.hands) and ticks_from_beats(chart.hands[done].at - 1) <= ticks[index - 1]:
            event = chart.hands[done]
            if event.do == "join":
                joined = joined | {event.pair}
            elif event.do == "drop":
                joined = joined - {event.pair}
            done += 1
        result.append(set(joined))
    return result


def gaps_allowed(
    chart: FigureFile,
    holds: HoldsFile,
    ticks: Sequence[int],
    marks: Sequence[Mark],
    leader: Sequence[Standing],
    follower: Sequence[Standing],
) -> list[Gap]:
    """How near and far the partners may be after every event (entry first).

    While a hold stays the same and both face as it says, its own least and most bind; while hands change or somebody
    turns, joined hands reach as far as arms; in a closed-type frame a little farther than the wider of its holds.
    """
    result = []
    joined = joined_after(chart, holds, ticks, marks)
    for index in range(len(ticks) + 1):
        before = max((m for m in marks if m.index <= index), key=lambda m: m.index)
        after = min((m for m in marks if m.index >= index), key=lambda m: m.index)
        one, two = holds.holds[before.hold], holds.holds[after.hold]
        stance = holds.stances[one.stance]
        facing = mismatch16(leader[index], follower[index], stance) == 0
        if one.frame and two.frame:
            most = max(stance.most, holds.stances[two.stance].most) + FRAME_GIVE_MM
            result.append(Gap(BODIES_MM, most, "the frame reaches"))
        elif before.hold == after.hold and facing and {j.pair for j in one.hands} <= joined[index] and one.hands:
            why = f"the hold '{before.hold}' lasts from {_cm(stance.least)} to"
            result.append(Gap(max(BODIES_MM, stance.least - HOLD_GIVE_MM), stance.most + HOLD_GIVE_MM, why))
        else:
            most = STRETCHED_ARMS_MM if joined[index] else NO_HANDS_MM
            result.append(Gap(BODIES_MM, most, "stretched arms reach" if joined[index] else "hands find again at most"))
    return result


def _said(layout: Layout, index: int) -> str:
    return f"count {count_text(count_at(layout.ticks[index - 1]))}" if index else "the start"


def _step_place(chart: FigureFile, layout: Layout, index: int, where: Place) -> Where:
    """The entry of the chart that belongs to event ``index`` (the follower's when only she steps)."""
    tick = layout.ticks[max(index, 1) - 1]
    for role in ("follower", "leader"):
        for number, step in enumerate(getattr(chart, role)):
            if step.tick == tick:
                return where(role, number)
    return where("leader")


def fit_faults(
    chart: FigureFile, holds: HoldsFile, layout: Layout, fitted: Fitted, where: Place
) -> Iterator[Diagnostic]:
    """Facings and standing places the holds ask for, and the distance of the partners at every count."""
    skip = set()
    for problem, index in _facing_faults(chart, holds, layout, where):
        skip.add(index)
        yield problem
    last = layout.marks[-1].index
    for asked, miss in fitted.misses_mm:
        hold = holds.holds[asked.hold or ""]
        stance = holds.stances[hold.stance]
        gap = math.hypot(*fitted.between[asked.index])
        allowed = EXIT_TOLERANCE_MM if asked.index == last else KEPT_TOLERANCE_MM if hold.frame else math.inf
        if allowed == KEPT_TOLERANCE_MM and any(m.index == asked.index for m in layout.marks):
            allowed = PASSED_TOLERANCE_MM
        within = stance.least - 100 <= gap <= stance.most + 100
        if asked.index not in skip and (miss > allowed or not within):
            yield Diagnostic(
                "FIG031",
                f"on {_said(layout, asked.index)} the partners cannot stand in '{asked.hold}': the steps leave the "
                f"follower {_off(layout, fitted, asked)} from where the hold has her (at most "
                f"{_cm(min(allowed, PASSED_TOLERANCE_MM))}), {_cm(gap)} between the bodies.",
                _step_place(chart, layout, asked.index, where),
                "Change a direction or a size in one of the charts, or name the hold passed through with 'via'.",
            )
    yield from _distance_faults(chart, layout, fitted, where)


def _off(layout: Layout, fitted: Fitted, asked: Asked) -> str:
    """How far the follower is off, in the leader's own directions: ``24 cm too far ahead and 10 cm too far left``."""
    line = fitted.between[asked.index]
    forward, right = float(line[0]) - asked.place[0], float(line[1]) - asked.place[1]
    ahead, beside = turned(forward, right, -layout.leader[asked.index].facing16)
    parts = []
    if abs(ahead) >= WORTH_SAYING_MM:
        parts.append(f"{_cm(abs(ahead))} {'too far ahead' if ahead > 0 else 'too near or behind'}")
    if abs(beside) >= WORTH_SAYING_MM:
        parts.append(f"{_cm(abs(beside))} too far to the leader's {'right' if beside > 0 else 'left'}")
    return " and ".join(parts) or _cm(math.hypot(ahead, beside))


def _facing_faults(
    chart: FigureFile, holds: HoldsFile, layout: Layout, where: Place
) -> Iterator[tuple[Diagnostic, int]]:
    last = layout.marks[-1].index
    exact = {m.index for m in layout.marks if m.index != 0}
    for index, name in sorted({(a.index, a.hold) for a in layout.asked if a.hold}):
        stance = holds.stances[holds.holds[name].stance]
        off = mismatch16(layout.leader[index], layout.follower[index], stance)
        allowed = 0 if index == last else 1 if index in exact else 2
        if abs(off) > allowed:
            have = (layout.follower[index].facing16 - layout.leader[index].facing16) / 2 % 8
            if index == last:
                place = where("exit", "hold")
            elif index in exact:
                at = next(m for m in layout.marks if m.index == index)
                number = next((i for i, v in enumerate(chart.via) if v.hold == at.hold), 0)
                place = where("via", number)
            else:
                place = _step_place(chart, layout, index, where)
            way = "less to the right" if off > 0 else "more to the right"
            yield (
                Diagnostic(
                    "FIG030",
                    f"after {_said(layout, index)} the follower's body faces {have:g} eighths clockwise from the "
                    f"leader's; the hold '{name}' needs {stance.facing / 2 % 8:g}.",
                    place,
                    f"The follower should turn {abs(off) / 2:g} eighths {way}"
                    " by then, or the leader the other way, or the hold is another.",
                ),
                index,
            )


def _distance_faults(chart: FigureFile, layout: Layout, fitted: Fitted, where: Place) -> Iterator[Diagnostic]:
    lines = fitted.between
    # In a kept hold the couple turns round its common centre, so half-way is no nearer than the ends.
    kept = {asked.index for asked in layout.asked if asked.weight == KEPT_WEIGHT}
    for index in range(1, len(lines)):
        allowed = layout.gaps[index]
        gap = math.hypot(*lines[index])
        half_way = gap if kept & {index - 1, index} else math.hypot(*((lines[index - 1] + lines[index]) / 2))
        said, place = _said(layout, index), _step_place(chart, layout, index, where)
        if min(gap, half_way) < BODIES_MM - DISTANCE_TOLERANCE_MM:
            moment = f"on {said}" if gap <= half_way else f"before {said}"
            yield Diagnostic(
                "FIG032",
                f"{moment} the bodies would be {_cm(min(gap, half_way))} apart; {_cm(BODIES_MM)} between their centres "
                "is the least.",
                place,
                "Let them pass to one side, or change a direction or a size.",
            )
        elif gap < allowed.least_mm - DISTANCE_TOLERANCE_MM:
            yield Diagnostic(
                "FIG032",
                f"on {said} the partners would be {_cm(gap)} apart; {allowed.why} {_cm(allowed.most_mm)}.",
                place,
                "Change a direction or a size, or name the hold they pass through with 'via'.",
            )
        if gap > allowed.most_mm + DISTANCE_TOLERANCE_MM:
            yield Diagnostic(
                "FIG033",
                f"on {said} the partners would be {_cm(gap)} apart; {allowed.why} {_cm(allowed.most_mm)}.",
                place,
                "Make the steps smaller, or drop the hands before.",
            )


def motion_faults(
    chart: FigureFile,
    holds: HoldsFile,
    motion: Motion,
    where: Place,
    tempo_most: float | None = None,
    *,
    scaled: bool = False,
) -> Iterator[Diagnostic]:
    """Speed, and the exit the file declares against the exit the steps lead to."""
    for role, key in (("leader", "leader_turn"), ("follower", "follower_turn")):
        derived, declared = getattr(motion, f"{role}_turn16"), getattr(chart.exit, key)
        if derived != declared:
            yield Diagnostic(
                "FIG036",
                f"the steps turn the {role} {derived / 2:+g} eighths in all, the exit says {declared / 2:+g}.",
                where("exit", key),
                f"Write {derived / 2:g}, or correct a step.",
            )
    if motion.leader_turn16 % 2:
        yield Diagnostic(
            "FIG018", f"the leader ends half-way between two alignments ({motion.leader_turn16 / 2:+g} eighths).",
            where("exit", "leader_turn"), "A figure ends on a whole eighth.",
        )  # fmt: skip
    travel = chart.exit.travel
    off = math.hypot(travel.forward - motion.travel_forward_mm, travel.right - motion.travel_right_mm)
    if off > TRAVEL_TOLERANCE_MM and not scaled:
        yield Diagnostic(
            "FIG037",
            f"the steps carry the leader {_cm(motion.travel_forward_mm)} forward and {_cm(motion.travel_right_mm)} to "
            f"the right, the exit says {_cm(travel.forward)} and {_cm(travel.right)}.",
            where("exit", "travel"),
            f"Write {{forward: {_cm(motion.travel_forward_mm)}, right: {_cm(motion.travel_right_mm)}}}, or correct a "
            "step.",
        )
    yield from _speed_faults(motion, where, tempo_most)


def _speed_faults(motion: Motion, where: Place, tempo_most: float | None) -> Iterator[Diagnostic]:
    limit: float = MOST_MM_PER_BEAT
    if tempo_most is not None:
        limit = min(limit, OUTER_SPEED * MOST_MM_PER_S * 60 / tempo_most)
    if motion.fastest_mm_per_beat > limit + DISTANCE_TOLERANCE_MM:
        yield Diagnostic(
            "FIG035",
            f"a partner travels {_cm(motion.fastest_mm_per_beat)} in a beat; at the tempo of this dance people reach "
            f"{_cm(limit)}.",
            where("leader"),
            "Make the long steps smaller or give them more time.",
        )
    couple = couple_mm_per_beat(motion)
    if tempo_most is not None and couple > MOST_MM_PER_S * 60 / tempo_most + DISTANCE_TOLERANCE_MM:
        yield Diagnostic(
            "FIG035",
            f"the couple travels {_cm(couple)} a beat all through the figure; at the tempo of this dance finalists "
            f"reach {_cm(MOST_MM_PER_S * 60 / tempo_most)}.",
            where("leader"),
            "Make the steps smaller.",
        )


def couple_mm_per_beat(motion: Motion) -> float:
    """Mean speed of the point mid-way between the partners, along their path."""
    middles = [
        ((m.leader.forward_mm + m.follower.forward_mm) / 2, (m.leader.right_mm + m.follower.right_mm) / 2)
        for m in motion.moments
    ]
    return sum(math.dist(a, b) for a, b in pairwise(middles)) / (motion.length_ticks / TICKS_PER_BEAT)


def _cm(millimetres: float) -> str:
    return f"{round(millimetres / 10)} cm"
