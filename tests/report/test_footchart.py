"""Drawn foot charts: each step picture agrees with the chart it is drawn from."""

from __future__ import annotations

import math
import xml.etree.ElementTree as ET

import pytest

from composer.report.footchart import foot_chart_svg, wrapped
from composer.report.footdata import FootChart, foot_chart
from tests.report.samples import BASIC, CURVE, real_figure


@pytest.fixture(params=[(BASIC, "test/plain-six"), (CURVE, "test/curving-four")], ids=["basic", "curve"])
def chart(request: pytest.FixtureRequest) -> FootChart:
    return foot_chart(real_figure(*request.param))


def test_forward_goes_up_and_back_goes_down_in_the_dancers_own_frame() -> None:
    chart = foot_chart(real_figure(BASIC, "test/plain-six"))
    for picture in chart.leader:
        if picture.what.startswith("forward"):
            assert picture.moved.y_mm - picture.came_from.y_mm > 200
    # The follower steps back from her own point of view, whatever way she faces in the room.
    for picture in chart.follower:
        if picture.what.startswith("back"):
            assert picture.moved.y_mm - picture.came_from.y_mm < -200


def test_a_closing_foot_lands_on_its_own_side() -> None:
    chart = foot_chart(real_figure(BASIC, "test/plain-six"))
    for picture in (*chart.leader, *chart.follower):
        if picture.what == "closes":
            side = picture.moved.x_mm - picture.other.x_mm
            assert (side > 0) == (picture.foot == "R")
            assert abs(picture.moved.y_mm - picture.other.y_mm) < 60


def test_turn_arcs_add_up_to_the_turn_of_the_figure(chart: FootChart) -> None:
    figure = real_figure(*((CURVE, "test/curving-four") if chart.name == "Curving four" else (BASIC, "test/plain-six")))
    assert sum(p.faces16 - p.faced16 for p in chart.leader) == figure.motion.leader_turn16
    assert sum(p.faces16 - p.faced16 for p in chart.follower) == figure.motion.follower_turn16


def test_each_foot_leaves_from_where_it_last_stood(chart: FootChart) -> None:
    """Pictures are centred on the dancer, so only the way of the foot, not its place, can be compared."""
    for steps, start in ((chart.leader, "leader"), (chart.follower, "follower")):
        prints = [p for p in chart.floor if p.role == start]
        where = {p.print.foot: p.print for p in prints if not p.count}
        for picture, later in zip(steps, [p for p in prints if p.count], strict=True):
            before = where[picture.foot]
            far = math.dist((before.x_mm, before.y_mm), (later.print.x_mm, later.print.y_mm))
            drawn = math.dist(
                (picture.came_from.x_mm, picture.came_from.y_mm), (picture.moved.x_mm, picture.moved.y_mm)
            )
            assert drawn == pytest.approx(far, abs=4)
            where[picture.foot] = later.print


def test_the_picture_names_count_foot_and_turn_beside_every_step(chart: FootChart) -> None:
    root = ET.fromstring(foot_chart_svg(chart))
    words = [e.text or "" for e in root.iter() if e.tag.endswith("text")]
    for picture in (*chart.leader, *chart.follower):
        assert picture.count in words
        assert wrapped(picture.what, 21)[0] in words
    assert words.count("left foot") == sum(p.foot == "L" for p in (*chart.leader, *chart.follower))
    assert sum(w.startswith("body ") for w in words) == sum(bool(p.turn) for p in (*chart.leader, *chart.follower))


def test_a_page_of_figures_shows_each_by_itself() -> None:
    from composer.report.figureline import lone_figure
    from composer.report.page import figures_html
    from tests.report.samples import the_catalogue
    from tests.report.test_page import read

    catalogue = the_catalogue()
    lines = [lone_figure(catalogue, f, n) for n, f in enumerate(catalogue.figures.values(), 1)]
    assert [line.counts for line in lines] == ["1–4", "1–6"]
    page = read(figures_html(lines, "Two <figures>"))
    assert page.wrong == []
    assert [tag for tag, _ in page.tags].count("table") == 4
    assert not any(tag == "script" for tag, _ in page.tags)
    text = "".join(page.text)
    assert "Two <figures>" in text
    for line in lines:
        for step in (*line.leader, *line.follower):
            assert step.what in text
