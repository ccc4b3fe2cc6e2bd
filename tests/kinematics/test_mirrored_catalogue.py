"""Every figure seen in a mirror is a figure: same faults (none), mirrored motion, mirrored arms.

Left and right are treated alike everywhere in the simulation or this fails somewhere in some hundred figures.
"""

from __future__ import annotations

from functools import cache

import pytest

from composer.charts import DanceFile
from composer.kinematics.motion import Motion
from composer.resources import shipped
from composer.textfiles import read_yaml, validated
from tests.kinematics.builders import ran
from tests.kinematics.test_simulate import mirror_images, mirrored, mirrored_holds

PAIRS = {"LR": "RL", "RL": "LR", "RR": "LL", "LL": "RR"}


@cache
def figures() -> tuple[str, ...]:
    folder = shipped("catalog")
    return tuple(f"{file.parent.name}/{file.stem}" for file in sorted(folder.glob("*/*.yaml")) if file.stem != "dance")


@cache
def options(dance: str) -> tuple[tuple[str, float], ...]:
    page = validated(DanceFile, read_yaml(shipped("catalog") / dance / "dance.yaml"), code="DNC")
    return ("tempo_most", page.tempo.most), ("beats_per_bar", page.beats_per_bar)


def hands(motion: Motion, *, swap: bool) -> list[set[tuple[str, bool, str, str]]]:
    return [
        {(PAIRS[h.pair] if swap else h.pair, h.high, h.leader_arm, h.follower_arm) for h in m.hands}
        for m in motion.moments
        if m.at_tick is not None
    ]


@pytest.mark.parametrize("share", [12, pytest.param(10_000, marks=pytest.mark.slow)])
@pytest.mark.parametrize("dance", sorted({key.split("/")[0] for key in figures()}))
def test_mirrored(dance: str, share: int) -> None:
    own = [key for key in figures() if key.startswith(f"{dance}/")]
    for key in own[:: max(1, len(own) // share)]:
        data = dict(read_yaml(shipped("catalog") / f"{key}.yaml").data)
        data["exit"] = {k: v for k, v in data["exit"].items() if k != "travel"}
        one, faults = ran(data, **dict(options(dance)))
        two, mirror_faults = ran(mirrored(data), mirrored_holds(), **dict(options(dance)))
        assert one is not None, key
        assert two is not None, key
        assert [f.code for f in faults] == [f.code for f in mirror_faults] == [], (key, mirror_faults)
        assert mirror_images(one, two, slack_mm=2), key
        assert hands(one, swap=True) == hands(two, swap=False), key
