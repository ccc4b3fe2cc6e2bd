"""A brief moved to another folder: the files it names are named from there."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any, Final

FILES: Final = ("score", "beats", "timeline", "track")


def moved_brief(data: dict[str, Any], from_file: str, to_folder: Path) -> dict[str, Any]:
    """A brief's data for a ``brief.yaml`` in ``to_folder``."""
    home = Path(from_file).absolute().parent

    def named(name: str) -> str:
        return os.path.relpath(home / name, to_folder.absolute())

    found = dict(data)
    music = dict(data.get("music") or {})
    for key in FILES:
        if music.get(key):
            music[key] = named(str(music[key]))
    found["music"] = music
    if data.get("catalogues"):
        found["catalogues"] = [named(str(name)) for name in data["catalogues"]]
    return found


def brief_text(data: dict[str, Any]) -> str:
    """A brief's data as YAML."""
    import yaml

    return str(yaml.safe_dump(data, sort_keys=False, allow_unicode=True, width=110))
