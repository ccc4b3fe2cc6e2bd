"""Good files bent at random: every one is either used or refused with diagnostics; nothing ever crashes."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from composer.brief import load_problem
from composer.errors import BadInput
from composer.routinefile import load_routine
from composer.verify import verify

BRIEF: dict[str, Any] = {
    "format": "brief/1",
    "title": "A test",
    "dance": ["waltz"],
    "catalogues": [],
    "music": {"tempo": 88, "bars": 8, "phrase_bars": 4, "sections": [{"bars": 8, "label": "A", "energy": 2}],
              "hits": [{"bar": 2, "beat": "1&", "strength": 2}]},
    "couple": {"leader": {"level": 2, "knows": ["whisk"], "stature": "174 cm"}, "follower": {"not_yet": ["wing"]},
               "accept": ["dip"]},
    "room": {"style": "show", "width": "9 m", "depth": 8, "margin": "20 cm", "audience": "south",
             "start": {"x": 4, "y": 4}},
    "wishes": {"must": ["whisk", {"figure": "natural turn", "times": 1, "at": 1}], "never": ["wing"],
               "prefer": {"box step": 3}, "repeats": {"most": 3}, "at_least_different": 2, "final_pose": True,
               "opening": {"hold": "closed", "faces": "audience"}, "closing": {"figure": "whisk", "faces": "DW"},
               "weights": {"music": 2}},
}  # fmt: skip
ROUTINE: dict[str, Any] = {
    "format": "routine/1",
    "title": "By hand",
    "dance": "waltz",
    "faces": "DW",
    "start": {"x": 1, "y": "2 m"},
    "figures": ["natural turn", "corner", {"figure": "whisk", "at": 7, "faces": "DW", "start_tick": 72, "x_mm": 5}],
    "score_card": [{"term": "a", "sentence": "b", "points": 3, "by_figure": [1, 2]}],
}
JUNK = st.one_of(
    st.none(), st.booleans(), st.integers(-(10**18), 10**18), st.floats(), st.text(max_size=12),
    st.sampled_from(["", "LOD", "any", "whisk", "audience", "-1 m", "1e9 m", "99999999999 ft", "0", "1/0", "3 1/0",
                     "natural turn", "waltz/whisk", "../..", "/", "corner", "brief/1", "inf", "nan", "0x10", "１２"]),
    st.lists(st.integers(0, 3), max_size=3), st.dictionaries(st.text(max_size=4), st.integers(), max_size=2),
)  # fmt: skip


def places(data: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    inner = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    return [path, *(p for key, value in inner for p in places(value, (*path, key)))] if path else [
        p for key, value in inner for p in places(value, (key,))
    ]  # fmt: skip


@st.composite
def bent(draw: st.DrawFn, good: dict[str, Any]) -> dict[str, Any]:
    """``good`` with one to three values replaced, removed or added."""
    data = copy.deepcopy(good)
    for _ in range(draw(st.integers(1, 3))):
        *way, last = draw(st.sampled_from(places(data) or [("format",)]))
        box = data
        for key in way:
            box = box[key]
        what = draw(st.sampled_from(["replace", "replace", "remove", "add"]))
        if what == "replace":
            box[last] = draw(JUNK)
        elif what == "remove":
            del box[last]
        elif isinstance(box, dict):
            box[draw(st.text(max_size=6))] = draw(JUNK)
        else:
            box.append(draw(JUNK))
    return data


def told(problem: BadInput) -> None:
    assert problem.diagnostics
    for item in problem.diagnostics:
        assert len(item.code) == 6
        assert str(item)
        json.dumps(item.as_data())


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("bent")


@settings(suppress_health_check=[HealthCheck.too_slow])
@given(data=bent(BRIEF))
def test_a_bent_brief_is_used_or_refused(data: dict[str, Any], folder: Path) -> None:
    file = folder / "brief.yaml"
    file.write_text(yaml.safe_dump(data, allow_unicode=True), "utf-8")
    try:
        problem = load_problem(file)
    except BadInput as bad:
        told(bad)
    else:
        assert problem.length_ticks > 0


@settings(suppress_health_check=[HealthCheck.too_slow])
@given(data=bent(ROUTINE))
def test_a_bent_routine_is_judged_or_refused(data: dict[str, Any], folder: Path) -> None:
    file = folder / "routine.yaml"
    file.write_text(yaml.safe_dump(data, allow_unicode=True), "utf-8")
    try:
        problem, routine = load_routine(file)
    except BadInput as bad:
        told(bad)
    else:
        for breach in verify(problem, routine):
            assert breach.message


@given(data=st.data())
def test_bytes_bent_at_random_are_read_or_refused(data: st.DataObject, folder: Path) -> None:
    raw = bytearray(yaml.safe_dump(BRIEF).encode("utf-8"))
    for _ in range(data.draw(st.integers(1, 6))):
        at = data.draw(st.integers(0, len(raw) - 1))
        raw[at : at + data.draw(st.integers(0, 2))] = data.draw(st.binary(max_size=3))
    file = folder / "bytes.yaml"
    file.write_bytes(bytes(raw))
    try:
        load_problem(file)
    except BadInput as bad:
        told(bad)
