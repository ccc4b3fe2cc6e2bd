"""Where walks may have begun and may stand now: a zone along each axis, exact with strides and with closed laps.

Along one axis a zone bounds three things: the first place, the present place, and the present less the first. Six
numbers say all there is to know about (first, present) when every figure takes ground within bounds of its own and
places are bounded along the axes: such a zone stays one when a figure is danced and when a bound is added, nothing is
lost, and it is empty only where no first place and no strides fit. In whole millimetres, one row of twelve per walk.

Conventions: ``zones[:, axis, what, side]`` with ``what`` FIRST, HERE or APART and sides least and most; every zone is
*closed*, that is each of its six numbers is reached by some pair of places.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from composer.solve.ground import FAR_MM
from composer.solve.linear import Flags, Ints

Zones = NDArray[np.int32]
FIRST: Final = 0
HERE: Final = 1
APART: Final = 2
SPARE_MM: Final = 2_000
"""More room than this is no better."""


def anywhere() -> Zones:
    """One walk that has not begun: the couple may stand anywhere, and that is its first place."""
    zones = np.zeros((1, 2, 3, 2), dtype=np.int32)
    zones[:, :, :APART, 0], zones[:, :, :APART, 1] = -FAR_MM, FAR_MM
    return zones


def stand_within(zones: Zones, bounds: Zones) -> None:
    """Bound the present place, (walk, axis, side)."""
    first, here, apart = _parts(zones)
    _between(here, bounds[..., 0], bounds[..., 1])
    _between(first, here[..., 0] - apart[..., 1], here[..., 1] - apart[..., 0])
    _between(apart, here[..., 0] - first[..., 1], here[..., 1] - first[..., 0])


def keep_apart(zones: Zones, bounds: Zones) -> None:
    """Bound the present less the first place, (walk, axis, side)."""
    first, here, apart = _parts(zones)
    _between(apart, bounds[..., 0], bounds[..., 1])
    _between(first, here[..., 0] - apart[..., 1], here[..., 1] - apart[..., 0])
    _between(here, first[..., 0] + apart[..., 0], first[..., 1] + apart[..., 1])


def _parts(zones: Zones) -> tuple[Zones, Zones, Zones]:
    """Views of the first place, the present one, and how far they are apart, (walk, axis, side) each."""
    return zones[:, :, FIRST], zones[:, :, HERE], zones[:, :, APART]


def _between(part: Zones, least: Zones, most: Zones) -> None:
    """Raise lower ends and lower upper ones."""
    np.maximum(part[..., 0], least, out=part[..., 0])
    np.minimum(part[..., 1], most, out=part[..., 1])


def move(zones: Zones, ground: Zones) -> None:
    """Dance figures that take ground within bounds, (walk, axis, side)."""
    zones[:, :, HERE:] += ground[:, :, None]


def possible(zones: Zones) -> Flags:
    """Which zones are not empty."""
    ok: Flags = np.all(zones[..., 0] <= zones[..., 1], axis=(1, 2))
    return ok


def spare(zones: Zones) -> Ints:
    """How much room zones leave along the narrower axis (mm): places to begin from, and strides to choose from."""
    widths = np.minimum(zones[..., 1] - zones[..., 0], SPARE_MM).astype(np.int64)
    room: Ints = widths.sum(axis=2).min(axis=1)
    return room
