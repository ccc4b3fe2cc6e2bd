"""Simulates step charts: from two columns of steps to where both partners are, or to why it cannot be danced.

:mod:`composer.kinematics.motion` is the result, :mod:`composer.kinematics.simulate` the way to it; whoever reads a
figure from what was kept needs only the first.
"""
