"""The published schemas are JSON Schema (draft 2020-12) and say what the readers say."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml

from composer.brief.schema import BriefFile
from composer.resources import shipped
from composer.routine import Placed, Routine, ScoreLine, as_data
from tests.cli.speaking import Teller


def schema(cli: Teller, name: str) -> Any:
    said = cli("schema", name)
    assert (said.code, said.err) == (0, "")
    jsonschema.Draft202012Validator.check_schema(said.document)
    return jsonschema.Draft202012Validator(said.document)


def plain(path: Path) -> Any:
    return json.loads(json.dumps(yaml.safe_load(path.read_text("utf-8")), default=str))


@pytest.mark.parametrize("name", ["brief", "figure", "routine", "timeline"])
def test_each_schema_is_valid_and_names_its_format(name: str, cli: Teller) -> None:
    validator = schema(cli, name)
    assert validator.schema["$schema"].endswith("2020-12/schema")
    assert validator.schema["properties"]["format"]["const"] == f"{name}/1"
    assert not validator.is_valid({"format": f"{name}/2"})


def test_every_shipped_scenario_fits_the_schema(cli: Teller) -> None:
    validator = schema(cli, "brief")
    briefs = sorted(shipped("scenarios").glob("*/brief.yaml"))
    for brief in briefs:
        assert list(validator.iter_errors(plain(brief))) == [], brief


def test_every_shipped_figure_fits_the_schema(cli: Teller) -> None:
    validator = schema(cli, "figure")
    figures = [file for file in sorted(shipped("catalog").glob("*/*.yaml")) if file.stem != "dance"]
    assert figures
    for file in figures:
        assert list(validator.iter_errors(plain(file))) == [], file


def test_records_and_hand_written_routines_fit_the_schema(cli: Teller) -> None:
    validator = schema(cli, "routine")
    card = (ScoreLine("a", "b", 1, (1,)),)
    routine = Routine("t", ("waltz",), 72, (Placed("waltz/whisk", 0, 36, 1, 3, 4, 1),), score_card=card)
    assert list(validator.iter_errors(json.loads(json.dumps(as_data(routine))))) == []
    by_hand = {
        "format": "routine/1",
        "dance": "waltz",
        "faces": "DW",
        "figures": ["whisk", {"figure": "x", "at": "3&"}],
    }
    assert list(validator.iter_errors(by_hand)) == []
    assert not validator.is_valid({**by_hand, "figures": [3]})
    assert not validator.is_valid({**by_hand, "figures": [{"figure": "x", "att": 3}]})


BASE: dict[str, Any] = {"format": "brief/1", "title": "t", "dance": "waltz", "music": {"tempo": 88, "bars": 8}}


@pytest.mark.parametrize(
    ("changes", "good"),
    [
        ({}, True),
        ({"dance": ["waltz", "foxtrot"]}, True),
        ({"room": {"width": 5, "depth": "16 ft"}}, True),
        ({"wishes": {"must": ["whisk", {"figure": "wing", "at": 3}]}}, True),
        ({"wishes": {"opening": {"faces": "backing DC"}}}, True),
        ({"wishes": {"closing": {"faces": "audience"}}}, True),
        ({"music": {"tempo": 88, "bars": 8, "hits": [{"bar": 2, "beat": "2&"}]}}, True),
        ({"wishes": {"must": [3]}}, False),
        ({"whishes": {}}, False),
        ({"couple": {"leader": {"level": 6}}}, False),
        ({"room": {"outline": [[0, 0], [5, 0], ["5 m", "4 m"]]}}, True),
        ({"room": {"width": 5}}, False),
        ({"room": {"style": "spot"}}, False),
        ({"room": {"width": 5, "depth": 5, "outline": [[0, 0], [5, 0], [5, 4]]}}, False),
        ({"wishes": {"protect": "everything"}}, False),
    ],
)
def test_schema_and_reader_agree_on_briefs(changes: dict[str, Any], good: bool, cli: Teller) -> None:
    data = {**BASE, **changes}
    assert schema(cli, "brief").is_valid(data) is good
    try:
        BriefFile.model_validate(data)
    except ValueError:
        read = False
    else:
        read = True
    assert read is good
