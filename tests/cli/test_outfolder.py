"""Output folders: whole or not at all, ours replaced, others' files never touched."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from composer.errors import BadInput
from composer.outfolder import RECORD, check_folder, write_out
from tests.cli.speaking import tree


def writer(**files: str) -> Callable[[Path], list[Path]]:
    def write(folder: Path) -> list[Path]:
        made = []
        for name, text in files.items():
            file = folder / name.replace("__", "/").replace("_", ".")
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_text(text, "utf-8")
            made.append(file)
        return made

    return write


def code(call: Callable[[], object]) -> str:
    with pytest.raises(BadInput) as caught:
        call()
    return caught.value.diagnostics[0].code


def test_a_new_folder_is_made_with_its_parents_and_nothing_else_is_left(tmp_path: Path) -> None:
    out = tmp_path / "a" / "b" / "out"
    check_folder(out)
    assert tree(tmp_path) == {}
    assert write_out(out, writer(routine_json="{}", pictures__plan_svg="<svg/>")) == [
        out / "pictures" / "plan.svg",
        out / "routine.json",
    ]
    assert set(tree(tmp_path / "a" / "b")) == {
        "out", f"out/{RECORD}", "out/pictures", "out/pictures/plan.svg", "out/routine.json",
    }  # fmt: skip


def test_a_second_run_replaces_ours_removes_what_is_ours_no_more_and_keeps_the_rest(tmp_path: Path) -> None:
    out = tmp_path / "out"
    write_out(out, writer(routine_json="1", old_svg="1"))
    (out / "notes.txt").write_text("mine", "utf-8")
    write_out(out, writer(routine_json="2", new_svg="2"))
    assert {file.name: file.read_text("utf-8") for file in out.iterdir() if file.name != RECORD} == {
        "routine.json": "2",
        "new.svg": "2",
        "notes.txt": "mine",
    }
    assert json.loads((out / RECORD).read_text("utf-8"))["files"] == ["new.svg", "routine.json"]


def test_a_file_of_somebody_else_under_our_name_is_refused_and_untouched(tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.mkdir()
    (out / "sheet.html").write_text("mine", "utf-8")
    before = tree(tmp_path)
    assert code(lambda: check_folder(out, ["sheet.html"])) == "OUT003"
    assert code(lambda: write_out(out, writer(sheet_html="ours", routine_json="{}"))) == "OUT003"
    assert tree(tmp_path) == before
    check_folder(out, ["routine.json"])  # another name is fine


def test_a_failure_while_writing_leaves_the_old_results(tmp_path: Path) -> None:
    out = tmp_path / "out"
    write_out(out, writer(routine_json="1"))

    def fails(folder: Path) -> list[Path]:
        (folder / "routine.json").write_text("2", "utf-8")
        raise RuntimeError("half-way")

    for place in (out, tmp_path / "fresh"):
        with pytest.raises(RuntimeError, match="half-way"):
            write_out(place, fails)
    assert (out / "routine.json").read_text("utf-8") == "1"
    assert set(tree(tmp_path)) == {"out", f"out/{RECORD}", "out/routine.json"}


@pytest.mark.parametrize(
    ("place", "expected"),
    [("file", "OUT002"), ("file/out", "OUT001"), ("file/deep/out", "OUT001"), ("bad\0name", "OUT001"),
     ("x" * 300, "OUT001")],
)  # fmt: skip
def test_places_that_cannot_be_written(place: str, expected: str, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x", "utf-8")
    before = tree(tmp_path)
    assert code(lambda: check_folder(tmp_path / place)) == expected
    assert code(lambda: write_out(tmp_path / place, writer(routine_json="1"))) in {"OUT001", expected}
    assert tree(tmp_path) == before


@pytest.mark.parametrize(
    "record", ["", "[]", "{}", '{"format": "output/1", "files": ["../victim.txt", "/etc/x", ".", 3]}']
)
def test_a_forged_record_leads_nowhere(record: str, tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.mkdir()
    (tmp_path / "victim.txt").write_text("mine", "utf-8")
    (out / RECORD).write_text(record, "utf-8")
    write_out(out, writer(routine_json="1"))
    assert (tmp_path / "victim.txt").read_text("utf-8") == "mine"
