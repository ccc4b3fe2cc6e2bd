"""Briefs that can be used, and every way in which one cannot: code, line, key and nearest name."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from composer.brief import load_problem
from composer.errors import BadInput, Diagnostic

BRIEF: dict[str, Any] = {
    "format": "brief/1",
    "title": "A test",
    "dance": "waltz",
    "music": {"tempo": 88, "bars": 16},
}


def written(folder: Path, **changes: Any) -> Path:
    data = {key: value for key, value in {**BRIEF, **changes}.items() if value is not None}
    file = folder / "brief.yaml"
    file.write_text(yaml.safe_dump(data, sort_keys=False), "utf-8")
    return file


def faults(path: Path | str) -> list[Diagnostic]:
    with pytest.raises(BadInput) as caught:
        load_problem(path)
    return list(caught.value.diagnostics)


def codes(path: Path | str) -> list[str]:
    return sorted(item.code for item in faults(path))


def test_a_small_brief_becomes_a_problem(tmp_path: Path) -> None:
    problem = load_problem(written(tmp_path, room={"width": 6, "depth": "16 ft", "style": "travelling"}))
    assert problem.length_ticks == 16 * 3 * 12
    assert problem.timeline.beats_per_bar == 3  # the metre of the dance, as the brief does not say
    assert problem.room is not None
    assert (problem.room.width_mm, problem.room.depth_mm) == (6000, 4877)
    assert all(figure.chart.dance == "waltz" for figure in problem.catalogue.figures.values())


def test_a_folder_with_a_brief_is_enough(tmp_path: Path) -> None:
    written(tmp_path)
    assert load_problem(tmp_path).brief.title == "A test"


def test_figures_may_be_named_by_stem_id_or_title_and_become_ids(tmp_path: Path) -> None:
    wishes = {
        "must": ["natural-turn", {"figure": "waltz/whisk", "at": 7}],
        "never": ["Natural Spin  Turn", "REVERSE_TURN"],
        "prefer": {"hover corte": 5},
        "opening": {"figure": "box step"},
        "closing": {"figure": "Oversway", "hold": "closed"},
    }
    couple = {"leader": {"knows": ["wing"], "not_yet": ["whisk"]}, "follower": {"knows": ["waltz/contra-check"]}}
    problem = load_problem(written(tmp_path, wishes=wishes, couple=couple))
    found = problem.brief.wishes
    assert [must.figure for must in found.must] == ["waltz/natural-turn", "waltz/whisk"]
    assert found.never == ("waltz/natural-spin-turn", "waltz/reverse-turn")
    assert found.prefer == {"waltz/hover-corte": 5}
    assert (found.opening.figure, found.closing.figure) == ("waltz/box-step", "waltz/oversway")
    assert problem.brief.couple.leader.knows == ("waltz/wing",)
    assert problem.brief.couple.leader.not_yet == ("waltz/whisk",)
    assert problem.brief.couple.follower.knows == ("waltz/contra-check",)
    assert problem.where("wishes", "prefer", "waltz/hover-corte").line == problem.where(
        "wishes", "prefer", "hover corte"
    ).line  # fmt: skip


def test_somebody_may_know_figures_of_a_dance_that_is_not_danced_here(tmp_path: Path) -> None:
    couple = {"leader": {"knows": ["triple-two/outside-turn"]}}
    assert load_problem(written(tmp_path, couple=couple)).brief.couple.leader.knows == ("triple-two/outside-turn",)


def test_must_and_never_of_one_figure_is_a_clash_for_the_solver_not_an_error(tmp_path: Path) -> None:
    wishes = {"must": [{"figure": "whisk"}], "never": ["whisk"], "at_least_different": 5, "at_most_different": 2}
    assert load_problem(written(tmp_path, wishes=wishes)).brief.wishes.never == ("waltz/whisk",)


def test_every_unknown_name_is_told_with_line_key_and_the_nearest(tmp_path: Path) -> None:
    wishes = {
        "must": [{"figure": "natural tern"}, "twinkel to promenade"],
        "never": ["wisk", "zzzz"],
        "prefer": {"hover cort": 2},
        "opening": {"figure": "box stepp", "hold": "close"},
        "closing": {"hold": "two hands"},
    }
    couple = {"follower": {"not_yet": ["wingg"]}}
    found = {item.where.key: item for item in faults(written(tmp_path, wishes=wishes, couple=couple))}
    assert {key: item.code for key, item in found.items()} == {
        "wishes.must[0].figure": "BRF021",
        "wishes.must[1]": "BRF021",
        "wishes.never[0]": "BRF021",
        "wishes.never[1]": "BRF021",
        "wishes.prefer.hover cort": "BRF021",
        "wishes.opening.figure": "BRF021",
        "wishes.opening.hold": "BRF023",
        "wishes.closing.hold": "BRF023",
        "couple.follower.not_yet[0]": "BRF021",
    }
    assert found["wishes.must[0].figure"].remedy == "Did you mean 'natural-turn'?"
    assert found["wishes.never[0]"].remedy == "Did you mean 'whisk'?"
    assert found["wishes.closing.hold"].remedy == "Did you mean 'two-hands'?"
    assert "figures list" in (found["wishes.never[1]"].remedy or "")
    assert all(item.where.line is not None and item.where.file for item in found.values())
    lines = (tmp_path / "brief.yaml").read_text("utf-8").splitlines()
    assert "wisk" in lines[(found["wishes.never[0]"].where.line or 0) - 1]


def test_form_faults_do_not_hide_unknown_names(tmp_path: Path) -> None:
    wishes = {"never": ["wisk"], "finale_pose": True, "repeats": {"most": "many"}}
    found = codes(written(tmp_path, wishes=wishes, room={"width": -3, "depth": 4}, titel="x"))
    assert found == ["BRF001", "BRF001", "BRF003", "BRF003", "BRF021"]


def test_a_fault_in_a_list_does_not_shift_the_places_of_others(tmp_path: Path) -> None:
    wishes = {"must": [{"figure": "whisk", "times": 0}, {"figure": "wisk"}], "never": ["wingg"]}
    found = {item.where.key: item.code for item in faults(written(tmp_path, wishes=wishes))}
    assert found == {"wishes.must[0].times": "BRF003", "wishes.never[0]": "BRF021"}


@pytest.mark.parametrize(
    ("changes", "code", "key"),
    [
        ({"dance": "walz"}, "BRF020", "dance"),
        ({"dance": []}, "BRF020", "dance"),
        ({"dance": ["waltz", "valse"]}, "BRF020", "dance[1]"),
        ({"dance": ["waltz", "waltz"]}, "BRF029", "dance[1]"),
        ({"format": "brief/2"}, "BRF011", "format"),
        ({"format": "brief/one"}, "BRF003", "format"),
        ({"format": None}, "BRF002", "format"),
        ({"music": None}, "BRF002", "music"),
        ({"catalogues": ["mine"]}, "BRF024", "catalogues[0]"),
        ({"wishes": {"must": [{"figure": "whisk", "at": 49}]}}, "BRF025", "wishes.must[0].at"),
        ({"wishes": {"never": ["triple-two/outside-turn"]}}, "BRF026", "wishes.never[0]"),
        ({"music": {"tempo": 88, "bars": 16, "beats_per_bar": 4}}, "BRF027", "music"),
        ({"couple": {"leader": {"stature": 174}}}, "BRF028", "couple.leader.stature"),
        ({"couple": {"follower": {"stature": "17.4 cm"}}}, "BRF028", "couple.follower.stature"),
        ({"room": {"width": 0.5, "depth": 5}}, "ROM001", "room"),
        ({"room": {"width": 5, "depth": 5, "margin": 2.21}}, "ROM001", "room"),
        ({"room": {"width": 5, "depth": 5, "start": {"x": 0.299, "y": 1}}}, "ROM002", "room.start"),
        ({"wishes": {"closing": {"faces": "audience"}}}, "ROM003", "wishes.closing.faces"),
        ({"room": {"width": 5, "depth": 5}, "wishes": {"opening": {"faces": "audience"}}}, "ROM003",
         "wishes.opening.faces"),
    ],
)  # fmt: skip
def test_each_fault_has_its_code_and_key(changes: dict[str, Any], code: str, key: str, tmp_path: Path) -> None:
    found = faults(written(tmp_path, **changes))
    assert [(item.code, item.where.key) for item in found] == [(code, key)]


@pytest.mark.parametrize(
    "changes",
    [
        {"wishes": {"must": [{"figure": "whisk", "at": 48}]}},  # the last count
        {"music": {"tempo": 88, "bars": 16, "beats_per_bar": 6}},  # two bars of the dance in each
        {"couple": {"leader": {"stature": 1.74}, "follower": {"stature": "68 in"}}},
        {"room": {"width": 5, "depth": 5, "margin": 2.2}},  # one place is left
        {"room": {"width": 5, "depth": 5, "start": {"x": 0.3, "y": 4.7}}},
        {"room": {"width": 5, "depth": 5, "audience": "south"}, "wishes": {"closing": {"faces": "audience"}}},
    ],
)
def test_exactly_at_the_limit_is_fine(changes: dict[str, Any], tmp_path: Path) -> None:
    load_problem(written(tmp_path, **changes))


def test_an_unknown_scenario_is_told_and_a_missing_file_too(tmp_path: Path) -> None:
    assert codes("no-such-scenario-at-all") == ["BRF010"]
    assert codes(tmp_path / "missing.yaml") == ["YML001"]
    assert codes("bad\0name") == ["YML001"]


def test_own_figures_are_laid_over_the_shipped_ones(tmp_path: Path) -> None:
    from composer.resources import shipped

    source = (shipped("catalog") / "waltz" / "whisk.yaml").read_text("utf-8")
    own = tmp_path / "mine" / "waltz"
    own.mkdir(parents=True)
    (own / "my-whisk.yaml").write_text(source.replace("name: Whisk", "name: My whisk"), "utf-8")
    problem = load_problem(written(tmp_path, catalogues=["mine"], wishes={"must": [{"figure": "my whisk"}]}))
    assert problem.brief.wishes.must[0].figure == "waltz/my-whisk"


def test_a_fault_in_an_own_figure_is_told_with_its_file(tmp_path: Path) -> None:
    own = tmp_path / "mine" / "waltz"
    own.mkdir(parents=True)
    (own / "broken.yaml").write_text("format: figure/1\nname: Broken\n", "utf-8")
    found = faults(written(tmp_path, catalogues=["mine"], titel="x"))
    assert {item.code for item in found} >= {"BRF001", "FIG002"}
    assert any("broken.yaml" in (item.where.file or "") for item in found)


def test_a_music_fault_and_a_figure_fault_come_together(tmp_path: Path) -> None:
    found = codes(written(tmp_path, music={"score": "nothing.abc"}, wishes={"never": ["wisk"]}))
    assert found == ["BRF021", "TML032"]
