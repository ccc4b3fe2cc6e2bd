"""Leads the arms through a figure and compares where they end with the hold the file declares.

Order within one count: hands are dropped and lifted before the turn made up to that count, lowered and joined after
it. Codes: FIG040 hands at a named hold, FIG041 something that cannot be done with these hands, FIG042 arms that
cannot follow, FIG033 an arm round a body that does not reach, FIG043 arms that lie otherwise than the hold says.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from composer.charts import FigureFile, HandEvent, HoldsFile, StanceFile
from composer.errors import Diagnostic, Where
from composer.kinematics import arms as lie
from composer.kinematics.arms import ROLES, Arms, Role, Tangle, Unable
from composer.kinematics.moments import swing_degrees
from composer.kinematics.motion import HandPair
from composer.units import TICKS_PER_BEAT, count_at, count_text, ticks_from_beats

if TYPE_CHECKING:
    from composer.kinematics.fit import Fitted
    from composer.kinematics.simulate import Layout

PASSES_UNDER16: Final = 8
"""Who turns half a turn or more while hands are raised passes under them."""
WOUND_REACH_MM: Final = 950
"""Stretched arms less half-way round a body (about 45 cm, from memory)."""
HAND_OVER_TICKS: Final = 2 * TICKS_PER_BEAT
ARM_SHARE: Final = 0.386
SHOULDER_SHARE: Final = 0.818
"""Shoulder height, and shoulder to grip, in statures (body segment tables, from memory)."""
REACHES_ACROSS_MM: Final = 350
"""How far from the turning partner the other one stands when the hands are above the head."""


def head_clearance_mm(turning_stature_mm: int, other_stature_mm: int) -> int:
    """Room between the raised hands of one partner and the head of the other who turns under them."""
    arm = ARM_SHARE * other_stature_mm
    height = SHOULDER_SHARE * other_stature_mm + math.sqrt(max(arm**2 - REACHES_ACROSS_MM**2, 0.0))
    return round(height - turning_stature_mm)


def stance_bearings(stance: StanceFile) -> tuple[float, float]:
    """Where leader and follower see each other, degrees clockwise from straight ahead, above -180 up to 180."""
    leader = math.degrees(math.atan2(stance.right, stance.forward))
    follower = math.remainder(leader + 180 - 22.5 * stance.facing, 360)
    return leader, 180.0 if follower <= -179.999 else follower


def arms_at(holds: HoldsFile, hold: str) -> Arms:
    """The arms in a named hold, standing as its stance says."""
    return lie.arms_in(holds, hold, *stance_bearings(holds.stances[holds.holds[hold].stance]))


@dataclass
class ArmWalk:
    """What leading the arms through a figure has shown; ``hands`` has one entry per event, the entry first."""

    hands: list[tuple[HandPair, ...]] = field(default_factory=list)
    faults: list[Diagnostic] = field(default_factory=list)
    under: tuple[Role, ...] = ()
    end: Arms | None = None


def walk_arms(
    chart: FigureFile,
    holds: HoldsFile,
    layout: Layout,
    fitted: Fitted,
    where: Callable[..., Where],
    begin: Arms | None = None,
) -> ArmWalk:
    """Lead the arms through the fitted figure, from those of the entry hold unless ``begin`` says otherwise."""
    walker = _Walker(chart, holds, layout, where, begin or arms_at(holds, chart.entry.hold))
    walker.note()
    circles = _circles(layout, fitted, holds)
    marks = {mark.index: mark.hold for mark in layout.marks if mark.index}
    for index, tick in enumerate(layout.ticks, start=1):
        walker.events_before(tick)
        walker.step(index, circles[index - 1])
        walker.events_at(tick)
        walker.reach(index, math.hypot(*fitted.between[index]))
        if index == len(layout.ticks):
            walker.events_before(chart.length_ticks)
        if index in marks and not walker.lost:
            walker.compare(index, marks[index], last=index == len(layout.ticks))
        walker.note()
    under = tuple(role for role in ROLES if walker.turned_under[role] >= PASSES_UNDER16)
    return ArmWalk(walker.hands, walker.faults, under, walker.arms)


def _circles(layout: Layout, fitted: Fitted, holds: HoldsFile) -> list[float]:
    """Degrees the line between the partners turns up to every event.

    In a closed-type frame neither partner ever has the other behind; there the line follows the leader's body.
    """
    framed = _framed(layout, holds)
    result = []
    seen = _seen_by_leader(layout, fitted, 0)
    for index in range(1, len(layout.leader)):
        if framed[index]:
            before, seen = seen, _seen_by_leader(layout, fitted, index)
            turn = layout.leader[index].facing16 - layout.leader[index - 1].facing16
            result.append(seen - before + 22.5 * turn)
            continue
        one, two = (tuple(map(float, fitted.between[i])) for i in (index - 1, index))
        turns = [track[index].facing16 - track[index - 1].facing16 for track in (layout.leader, layout.follower)]
        result.append(swing_degrees((one[0], one[1]), (two[0], two[1]), turns[0], turns[1]))
        seen = seen + result[-1] - 22.5 * turns[0]
    return result


def _framed(layout: Layout, holds: HoldsFile) -> list[bool]:
    """Per event (entry first): it lies between two marks that are both closed-type frames, or at the second."""
    result = [False] * len(layout.leader)
    for mark, following in pairwise(layout.marks):
        both = holds.holds[mark.hold].frame and holds.holds[following.hold].frame
        result[mark.index + 1 : following.index + 1] = [both] * (following.index - mark.index)
    return result


def _seen_by_leader(layout: Layout, fitted: Fitted, index: int) -> float:
    forward, right = (float(part) for part in fitted.between[index])
    return math.remainder(math.degrees(math.atan2(right, forward)) - 22.5 * layout.leader[index].facing16, 360)


class _Walker:
    def __init__(
        self, chart: FigureFile, holds: HoldsFile, layout: Layout, where: Callable[..., Where], arms: Arms
    ) -> None:
        self.chart, self.holds, self.layout, self.where, self.arms = chart, holds, layout, where, arms
        self.hands: list[tuple[HandPair, ...]] = []
        self.faults: list[Diagnostic] = []
        self.lost = False
        self.done: set[int] = set()
        self.turned_under: dict[Role, int] = dict.fromkeys(ROLES, 0)
        self.low_turns: list[tuple[Role, int, str]] = []

    def note(self) -> None:
        self.hands.append(tuple(_seen(self.arms, w) for w in self.arms.pairs))

    def events_before(self, tick: int) -> None:
        for number, event in enumerate(self.chart.hands):
            if number not in self.done and ticks_from_beats(event.at - 1) < tick:
                self.apply(number, event)

    def events_at(self, tick: int) -> None:
        """What comes after the turn: lower, join, then lifts of hands just joined."""
        for kind in ("lower", "join", "lift"):
            for number, event in enumerate(self.chart.hands):
                if number not in self.done and event.do == kind and ticks_from_beats(event.at - 1) == tick:
                    self.apply(number, event)

    def events_first(self, tick: int) -> None:
        """What comes before the turn: dropping, and lifting hands that are joined."""
        now = [(n, e) for n, e in enumerate(self.chart.hands) if ticks_from_beats(e.at - 1) == tick]
        dropped = {e.pair for _, e in now if e.do == "drop"}
        for number, event in now:
            if number in self.done:
                continue
            held = self.arms.winding(event.pair) is not None
            if event.do == "drop" or (event.do == "lift" and held):
                self.apply(number, event)
            elif event.do == "lower" and held and event.pair in dropped:
                self.done.add(number)

    def apply(self, number: int, event: HandEvent) -> None:
        self.done.add(number)
        if self.lost:
            return
        if event.do == "join":
            self.hand_over(event)
        act = {"join": lie.joined, "drop": lie.dropped, "lift": lie.lifted, "lower": lie.lowered}[event.do]
        try:
            self.arms = act(self.arms, event.pair)
        except Unable as problem:
            self.faults.append(
                Diagnostic(
                    "FIG041",
                    f"on count {count_text(event.at)} '{event.do} {event.pair}' cannot be: {problem}.",
                    self.where("hands", number),
                    "Correct the hands before it, or leave it out.",
                )
            )
        except Tangle as problem:
            self.tangle(problem, count_text(event.at), self.where("hands", number))

    def hand_over(self, event: HandEvent) -> None:
        """A hand given from one hand to the other is for a moment in both; the old pair goes as the new one joins."""
        tick = ticks_from_beats(event.at - 1)
        for number, later in enumerate(self.chart.hands):
            soon = 0 <= ticks_from_beats(later.at - 1) - tick <= HAND_OVER_TICKS
            shares = any(lie.hand_of(later.pair, role) == lie.hand_of(event.pair, role) for role in ROLES)
            held = number not in self.done and self.arms.winding(later.pair) is not None
            if later.do == "drop" and later.pair != event.pair and soon and shares and held:
                self.done.add(number)
                self.arms = lie.dropped(self.arms, later.pair)

    def step(self, index: int, circle: float) -> None:
        tick = self.layout.ticks[index - 1]
        self.events_first(tick)
        if self.lost:
            return
        turns: dict[Role, int] = {}
        for role in ROLES:
            track = self.layout.leader if role == "leader" else self.layout.follower
            turns[role] = track[index].facing16 - track[index - 1].facing16
            if any(w.high for w in self.arms.pairs):
                self.turned_under[role] += abs(turns[role])
        said, place = self._said(tick, turns)
        for role in ROLES:
            if turns[role]:
                self.low_turns.append((role, turns[role], said))
        try:
            self.arms = lie.moved(self.arms, turns["leader"], turns["follower"], circle)
        except Tangle as problem:
            self.tangle(problem, said, place)

    def reach(self, index: int, gap_mm: float) -> None:
        """An arm that lies round a body is the shorter for it."""
        wound = [h for h in (_seen(self.arms, w) for w in self.arms.pairs) if {"front", "behind"} & set(_arms_of(h))]
        if not wound or self.lost or gap_mm <= WOUND_REACH_MM:
            return
        said, place = self._said(self.layout.ticks[index - 1], {"leader": 0, "follower": 1})
        self.faults.append(
            Diagnostic(
                "FIG033",
                f"on count {said} the partners would be {round(gap_mm / 10)} cm apart while an arm of "
                f"{wound[0].pair} lies round a body; that leaves {WOUND_REACH_MM // 10} cm.",
                place,
                "Turn nearer to each other, or lift the hands.",
            )
        )

    def _said(self, tick: int, turns: dict[Role, int]) -> tuple[str, Where]:
        first: Role = "leader" if abs(turns["leader"]) > abs(turns["follower"]) else "follower"
        for role in (first, *(r for r in ROLES if r != first)):
            steps = self.chart.leader if role == "leader" else self.chart.follower
            for number, step in enumerate(steps):
                if step.tick == tick:
                    return count_text(step.at), self.where(role, number, "turn")
        return count_text(count_at(tick)), self.where("leader")

    def tangle(self, problem: Tangle, said: str, place: Where) -> None:
        self.lost = True
        remedy = "Turn less, or turn back."
        if problem.pair is not None:
            remedy = f"Lift {problem.pair} before the turn, drop it, or turn the other way."
        self.faults.append(Diagnostic("FIG042", f"on count {said} {problem}.", place, remedy))

    def compare(self, index: int, hold: str, *, last: bool) -> None:
        wanted = arms_at(self.holds, hold)
        found = lie.fits_hold(self.arms, wanted)
        if not found:
            return
        place = self.where("exit", "hold") if last else self._via_place(hold)
        hands_only = all(text.startswith("the hands") for text in found)
        moment = "at the end" if last else f"passing through '{hold}'"
        if hands_only:
            self.faults.append(
                Diagnostic(
                    "FIG040", f"{moment} {', '.join(found)}; the hold '{hold}' says otherwise.", place,
                    f"Say it under 'hands' ({self._acts(wanted)}), or name another hold{self._others()}.",
                )
            )  # fmt: skip
        else:
            self.faults.append(
                Diagnostic(
                    "FIG043", f"{moment} {', '.join(found)}; the hold '{hold}' has them otherwise. {self._cause()}",
                    place, f"Lift the hands before the turn, turn back, or name another hold{self._others()}.",
                )
            )  # fmt: skip

    def _via_place(self, hold: str) -> Where:
        return self.where("via", next((i for i, v in enumerate(self.chart.via) if v.hold == hold), 0), "hold")

    def _acts(self, wanted: Arms) -> str:
        have, want = {w.pair: w.high for w in self.arms.pairs}, {w.pair: w.high for w in wanted.pairs}
        acts = [f"drop {p}" for p in have if p not in want] + [f"join {p}" for p in want if p not in have]
        acts += [f"{'lift' if want[p] else 'lower'} {p}" for p in want if p in have and want[p] != have[p]]
        return ", ".join(acts)

    def _cause(self) -> str:
        parts = []
        for role in ROLES:
            turns = [(n, said) for r, n, said in self.low_turns if r == role]
            total = sum(n for n, _ in turns)
            if total:
                way = "right" if total > 0 else "left"
                counts = turns[0][1] if len(turns) == 1 else f"{turns[0][1]} to {turns[-1][1]}"
                parts.append(f"the {role} turns {abs(total) / 2:g} eighths to the {way} on counts {counts}")
        return (", ".join(parts) + ".").capitalize() if parts else ""

    def _others(self) -> str:
        fitting = sorted(name for name in self.holds.holds if self._would_fit(name))
        return f" (these would fit: {', '.join(fitting)})" if fitting else ""

    def _would_fit(self, name: str) -> bool:
        stance = self.holds.holds[self.chart.exit.hold].stance
        return self.holds.holds[name].stance == stance and not lie.fits_hold(self.arms, arms_at(self.holds, name))


def _seen(arms: Arms, winding: lie.Winding) -> HandPair:
    return HandPair(winding.pair, winding.high, _way(arms, winding, "leader"), _way(arms, winding, "follower"))


def _arms_of(hand: HandPair) -> tuple[str, str]:
    return hand.leader_arm, hand.follower_arm


def _way(arms: Arms, winding: lie.Winding, role: Role) -> str:
    if winding.high:
        return "raised"
    hand = lie.hand_of(winding.pair, role)
    reached = min((lie.round_own_side(arms.bearing(role), k, hand) for k in winding.of(role)), key=abs)
    return "front" if reached <= lie.WRAPPED[1] else "behind" if reached >= lie.BEHIND[0] else "open"


def hands_text(hands: Sequence[HandPair]) -> str:
    """``LR raised, RL behind`` for a person."""
    return ", ".join(f"{h.pair} {h.follower_arm}" for h in hands) or "none"
