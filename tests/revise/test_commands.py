"""The commands: one JSON document, clear refusals, a page, and the folder as the history says."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from composer.errors import BadInput
from composer.outfolder import write_out
from composer.report.revisionpage import PageLine, RevisionPage, RibbonPart, revision_html
from composer.versions import load_versions
from tests.cli.speaking import Teller

Folder = Callable[[str], Path]


@pytest.fixture
def cli(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Teller:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "100")
    return Teller(capsys)


def test_from_the_first_revision_to_the_restored_version(cli: Teller, folder: Folder) -> None:
    path = folder("first-dance")
    before = path.read_bytes()
    done = cli("revise", path, "--forbid", "Box step turning left", "--practised", "1-24", "--json")
    assert done.code == 0
    told = done.document
    assert told["status"] == "revised"
    assert told["version"] == 2
    assert told["least_change_proven"]
    assert told["standing"] == ["forbid waltz/box-turning-left"]
    assert told["routine"] == json.loads(path.read_text("utf-8"))
    assert told["difference"]["changed"] == sum(b - a + 1 for a, b in told["difference"]["stretches"])
    names = {Path(name).name for name in told["files"]}
    assert {"revision.html", "revision.json", "sheet.html", "routine.json"} <= names
    page = (path.parent / "revision.html").read_text("utf-8")
    assert "is not danced" in page
    assert 'class="new"' in page
    listed = cli("history", path, "--json").document
    assert [v["number"] for v in listed["versions"]] == [1, 2]
    assert listed["current"] == 2
    back = cli("restore", path, "1")
    assert back.code == 0
    assert path.read_bytes() == before
    assert "\n*   3  Version 1 restored" in cli("history", path).out
    again = cli("restore", path, "3")
    assert "already" in again.out
    assert cli("restore", path, "9").codes == ["RTN041"]


def test_asking_nothing_says_so_and_writes_nothing(cli: Teller, folder: Folder) -> None:
    path = folder("first-dance")
    done = cli("revise", path)
    assert done.code == 0
    assert "nothing is changed" in done.out
    assert load_versions(path.parent) == ((), [])


def test_every_fault_of_the_options_is_told_at_once(cli: Teller, folder: Folder) -> None:
    path = folder("first-dance")
    done = cli(
        "revise", path, "--forbid", "wisk", "--keep", "chorus", "--room", "huge", "--replace", "90-99",
        "--avoid", "fun", "--audience", "up",
    )  # fmt: skip
    assert done.code == 2
    assert sorted(done.codes) == ["CMD010", "CMD011", "CMD013", "CMD016", "CMD019", "CMD021"]
    assert "Did you mean 'whisk'?" in done.err
    assert load_versions(path.parent) == ((), [])


def test_what_cannot_be_is_proved_and_leaves_the_routine(cli: Teller, folder: Folder) -> None:
    path = folder("first-dance")
    before = path.read_bytes()
    done = cli("revise", path, "--replace", "31-36", "--keep", "25-42")
    assert done.code == 3
    assert "proved" in done.out
    assert "stay as they are" in done.out
    assert path.read_bytes() == before
    assert load_versions(path.parent) == ((), [])


def test_a_wish_about_the_room_that_holds_already(cli: Teller, folder: Folder) -> None:
    """Nothing in this brief faces the guests: they may sit on the other side, and no count changes."""
    path = folder("first-dance")
    told = cli("revise", path, "--audience", "north", "--json").document
    assert told["difference"]["changed"] == 0
    assert told["status"] == "fits-already"


def test_changed_roles_are_checked_against_what_each_has_learned(cli: Teller, folder: Folder) -> None:
    """The first dance's follower has not learned the natural turn: leading it she would not know it either."""
    path = folder("first-dance")
    told = cli("revise", path, "--swap-roles", "--json").document
    assert told["status"] == "fits-already"
    data = json.loads(path.read_text("utf-8"))
    assert data["figures"]
    back = cli("revise", path, "--swap-roles", "--json").document
    assert back["status"] == "earlier-version"


def test_alternatives_and_lessons_speak_json(cli: Teller) -> None:
    told = cli("alternatives", "first-dance", "--number", "2", "--different", "40", "--json").document
    assert told["status"] == "complete"
    assert len(told["alternatives"]) == 2
    assert told["alternatives"][1]["counts_different_from_earlier"][0] >= 39
    assert cli("alternatives", "first-dance", "--style", "purple").codes == ["CMD017"]
    learned = cli("learn-next", "first-dance", "--number", "1", "--json").document
    assert learned["singles"][0]["gain"] > 0
    assert learned["singles"][0]["proven"]
    assert learned["singles"][0]["score"] == learned["score_today"] + learned["singles"][0]["gain"]


def test_a_cut_writes_its_brief_and_can_be_revised(cli: Teller, tmp_path: Path) -> None:
    out = tmp_path / "cut"
    told = cli("cut", "first-dance", "--window", "0:45-0:50", "--out", out, "--json").document
    assert told["status"] == "found"
    assert told["proven"]
    assert 45 <= told["seconds"] <= 50
    assert cli("verify", out / "routine.json", "--brief", out / "brief.yaml").code == 0
    done = cli("revise", out / "routine.json", "--practised", "1-8")
    assert done.code == 0
    assert (out / "brief.yaml").is_file()
    assert cli("cut", "first-dance", "--window", "0:01-0:02").code == 3
    assert cli("cut", "first-dance", "--window", "soon").codes == ["CMD018"]


def test_where_roles_may_change(cli: Teller, folder: Folder) -> None:
    path = folder("travelling")
    told = cli("roles", path, "--json").document
    starts = {figure["start_tick"] // 12 + 1 for figure in json.loads(path.read_text("utf-8"))["figures"]}
    assert told["changes"]
    assert {change["count"] for change in told["changes"]} <= starts - {1}
    assert cli("roles", "first-dance").code == 2


def test_names_of_users_are_text_on_the_page() -> None:
    page = RevisionPage(
        "<b>&", "Revision", ("1 of 2 counts",), ("<script>",), (RibbonPart(1, False), RibbonPart(1, True)),
        "New: count 2.", (PageLine(1, "a", "a", True), PageLine(2, "<i>", "x", False)),
    )  # fmt: skip
    text = revision_html(page)
    assert "<script>" not in text
    assert "&lt;b&gt;&amp;" in text
    assert "http" not in text.replace("http://www.w3.org", "")


def test_a_folder_of_somebody_else_is_refused(cli: Teller, folder: Folder) -> None:
    path = folder("first-dance")
    (path.parent / "revision.html").write_text("mine", "utf-8")
    done = cli("revise", path, "--forbid", "box-left-half", "--forbid", "box-quarter-left")
    assert done.codes == ["OUT003"]
    assert (path.parent / "revision.html").read_text("utf-8") == "mine"
    with pytest.raises(BadInput):
        write_out(path, lambda target: [])


def test_a_file_called_versions_is_told_before_the_work(cli: Teller, tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.mkdir()
    (out / "versions").write_text("mine", "utf-8")
    assert cli("compose", "first-dance", "--out", out).codes == ["OUT003"]
    assert [path.name for path in out.iterdir()] == ["versions"]
    assert (out / "versions").read_text("utf-8") == "mine"


def test_a_composed_folder_has_its_history(cli: Teller, tmp_path: Path) -> None:
    out = tmp_path / "out"
    assert cli("compose", "first-dance", "--out", out).code == 0
    assert "\n*   1  Composed" in "\n" + cli("history", out / "routine.json").out
    assert "already" in cli("restore", out / "routine.json", "1").out
