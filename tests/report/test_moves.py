"""Feet land on their counts, calls come a bar ahead."""

from __future__ import annotations

import itertools
import math

import pytest

from composer.report.model import FootKey, Sheet
from tests.builders import a_timeline
from tests.report.samples import SHOW_ROOM, a_sheet


def at(track: tuple[FootKey, ...], tick: float) -> tuple[float, float]:
    """Straight between keys (written again here, from the definition)."""
    if tick <= track[0].tick:
        return track[0].x_mm, track[0].y_mm
    for a, b in itertools.pairwise(track):
        if a.tick <= tick <= b.tick:
            share = (tick - a.tick) / (b.tick - a.tick)
            return a.x_mm + share * (b.x_mm - a.x_mm), a.y_mm + share * (b.y_mm - a.y_mm)
    return track[-1].x_mm, track[-1].y_mm


@pytest.fixture
def sheet() -> Sheet:
    return a_sheet(SHOW_ROOM, at=(6000, 5000))


def tracks(sheet: Sheet) -> dict[tuple[str, str], tuple[FootKey, ...]]:
    t = sheet.tracks
    return {
        ("leader", "L"): t.leader_left,
        ("leader", "R"): t.leader_right,
        ("follower", "L"): t.follower_left,
        ("follower", "R"): t.follower_right,
    }


def test_every_foot_lands_exactly_on_its_count(sheet: Sheet) -> None:
    found = tracks(sheet)
    for figure in sheet.figures:
        for role in ("leader", "follower"):
            for step in getattr(figure, role):
                track = found[role, step.foot]
                here = at(track, step.tick)
                still = next(s for s in figure.stills if s.at_tick == step.tick)
                spot = getattr(still, role)
                mark = spot.left if step.foot == "L" else spot.right
                assert math.dist(here, (mark.x_mm, mark.y_mm)) <= 12
                # It is still on its way a sixth of a beat before, unless it hardly moves at all.
                before = at(track, step.tick - 2)
                start = at(track, step.tick - 9)
                assert math.dist(here, start) < 40 or math.dist(before, here) > 5


def test_keys_rise_and_the_standing_foot_stands(sheet: Sheet) -> None:
    found = tracks(sheet)
    for track in found.values():
        ticks = [k.tick for k in track]
        assert ticks == sorted(set(ticks))
        assert ticks[-1] <= sheet.length_ticks
    for figure in sheet.figures:
        for role in ("leader", "follower"):
            for step in getattr(figure, role):
                other = found[role, "R" if step.foot == "L" else "L"]
                # While one foot arrives on a plain step (no turn) the other stays within a hand's breadth.
                if not step.turn:
                    assert math.dist(at(other, step.tick - 2), at(other, step.tick)) <= 15


def test_calls_come_one_bar_ahead_in_order() -> None:
    sheet = a_sheet()
    assert [c.tick for c in sheet.calls] == [-48, 24, 72, 144, 192, 264]
    assert [c.figure_tick for c in sheet.calls] == [f.start_tick for f in sheet.figures]
    assert sheet.calls[0].at_s == pytest.approx(-2.0)
    assert [c.words for c in sheet.calls][:2] == ["Plain six", "Curving four"]


def test_a_call_never_comes_before_the_figure_before_has_begun() -> None:
    sheet = a_sheet(order=("curving-four",) * 6, timeline=a_timeline(3, 8, 3))
    assert [c.tick for c in sheet.calls] == [-96, 0, 48, 96, 144, 192]
