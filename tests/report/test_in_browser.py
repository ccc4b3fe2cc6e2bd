"""Sheet and practice page in a real browser: no errors, nothing from outside, accessible, beat-exact, printable."""

from __future__ import annotations

import cmath
import io
import json
import math
import re
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from composer.catalogue.model import Figure
from composer.report import sheet_from, write_folder
from composer.report.figureline import lone_figure
from composer.report.page import figures_html
from composer.report.practice import practice_html
from tests.report.browser import WIDTHS, Browser, browser
from tests.report.samples import HOSTILE, SHOW_ROOM, a_dance, the_catalogue

__all__ = ["browser"]
pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A dance in a show room, with a hostile title and names, written whole."""
    names = {"leader": {"name": HOSTILE[:200]}, "follower": {"name": "Zoë"}}
    problem, routine = a_dance(SHOW_ROOM, title=HOSTILE[:300], couple=names, at=(6000, 5000))
    out = tmp_path_factory.mktemp("dance")
    write_folder(sheet_from(problem, routine), out)
    catalogue = the_catalogue()
    lines = [lone_figure(catalogue, figure, n) for n, figure in enumerate(catalogue.figures.values(), 1)]
    (out / "figures.html").write_text(figures_html(lines, "Figures"), encoding="utf-8")
    return out


@pytest.mark.parametrize("page", ["sheet.html", "practice.html", "figures.html"])
@pytest.mark.parametrize("width", WIDTHS)
def test_pages_load_cleanly_and_pass_the_accessibility_rules(
    browser: Browser, folder: Path, page: str, width: int
) -> None:
    browser.size(width)
    for scheme in ("light", "dark"):
        browser.colours(scheme)
        for fragment in ("#charts", "#words") if page == "sheet.html" else ("",):
            browser.open(folder / page, fragment)
            browser.run("document.querySelectorAll('details').forEach(d => { d.open = true; });")
            assert browser.run("return document.scrollingElement.scrollWidth") <= width
            assert browser.axe() == []
            assert browser.console_errors() == []
            own = (folder / page).as_uri()
            assert [r for r in browser.requests() if r.split("#")[0] not in {own, "about:blank"}] == []


def test_the_role_switch_hides_the_other_role(browser: Browser, folder: Path) -> None:
    browser.size(1440)
    shown = "return [...document.querySelectorAll('table.steps.%s')].filter(t => t.offsetParent).length;"
    for fragment, leader, follower in (("", True, True), ("#leader", True, False), ("#follower", False, True)):
        browser.open(folder / "sheet.html", fragment)
        browser.run("document.querySelectorAll('details').forEach(d => { d.open = true; });")
        assert (browser.run(shown % "leader") > 0, browser.run(shown % "follower") > 0) == (leader, follower)


def test_printing_cuts_no_table_row(browser: Browser, folder: Path) -> None:
    from pypdf import PdfReader

    browser.size(1440)
    for fragment, cells in (("#words", "td.words"), ("#charts", "td.charts")):
        browser.open(folder / "sheet.html", fragment)
        rows = browser.run(
            "return [...document.querySelectorAll('table.steps tbody tr')].map(r => r.querySelector('th').textContent"
            " + [...r.querySelectorAll(arguments[0])].map(c => c.textContent).join(''));",
            cells,
        )
        pages = [re.sub(r"\s+", "", p.extract_text()) for p in PdfReader(io.BytesIO(browser.printed())).pages]
        assert len(pages) > 1
        assert len(rows) > 40
        for row in rows:
            wanted = re.sub(r"\s+", "", row)
            assert any(wanted in page for page in pages), row


def place_of(figures: dict[str, Figure], routine: dict[str, Any], role: str, tick: float) -> complex:
    """Where a dancer is, from routine.json and the simulated motions alone."""
    placed = max((f for f in routine["figures"] if f["start_tick"] <= tick), key=lambda f: f["start_tick"])
    moments = figures[placed["figure"]].motion.moments
    local = tick - placed["start_tick"]
    before = max((m for m in moments if m.tick <= local), key=lambda m: m.tick)
    after = min((m for m in moments if m.tick >= local), key=lambda m: m.tick, default=before)
    a, b = getattr(before, role), getattr(after, role)
    share = (local - before.tick) / (after.tick - before.tick) if after.tick > before.tick else 0
    forward = a.forward_mm + share * (b.forward_mm - a.forward_mm)
    right = a.right_mm + share * (b.right_mm - a.right_mm)
    ahead = cmath.exp(-1j * math.pi / 4 * placed["faces"])
    return complex(placed["x_mm"], placed["y_mm"]) + forward * ahead - 1j * right * ahead


def test_drawn_dancers_and_counts_follow_the_routine(browser: Browser, folder: Path) -> None:
    routine = json.loads((folder / "routine.json").read_text(encoding="utf-8"))
    figures = dict(the_catalogue().figures)
    browser.size(1440)
    browser.open(folder / "practice.html")
    frame = browser.run("return practice.frame")
    browser.run("practice.setRate(60); document.getElementById('play').click();")
    samples = []
    for _ in range(50):
        samples.append(browser.run("return practice.shown()"))
        browser.driver.execute_async_script("setTimeout(arguments[0], 180);")
    browser.run("practice.pause()")
    assert browser.console_errors() == []
    playing = [s for s in samples if s["playing"]]
    assert len(playing) == 50
    ticks = [s["tick"] for s in playing]
    assert ticks == sorted(ticks)
    assert ticks[-1] - ticks[0] > 100
    for sample in playing:
        for role in ("leader", "follower"):
            x, y = (float(n) for n in re.findall(r"translate\((\S+) (\S+)\)", sample[role])[0])
            drawn = complex(frame["x0"] + x / frame["scale"], frame["y1"] - y / frame["scale"])
            assert abs(drawn - place_of(figures, routine, role, sample["tick"])) <= 20
        beat = math.floor(sample["tick"] / 12)
        phrase = 16 * (beat // 16)
        assert sample["count"] == str(beat - phrase + 1)
        assert sample["routine"].startswith(f"count {beat + 1} of 32, beat {beat % 4 + 1} ")
        number = max(i for i, f in enumerate(routine["figures"], 1) if f["start_tick"] <= sample["tick"])
        assert sample["figure"].startswith(f"{number}. ")


def test_the_practice_page_is_used_by_keyboard(browser: Browser, folder: Path) -> None:
    from selenium.webdriver.common.keys import Keys

    browser.size(768)
    browser.open(folder / "practice.html")
    browser.press(Keys.ARROW_RIGHT, Keys.ARROW_RIGHT, Keys.ARROW_RIGHT, Keys.ARROW_LEFT)
    assert browser.run("return practice.shown()")["count"] == "3"
    browser.press(Keys.ARROW_DOWN, Keys.ARROW_DOWN)
    assert browser.run("return practice.shown()")["rate"] == pytest.approx(0.9)
    browser.press("l")
    assert browser.run("return document.getElementById('loop').getAttribute('aria-pressed')") == "true"
    browser.press(Keys.SPACE)
    assert browser.run("return practice.shown()")["playing"]
    browser.press(Keys.SPACE)
    assert not browser.run("return practice.shown()")["playing"]
    browser.press(Keys.HOME)
    assert browser.run("return practice.shown()")["tick"] == 0
    browser.run("document.querySelector('button.phrase[data-phrase=\"2\"]').focus();")
    browser.press(Keys.ENTER)
    assert browser.run("return practice.shown()")["tick"] == 16 * 12


def test_a_loop_goes_round_its_phrase(browser: Browser, folder: Path) -> None:
    browser.open(folder / "practice.html")
    browser.run("practice.jump(26 * 12); practice.setRate(130);")
    browser.run("document.getElementById('loop').click(); practice.play();")
    seen = []
    for _ in range(40):
        seen.append(browser.run("return practice.shown()")["tick"])
        browser.driver.execute_async_script("setTimeout(arguments[0], 120);")
    browser.run("practice.pause()")
    assert min(seen) >= 16 * 12 - 1
    assert any(later < earlier - 24 for earlier, later in pairwise(seen)), seen


def test_a_recording_leads_the_dancers_at_the_same_pitch(browser: Browser, folder: Path, tmp_path: Path) -> None:
    from composer.report.sound import practice_audio, sound_bytes

    problem, routine = a_dance(SHOW_ROOM, at=(6000, 5000))
    sheet = sheet_from(problem, routine)
    write_folder(sheet, tmp_path)
    # The click alone stands in for a recording; it has a bar counted in, which the page is told.
    practice = practice_audio(sheet, counts=False, calls=False)
    (tmp_path / "track.wav").write_bytes(sound_bytes(practice))
    (tmp_path / "practice.html").write_text(practice_html(sheet, track="track.wav"), encoding="utf-8")
    browser.open(tmp_path / "practice.html")
    browser.run(
        "document.getElementById('shift').value = arguments[0]; document.getElementById('source-track').click();"
        "practice.jump(48); practice.setRate(70); practice.play();",
        practice.lead_in_s,
    )
    samples = []
    for _ in range(12):
        browser.driver.execute_async_script("setTimeout(arguments[0], 200);")
        samples.append(
            browser.run(
                "const t = document.getElementById('track'); const s = practice.shown();"
                "return {tick: s.tick, at: t.currentTime, rate: t.playbackRate,"
                " pitch: t.preservesPitch, on: !t.paused};"
            )
        )
    browser.run("practice.pause()")
    assert browser.console_errors() == []
    own = {(tmp_path / name).as_uri() for name in ("practice.html", "track.wav")} | {"about:blank"}
    assert set(browser.requests()) <= own
    assert all(s["on"] and s["pitch"] and s["rate"] == pytest.approx(0.7) for s in samples)
    for sample in samples:
        # Steady music of two beats a second: 24 ticks a second of the recording; drawn at most a few frames later.
        assert sample["tick"] == pytest.approx((sample["at"] - practice.lead_in_s) * 24, abs=4)
    assert samples[-1]["tick"] - samples[0]["tick"] > 15
