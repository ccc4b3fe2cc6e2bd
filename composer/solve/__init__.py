"""Deciding: the best routine with its proof, the proof that there is none, or an honest "undecided"."""

from composer.solve.rounds import solve

__all__ = ["solve"]
