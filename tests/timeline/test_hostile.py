"""Files that are empty, broken or made to hurt: one clear diagnostic each, and no traceback."""

from __future__ import annotations

import io
import os
import zipfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from composer.errors import BadInput
from composer.timeline import read_score
from composer.timeline.scorefile import MAX_SCORE_BYTES
from tests.timeline.scores import abc, attributes, metronome, midi, put, xml_measure, xml_score

GOOD_XML = xml_score([xml_measure(1, attributes() + metronome(100)), xml_measure(2)])


def zipped(name: str, content: bytes, table: bool = True) -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        if table:
            archive.writestr(
                "META-INF/container.xml",
                f'<container><rootfiles><rootfile full-path="{name}"/></rootfiles></container>',
            )
        archive.writestr(name, content)
    return buffer.getvalue()


ENTITIES = '<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;">'
BOMB = f'<?xml version="1.0"?><!DOCTYPE x [{ENTITIES}]><score-partwise>&b;</score-partwise>'
MANY = '<barline><repeat direction="backward" times="99999"/></barline></measure>'
CASES: list[tuple[str, str | bytes, str]] = [
    ("empty.xml", b"", "TML001"),
    ("blank.abc", b"  \n\n", "TML001"),
    ("junk.xml", bytes(range(256)) * 20, "TML002"),
    ("junk.abc", b"\x00\xff" * 500, "TML002"),
    ("junk.mid", bytes(range(256)) * 20, "TML024"),
    ("junk.mxl", bytes(range(256)) * 20, "TML022"),
    ("cut.musicxml", GOOD_XML[: len(GOOD_XML) // 2], "TML020"),
    ("cut.mid", midi(range(16))[:60], "TML024"),
    ("cut.mxl", zipped("a.xml", GOOD_XML.encode())[:200], "TML022"),
    ("bomb.xml", BOMB, "TML021"),
    ("deep.xml", "<score-partwise>" + "<a>" * 5000, "TML021"),
    ("other.xml", "<html><body/></html>", "TML021"),
    ("timewise.xml", "<score-timewise/>", "TML021"),
    ("many.xml", GOOD_XML.replace("</measure>", MANY, 1), "TML021"),
    ("zip-bomb.mxl", zipped("a.xml", b" " * (MAX_SCORE_BYTES + 1)), "TML022"),
    ("empty-zip.mxl", zipped("readme.txt", b"hello", table=False), "TML022"),
    ("no-notes.xml", xml_score([xml_measure(1, attributes(), notes="")]), "TML025"),
    ("no-notes.abc", abc("z4|z4|"), "TML025"),
    ("no-notes.mid", midi([]), "TML025"),
    ("no-key.abc", "just a text\n", "TML023"),
    ("song.mp3", b"ID3", "TML003"),
    ("noname", b"x", "TML003"),
    ("zero.xml", GOOD_XML.replace("<divisions>1<", "<divisions>0<"), "TML024"),
    ("endless.mid", midi([0, 1_000_000]), "TML028"),
    ("odd.xml", xml_score([xml_measure(1, attributes(5, 3) + metronome(100))]), "TML029"),
    ("fast.xml", xml_score([xml_measure(1, attributes() + metronome(4000))]), "TML030"),
    ("long.abc", abc("|".join(["CDEF"] * 50_000)), "TML001"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "content", "code"), CASES, ids=[case[0] for case in CASES])
def test_one_clear_diagnostic(tmp_path: Path, name: str, content: str | bytes, code: str):
    path = put(tmp_path, name, content)
    with pytest.raises(BadInput) as caught:
        read_score(path)
    assert [item.code for item in caught.value.diagnostics] == [code], str(caught.value)
    assert name in str(caught.value)


def test_a_large_file_is_not_even_read(tmp_path: Path):
    path = tmp_path / "large.xml"
    with path.open("wb") as stream:
        stream.truncate(50_000_000)
    with pytest.raises(BadInput, match=r"TML001.*50000000 bytes"):
        read_score(path)


def test_missing_files_and_folders(tmp_path: Path):
    (tmp_path / "folder.xml").mkdir()
    for name in ("none.xml", "folder.xml", "bad\0name.xml"):
        with pytest.raises(BadInput, match="TML001"):
            read_score(tmp_path / name)


def test_compressed_scores_are_read(tmp_path: Path):
    for table in (True, False):
        path = put(tmp_path, "good.mxl", zipped("inner/score.xml", GOOD_XML.encode(), table))
        assert len(read_score(path).bars) == 2


def test_nothing_is_written_while_reading(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    home = tmp_path / "home"
    home.mkdir()
    monkeypatch.setenv("HOME", str(home))
    monkeypatch.setenv("TMPDIR", str(home))
    folder = tmp_path / "music"
    folder.mkdir()
    read_score(put(folder, "a.xml", GOOD_XML))
    read_score(put(folder, "b.abc", abc("CDEF|G4|")))
    read_score(put(folder, "c.mid", midi(range(16))))
    assert sorted(os.listdir(folder)) == ["a.xml", "b.abc", "c.mid"]
    assert os.listdir(home) == []


@pytest.mark.parametrize("kind", ["xml", "abc", "mid"])
@given(data=st.data())
@settings(max_examples=25)
def test_damaged_files_never_crash(tmp_path_factory: pytest.TempPathFactory, kind: str, data: st.DataObject):
    good = {"xml": GOOD_XML.encode(), "abc": abc("|:CDEF|G4:|").encode(), "mid": midi(range(16))}[kind]
    damaged = bytearray(good)
    for _ in range(data.draw(st.integers(1, 6))):
        at = data.draw(st.integers(0, len(damaged) - 1))
        damaged[at] = data.draw(st.integers(0, 255))
    path = put(tmp_path_factory.mktemp("damaged"), f"file.{kind}", bytes(damaged))
    try:
        bars = read_score(path)
    except BadInput as problem:
        assert len(problem.diagnostics) == 1  # noqa: PT017
    else:
        assert bars.bars
