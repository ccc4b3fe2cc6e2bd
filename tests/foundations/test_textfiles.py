"""Reading YAML with lines, refusing what cannot be read, writing whole files or none."""

from __future__ import annotations

from pathlib import Path

import pytest
from pydantic import BaseModel, ConfigDict

from composer.errors import BadInput
from composer.textfiles import json_text, read_yaml, validated, write_text, yaml_document


class Inner(BaseModel):
    model_config = ConfigDict(extra="forbid")
    width: int


class Outer(BaseModel):
    model_config = ConfigDict(extra="forbid")
    name: str
    rooms: list[Inner] = []


def faults(text: str) -> list[str]:
    with pytest.raises(BadInput) as caught:
        validated(Outer, yaml_document(text, "a.yaml"), code="BRF")
    return [str(d) for d in caught.value.diagnostics]


def test_all_faults_come_at_once_with_their_lines() -> None:
    text = "nam: x\nrooms:\n  - {width: 3}\n  - {width: wide}\n"
    found = faults(text)
    assert any(f.startswith("BRF001 a.yaml:1 nam: 'nam' is not a known key") and "'name'" in f for f in found)
    assert any(f.startswith("BRF002 a.yaml") and " name: this key is required" in f for f in found)
    assert any(f.startswith("BRF003 a.yaml:4 rooms[1].width:") and "'wide'" in f for f in found)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "YML004"),
        ("# only a comment", "YML004"),
        ("a: [1, 2", "YML003"),
        ("a: 1\na: 2", "YML008"),
        ("a: &x [*x]", "YML005"),
        ("? [1, 2]\n: 3", "YML007"),
        ("a: !!python/object:os.system x", "YML007"),
        ("a: 2024-99-99", "YML007"),
        ("\tname: x", "YML003"),
        ("[" * 5000, "YML003"),
    ],
)
def test_what_cannot_be_read_gets_one_clear_diagnostic(text: str, code: str) -> None:
    with pytest.raises(BadInput) as caught:
        yaml_document(text, "a.yaml")
    assert [d.code for d in caught.value.diagnostics] == [code]


def test_an_expanding_file_is_refused() -> None:
    lines = ["a0: &a0 [x, x, x, x, x, x, x, x, x, x]"]
    lines += [f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 10)}]" for i in range(1, 9)]
    with pytest.raises(BadInput, match="YML006"):
        yaml_document("\n".join(lines), "bomb.yaml")


def test_files_that_are_no_text(tmp_path: Path) -> None:
    junk = tmp_path / "junk.yaml"
    junk.write_bytes(bytes(range(256)))
    for path, code in ((junk, "YML002"), (tmp_path, "YML001"), (tmp_path / "missing.yaml", "YML001")):
        with pytest.raises(BadInput, match=code):
            read_yaml(path)


def test_a_huge_file_is_not_read(tmp_path: Path) -> None:
    huge = tmp_path / "huge.yaml"
    with huge.open("wb") as stream:
        stream.truncate(50_000_000)
    with pytest.raises(BadInput, match="50000000 bytes"):
        read_yaml(huge)


def test_writing_replaces_whole_files_and_leaves_nothing_behind(tmp_path: Path) -> None:
    target = tmp_path / "x.json"
    write_text(target, json_text({"b": 1, "a": "é"}))
    write_text(target, "second")
    assert target.read_text() == "second"
    assert [p.name for p in tmp_path.iterdir()] == ["x.json"]
    with pytest.raises(BadInput, match="OUT001"):
        write_text(target / "below" / "y.json", "no")
