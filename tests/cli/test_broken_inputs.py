"""Broken inputs: one clear diagnostic each (or the named ones), exit 2, no traceback, nothing written.

Each case writes its files into an empty folder and gives the command line; the folder must be the same afterwards.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from composer.resources import shipped
from tests.cli.speaking import Teller, tree

BRIEF = "format: brief/1\ntitle: A test\ndance: waltz\nmusic: {tempo: 88, bars: 16}\n"
COMPOSE = ("compose", "brief.yaml", "--out", "out")
JUNK = bytes(range(256)) * 40
Content = str | bytes


@dataclass(frozen=True)
class Case:
    """Files to write, the command line, the codes that must be told."""

    name: str
    codes: tuple[str, ...]
    files: dict[str, Content]
    command: tuple[str, ...] = COMPOSE
    prepare: Callable[[Path], None] | None = None


def brief(name: str, code: str | tuple[str, ...], text: Content, **more: Content) -> Case:
    codes = (code,) if isinstance(code, str) else code
    return Case(name, codes, {"brief.yaml": text, **{key.replace("__", "."): value for key, value in more.items()}})


def with_music(music: str) -> str:
    return f"format: brief/1\ntitle: A test\ndance: waltz\nmusic: {music}\n"


def sparse(name: str, size: int = 50_000_000) -> Callable[[Path], None]:
    def make(folder: Path) -> None:
        with (folder / name).open("wb") as stream:
            stream.truncate(size)

    return make


def a_folder(name: str) -> Callable[[Path], None]:
    return lambda folder: (folder / name).mkdir()


def someone_elses_sheet(folder: Path) -> None:
    (folder / "out").mkdir()
    (folder / "out" / "sheet.html").write_text("mine", "utf-8")


TENFOLD = "{k}: &{k} [*{j},*{j},*{j},*{j},*{j},*{j},*{j},*{j},*{j},*{j}]\n"
BOMB = "a: &a [1]\n" + "".join(TENFOLD.format(j=j, k=k) for j, k in zip("abcdefg", "bcdefgh", strict=True))
WHISK = (shipped("catalog") / "waltz" / "whisk.yaml").read_text("utf-8")
ROUTINE = "format: routine/1\ndance: waltz\nfigures: {}\n"
CHECK = ("figures", "check", "figure.yaml")
LISTEN = ("listen", "music.abc", "--out", "timeline.json")
VERIFY = ("verify", "routine.yaml")

CASES = [
    # the text itself
    brief("empty file", "YML004", ""),
    brief("only a comment", "YML004", "# nothing\n"),
    brief("binary junk", "YML002", JUNK),
    brief("zero bytes inside", "YML003", b"format: brief/1\x00\n"),
    brief("another encoding", "YML002", "title: Für Élise".encode("latin-1")),
    brief("tabs for indentation", "YML003", BRIEF + "wishes:\n\tnever: [whisk]\n"),
    brief("two documents in one", "YML003", BRIEF + "---\n" + BRIEF),
    brief("duplicate keys", "YML008", BRIEF + "dance: foxtrot\n"),
    brief("anchor inside itself", "YML005", BRIEF + "wishes: &w {never: [*w]}\n"),
    brief("an alias bomb", "YML006", BOMB),
    brief("nested without end", "YML003", "a: " + "[" * 4000),
    brief("a python object", "YML007", BRIEF + "wishes: !!python/object:os.system x\n"),
    brief("a number beyond all measure", "YML007", BRIEF + "room: {width: 0x" + "F" * 6000 + ", depth: 5}\n"),
    brief("a number of ten thousand digits", "YML007", BRIEF + "room: {width: " + "9" * 10_000 + ", depth: 5}\n"),
    Case("fifty megabytes", ("YML001",), {}, prepare=sparse("brief.yaml")),
    Case("a folder instead of a file", ("YML001",), {}, prepare=a_folder("brief.yaml")),
    Case("a pipe instead of a file", ("YML001",), {}, prepare=lambda folder: os.mkfifo(folder / "brief.yaml")),
    Case("a device instead of a file", ("YML001",), {}, ("compose", "/dev/zero", "--out", "out")),
    Case("no such file", ("YML001",), {}),
    Case("no such scenario", ("BRF010",), {}, ("compose", "frist-dance", "--out", "out")),
    # the form of a brief
    brief("a list at the top", "BRF003", "- brief/1\n"),
    brief("a newer format", "BRF011", BRIEF.replace("brief/1", "brief/7") + "telepathy: yes\n"),
    brief("a wrong key", "BRF001", BRIEF + "whishes: {never: [whisk]}\n"),
    brief("a key with a hidden character", "BRF001", BRIEF + "\"wish\\u200bes\": {never: [whisk]}\n"),
    brief("a missing key", "BRF002", BRIEF.replace("dance: waltz\n", "")),
    brief("a title without end", "BRF003", BRIEF.replace("A test", "x" * 301)),
    brief("three faults at once", ("BRF003", "BRF001", "BRF021"),
          BRIEF + "couple: {leader: {level: 9}}\nwishes: {nver: [], never: [wisk]}\n"),
    # what a brief names
    brief("an unknown dance", "BRF020", BRIEF.replace("waltz", "walz")),
    brief("an unknown figure", "BRF021", BRIEF + "wishes: {never: [wisk]}\n"),
    brief("a figure written backwards", "BRF021", BRIEF + 'wishes: {never: ["\\u202eksihw"]}\n'),
    brief("a figure that paints the terminal", "BRF021", BRIEF + 'wishes: {never: ["\\e[31mwhisk\\n"]}\n'),
    brief("an unknown hold", "BRF023", BRIEF + "wishes: {opening: {hold: closd}}\n"),
    brief("no such catalogue folder", "BRF024", BRIEF + "catalogues: [mine]\n"),
    brief("a count beyond the music", "BRF025", BRIEF + "wishes: {must: [{figure: whisk, at: 49}]}\n"),
    # rooms
    brief("a negative room", "BRF003", BRIEF + "room: {width: -5 m, depth: 4 m}\n"),
    brief("a room of no size", "BRF003", BRIEF + "room: {width: 0, depth: 4 m}\n"),
    brief("a room that is no number", "BRF003", BRIEF + "room: {width: .nan, depth: 4 m}\n"),
    brief("an endless room", "BRF003", BRIEF + "room: {width: .inf, depth: 4 m}\n"),
    brief("no floor between the margins", "ROM001", BRIEF + "room: {width: 5, depth: 4, margin: 1.8}\n"),
    brief("a start in the wall", "ROM002", BRIEF + "room: {width: 5, depth: 4, start: {x: 0, y: 2}}\n"),
    brief("an audience nobody placed", "ROM003", BRIEF + "wishes: {closing: {faces: audience}}\n"),
    # music
    brief("a tempo that is no number", "BRF003", with_music("{tempo: .nan, bars: 8}")),
    brief("an endless tempo", "BRF003", with_music("{tempo: .inf, bars: 8}")),
    brief("no music at all", "BRF003", with_music("{}")),
    brief("two kinds of music", "BRF003", with_music("{score: a.abc, beats: b.txt}")),
    brief("the last bar before the first", "BRF003", with_music("{tempo: 88, bars: 8, first_bar: 5, last_bar: 4}")),
    brief("bars of four for a waltz", "BRF027", with_music("{tempo: 88, bars: 8, beats_per_bar: 4}")),
    brief("no such score", "TML032", with_music("{score: nothing.abc}")),
    brief("a broken score", "TML020", with_music("{score: a.musicxml}"), a__musicxml="<score-partwise><part>"),
    brief("a score without notes", "TML025", with_music("{score: a.abc}"), a__abc="X:1\nT:t\nM:3/4\nL:1/4\nK:C\n"),
    brief("a score of binary junk", "TML002", with_music("{score: a.abc}"), a__abc=JUNK),
    brief("a beat file that goes back in time", "TML011", with_music("{beats: b.txt}"), b__txt="0 1\n1 2\n0.5 3\n"),
    Case("an empty score", ("TML001",), {"music.abc": ""}, LISTEN),
    Case("a score of fifty megabytes", ("TML001",), {}, LISTEN, sparse("music.abc")),
    Case("no music file", ("TML032",), {}, LISTEN),
    Case("a folder to listen to", ("TML032",), {}, LISTEN, a_folder("music.abc")),
    Case("a timeline of a newer format", ("TML055",), {"t.json": '{"format": "timeline/2"}'}, ("listen", "t.json")),
    Case("a timeline written into a folder", ("OUT001",), {"b.txt": "0 1\n1 2\n2 3\n3 1\n4 2\n5 3\n"},
         ("listen", "b.txt", "--out", "out"), a_folder("out")),
    # output folders
    Case("a file where the folder should be", ("OUT002",), {"brief.yaml": BRIEF, "out": "a file"}),
    Case("a folder under a file", ("OUT001",), {"brief.yaml": BRIEF, "file": "x"},
         ("compose", "brief.yaml", "--out", "file/out")),
    Case("a folder nobody can make", ("OUT001",), {"brief.yaml": BRIEF},
         ("compose", "brief.yaml", "--out", "/proc/out")),
    Case("somebody else's sheet", ("OUT003",), {"brief.yaml": BRIEF}, prepare=someone_elses_sheet),
    # command lines
    Case("an unknown command", ("CMD001",), {}, ("compos", "brief.yaml")),
    Case("an unknown option", ("CMD002",), {}, ("compose", "brief.yaml", "--sed", "3")),
    Case("a missing argument", ("CMD003",), {}, ("compose",)),
    Case("a seed that is no number", ("CMD004",), {}, ("compose", "brief.yaml", "--seed", "many")),
    Case("no time at all", ("CMD004",), {}, ("compose", "brief.yaml", "--time-limit", "0")),
    Case("a time that is no number", ("CMD004",), {}, ("compose", "brief.yaml", "--time-limit", "nan")),
    Case("a unit that is none", ("CMD004",), {"brief.yaml": BRIEF}, (*COMPOSE, "--lengths", "miles")),
    Case("a paper that is none", ("CMD004",), {"brief.yaml": BRIEF}, (*COMPOSE, "--paper", "wall")),
    Case("a picture that is none", ("CMD004",), {}, ("figures", "show", "waltz/whisk", "--out", "whisk.txt")),
    Case("a picture under a file", ("OUT001",), {"x": ""}, ("figures", "show", "waltz/whisk", "--out", "x/whisk.svg")),
    Case("an option without its value", ("CMD005",), {}, ("compose", "brief.yaml", "--out")),
    Case("an argument too many", ("CMD005",), {}, ("compose", "brief.yaml", "other.yaml")),
    Case("an unknown schema", ("CMD006",), {}, ("schema", "brif")),
    Case("an unknown dance to list", ("CMD011",), {}, ("figures", "list", "--dance", "walz")),
    Case("an unknown figure to show", ("CMD012",), {}, ("figures", "show", "natural-tern")),
    Case("an unknown figure to follow", ("CMD012",), {}, ("figures", "follow", "zzz")),
    Case("a graph of no dance", ("CMD011",), {}, ("figures", "graph", "waltzz")),
    Case("a level that does not exist", ("CMD004",), {}, ("figures", "list", "--level", "6")),
    Case("a figure without a name", ("CMD004",), {}, ("figures", "new", "  ", "--dance", "waltz")),
    Case("a starter over a file", ("OUT003",), {"mine.yaml": "x"},
         ("figures", "new", "Mine", "--dance", "waltz", "--out", "mine.yaml")),
    # routines
    Case("no routine file", ("YML001",), {}, VERIFY),
    Case("a routine of a newer format", ("RTN011",), {"routine.yaml": "format: routine/2\n"}, VERIFY),
    Case("a routine of no dance", ("RTN030",), {"routine.yaml": "format: routine/1\nfigures: [whisk]\n"}, VERIFY),
    Case("a routine of no figures", ("RTN031",), {"routine.yaml": ROUTINE.format("[]")}, VERIFY),
    Case("two unknown figures in a routine", ("RTN021", "RTN021"),
         {"routine.yaml": ROUTINE.format("[wisk, whisk, wisk]")}, VERIFY),
    Case("a routine and a broken brief", ("BRF020",),
         {"routine.yaml": ROUTINE.format("[whisk]"), "brief.yaml": BRIEF.replace("waltz", "walz")},
         (*VERIFY, "--brief", "brief.yaml")),
    # figures
    Case("no figure file", ("YML001",), {}, CHECK),
    Case("a figure of binary junk", ("YML002",), {"figure.yaml": JUNK}, CHECK),
    Case("a figure of no known dance", ("FIG091",), {"figure.yaml": WHISK.replace("dance: waltz", "dance: walz")},
         CHECK),
    Case("a folder without figures", ("FIG090",), {}, ("figures", "check", "none"), a_folder("none")),
    Case("a figure with a wrong key", ("FIG001",), {"figure.yaml": WHISK + "colour: red\n"}, CHECK),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=[case.name for case in CASES])
def test_a_broken_input_is_told_and_nothing_is_written(case: Case, cli: Teller, tmp_path: Path) -> None:
    for name, content in case.files.items():
        (tmp_path / name).write_bytes(content if isinstance(content, bytes) else content.encode("utf-8"))
    if case.prepare is not None:
        case.prepare(tmp_path)
    before = tree(tmp_path)
    said = cli(*case.command)
    assert (said.code, said.codes, said.out) == (2, list(case.codes), "")
    assert tree(tmp_path) == before
    assert all(char.isprintable() for line in said.err.splitlines() for char in line)
    assert all(len(line) < 700 for line in said.err.splitlines())


@pytest.mark.parametrize("case", CASES, ids=[case.name for case in CASES])
def test_with_json_the_same_faults_are_one_document(case: Case, cli: Teller, tmp_path: Path) -> None:
    if case.command[0] == "schema" or case.command[:2] == ("figures", "new"):
        pytest.skip("this command has no --json")
    for name, content in case.files.items():
        (tmp_path / name).write_bytes(content if isinstance(content, bytes) else content.encode("utf-8"))
    if case.prepare is not None:
        case.prepare(tmp_path)
    command = (*case.command[:1], "--json", *case.command[1:])
    if case.command[0] == "figures":
        command = (*case.command[:2], "--json", *case.command[2:])
    said = cli(*command)
    assert said.code == 2
    assert [item["code"] for item in said.document["errors"]] == list(case.codes)
    assert said.err == ""


def test_there_are_at_least_forty_broken_briefs_figures_and_music_files() -> None:
    assert len({case.name for case in CASES}) == len(CASES)
    assert sum(case.codes[0][:3] != "CMD" for case in CASES) >= 40
