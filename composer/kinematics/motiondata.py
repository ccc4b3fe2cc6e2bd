"""A motion as plain data and back, for keeping simulated figures on disk."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

from composer.kinematics.motion import FootMark, HandPair, Moment, Motion, Pose

_PLAIN = tuple(f.name for f in fields(Motion) if f.name != "moments")


def motion_data(motion: Motion) -> dict[str, Any]:
    """Plain lists, numbers and texts."""
    return {
        "moments": [_moment_data(m) for m in motion.moments],
        **{name: getattr(motion, name) for name in _PLAIN},
    }


def motion_from(data: dict[str, Any]) -> Motion:
    """The inverse of :func:`motion_data`.

    Raises
    ------
    KeyError, TypeError, ValueError
        If the data are not a motion.
    """
    moments = tuple(_moment_from(item) for item in data["moments"])
    plain: dict[str, Any] = {name: tuple(v) if isinstance(v := data[name], list) else v for name in _PLAIN}
    return Motion(moments=moments, **plain)


def _moment_data(moment: Moment) -> list[Any]:
    hands = [[h.pair, h.high, h.leader_arm, h.follower_arm] for h in moment.hands]
    return [
        moment.tick, _pose_data(moment.leader), _pose_data(moment.follower), moment.hold, moment.at_tick, hands,
    ]  # fmt: skip


def _moment_from(data: list[Any]) -> Moment:
    tick, leader, follower, hold, at_tick, hands = data
    pairs = tuple(HandPair(*hand) for hand in hands)
    return Moment(int(tick), _pose_from(leader), _pose_from(follower), hold, at_tick, pairs)


def _pose_data(pose: Pose) -> list[Any]:
    feet = [[f.forward_mm, f.right_mm, f.points16, f.flat] for f in (pose.left, pose.right)]
    return [pose.forward_mm, pose.right_mm, pose.facing16, pose.weight, *feet]


def _pose_from(data: list[Any]) -> Pose:
    forward, right, facing, weight, left, right_foot = data
    return Pose(int(forward), int(right), int(facing), weight, FootMark("L", *left), FootMark("R", *right_foot))
