"""Which hands are joined and how the arms lie: a small state machine over lifting, dropping, joining and turning.

What is kept, and why it is enough
----------------------------------
*Bearings*: where each partner sees the other, in degrees clockwise from straight ahead (-180 to 180). A low joined arm
is led round the body by it: seen from the own side (right hand: clockwise), about half a turn brings the hand behind
the back, about half a turn the other way wraps it across the front. Beyond the limits below no shoulder follows.

*Windings*: a **raised** pair passes over the head, so its arm may come down any number of whole turns away. While a
pair is low its whole turns are fixed; after it has come down those that a body allows are all open, and what
follows (a turn, the named hold at the end) decides. So a winding is a set of whole turns still possible.

*Twist* of two joined pairs about each other, in sixteenths of a turn: it changes by the turn of the follower less that
of the leader, raised or not. 0 is parallel; half a turn (8) crosses the arms once; a right turn of the follower leads
to the leader's left on top. Crossed hands right over left are -8, left over right +8, so a full turn to the right under
crossed hands right over left leaves them left over right, and turning back undoes it. Beyond one whole turn
(16, with a little give) the arms lock.

All this is common practice of partner dancing, no source; the numbers are ours.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final, Literal

from composer.charts import Foot, HoldFile, HoldsFile, Pair

Role = Literal["leader", "follower"]
ROLES: Final[tuple[Role, Role]] = ("leader", "follower")

FRONT_LIMIT: Final = -300
BEHIND_LIMIT: Final = 380
"""A low arm, degrees round to the hand's own side: farthest across the front (both arms round one body) and
farthest behind the back (a whole turn and hip to hip)."""
OPEN: Final = (-185, 265)
"""An arm that lies open; the upper end is a partner's arm behind the back reaching the hand at its own hip."""
LOWERED: Final = (-300, 265)
"""Where a raised arm may come down: it never comes down behind the back, an arm goes there by the side first
(safety advice of teachers)."""
WRAPPED: Final = (-300, -150)
BEHIND: Final = (150, 380)
TWIST_LIMIT16: Final = 18
WHOLE_TURNS: Final = (-2, -1, 0, 1, 2)
SIDE_NAME: Final = {"L": "left", "R": "right"}


@dataclass(frozen=True)
class Winding:
    """One pair of joined hands: raised or low, and the whole turns each arm may have round its own body."""

    pair: Pair
    high: bool
    leader: frozenset[int]
    follower: frozenset[int]

    def of(self, role: Role) -> frozenset[int]:
        """The whole turns of one partner's arm."""
        return self.leader if role == "leader" else self.follower


@dataclass(frozen=True)
class Arms:
    """The state. ``leader``/``follower`` are the bearings in degrees; ``twist16`` the possible twists of two pairs."""

    leader: float
    follower: float
    pairs: tuple[Winding, ...] = ()
    twist16: frozenset[int] = frozenset()

    def bearing(self, role: Role) -> float:
        """Where a partner sees the other, degrees clockwise from straight ahead."""
        return self.leader if role == "leader" else self.follower

    def winding(self, pair: Pair) -> Winding | None:
        """One joined pair, or None when its hands are apart."""
        return next((w for w in self.pairs if w.pair == pair), None)

    @property
    def relative16(self) -> float:
        """Facing of the follower less that of the leader in sixteenths (up to whole turns)."""
        return (180 + self.leader - self.follower) / 22.5


class Tangle(Exception):
    """The arms cannot follow; ``pair`` and ``role`` say whose (None: the two pairs about each other)."""

    def __init__(self, message: str, pair: Pair | None = None, role: Role | None = None) -> None:
        super().__init__(message)
        self.pair, self.role = pair, role


class Unable(Exception):
    """Something is done with hands that are not joined so, or not free."""


def hand_of(pair: Pair, role: Role) -> Foot:
    """``L`` or ``R``: the hand a partner gives to a pair."""
    return "L" if pair[0 if role == "leader" else 1] == "L" else "R"


def round_own_side(bearing: float, turns: int, hand: Foot) -> float:
    """Degrees of a low arm round to the hand's own side (behind the back); negative is across the front."""
    return (bearing + 360 * turns) * (1 if hand == "R" else -1)


def _fits(arms: Arms, role: Role, pair: Pair, limits: tuple[float, float]) -> frozenset[int]:
    hand, bearing = hand_of(pair, role), arms.bearing(role)
    return frozenset(k for k in WHOLE_TURNS if limits[0] <= round_own_side(bearing, k, hand) <= limits[1])


def _twists(arms: Arms, limit16: float) -> frozenset[int]:
    """Twists that the facings leave possible: parallel when same-named hands face alike, or others face to face."""
    if len(arms.pairs) != 2:
        return frozenset()
    unlike = all(w.pair in {"LR", "RL"} for w in arms.pairs)
    base = round(arms.relative16 - (8 if unlike else 0)) % 16
    return frozenset(t for t in (base - 32, base - 16, base, base + 16) if abs(t) <= limit16)


def _pruned(arms: Arms) -> Arms:
    """Only what bodies allow; raised pairs keep all turns open.

    Raises
    ------
    Tangle
        If a low arm or the twist of two pairs has gone too far.
    """
    pairs = []
    for winding in arms.pairs:
        if winding.high:
            pairs.append(winding)
            continue
        for role in ROLES:
            allowed = _fits(arms, role, winding.pair, (FRONT_LIMIT, BEHIND_LIMIT))
            kept = winding.of(role) & allowed
            if not kept:
                raise Tangle(_too_far(arms, winding, role), winding.pair, role)
            winding = replace(winding, leader=kept) if role == "leader" else replace(winding, follower=kept)
        pairs.append(winding)
    twist = frozenset(t for t in arms.twist16 if abs(t) <= TWIST_LIMIT16)
    if arms.twist16 and not twist:
        raise Tangle("the two pairs of joined hands are twisted about each other by more than a whole turn")
    return _counted_from_zero(replace(arms, pairs=tuple(pairs), twist16=twist))


def _counted_from_zero(arms: Arms) -> Arms:
    """The same arms with both bearings between -180 and 180 and the whole turns in the windings of the low pairs."""
    shifts = {role: math.floor((180 - arms.bearing(role)) / 360) for role in ROLES}
    if not any(shifts.values()):
        return arms
    pairs = tuple(
        w
        if w.high
        else replace(
            w,
            leader=frozenset(k - shifts["leader"] for k in w.leader),
            follower=frozenset(k - shifts["follower"] for k in w.follower),
        )
        for w in arms.pairs
    )
    leader, follower = arms.leader + 360 * shifts["leader"], arms.follower + 360 * shifts["follower"]
    return replace(arms, leader=leader, follower=follower, pairs=pairs)


def _too_far(arms: Arms, winding: Winding, role: Role) -> str:
    hand = hand_of(winding.pair, role)
    reached = min((round_own_side(arms.bearing(role), k, hand) for k in winding.of(role)), key=abs)
    way = "behind the back" if reached > 0 else "across the front"
    return (
        f"the {role}'s {SIDE_NAME[hand]} arm (pair {winding.pair}, low) would be led {abs(round(reached))} degrees "
        f"round {way}; a shoulder follows {BEHIND_LIMIT if reached > 0 else -FRONT_LIMIT} at most"
    )


def moved(arms: Arms, leader16: int, follower16: int, circle: float = 0.0) -> Arms:
    """Both partners turn (sixteenths) while the line between them turns (degrees), all clockwise positive.

    Raises
    ------
    Tangle
        If the arms cannot follow.
    """
    return _pruned(
        replace(
            arms,
            leader=arms.leader + circle - 22.5 * leader16,
            follower=arms.follower + circle - 22.5 * follower16,
            twist16=frozenset(t + follower16 - leader16 for t in arms.twist16),
        )
    )


def lifted(arms: Arms, pair: Pair) -> Arms:
    """A pair is raised. Raises :class:`Unable`."""
    winding = arms.winding(pair)
    if winding is None:
        raise Unable(f"the hands {pair} are not joined")
    if winding.high:
        raise Unable(f"the hands {pair} are raised already")
    free = frozenset(WHOLE_TURNS)
    return _with(arms, replace(winding, high=True, leader=free, follower=free))


def lowered(arms: Arms, pair: Pair) -> Arms:
    """A raised pair comes down wherever bodies allow. Raises :class:`Unable`, :class:`Tangle`."""
    winding = arms.winding(pair)
    if winding is None:
        raise Unable(f"the hands {pair} are not joined")
    if not winding.high:
        raise Unable(f"the hands {pair} are low already")
    sides = (_fits(arms, role, pair, LOWERED) for role in ROLES)
    return _pruned(_with(arms, Winding(pair, False, *sides)))


def dropped(arms: Arms, pair: Pair) -> Arms:
    """Hands let go. Raises :class:`Unable`."""
    if arms.winding(pair) is None:
        raise Unable(f"the hands {pair} are not joined")
    return replace(arms, pairs=tuple(w for w in arms.pairs if w.pair != pair), twist16=frozenset())


def joined(arms: Arms, pair: Pair, *, high: bool = False) -> Arms:
    """Hands join, low unless said otherwise: open arms, and the second pair at most crossed once.

    Raises
    ------
    Unable
        If one of the hands is in another pair.
    """
    for winding in arms.pairs:
        for role in ROLES:
            if hand_of(winding.pair, role) == hand_of(pair, role):
                raise Unable(f"the {role}'s {SIDE_NAME[hand_of(pair, role)]} hand is in {winding.pair} already")
    free = frozenset(WHOLE_TURNS)
    sides = (free, free) if high else tuple(_fits(arms, role, pair, OPEN) for role in ROLES)
    result = replace(arms, pairs=(*arms.pairs, Winding(pair, high, *sides)))
    return replace(result, twist16=_twists(result, 10))


def _with(arms: Arms, winding: Winding) -> Arms:
    return replace(arms, pairs=tuple(winding if w.pair == winding.pair else w for w in arms.pairs))


def arms_in(holds: HoldsFile, name: str, leader: float, follower: float) -> Arms:
    """The arms of a named hold when the partners see each other at the bearings given (degrees).

    A pair that says ``wound`` lies wrapped or behind the follower's back; in a wrapped or behind-the-back hold that
    does not say which, each may.
    """
    hold = holds.holds[name]
    arms = Arms(leader, follower)
    free = frozenset(WHOLE_TURNS)
    windings = []
    for item in hold.hands:
        if item.high:
            windings.append(Winding(item.pair, True, free, free))
            continue
        own = frozenset[int]().union(*(_fits(arms, "follower", item.pair, way) for way in _ways(hold, item.wound)))
        windings.append(Winding(item.pair, False, _fits(arms, "leader", item.pair, OPEN), own))
    arms = replace(arms, pairs=tuple(windings))
    return replace(arms, twist16=_hold_twists(hold, arms))


def _ways(hold: HoldFile, wound: str | None) -> tuple[tuple[float, float], ...]:
    if wound is not None:
        return (WRAPPED,) if wound == "front" else (BEHIND,)
    said = any(item.wound for item in hold.hands)
    if hold.lie == "wrapped" and not said:
        return OPEN, WRAPPED
    if hold.lie == "behind-the-back" and not said:
        return OPEN, BEHIND
    return (OPEN,)


def _hold_twists(hold: HoldFile, arms: Arms) -> frozenset[int]:
    possible = _twists(arms, TWIST_LIMIT16)
    if hold.lie in {"open", "free", "frame"}:
        kept = frozenset(t for t in possible if abs(t) <= 4)
    elif hold.lie == "crossed":
        kept = frozenset(t for t in possible if (t < -4 if hold.top == "R" else t > 4))
    else:
        kept = possible
    return kept or possible


def fits_hold(arms: Arms, wanted: Arms) -> list[str]:
    """What is different between the arms reached and those of a hold (at the same bearings up to whole turns)."""
    found = []
    have, want = {w.pair: w for w in arms.pairs}, {w.pair: w for w in wanted.pairs}
    found += [f"the hands {pair} are still joined" for pair in have if pair not in want]
    found += [f"the hands {pair} are not joined" for pair in want if pair not in have]
    for pair in (p for p in want if p in have):
        if have[pair].high != want[pair].high:
            found.append(f"the hands {pair} are {'still raised' if have[pair].high else 'low'}")
        if have[pair].high or want[pair].high:
            continue
        for role in ROLES:
            offset = round((arms.bearing(role) - wanted.bearing(role)) / 360)
            if not {k + offset for k in have[pair].of(role)} & want[pair].of(role):
                found.append(_lies(arms, have[pair], role))
    same = not found and arms.twist16 and wanted.twist16
    if same and not arms.twist16 & wanted.twist16:
        top = "left" if max(arms.twist16) > 0 else "right"
        twist = min(arms.twist16, key=abs)
        found.append(
            f"the arms are crossed, the leader's {top} on top" if abs(twist) > 4 else "the arms lie side by side"
        )
    return found


def _lies(arms: Arms, winding: Winding, role: Role) -> str:
    hand = hand_of(winding.pair, role)
    reached = min((round_own_side(arms.bearing(role), k, hand) for k in winding.of(role)), key=abs)
    lie = "behind the back" if reached > 100 else "wrapped across the front" if reached < -100 else "in front"
    return f"the {role}'s {SIDE_NAME[hand]} arm (pair {winding.pair}) lies {lie}"
