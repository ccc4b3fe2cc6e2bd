"""Fits the unknown strides of both partners together so that the hold is kept (bounded linear least squares).

What is known of how they stand, from strongest to weakest: the standing place at the exit; the place of a
closed-type hold that is kept from count to count, and of a hold passed through; between two holds, and with
hands only, the line between the partners turns and stretches evenly from one place to the next, which is no more
than a hint; every stride is drawn a little towards its natural length. Where bodies would meet or arms would be
over-stretched, a row pushing them apart or together is added and the fit repeated.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from composer.charts import HoldFile, StanceFile
from composer.kinematics.bounded import bounded_least_squares
from composer.kinematics.tracks import Standing, Unknowns, turned

if TYPE_CHECKING:
    import numpy as np

    from composer.kinematics.bounded import Matrix, Vector

EXIT_WEIGHT: Final = 40.0
KEPT_WEIGHT: Final = 2.0
PASSED_WEIGHT: Final = 4.0
HINT_WEIGHT: Final = 0.12
PUSH_WEIGHT: Final = 6.0
PUSH_ROUNDS: Final = 6
PUSH_MARGIN_MM: Final = 20.0
AS_SHORT_RADIANS: Final = 0.2
"""So near to straight about, both ways round count as equally short."""
BODIES_MM: Final = 250
"""Nearer than this two body centres cannot be (common practice)."""


@dataclass(frozen=True)
class Mark:
    """The hold is known after event ``index`` (0 is the entry)."""

    index: int
    hold: str


@dataclass(frozen=True)
class Gap:
    """How near and how far the body centres may be after an event; ``why`` says what holds them together."""

    least_mm: float
    most_mm: float
    why: str


@dataclass(frozen=True)
class Asked:
    """Where the follower should be (relative to the leader, figure frame) after event ``index``."""

    index: int
    place: tuple[float, float]
    weight: float
    hold: str | None


@dataclass(frozen=True)
class Fitted:
    """The solution: values of the unknowns and the line from leader to follower after every event.

    ``strain`` is the weighted sum of squares that was made least, pushes included.
    """

    values: Vector
    between: Matrix
    misses_mm: tuple[tuple[Asked, float], ...]
    strain: float


def wrapped16(value: int) -> int:
    """Sixteenths into -7..8."""
    return (value + 7) % 16 - 7


def mismatch16(leader: Standing, follower: Standing, stance: StanceFile) -> int:
    """How far the follower's facing is from what the stance asks, in sixteenths."""
    return wrapped16(follower.facing16 - leader.facing16 - stance.facing)


def place_in(leader: Standing, follower: Standing, stance: StanceFile) -> tuple[float, float]:
    """The stance's place of the follower, in a frame mid-way between what the two bodies say."""
    facing = leader.facing16 + mismatch16(leader, follower, stance) / 2
    return turned(stance.forward, stance.right, facing)


def asked_places(
    marks: Sequence[Mark],
    leader: Sequence[Standing],
    follower: Sequence[Standing],
    holds: dict[str, HoldFile],
    stances: dict[str, StanceFile],
    way: int = 1,
) -> list[Asked]:
    """What the holds ask of every event; ``leader``/``follower`` have one entry per event, the entry first.

    ``way`` says how the line between the partners turns where both ways round are as short: 1 as the bodies turn
    meanwhile (to the right when they do not), -1 the other way.
    """
    asked: list[Asked] = []
    last = marks[-1].index
    for mark, following in pairwise(marks):
        kept = mark.hold == following.hold and holds[mark.hold].frame
        if kept:
            stance = stances[holds[mark.hold].stance]
            for index in range(mark.index + 1, following.index):
                place = place_in(leader[index], follower[index], stance)
                asked.append(Asked(index, place, KEPT_WEIGHT, mark.hold))
        else:
            asked.extend(_hints(mark, following, leader, follower, holds, stances, way))
        stance = stances[holds[following.hold].stance]
        place = place_in(leader[following.index], follower[following.index], stance)
        framed = holds[following.hold].frame
        weight = EXIT_WEIGHT if following.index == last else PASSED_WEIGHT if framed else 4 * HINT_WEIGHT
        asked.append(Asked(following.index, place, weight, following.hold))
    return asked


def turn_between(mark: Mark, following: Mark, leader: Sequence[Standing], follower: Sequence[Standing]) -> int:
    """What both bodies turn between two marks, added up (sixteenths)."""
    return sum(track[following.index].facing16 - track[mark.index].facing16 for track in (leader, follower))


def _hints(
    mark: Mark,
    following: Mark,
    leader: Sequence[Standing],
    follower: Sequence[Standing],
    holds: dict[str, HoldFile],
    stances: dict[str, StanceFile],
    way: int,
) -> list[Asked]:
    ends = [place_in(leader[m.index], follower[m.index], stances[holds[m.hold].stance]) for m in (mark, following)]
    (length0, angle0), (length1, angle1) = ((math.hypot(*p), math.atan2(p[1], p[0])) for p in ends)
    swing = math.remainder(angle1 - angle0, 2 * math.pi)
    if abs(abs(swing) - math.pi) < AS_SHORT_RADIANS:
        swing = math.copysign(swing, way * (turn_between(mark, following, leader, follower) or 1))
    found = []
    for index in range(mark.index + 1, following.index):
        part = (index - mark.index) / (following.index - mark.index)
        length, angle = length0 + (length1 - length0) * part, angle0 + swing * part
        found.append(Asked(index, (length * math.cos(angle), length * math.sin(angle)), HINT_WEIGHT, None))
    return found


def fit(
    leader: Sequence[Standing],
    follower: Sequence[Standing],
    unknowns: Unknowns,
    asked: Sequence[Asked],
    gaps: Sequence[Gap],
) -> Fitted:
    """Solve. ``gaps`` has one entry per event (entry first)."""
    import numpy as np

    between = np.stack([f.centre - g.centre for f, g in zip(follower, leader, strict=True)])
    rows = [np.diag(unknowns.pull)] if unknowns.pull else []
    goals = [np.array(unknowns.pull) * np.array(unknowns.natural)] if unknowns.pull else []
    for item in asked:
        rows.append(item.weight * between[item.index][:, :-1])
        goals.append(item.weight * (np.array(item.place) - between[item.index][:, -1]))
    matrix, goal = np.vstack(rows), np.concatenate(goals)
    least, most = np.array(unknowns.least), np.array(unknowns.most)
    values = bounded_least_squares(matrix, goal, least, most)
    pushes: dict[tuple[int, int], int] = {}
    for _ in range(PUSH_ROUNDS):
        extra = _pushes(between, values, asked, gaps, pushes)
        if not extra:
            break
        matrix = np.vstack([matrix, *[row for row, _ in extra]])
        goal = np.concatenate([goal, *[np.array([g]) for _, g in extra]])
        values = bounded_least_squares(matrix, goal, least, most)
    line = between[:, :, :-1] @ values + between[:, :, -1]
    misses = tuple((item, float(np.hypot(*(line[item.index] - np.array(item.place))))) for item in asked if item.hold)
    return Fitted(values, line, misses, float(((matrix @ values - goal) ** 2).sum()))


def _pushes(
    between: np.ndarray[tuple[int, ...], np.dtype[np.float64]],
    values: Vector,
    asked: Sequence[Asked],
    gaps: Sequence[Gap],
    done: dict[tuple[int, int], int],
) -> list[tuple[Matrix, float]]:
    """Rows that keep bodies apart (also mid-way between events) and arms within reach."""
    import numpy as np

    hints = {item.index: item.place for item in asked}
    found = []
    forms = [(index, index, between[index]) for index in range(1, len(between))]
    kept = {item.index for item in asked if item.weight == KEPT_WEIGHT}
    forms += [
        (i, i + 1, (between[i] + between[i + 1]) / 2)
        for i in range(len(between) - 1)
        if i not in kept and i + 1 not in kept
    ]
    for i, j, form in forms:
        line = form[:, :-1] @ values + form[:, -1]
        gap = float(np.hypot(*line))
        nearest_allowed, reach = BODIES_MM + PUSH_MARGIN_MM, min(gaps[i].most_mm, gaps[j].most_mm) - PUSH_MARGIN_MM
        if i == j:
            nearest_allowed = gaps[i].least_mm + PUSH_MARGIN_MM
        if nearest_allowed <= gap <= reach:
            continue
        key = (i, j)
        ahead = line / gap if gap > 40 else np.array(hints.get(j, (1.0, 0.0)))
        ahead = ahead / max(float(np.hypot(*ahead)), 1e-9)
        want = nearest_allowed if gap < nearest_allowed else reach
        done[key] = done.get(key, 0) + 1
        weight = PUSH_WEIGHT * done[key]
        found.append((weight * (ahead @ form[:, :-1])[None, :], weight * float(want - ahead @ form[:, -1])))
    return found
