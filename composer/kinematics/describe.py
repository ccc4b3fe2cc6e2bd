"""What a chart leads to, in the words of its file: for the teacher who writes a figure and needs the exit."""

from __future__ import annotations

import math

from composer.charts import FigureFile
from composer.kinematics.armholds import hands_text
from composer.kinematics.motion import Moment, Motion, Pose
from composer.units import count_at, count_text


def exit_text(motion: Motion, hold: str) -> str:
    """The ``exit`` of the file as the steps have it, on one line of YAML; travel to the nearest 5 cm."""
    forward, right = (5 * round(mm / 50) for mm in (motion.travel_forward_mm, motion.travel_right_mm))
    return (
        f"exit: {{hold: {hold}, leader_turn: {motion.leader_turn16 / 2:g}, follower_turn: "
        f"{motion.follower_turn16 / 2:g}, leader_free: {motion.leader_free}, follower_free: {motion.follower_free}, "
        f"travel: {{forward: {forward} cm, right: {right} cm}}}}"
    )


def describe(chart: FigureFile, motion: Motion) -> str:
    """Count by count: both bodies, both standing feet, where the follower is to the leader; then the exit."""
    lines = [
        f"{chart.name} ({chart.beats} beats)",
        f"{'count':>7} | {'leader':^25} | {'follower':^25} | follower as the leader sees her | hold | hands",
    ]
    lines += [_line(moment, motion.length_ticks) for moment in motion.moments]
    lines += [
        f"fit: {motion.residual_mm} mm at worst; distance {motion.least_gap_mm / 10:.0f}-{motion.most_gap_mm / 10:.0f} "
        f"cm; fastest {motion.fastest_mm_per_beat / 10:.0f} cm a beat; strides scale {motion.shortest_scale:g} to "
        f"{motion.longest_scale:g}",
        exit_text(motion, chart.exit.hold),
    ]
    return "\n".join(lines)


def _line(moment: Moment, length_ticks: int) -> str:
    if moment.at_tick is not None:
        count = count_text(count_at(moment.at_tick))
    else:
        count = "start" if moment.tick == 0 else "end" if moment.tick == length_ticks else "between"
    leader, follower = moment.leader, moment.follower
    forward, right = follower.forward_mm - leader.forward_mm, follower.right_mm - leader.right_mm
    angle = leader.facing16 * math.pi / 8
    ahead = forward * math.cos(angle) + right * math.sin(angle)
    beside = -forward * math.sin(angle) + right * math.cos(angle)
    seen = f"{ahead / 10:+5.0f} ahead {beside / 10:+5.0f} right, {math.hypot(forward, right) / 10:4.0f} cm"
    return (
        f"{count:>7} | {_pose(leader)} | {_pose(follower)} | {seen} | {moment.hold or '-'} | {hands_text(moment.hands)}"
    )


def _pose(pose: Pose) -> str:
    return f"{pose.forward_mm / 10:+5.0f} {pose.right_mm / 10:+5.0f} cm {pose.facing16 / 2:+5.1f}/8 {pose.weight}"
