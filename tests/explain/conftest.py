"""The command line's fixture serves here too."""

from tests.cli.conftest import cli

__all__ = ["cli"]
