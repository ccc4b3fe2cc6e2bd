"""The files written from a sheet: whole, harmless, self-contained, the same every time."""

from __future__ import annotations

import json
import re
import xml.etree.ElementTree as ET
from html.parser import HTMLParser
from pathlib import Path

import pytest

from composer.errors import BadInput
from composer.report import write_folder
from composer.report.page import sheet_html
from composer.report.plan import parts_of, plan_svg
from composer.report.strip import timeline_svg
from composer.report.svg import DARK, LIGHT
from tests.builders import a_timeline
from tests.report.samples import HOSTILE, SHOW_ROOM, a_sheet

VOID = {"meta", "br", "input", "link", "img", "hr"}


class Reader(HTMLParser):
    """Collects tags, ids, addresses, text; notices tags that are closed in the wrong order."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text: list[str] = []
        self.wrong: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open.pop() != tag:
            self.wrong.append(tag)

    def handle_data(self, data: str) -> None:
        if not self.open or self.open[-1] not in {"script", "style"}:
            self.text.append(data)


def read(html: str) -> Reader:
    reader = Reader()
    reader.feed(html)
    reader.close()
    return reader


@pytest.fixture(params=[None, SHOW_ROOM], ids=["no room", "show room"])
def hostile_html(request: pytest.FixtureRequest) -> str:
    names = {"leader": {"name": HOSTILE[:290]}, "follower": {"name": '"><img src=x onerror=alert(1)>'}}
    at = None if request.param is None else (6000, 5000)
    return sheet_html(a_sheet(request.param, title=HOSTILE[:300], couple=names, at=at))


def test_hostile_names_are_text_and_nothing_else(hostile_html: str) -> None:
    page = read(hostile_html)
    assert page.wrong == []
    assert page.open == []
    assert [tag for tag, _ in page.tags].count("script") == 1
    assert not any(tag == "img" for tag, _ in page.tags)
    assert not any(name.startswith("on") for _, attrs in page.tags for name in attrs)
    text = "".join(page.text)
    assert "<script>alert('x')</script>" in text
    assert "שלום" in text
    assert "💃" in text
    assert "\x07" not in hostile_html


def test_the_page_needs_nothing_from_outside(hostile_html: str) -> None:
    page = read(hostile_html)
    for tag, attrs in page.tags:
        assert tag not in {"link", "iframe", "object", "embed"}
        for name in ("src", "href", "action", "srcset", "poster"):
            value = attrs.get(name)
            assert value is None or value.startswith("#"), (tag, name, value)
    own = re.sub(r'xmlns="[^"]*"', "", hostile_html)
    assert "http" not in own
    assert "url(" not in own
    assert "@import" not in own


def test_landmarks_language_labels_and_unique_ids(hostile_html: str) -> None:
    page = read(hostile_html)
    ids = [attrs["id"] for _, attrs in page.tags if "id" in attrs]
    assert len(ids) == len(set(ids))
    tags = [tag for tag, _ in page.tags]
    assert all(tags.count(tag) == 1 for tag in ("main", "nav", "h1", "body"))
    assert ("html", {"lang": "en"}) in page.tags
    for _, attrs in page.tags:
        if str(attrs.get("href", "")).startswith("#"):
            assert str(attrs["href"])[1:] in ids
        if "aria-labelledby" in attrs:
            assert attrs["aria-labelledby"] in ids
    assert all(attrs.get("scope") in {"row", "col"} for tag, attrs in page.tags if tag == "th")


def test_every_figure_in_order_for_both_roles() -> None:
    sheet = a_sheet()
    html = sheet_html(sheet)
    places = [html.index(f'id="figure-{f.number}"') for f in sheet.figures]
    assert places == sorted(places)
    for figure, start, end in zip(sheet.figures, places, [*places[1:], len(html)], strict=True):
        text = re.sub(r"\s+", " ", "".join(read(html[start:end]).text))
        cut = text.index("Follower steps of") if "Follower steps of" in text else text.index("Begin")
        assert figure.name in text
        for step in (*figure.leader, *figure.follower):
            assert step.plain in text
            assert step.ends in text
        assert cut > 0


@pytest.mark.parametrize("draw", [plan_svg, timeline_svg])
@pytest.mark.parametrize("room", [None, SHOW_ROOM])
def test_pictures_are_well_formed_and_carry_the_title_safely(draw: object, room: dict[str, object] | None) -> None:
    sheet = a_sheet(room, title=HOSTILE[:300], at=(6000, 5000) if room else None)
    root = ET.fromstring(draw(sheet))  # type: ignore[operator]
    assert not [e for e in root.iter() if e.tag.endswith(("script", "foreignObject", "image"))]
    title = next(e for e in root.iter() if e.tag.endswith("title"))
    assert "<script>alert('x')</script>" in (title.text or "")
    numbers = {e.text for e in root.iter() if e.tag.endswith("text")}
    if draw is plan_svg:
        assert {str(f.number) for f in sheet.figures} <= numbers
        assert {"start", "end"} <= numbers


def test_the_ways_stay_inside_the_drawn_room() -> None:
    sheet = a_sheet(SHOW_ROOM, at=(6000, 5000), faces=2)
    root = ET.fromstring(plan_svg(sheet))
    wall = next(e for e in root.iter() if e.get("stroke") == "var(--ink)" and e.get("d", "").endswith("Z"))
    corners = [float(n) for n in re.findall(r"-?\d+(?:\.\d+)?", wall.get("d", ""))]
    wide, tall = max(corners[::2]), max(corners[1::2])
    assert wide / tall == pytest.approx(12 / 10, rel=0.01)
    for way in (e for e in root.iter() if e.get("class") in {"lead", "follow"} and e.tag.endswith("path")):
        numbers = [float(n) for n in re.findall(r"-?\d+(?:\.\d+)?", way.get("d", ""))]
        assert all(0 <= x <= wide for x in numbers[::2])
        assert all(0 <= y <= tall for y in numbers[1::2])


def test_crowded_plans_are_divided_and_lose_no_figure() -> None:
    sheet = a_sheet(order=("curving-four",) * 8)
    assert [(p.first, p.last) for p in parts_of(sheet)] == [(1, 8)]
    longer = a_sheet(
        order=("curving-four",) * 12, timeline=a_timeline(12, 4, 4, sections=[(2, "a", 1), (10, "b", 2)])
    )  # fmt: skip
    parts = parts_of(longer)
    assert [n for p in parts for n in range(p.first, p.last + 1)] == list(range(1, 13))
    assert len(parts) > 1


def test_the_same_sheet_gives_the_same_bytes(tmp_path: Path) -> None:
    first = write_folder(a_sheet(), tmp_path / "a")
    second = write_folder(a_sheet(), tmp_path / "b")
    assert [p.name for p in first][:1] == ["routine.json"]
    assert {"routine.json", "sheet.html", "plan.svg", "timeline.svg"} <= {p.name for p in first}
    assert [p.read_bytes() for p in first] == [p.read_bytes() for p in second]
    data = json.loads(first[0].read_text(encoding="utf-8"))
    assert data["format"] == "routine/1"
    assert [f["figure"] for f in data["figures"]] == [p.figure for p in a_sheet().routine.figures]


def test_a_folder_that_cannot_be_made_is_one_clear_fault(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way", encoding="utf-8")
    with pytest.raises(BadInput, match="OUT001"):
        write_folder(a_sheet(), tmp_path / "file" / "out")


def _luminance(colour: str) -> float:
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


@pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["light", "dark"])
def test_text_contrast_is_at_least_the_aa_value(palette: str) -> None:
    # WCAG 2: 4.5 to 1 for text, 3 to 1 for graphics (https://www.w3.org/TR/WCAG22/#contrast-minimum).
    colour = dict(re.findall(r"--([\w-]+):(#[0-9a-f]{6})", palette))
    tints = [f"t{i}" for i in range(8)]
    texts = [(a, b) for a in ("ink", "soft") for b in ("paper", "card", *tints)]
    texts += [
        ("lead", "lead-wash"),
        ("follow", "follow-wash"),
        ("lead", "card"),
        ("ink", "mark-wash"),
        ("lead", "paper"),
    ]
    texts += [("mark", "card")]
    for front, back in texts:
        light, dark = sorted((_luminance(colour[front]), _luminance(colour[back])), reverse=True)
        assert (light + 0.05) / (dark + 0.05) >= 4.5, (front, back)


def test_odd_floors_show_their_outline_pillar_and_door() -> None:
    room = {
        "style": "show",
        "outline": [[0, 0], [12, 0], [12, 10], [7, 10], [7, 7], [0, 7]],
        "margin": "40 cm",
        "obstacles": [
            {"name": "pillar <b>", "x": 9, "y": 8, "radius": 0.3},
            {"name": "cake", "box": [[0.5, 5], [1.5, 6]]},
        ],
        "doors": [{"name": "way in", "ends": [[0, 1], [0, 2]]}],
    }
    sheet = a_sheet(room, at=(6000, 3000))
    assert sheet.room is not None
    assert sheet.room.outer[3] == (7000, 10000)
    # The margin of an inward corner is drawn round it: 40 cm from both walls.
    assert (7400, 6600) in sheet.room.inset
    assert "keep off: pillar <b> and cake" in sheet.room.words
    for drawing in (plan_svg(sheet), sheet_html(sheet)):
        assert "pillar &lt;b&gt;" in drawing
        assert "way in" in drawing
    root = ET.fromstring(plan_svg(sheet))
    scale = 560 - 60
    circles = [float(e.get("r", "0")) for e in root.iter() if e.tag.endswith("circle") and e.get("class") == "wash"]
    assert circles == [pytest.approx(0.3 * scale / 12, abs=0.1)]
