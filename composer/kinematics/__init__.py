"""Simulates step charts: from two columns of steps to where both partners are, or to why it cannot be danced."""

from composer.kinematics.describe import describe
from composer.kinematics.motion import FootMark, Moment, Motion, Pose
from composer.kinematics.simulate import simulate

__all__ = ["FootMark", "Moment", "Motion", "Pose", "describe", "simulate"]
