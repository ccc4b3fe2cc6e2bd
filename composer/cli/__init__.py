"""The command line. ``main`` is the console script; everything heavy is imported by the command that needs it."""

from __future__ import annotations

__all__ = ["main"]


def main() -> None:
    """Run the command line and leave with its exit code."""
    import os
    import sys
    import threading

    # looking through all that is installed for plugins of the validating library takes a tenth of a short command
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "1")
    try:
        from composer.cli.app import run

        code = run(sys.argv[1:])
    except KeyboardInterrupt:  # even before the command line is read
        code = 130
    if threading.active_count() > 1:  # interrupted while a compiled library was busy: nothing is left to wait for
        for stream in (sys.stdout, sys.stderr):
            stream.flush()
        os._exit(code)
    sys.exit(code)
