"""The command line. ``main`` is the console script; everything heavy is imported by the command that needs it."""

from __future__ import annotations

__all__ = ["main"]


def main() -> None:
    """Run the command line and leave with its exit code."""
    import sys

    from composer.cli.app import run

    sys.exit(run(sys.argv[1:]))
