"""A couple in which both lead, from the brief to everything people take away, and revised afterwards."""

from __future__ import annotations

import io
import json
import re
from pathlib import Path
from typing import Any

import pytest

from composer.cli.app import run
from composer.report import sheet_from
from composer.report.captions import captions_vtt
from composer.report.model import Sheet
from composer.routinefile import load_routine
from composer.verify import verify
from tests.cli.speaking import Teller

BRIEF = """\
format: brief/1
title: Turn and turn about
dance: cha-cha
music: {tempo: 112, bars: 12, phrase_bars: 4, sections: [{bars: 6, label: A}, {bars: 6, label: B}]}
couple:
  leader: {name: Robin, level: 2, other_role: {level: 1}}
  follower: {name: Kim, level: 2}
  both_lead: {changes: 1, parts: [{leads: Robin, section: A}, {leads: Kim, section: B}]}
room: {style: spot, width: 5 m, depth: 5 m}
wishes: {repeats: {most: 3}}
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the brief and its composed routine."""
    home = tmp_path_factory.mktemp("both")
    (home / "brief.yaml").write_text(BRIEF, "utf-8")
    assert run(["compose", str(home / "brief.yaml"), "--out", str(home / "out")]) == 0
    return home


@pytest.fixture(scope="module")
def sheet(folder: Path) -> Sheet:
    return sheet_from(*load_routine(folder / "out" / "routine.json", folder / "brief.yaml"))


def test_composed_proved_and_checked(folder: Path) -> None:
    data: dict[str, Any] = json.loads((folder / "out" / "routine.json").read_text("utf-8"))
    assert data["format"] == "routine/1"
    assert data["status"] == "best"
    led = [figure.get("leads", "leader") for figure in data["figures"]]
    assert led == sorted(led, reverse=True), "one change, from the leader to the follower"
    assert {f["start_tick"] for f in data["figures"] if f.get("leads")} >= {24 * 12}
    assert min(f["start_tick"] for f in data["figures"] if f.get("leads")) == 24 * 12, "where section B begins"
    problem, routine = load_routine(folder / "out" / "routine.json", folder / "brief.yaml")
    assert verify(problem, routine) == []


def test_composed_twice_alike(folder: Path, tmp_path: Path) -> None:
    assert run(["compose", str(folder / "brief.yaml"), "--out", str(tmp_path / "again")]) == 0
    assert (tmp_path / "again" / "routine.json").read_bytes() == (folder / "out" / "routine.json").read_bytes()


def test_the_sheet_says_who_leads_from_where(sheet: Sheet) -> None:
    assert sheet.partners == ("Robin", "Kim")
    assert [(f.change, f.counts.split("–")[0]) for f in sheet.figures if f.change] == [
        ("Robin leads first.", "1"),
        ("Kim leads from here.", "25"),
    ]
    assert next(fact.text for fact in sheet.facts if fact.label == "Who leads") == (
        "Robin counts 1–24 and Kim counts 25–48"
    )
    for figure in sheet.figures:
        led = figure.steps_of("follower" if figure.swapped else "leader")
        assert led == figure.leader, "who leads dances the leader's part"
        assert figure.part_of("follower") == ("Kim leads" if figure.swapped else "Kim follows")


def test_bodies_keep_their_places_where_roles_change(sheet: Sheet) -> None:
    """A person's track does not jump to the other body: nobody is faster there than while dancing."""
    change = next(f for f in sheet.figures if f.change == "Kim leads from here.")
    before = sheet.figures[change.number - 2].stills[-1]
    after = change.stills[0]
    for one, other in ((before.leader, after.leader), (before.follower, after.follower)):
        assert max(abs(one.x_mm - other.x_mm), abs(one.y_mm - other.y_mm)) <= 160
        assert one.facing16 == other.facing16
        assert one.left.weight == other.left.weight, "the same foot carries"


def test_every_file_names_both_and_tells_the_change(folder: Path, sheet: Sheet) -> None:
    out = folder / "out"
    page = (out / "sheet.html").read_text("utf-8")
    words = re.sub(r"<[^>]+>", " ", page)
    assert "Kim leads from here." in words
    assert "Robin follows" in words
    assert "Square and solid line: Robin. Circle and dotted line: Kim." in words
    practice = (out / "practice.html").read_text("utf-8")
    assert '"leads":"Kim leads"' in practice
    assert "Kim leads: " in captions_vtt(sheet)
    assert "Kim leads" in (out / "calls.vtt").read_text("utf-8")
    assert "(Kim leads)" in (out / "routine.musicxml").read_text("utf-8")
    assert "Kim leads" in (out / "timeline.svg").read_text("utf-8")


def test_paper_tells_it_too(folder: Path) -> None:
    from pypdf import PdfReader

    for name, wanted in (("cue-card.pdf", "KIM LEADS"), ("sheet.pdf", "Kim leads from here.")):
        reader = PdfReader(io.BytesIO((folder / "out" / name).read_bytes()))
        assert wanted in " ".join(page.extract_text() for page in reader.pages), name


def test_learning_is_told_by_person_and_role(sheet: Sheet) -> None:
    led = {f.id for f in sheet.figures if not f.swapped} - {f.id for f in sheet.figures if f.swapped}
    other = {f.id for f in sheet.figures if f.swapped} - {f.id for f in sheet.figures if not f.swapped}
    told = {item.id: (item.leader, item.follower) for item in sheet.learning.figures}
    assert sheet.learning.partners == ("Robin", "Kim")
    for name in led & set(told):
        assert told[name][0].startswith("leads: ")
        assert told[name][1].startswith("follows: ")
    for name in other & set(told):
        assert told[name][0].startswith("follows: ")
        assert told[name][1].startswith("leads: ")


def test_verify_refuses_the_record_with_one_word_changed(folder: Path, cli: Teller, tmp_path: Path) -> None:
    data: dict[str, Any] = json.loads((folder / "out" / "routine.json").read_text("utf-8"))
    last = next(f for f in data["figures"] if f.get("leads"))
    del last["leads"]
    (tmp_path / "edited.json").write_text(json.dumps(data), "utf-8")
    said = cli("verify", "edited.json", "--brief", folder / "brief.yaml")
    assert said.code == 3
    assert "foot" in said.out + said.err


def test_why_says_what_feet_and_hands_do_not_allow(cli: Teller, folder: Path, tmp_path: Path) -> None:
    brief = BRIEF.replace("cha-cha", "east-coast-swing").replace("112", "140").replace("changes: 1, ", "")
    (tmp_path / "swing.yaml").write_text(
        brief.replace(", parts: [{leads: Robin, section: A}, {leads: Kim, section: B}]", ""), "utf-8"
    )
    (tmp_path / "swing.yaml").write_text(
        re.sub(r"both_lead: .*", "both_lead: true", (tmp_path / "swing.yaml").read_text("utf-8")), "utf-8"
    )
    said = cli("why", "swing.yaml")
    text = " ".join((said.out + said.err).split())
    assert "Both partners lead, each some of the time" in text
    assert "no figure left begins with the feet that are then free" in text
    assert "Let one partner lead throughout." in text
