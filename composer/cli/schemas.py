"""``schema NAME``: JSON Schemas (draft 2020-12) of the files people write, for editors."""

from __future__ import annotations

from typing import Any, Final

from composer.cli import speak
from composer.errors import BadInput, Diagnostic, did_you_mean

NAMES: Final = ("brief", "figure", "routine", "timeline")


def schema_command(name: str) -> int:
    """Print one schema."""
    speak.document(schema_of(name))
    return speak.DONE


def schema_of(name: str) -> dict[str, Any]:
    """The schema of a format.

    Raises
    ------
    BadInput
        ``CMD006`` if there is no such format.
    """
    if name not in NAMES:
        remedy = did_you_mean(name, NAMES) or f"There are {', '.join(NAMES)}."
        raise BadInput(Diagnostic("CMD006", f"there is no schema '{name}'.", remedy=remedy))
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": f"routine-composer: a {name} file",
        **{key: value for key, value in _model(name).model_json_schema().items() if key != "title"},
    }


def _model(name: str) -> Any:
    if name == "brief":
        from composer.brief.schema import BriefFile

        return BriefFile
    if name == "figure":
        from composer.charts import FigureFile

        return FigureFile
    if name == "routine":
        from composer.routinefile import RoutineFile

        return RoutineFile
    from composer.timeline.datafile import TimelineFile

    return TimelineFile
