"""Briefs: what may be asked for (:mod:`composer.brief.schema`) and turning a brief file into a problem."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:  # composer.problem imports the schema, so nothing here may import it at the top
    from composer.brief.schema import Music
    from composer.problem import Problem
    from composer.textfiles import Document
    from composer.timeline.model import Timeline

__all__ = ["load_problem", "timeline_from"]


def load_problem(path: Path | str) -> Problem:
    """The problem of a brief file, or of a shipped scenario given by its name; see :mod:`composer.brief.load`."""
    from composer.brief.load import load_problem as load

    return load(path)


def timeline_from(music: Music, document: Document, beats_per_bar: int | None = None) -> Timeline:
    """The music of a brief as beats; see :mod:`composer.brief.music`."""
    from composer.brief.music import timeline_from as build

    return build(music, document, beats_per_bar)
