"""Explaining: why no routine exists, what would help; why a figure is, or is not, where it is."""

from composer.explain.why import Open, Possible, Why, explain, why

__all__ = ["Open", "Possible", "Why", "explain", "why"]
