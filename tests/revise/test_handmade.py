"""Routines edited by hand: re-timed, checked, mended with the fewest changes; moved music; asks taken back."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from composer.errors import BadInput
from composer.revise import Faulty, Request, Revised, best_opened, load_versions, open_routine, revise
from composer.revise.asks import Ask, applied, counts_from, level_from, room_from, without
from composer.revise.kept import Piece
from composer.revise.moved import joined, pieces_between
from composer.revise.output import write_revision
from composer.timeline.leftout import without_bars
from composer.verify import verify
from tests.builders import a_figure, a_problem, a_timeline

Folder = Callable[[str], Path]


def edited(path: Path, change: Callable[[list[dict[str, Any]]], None]) -> None:
    data = json.loads(path.read_text("utf-8"))
    change(data["figures"])
    path.write_text(json.dumps(data), "utf-8")


def test_a_wrong_figure_is_told_and_mended(folder: Folder) -> None:
    path = folder("first-dance")
    whole = open_routine(path).routine

    def spoil(figures: list[dict[str, Any]]) -> None:
        figures[6]["figure"] = "waltz/reverse-turn"  # not learned, not that long, not from here

    edited(path, spoil)
    told = revise(best_opened(path), Request())
    assert isinstance(told, Faulty)
    assert told.breaches
    mended = revise(best_opened(path, repair=True), Request(repair=True))
    assert isinstance(mended, Revised)
    assert mended.least_proven
    assert verify(mended.problem, mended.routine) == []
    others = [(p.figure, p.start_tick) for i, p in enumerate(whole.figures) if i != 6]
    assert {(p.figure, p.start_tick) for p in mended.routine.figures} >= set(others), "all the rest stays"
    write_revision(mended)
    versions, _ = load_versions(path.parent)
    assert [v.note for v in versions] == ["as it was", "Repaired"]


def test_a_figure_taken_out_leaves_a_gap_that_is_filled(folder: Folder) -> None:
    path = folder("first-dance")
    whole = open_routine(path).routine
    edited(path, lambda figures: figures.pop(5))
    mended = revise(best_opened(path, repair=True), Request(repair=True))
    assert isinstance(mended, Revised)
    assert verify(mended.problem, mended.routine) == []
    gap = whole.figures[5]
    beats = (gap.end_tick - gap.start_tick) // 12
    assert mended.difference.changed <= 96 - mended.kept
    assert mended.kept == 96 - beats, "nothing but the gap is new"


def test_names_alone_are_timed(folder: Folder) -> None:
    """A teacher writes names; a routine that holds is taken as it is."""
    path = folder("first-dance")
    whole = open_routine(path).routine
    names = [p.figure for p in whole.figures]
    by_hand = path.with_name("by-hand.yaml")
    by_hand.write_text(json.dumps({"format": "routine/1", "dance": "waltz", "figures": names}), "utf-8")
    opened = best_opened(by_hand, "first-dance", path.parent / "hand", repair=True)
    assert [p.start_tick for p in opened.routine.figures] == [p.start_tick for p in whole.figures]
    found = revise(opened, Request(repair=True))
    assert isinstance(found, Revised)
    assert found.how == "unchanged"


def test_a_routine_of_an_unknown_brief_asks_for_it(folder: Folder) -> None:
    path = folder("first-dance")
    data = json.loads(path.read_text("utf-8"))
    data["brief_digest"] = "0" * 16
    path.write_text(json.dumps(data), "utf-8")
    with pytest.raises(BadInput, match=r"RTN042.*--brief"):
        open_routine(path)


def test_the_same_music_cut_otherwise_moves_by_bars() -> None:
    figures = [a_figure("four", 4)]
    whole = a_timeline(8, 4, 2)
    problem = a_problem(figures, timeline=whole)
    was = problem.brief.music
    from composer.brief.schema import LeftOut

    now = was.model_copy(update={"leave_out": (LeftOut(first=3, last=4),)})
    cut = without_bars(whole, [(3, 4)])
    pieces = pieces_between(whole, cut, was, now)
    assert pieces == (Piece(0, 0, 96), Piece(192, 96, 192))
    assert pieces_between(cut, whole, now, was) == (Piece(0, 0, 96), Piece(96, 192, 192))
    assert pieces_between(whole, whole, was, was) == ()


def test_other_music_moves_by_sections() -> None:
    old = a_timeline(8, 4, 2, sections=[(2, "Intro", None), (4, "Chorus", None), (2, "Chorus", None)])
    new = a_timeline(8, 4, 2, sections=[(4, "Chorus", None), (4, "Chorus", None)])
    problem = a_problem([a_figure("four", 4)], timeline=old)
    was = problem.brief.music
    now = was.model_copy(update={"tempo": 99.0})
    pieces = pieces_between(old, new, was, now)
    assert pieces == (Piece(96, 0, 192), Piece(288, 192, 96))
    assert joined(pieces) == (Piece(96, 0, 288),)


def test_asks_change_the_brief_and_older_wishes_give_way() -> None:
    data = {
        "format": "brief/1", "title": "x", "dance": "test", "music": {"tempo": 120, "bars": 16},
        "wishes": {"must": ["a", {"figure": "b", "at": 9}], "never": ["c"], "closing": {"figure": "a", "faces": "LOD"}},
    }  # fmt: skip
    asks = [
        Ask("forbid", "test/a"), Ask("require", "test/c@5"), Ask("avoid", "dip"), Ask("level", "leader 3"),
        Ask("room", "show 6 m x 5 m margin 20 cm"), Ask("bars", "3-10"), Ask("swap-roles"),
    ]  # fmt: skip
    brief = applied(data, "brief.yaml", asks, a_timeline(16))
    wishes = brief.data["wishes"]
    assert wishes["must"] == [{"figure": "b", "at": 1}] or {"figure": "b", "at": 1} in wishes["must"]
    assert wishes["never"] == ["test/a"]
    assert wishes["closing"] == {"faces": "LOD"}
    assert brief.data["couple"]["follower"] == {"level": 3}
    assert brief.data["couple"]["avoid"] == ["dip"]
    assert brief.data["room"] == {"style": "show", "width": "6 m", "depth": "5 m", "margin": "20 cm"}
    assert (brief.data["music"]["first_bar"], brief.data["music"]["last_bar"]) == (3, 10)
    assert any("must come gives way" in note for note in brief.notes)
    assert data["wishes"]["never"] == ["c"], "what was given is not touched"


def test_an_ask_is_taken_back_by_its_words() -> None:
    asks = (Ask("forbid", "waltz/whisk"), Ask("room", "5 m x 4 m"), Ask("swap-roles"))
    left, taken = without(asks, "Forbid Whisk")
    assert taken == asks[0]
    assert left == asks[1:]
    with pytest.raises(BadInput, match="forbid waltz/whisk"):
        without(asks, "forbid wisk")


@pytest.mark.parametrize(
    ("read", "text"),
    [
        (lambda t: counts_from(t, "--keep", 96), "0-4"),
        (lambda t: counts_from(t, "--keep", 96), "9-4"),
        (lambda t: counts_from(t, "--keep", 96), "90-97"),
        (lambda t: counts_from(t, "--keep", 96), "all"),
        (room_from, "big"),
        (room_from, "moon 5 m x 4 m"),
        (level_from, "leader 6"),
        (level_from, "both 2"),
    ],
)
def test_options_that_are_none_are_refused(read: Callable[[str], object], text: str) -> None:
    with pytest.raises(BadInput):
        read(text)


def test_counts_and_rooms_are_read() -> None:
    assert counts_from("17-24", "--keep", 24) == (17, 24)
    assert counts_from("3", "--keep") == (3, 3)
    assert room_from("20 ft x 16 ft") == {"width": "20 ft", "depth": "16 ft"}
