"""Follows the arms through a figure step by step, and says what they cannot do or what the file leaves unsaid.

Order within one count: hands are dropped and lifted before the turn made up to that count, lowered and joined after
it. Codes: FIG033 an arm round a body that does not reach, FIG040 hands at a named hold, FIG041 something that cannot
be done with these hands, FIG042 arms that cannot follow, FIG043 arms that lie otherwise than the hold says, FIG044 a
caution the arms call for.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Final

from composer.charts import Caution, FigureFile, HandEvent, HoldsFile
from composer.errors import Diagnostic, Where
from composer.kinematics import arms as lie
from composer.kinematics.armholds import arms_at, arms_of, seen
from composer.kinematics.arms import ROLES, Arms, Role, Tangle, Unable
from composer.kinematics.motion import HandPair
from composer.units import TICKS_PER_BEAT, count_at, count_text, ticks_from_beats

if TYPE_CHECKING:
    from composer.kinematics.simulate import Layout

WOUND_REACH_MM: Final = 950
"""Stretched arms less half-way round a body (about 45 cm, from memory)."""
LED_CAUTIONS: Final[tuple[tuple[str, Caution, str], ...]] = (
    ("behind", "behind-the-back", "behind the back"),
    ("front", "wrap", "wrapped across the front"),
)
HAND_OVER_TICKS: Final = 2 * TICKS_PER_BEAT


class ArmChecker:
    """The arms on their way through one figure; faults gather in ``faults``, the hands seen in ``hands``."""

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
        self.hands.append(tuple(seen(self.arms, w) for w in self.arms.pairs))

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
        wound = [h for h in (seen(self.arms, w) for w in self.arms.pairs) if {"front", "behind"} & set(arms_of(h))]
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

    def cautions(self) -> None:
        """An arm that is led behind the back, or wrapped, has to be said among the cautions: some people avoid it."""
        told: set[str] = set()
        for index, hands in enumerate(self.hands[1:], start=1):
            for hand in hands:
                for lies, caution, words in LED_CAUTIONS:
                    if lies not in arms_of(hand) or caution in self.chart.cautions or caution in told:
                        continue
                    told.add(caution)
                    said, place = self._said(self.layout.ticks[index - 1], {"leader": 0, "follower": 1})
                    self.faults.append(
                        Diagnostic(
                            "FIG044",
                            f"on count {said} an arm of {hand.pair} lies {words}, which the figure does not warn of.",
                            place,
                            f"Add {caution} to its cautions, or lift the hands before the turn.",
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
