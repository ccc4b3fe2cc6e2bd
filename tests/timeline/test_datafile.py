"""Timelines as JSON: there and back, schema, and data that contradicts itself."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from composer.errors import BadInput
from composer.textfiles import json_text, yaml_document
from composer.timeline import HitWish, SectionWish, Shape, TimelineFile, as_data, assemble, from_data, read_timeline
from composer.timeline import steady_bars as steady


def a_timeline() -> Any:
    shape = Shape(2, 9, 4, (SectionWish(4, "A", 2), SectionWish(4, "B")), (HitWish(3),))
    return assemble(steady(120, 10, 3, "A waltz"), shape)


def loaded(data: Any) -> Any:
    return from_data(yaml_document(json_text(data), "t.json"))


def test_there_and_back(tmp_path: Path):
    timeline = replace(a_timeline(), confidence={"beats": 0.9}, doubts=("which bar is first?",))
    path = tmp_path / "timeline.json"
    path.write_text(json_text(as_data(timeline)), encoding="utf-8")
    assert read_timeline(path) == timeline


def test_the_schema_accepts_what_is_written():
    schema = TimelineFile.model_json_schema()
    jsonschema.validate(json.loads(json_text(as_data(a_timeline()))), schema)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({**as_data(a_timeline()), "format": "timeline/2"}, schema)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"usable": [0, 25]}, "inside the beats"),
        ({"usable": [1, 24]}, "begin at beat 0"),
        ({"phrases": []}, "phrases do not tile"),
        ({"sections": [{"start": 1, "beats": 23}]}, "sections do not tile"),
        ({"accents": [{"tick": 288}]}, "accent lies outside"),
        ({"end_s": 1.0}, "ends before its last beat"),
        ({"beats_per_bar": 0}, "beats_per_bar"),
        ({"tempo": 3}, "not a known key"),
        ({"format": "timeline/9"}, "format"),
    ],
)
def test_contradictions_are_refused(change: dict[str, Any], said: str):
    data = as_data(a_timeline())
    data["beats"] = data["beats"][:24]
    assert loaded(data)
    with pytest.raises(BadInput, match=said):
        loaded({**data, **change})


def test_an_accent_on_the_last_tick_is_inside():
    data = as_data(a_timeline())
    assert loaded({**data, "accents": [{"tick": 287}]}).accents[0].tick == 287
