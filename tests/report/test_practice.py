"""The practice page: its sums (with node) and what the page is given."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
from importlib.resources import as_file, files
from pathlib import Path

import pytest

from composer.report.practice import practice_html
from tests.report.samples import HOSTILE, SHOW_ROOM, a_sheet
from tests.report.test_page import read


def test_the_sums_of_the_page() -> None:
    node = shutil.which("node")
    if node is None and not os.environ.get("CI"):
        pytest.skip("node is not on this machine; CI runs this test")
    assert node is not None, "CI needs node"
    with as_file(files("composer.report").joinpath("templates", "practice-core.js")) as core:
        done = subprocess.run(
            [node, "--test", str(Path(__file__).with_name("practice.test.cjs"))],
            env={**os.environ, "PRACTICE_CORE": str(core)},
            capture_output=True,
            text=True,
            check=False,
        )
    assert done.returncode == 0, done.stdout + done.stderr
    assert re.search(r"pass 7\b", done.stdout)


def data_of(html: str) -> dict[str, object]:
    found = re.search(r'<script type="application/json" id="routine-data">(.*?)</script>', html, re.DOTALL)
    assert found is not None
    data: dict[str, object] = json.loads(found.group(1))
    return data


def test_the_page_is_given_the_sheet_and_nothing_from_outside() -> None:
    sheet = a_sheet(SHOW_ROOM, at=(6000, 5000))
    html = practice_html(sheet)
    data = data_of(html)
    assert data["beats"] == list(sheet.beats_s)
    assert data["length"] == 32 * 12
    assert [f["start"] for f in data["figures"]] == [f.start_tick for f in sheet.figures]  # type: ignore[index,attr-defined]
    page = read(html)
    for tag, attrs in page.tags:
        assert tag not in {"link", "iframe", "object", "embed", "img"}
        assert "src" not in attrs
    assert "http" not in re.sub(r'xmlns="[^"]*"', "", html)
    assert page.wrong == []
    ids = [attrs["id"] for _, attrs in page.tags if "id" in attrs]
    assert len(ids) == len(set(ids))


def test_hostile_names_cannot_end_the_script() -> None:
    names = {"leader": {"name": "</script><script>alert(1)</script>"}, "follower": {"name": HOSTILE[:300]}}
    html = practice_html(a_sheet(title="</script><img src=x>" + HOSTILE[:200], couple=names))
    page = read(html)
    assert [tag for tag, _ in page.tags].count("script") == 3
    assert not any(tag == "img" for tag, _ in page.tags)
    data_of(html)


def test_every_phrase_and_figure_has_its_button() -> None:
    sheet = a_sheet()
    buttons = [attrs for tag, attrs in read(practice_html(sheet)).tags if tag == "button"]
    assert [b["data-phrase"] for b in buttons if "data-phrase" in b] == ["1", "2"]
    assert [b["data-figure"] for b in buttons if "data-figure" in b] == [str(f.number) for f in sheet.figures]


def test_a_recording_beside_the_page_is_named() -> None:
    tags = read(practice_html(a_sheet(), track="track.ogg")).tags
    assert next(attrs for tag, attrs in tags if tag == "audio")["src"] == "track.ogg"
