"""Whether the partners can change roles between two figures: bodies, hands and arms as they are, nobody moving.

Worked out from the simulated moments (where both bodies are and how they are turned at the end of one figure and at
the beginning of the next, whose leader is then the other person), apart from the catalogue's own reading of stances.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from composer.catalogue.model import Catalogue, Figure
from composer.kinematics.motion import Pose
from composer.routine import Placed
from composer.rules.base import Breach
from composer.units import TICKS_PER_BEAT

SETTLE_MM = 160.0
"""Partners take hold anew and may settle so far along each way: 15 cm and what whole millimetres round away."""


def taken(catalogue: Catalogue, before: Figure, placed: Placed, figure: Figure) -> Iterator[Breach]:
    """What keeps the follower of ``before`` from leading ``figure`` at once."""
    end, begin = before.motion.moments[-1], figure.motion.moments[0]
    have, need = catalogue.holds[before.chart.exit.hold], catalogue.holds[figure.chart.entry.hold]
    turned = (begin.follower.facing16 - begin.leader.facing16 - end.leader.facing16 + end.follower.facing16) % 16
    off = [a - b for a, b in zip(_seen(end.follower, end.leader), _seen(begin.leader, begin.follower), strict=True)]
    name = figure.chart.name
    if have.frame or need.frame or not {have.lie, need.lie} <= {"open", "free"}:
        yield _breach("lead", placed, f"roles cannot change from {have.name} to {need.name}: arms are not free for it")
    elif turned or max(map(abs, off)) > SETTLE_MM:
        yield _breach("hold", placed, f"{name} led by the other partner begins where the couple does not stand")
    elif not {hand.pair for hand in need.hands} <= {hand.pair[::-1] for hand in have.hands}:
        yield _breach("hold", placed, f"{name} led by the other partner needs hands that are not joined")


def _seen(one: Pose, other: Pose) -> tuple[float, float]:
    """(forward, right) of the other body as ``one`` sees it."""
    angle = one.facing16 * math.pi / 8
    ahead, aside = other.forward_mm - one.forward_mm, other.right_mm - one.right_mm
    return ahead * math.cos(angle) + aside * math.sin(angle), aside * math.cos(angle) - ahead * math.sin(angle)


def _breach(subject: str, placed: Placed, message: str) -> Breach:
    return Breach(f"replay:{subject}", message, count=placed.start_tick // TICKS_PER_BEAT + 1, law=True)
