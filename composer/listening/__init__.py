"""Listening: from a track to a music map. Import what is heavy only when it is used.

``listen`` gives the timeline of a track; ``music_map`` also keeps what was heard, for ``write_clicks`` and
``picture_svg`` and ``picture_png``, by which a person can check it; ``suitable`` names the dances that go with it.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from composer.listening.corrections import Corrections

if TYPE_CHECKING:
    from composer.listening.dances import Suits
    from composer.listening.listen import Asked, Map
    from composer.timeline import Timeline

__all__ = [
    "Corrections",
    "listen",
    "music_map",
    "picture_png",
    "picture_svg",
    "suitable",
    "weights_file",
    "write_clicks",
]


def listen(
    path: Path,
    dance: str | None = None,
    tempo_range: tuple[float, float] | None = None,
    corrections: Corrections | None = None,
) -> Timeline:
    """Hear a track; see :func:`composer.listening.listen.listen`."""
    from composer.listening.listen import listen as run

    return run(path, dance, tempo_range, corrections)


def music_map(path: Path, asked: Asked) -> Map:
    """Hear a track and keep what was heard; see :func:`composer.listening.listen.music_map`."""
    from composer.listening.listen import music_map as run

    return run(path, asked)


def write_clicks(heard: Map, out: Path) -> None:
    """Write the track with clicks on its beats (wav)."""
    from composer.listening.clicks import write_clicks as run

    run(heard.sound, heard.timeline, out)


def picture_svg(heard: Map) -> str:
    """A picture of the map (SVG text)."""
    from composer.listening.picture import picture_svg as run

    return run(heard.sound, heard.timeline)


def picture_png(heard: Map) -> bytes:
    """The same picture as a PNG file."""
    from composer.listening.picture import picture_png as run

    return run(heard.sound, heard.timeline)


def suitable(timeline: Timeline) -> list[Suits]:
    """Dances whose published tempo range the music lies in."""
    from composer.listening.dances import suitable as run

    return run(timeline.beats_per_minute, timeline.beats_per_bar)


def weights_file() -> Path:
    """Where the fitted numbers lie."""
    return Path(__file__).with_name("weights.json")
