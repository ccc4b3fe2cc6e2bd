"""The small convolutional networks of this room: how they are kept in JSON and run with numpy.

Fitted by scripts/listening/fit.py and fit_bars.py. Weights are kept as 16-bit whole numbers of 1/``scale``, in base64.
"""

from __future__ import annotations

import base64
import json
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

LARGEST: Final = 32_000


def packed(values: Array) -> dict[str, Any]:
    """Numbers as they are kept: shape, scale, and whole numbers of two bytes (little-endian) in base64."""
    import numpy as np

    scale = LARGEST / max(1e-9, float(np.abs(values).max()))
    whole = np.round(np.asarray(values) * scale).astype("<i2")
    return {"shape": list(whole.shape), "scale": scale, "data": base64.b64encode(whole.tobytes()).decode("ascii")}


def unpacked(kept: dict[str, Any]) -> Array:
    """What :func:`packed` was given, to 1 part in 64 000 of the largest."""
    import numpy as np

    whole = np.frombuffer(base64.b64decode(kept["data"]), "<i2").astype(np.float64)
    values: Array = whole.reshape(kept["shape"]) / kept["scale"]
    return values


@cache
def networks(name: str) -> list[list[dict[str, Any]]]:
    """Layers of the fitted networks of ``bars`` or ``phrases``: weights (taps, in, out), bias, distance of the taps."""
    loaded = json.loads(Path(__file__).with_name(f"{name}.json").read_text(encoding="utf-8"))
    return [
        [{"w": unpacked(one["w"]), "b": unpacked(one["b"]), "every": one["every"]} for one in net]
        for net in loaded["networks"]
    ]


def run(layers: list[dict[str, Any]], features: Array, metre: int) -> Array:
    """(steps, outputs) log odds; for bars: see bars.slot_odds.

    First layer and last are pointwise; each layer between adds what it finds to what it was given. ``every`` is the
    distance between taps: in steps, or, when negative, in bars.
    """
    import numpy as np

    hidden: Array = np.maximum(0, features @ layers[0]["w"][0] + layers[0]["b"])
    for layer in layers[1:-1]:
        taps = len(layer["w"])
        every = layer["every"] if layer["every"] > 0 else -layer["every"] * 2 * metre
        reach = taps // 2 * every
        padded = np.pad(hidden, ((reach, reach), (0, 0)))
        found = sum(padded[i * every : i * every + len(hidden)] @ layer["w"][i] for i in range(taps))
        hidden = hidden + np.maximum(0, found + layer["b"])
    result: Array = hidden @ layers[-1]["w"][0] + layers[-1]["b"]
    return result
