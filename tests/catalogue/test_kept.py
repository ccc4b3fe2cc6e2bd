"""What is kept on disk between commands: a few figures at a time, and not without end."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from composer.catalogue import load_catalogue
from composer.catalogue.cache import MOST_FILES, Kept, cache_folder
from composer.resources import shipped


@pytest.fixture(autouse=True)
def own_cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))


def kept_figures() -> int:
    (file,) = cache_folder().glob("figures-*.json")
    return len(json.loads(file.read_text(encoding="utf-8")))


def test_one_figure_alone_is_the_same_figure() -> None:
    alone = load_catalogue(dances=["nightclub-two-step"], only=["nightclub-two-step/basic"])
    assert list(alone.figures) == ["nightclub-two-step/basic"]
    assert kept_figures() == 1
    whole = load_catalogue(dances=["nightclub-two-step"])
    assert alone.figures["nightclub-two-step/basic"] == whole.figures["nightclub-two-step/basic"]
    assert kept_figures() == len(whole.figures)


def test_one_figure_alone_leaves_what_was_kept_of_the_others() -> None:
    whole = load_catalogue(dances=["nightclub-two-step"])
    load_catalogue(dances=["nightclub-two-step"], only=["nightclub-two-step/basic"])
    assert kept_figures() == len(whole.figures)


def test_a_changed_figure_is_simulated_anew(tmp_path: Path) -> None:
    own = tmp_path / "own" / "nightclub-two-step"
    own.mkdir(parents=True)
    text = (shipped("catalog") / "nightclub-two-step" / "basic.yaml").read_text(encoding="utf-8")
    name = "nightclub-two-step/basic"
    for energy in (1, 4, 1):
        lines = [f"energy: {energy}" if line.startswith("energy:") else line for line in text.splitlines()]
        (own / "basic.yaml").write_text("\n".join(lines) + "\n", encoding="utf-8")
        found = load_catalogue(tmp_path / "own", dances=["nightclub-two-step"], only=[name])
        assert found.figures[name].chart.energy == energy


def test_files_of_selections_long_unused_go() -> None:
    folder = cache_folder()
    folder.mkdir(parents=True)
    for number in range(MOST_FILES):
        old = folder / f"figures-{number:024d}.json"
        old.write_text("{}", encoding="utf-8")
        os.utime(old, (1000 + number, 1000 + number))
    other = folder / "something else.json"
    other.write_text("{}", encoding="utf-8")
    kept = Kept(["a new selection"])
    kept.put("mark", {"chart": {}, "motion": {}})
    kept.write()
    left = sorted(file.name for file in folder.glob("figures-*.json"))
    assert len(left) == MOST_FILES
    assert f"figures-{0:024d}.json" not in left
    assert f"figures-{1:024d}.json" in left
    assert Kept(["a new selection"]).get("mark") == {"chart": {}, "motion": {}}
    assert other.exists()
