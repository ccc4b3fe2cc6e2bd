"""Routines from files: the tool's own record reads back the same, and a list of names is enough by hand."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from composer.errors import BadInput
from composer.floor.placing import extent_of
from composer.problem import Problem
from composer.routine import Routine, ScoreLine, as_data
from composer.routinefile import RoutineFile, load_routine, routine_of
from composer.routineplaces import Given, lay_out
from composer.rules import breaches_of
from composer.textfiles import json_text, validated, yaml_document
from composer.units import ALIGNMENTS
from tests.builders import a_figure, a_problem, a_routine, a_timeline, tiny_problems


def read(problem: Problem, **keys: Any) -> Routine:
    document = yaml_document(json_text({"format": "routine/1", **keys}), "r.yaml")
    return routine_of(validated(RoutineFile, document, code="RTN"), document, problem)


def faults(problem: Problem, **keys: Any) -> list[tuple[str, str | None]]:
    with pytest.raises(BadInput) as caught:
        read(problem, **keys)
    return [(item.code, item.where.key) for item in caught.value.diagnostics]


def test_a_record_reads_back_the_same(tmp_path: Path) -> None:
    problem = a_problem(room={"width": 9, "depth": 9, "style": "spot"}, timeline=a_timeline(5))
    routine = a_routine(problem, ["a", "b", "a"], faces=3, at=(4000, 5000))
    card = (ScoreLine("music:fit", "how it fits", 7, (3, 3, 1)),)
    routine = Routine(**{**vars(routine), "score": 7, "bound": 9, "score_card": card, "seed": 5, "status": "good",
                         "brief_digest": "b", "catalogue_digest": "c"})  # fmt: skip
    document = yaml_document(json_text(as_data(routine)), "routine.json")
    assert routine_of(validated(RoutineFile, document, code="RTN"), document, problem) == routine


def test_names_in_order_are_enough() -> None:
    problem = a_problem([a_figure("turn", turn=2), a_figure("long-one", beats=8)], timeline=a_timeline(5))
    found = read(problem, figures=["Turn", "long one", "test/turn"], faces="DW")
    assert [(p.figure, p.start_tick, p.end_tick, p.faces) for p in found.figures] == [
        ("test/turn", 0, 72, 1),
        ("test/long-one", 72, 168, 3),
        ("test/turn", 168, 240, 3),
    ]
    assert found.status == "by hand"
    assert found.length_ticks == problem.length_ticks


def test_what_the_file_says_is_kept_even_when_it_does_not_fit() -> None:
    problem = a_problem(timeline=a_timeline(5))
    found = read(problem, figures=["a", {"figure": "b", "at": 9, "faces": "C"}, {"figure": "a", "at": "17&"}])
    assert [(p.start_tick, p.faces) for p in found.figures] == [(0, 0), (96, 6), (198, 6)]
    assert "length:fills" in {breach.key for breach in breaches_of(problem, found)}


def test_a_corner_renames_by_two_and_given_alignments_are_of_the_new_side() -> None:
    problem = a_problem(timeline=a_timeline(5))
    found = read(problem, figures=["a", "Corner", {"figure": "b", "faces": "W"}, "corner", "a"], faces="LOD")
    # after one corner the wall (2) of the new side is absolute 0; after two, absolute 0 is alignment 4
    assert [(p.faces, p.corners, p.alignment) for p in found.figures] == [(0, 0, 0), (0, 1, 2), (0, 2, 4)]


def test_the_first_facing_is_the_one_that_suits_the_whole_chain() -> None:
    figures = [a_figure("turn", turn=2, faces=[0, 1, 7]), a_figure("needs-wall", faces=[3])]
    problem = a_problem(figures, timeline=a_timeline(3))
    assert [p.faces for p in read(problem, figures=["turn", "needs-wall"]).figures] == [1, 3]
    # nothing suits: the usual one stays, and the checker will tell
    assert read(problem, figures=["turn", "turn"]).figures[0].faces in {0, 7}


def test_wishes_for_the_ends_choose_among_facings_that_fit() -> None:
    room = {"width": 9, "depth": 9, "style": "show", "audience": "south"}
    wishes = {"closing": {"faces": "audience"}}
    problem = a_problem([a_figure("turn", turn=3)], wishes, room, timeline=a_timeline(3))
    found = read(problem, figures=["turn", "turn"]).figures
    assert (found[1].faces + 3) % 8 == 2  # south


WALK = a_figure("walk", beats=4, travel=(1500, 0))


@pytest.mark.parametrize(("width", "fits"), [(2.48, True), (2.479, False)])
def test_a_place_is_found_exactly_when_one_exists(width: float, fits: bool) -> None:
    # along the length 1500 + 380 ahead + 2 x 300 of body = 2480 mm; across, the follower stands 50 mm to the side
    room = {"width": width, "depth": 0.65, "style": "spot"}
    problem = a_problem([WALK], room=room, timeline=a_timeline(1))
    found = read(problem, figures=["walk"])
    assert (breaches_of(problem, found) == []) is fits
    if fits:
        assert found.figures[0].x_mm == {0: 300, 4: 2180}[found.figures[0].faces]


def test_in_a_travelling_room_the_start_suits_walls_lanes_and_corners() -> None:
    walk = a_figure("walk", beats=4, travel=(3000, 0), faces=[0])
    corner = a_figure("bend", beats=4, travel=(1000, -1000), turn=-2, faces=[0])
    room = {"style": "travelling", "width": 9, "depth": 9, "lane": "2 m"}
    problem = a_problem([walk, corner], room=room, timeline=a_timeline(4))
    found = read(problem, figures=["walk", "bend", "corner", "walk"])
    assert [(p.faces, p.corners) for p in found.figures] == [(0, 0), (0, 0), (6, 1)]
    told = {breach.key for breach in breaches_of(problem, found)}
    assert not told & {"room:walls", "line_of_dance:lane", "continuity:alignment", "continuity:facing"}
    assert read(problem, figures=["walk", "bend", "walk"]).figures == found.figures  # the corner is found
    spot = a_problem([walk, corner], room={**room, "style": "show"}, timeline=a_timeline(4))
    assert {p.corners for p in read(spot, figures=["walk", "bend", "walk"]).figures} == {0}


def test_a_whole_lap_finds_its_corners_and_a_corner_that_is_given_is_not_second_guessed() -> None:
    walk = a_figure("walk", beats=4, travel=(3000, 0), faces=[0])
    bend = a_figure("bend", beats=4, travel=(1000, -1000), turn=-2, faces=[0])
    problem = a_problem([walk, bend], room={"style": "travelling", "width": 9, "depth": 9, "lane": "2 m"})
    lap = ["walk", "bend"] * 4
    assert [p.corners for p in read(problem, figures=lap).figures] == [0, 0, 1, 1, 2, 2, 3, 3]
    assert [p.corners for p in read(problem, figures=[*lap, *lap]).figures][-1] == 7
    assert len(read(problem, figures=["walk"] * 2000).figures) == 2000  # nothing fits; no search without end
    early = read(problem, figures=["walk", "corner", "bend", "walk"])
    assert [p.corners for p in early.figures] == [0, 1, 1]


def test_corners_are_found_for_the_lanes_alone_and_wishes_to_face_go_round_with_them() -> None:
    walk = a_figure("walk", beats=4, travel=(5000, 0))
    bend = a_figure("bend", beats=4, travel=(1500, -1500), turn=-2)
    room = {"style": "travelling", "width": 9, "depth": 9, "lane": "1.5 m"}
    problem = a_problem([walk, bend], room=room, timeline=a_timeline(4))
    found = read(problem, figures=["walk", "bend", "walk"], faces="LOD").figures
    assert [p.corners for p in found] == [0, 0, 1]
    turn, still = a_figure("turn", beats=4, turn=-2), a_figure("still", beats=4)
    wide = {"style": "travelling", "width": 9, "depth": 9}
    problem = a_problem([turn, still], {"closing": {"faces": "LOD"}}, wide, timeline=a_timeline(2))
    found = read(problem, figures=["turn", "corner", "still"]).figures
    assert [(p.faces, p.alignment) for p in found] == [(0, 0), (6, 0)]  # line of dance of the second side


def test_a_given_place_and_the_briefs_place_come_first() -> None:
    room = {"width": 9, "depth": 9, "style": "spot", "start": {"x": 2, "y": 3}}
    problem = a_problem([WALK], room=room, timeline=a_timeline(2))
    found = read(problem, figures=["walk", "walk"], faces="LOD").figures
    assert [(p.x_mm, p.y_mm) for p in found] == [(2000, 3000), (3500, 3000)]
    found = read(problem, figures=["walk"], faces="LOD", start={"x": "1 m", "y": "120 cm"}).figures
    assert (found[0].x_mm, found[0].y_mm) == (1000, 1200)
    without = a_problem([WALK], timeline=a_timeline(1))
    assert read(without, figures=["walk"], start={"x": 1, "y": 1}).figures[0].x_mm is None


def test_unknown_figures_are_all_told() -> None:
    problem = a_problem([a_figure("turn"), a_figure("else/hop")], timeline=a_timeline(3))
    assert faults(problem, figures=["turn", "tern", {"figure": "zzz"}, "hop"]) == [
        ("RTN021", "figures[1]"),
        ("RTN021", "figures[2].figure"),
        ("RTN026", "figures[3]"),
    ]
    assert faults(problem, figures=[]) == [("RTN031", "figures")]
    assert faults(problem, figures=["corner"]) == [("RTN031", "figures")]


@given(problem=tiny_problems(), data=st.data())
def test_a_start_is_missed_only_when_no_facing_and_place_fits(problem: Problem, data: st.DataObject) -> None:
    """Exactness of the search for a place: compared with trying facings and the four extreme places."""
    if problem.room is None:
        return
    names = sorted(problem.catalogue.figures)
    chosen = data.draw(st.lists(st.sampled_from(names), min_size=1, max_size=3))
    given_figures = tuple(Given(problem.catalogue.figures[name]) for name in chosen)
    placed = lay_out(problem, given_figures)
    routine = Routine("t", ("test",), problem.length_ticks, placed)
    outside = "room:walls" in {breach.key for breach in breaches_of(problem, routine)}
    if outside and problem.room.start_x_mm is None and not problem.keeps_alignment:
        low_x, low_y, high_x, high_y = problem.room.inside
        for faces in range(8):
            first = extent_of(given_figures[0].figure.motion, faces)
            for x in {low_x - first[0], high_x - first[2], (low_x + high_x) // 2}:
                for y in {low_y - first[1], high_y - first[3], (low_y + high_y) // 2}:
                    other = a_routine(problem, chosen, faces=faces, at=(x, y))
                    assert "room:walls" in {breach.key for breach in breaches_of(problem, other)}


@given(problem=tiny_problems(), data=st.data())
def test_names_facing_and_place_say_as_much_as_a_whole_record(problem: Problem, data: st.DataObject) -> None:
    names = data.draw(st.lists(st.sampled_from(sorted(problem.catalogue.figures)), min_size=1, max_size=6))
    faces = data.draw(st.integers(0, 7))
    at = None if problem.room is None else (data.draw(st.integers(0, 9000)), data.draw(st.integers(0, 9000)))
    record = a_routine(problem, names, faces=faces, at=at)
    start = {} if at is None else {"start": {"x": f"{at[0]} mm", "y": f"{at[1]} mm"}}
    assert read(problem, figures=names, faces=ALIGNMENTS[faces], **start).figures == record.figures
    assert read(problem, **{**as_data(record), "score_card": []}).figures == record.figures


# --- whole files, against the shipped catalogue ----------------------------------------------------------


def file_with(folder: Path, text: str) -> Path:
    file = folder / "r.yaml"
    file.write_text(text, "utf-8")
    return file


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("format: routine/2\nfigures: [1]\nnew: {a: b}\n", "RTN011"),
        ("format: routine/1\nfigures: [whisk]\n", "RTN030"),
        ("format: routine/1\ndance: walz\nfigures: [whisk]\n", "RTN030"),
        ("format: routine/1\ndance: waltz\nfigures: whisk\n", "RTN003"),
        ("format: routine/1\ndance: waltz\n", "RTN002"),
        ("format: routine/1\ndance: waltz\nfigurs: [whisk]\nfigures: [whisk]\n", "RTN001"),
        ("format: routine/1\ndance: waltz\nfigures: [{figure: whisk, at: 0}]\n", "RTN003"),
        ("format: routine/1\ndance: waltz\nfigures: [{figure: whisk, start_tick: -1}]\n", "RTN003"),
        ("format: routine/1\ndance: waltz\nfigures: [[whisk]]\n", "RTN003"),
        ("format: routine/1\ndance: waltz\nfaces: XX\nfigures: [whisk]\n", "RTN003"),
        ("- a list\n", "RTN003"),
    ],
)
def test_bad_files(text: str, code: str, tmp_path: Path) -> None:
    with pytest.raises(BadInput) as caught:
        load_routine(file_with(tmp_path, text))
    assert [item.code for item in caught.value.diagnostics] == [code]


def test_faults_of_routine_and_brief_come_together(tmp_path: Path) -> None:
    brief = tmp_path / "brief.yaml"
    brief.write_text("format: brief/1\ntitle: x\ndance: walz\nmusic: {tempo: 88, bars: 8}\n", "utf-8")
    with pytest.raises(BadInput) as caught:
        load_routine(file_with(tmp_path, "format: routine/1\nfigurs: [whisk]\nfigures: [whisk]\n"), brief)
    assert sorted(item.code for item in caught.value.diagnostics) == ["BRF020", "RTN001"]


def test_the_dance_may_follow_from_full_ids(tmp_path: Path) -> None:
    problem, routine = load_routine(file_with(tmp_path, "format: routine/1\nfigures: [waltz/whisk]\n"))
    assert problem.brief.dances == ("waltz",)
    assert routine.length_ticks == 36


def test_a_teachers_own_figures_may_lie_beside_the_routine(tmp_path: Path) -> None:
    from composer.resources import shipped

    own = tmp_path / "mine" / "waltz"
    own.mkdir(parents=True)
    text = (shipped("catalog") / "waltz" / "whisk.yaml").read_text("utf-8")
    (own / "my-whisk.yaml").write_text(text.replace("name: Whisk", "name: My whisk"), "utf-8")
    said = "format: routine/1\ndance: waltz\ncatalogues: [{}]\nfigures: [my whisk]\n"
    _, routine = load_routine(file_with(tmp_path, said.format("mine")))
    assert [placed.figure for placed in routine.figures] == ["waltz/my-whisk"]
    with pytest.raises(BadInput) as caught:
        load_routine(file_with(tmp_path, said.format("yours")))
    assert [item.code for item in caught.value.diagnostics] == ["RTN024"]
