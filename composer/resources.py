"""Where the shipped catalogue and scenarios lie: inside an installed wheel, or beside ``composer/`` in a checkout."""

from __future__ import annotations

from pathlib import Path


def shipped(name: str) -> Path:
    """Folder ``catalog`` or ``scenarios``, wherever the tool was installed.

    Raises
    ------
    FileNotFoundError
        If the installation is incomplete.
    """
    package = Path(__file__).resolve().parent
    for place in (package / "_shipped" / name, package.parent / name):
        if place.is_dir():
            return place
    raise FileNotFoundError(f"the installation has no folder '{name}'")
