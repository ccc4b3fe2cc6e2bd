"""Loading: layers, what is kept on disk, and faults told all at once."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from composer.catalogue import Catalogue, load_catalogue
from composer.catalogue.cache import cache_folder
from composer.catalogue.loader import SPOT_REACH_MM
from composer.errors import BadInput
from composer.resources import shipped

Folder = Callable[..., Path]


@pytest.fixture(autouse=True)
def own_cache(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.mktemp("cache")))


@pytest.fixture
def folder(tmp_path: Path) -> Folder:
    """An own catalogue folder with some of the shipped files in it, changed by replacing text."""

    def build(files: dict[str, dict[str, str]], *, to: dict[str, str] | None = None) -> Path:
        for name, changes in files.items():
            text = (shipped("catalog") / name).read_text(encoding="utf-8")
            for old, new in changes.items():
                assert old in text, f"{name} has no {old!r}"
                text = text.replace(old, new)
            target = tmp_path / "own" / (to or {}).get(name, name)
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_text(text, encoding="utf-8")
        return tmp_path / "own"

    return build


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Catalogue:
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.mktemp("whole")))
        return load_catalogue()


def faults(*folders: Path, dances: tuple[str, ...] = ("waltz",)) -> list[str]:
    with pytest.raises(BadInput) as caught:
        load_catalogue(*folders, dances=dances)
    return [str(d) for d in caught.value.diagnostics]


def test_whole_shipped_catalogue_passes(whole: Catalogue) -> None:
    catalogue = whole
    assert list(catalogue.figures) == sorted(catalogue.figures)
    assert {key.split("/")[0] for key in catalogue.figures} <= set(catalogue.dances)
    for key, figure in catalogue.figures.items():
        assert figure.id == key
        assert figure.motion.length_ticks == figure.length_ticks
        assert "show" in figure.styles or figure.chart.suits


def test_dances_asked_for_only_and_unknown_ones_passed_over() -> None:
    catalogue = load_catalogue(dances=["waltz", "no such dance"])
    assert {key.split("/")[0] for key in catalogue.figures} == {"waltz"}
    assert "triple-two" in catalogue.dances


def same(one: Catalogue, two: Catalogue) -> bool:
    return dict(one.figures) == dict(two.figures) and one.digest == two.digest


def test_kept_figures_are_the_same_figures() -> None:
    first = load_catalogue(dances=["waltz"])
    written = list(cache_folder().glob("*.json"))
    assert len(written) == 1
    again = load_catalogue(dances=["waltz"])
    assert same(first, again)


def test_kept_figures_are_used_and_a_broken_file_is_not() -> None:
    first = load_catalogue(dances=["waltz"])
    (file,) = cache_folder().glob("*.json")
    kept = json.loads(file.read_text(encoding="utf-8"))
    key = next(iter(kept))
    kept[key]["motion"]["residual_mm"] = 12345
    file.write_text(json.dumps(kept), encoding="utf-8")
    assert any(f.motion.residual_mm == 12345 for f in load_catalogue(dances=["waltz"]).figures.values())
    for broken in ("", "[]", "{", '{"a": 1}', json.dumps({k: {"chart": 1, "motion": {}} for k in kept})):
        file.write_text(broken, encoding="utf-8")
        assert same(load_catalogue(dances=["waltz"]), first)


def test_place_that_cannot_be_written_is_no_fault(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("in the way", encoding="utf-8")
    monkeypatch.setenv("XDG_CACHE_HOME", str(blocked))
    assert load_catalogue(dances=["waltz"]).figures


def test_later_folder_replaces_and_adds(folder: Folder) -> None:
    own = folder(
        {"waltz/whisk.yaml": {"name: Whisk": "name: Our whisk"}, "waltz/natural-turn.yaml": {}},
        to={"waltz/natural-turn.yaml": "waltz/second-natural.yaml"},
    )
    base = load_catalogue(dances=["waltz"])
    catalogue = load_catalogue(own, dances=["waltz"])
    assert catalogue.figures["waltz/whisk"].chart.name == "Our whisk"
    assert catalogue.figures["waltz/whisk"].file == str(own / "waltz" / "whisk.yaml")
    assert "waltz/second-natural" in catalogue.figures
    assert len(catalogue.figures) == len(base.figures) + 1
    assert catalogue.digest != base.digest


def test_own_holds_are_added_to_the_shipped_ones(folder: Folder) -> None:
    own = folder({"waltz/whisk.yaml": {"hold: promenade": "hold: our-promenade"}})
    assert any("FIG020" in text and "our-promenade" in text for text in faults(own))
    (own / "holds.yaml").write_text(
        "format: holds/1\nstances: {}\nholds:\n  our-promenade:\n    {name: ours, stance: promenade, frame: true, "
        "lie: frame, hands: [{pair: LR}], about: same}\n",
        encoding="utf-8",
    )
    assert load_catalogue(own, dances=["waltz"]).figures["waltz/whisk"].chart.exit.hold == "our-promenade"


def test_digest_knows_contents_not_places(folder: Folder, tmp_path: Path) -> None:
    own = folder({"waltz/whisk.yaml": {"name: Whisk": "name: Our whisk"}})
    moved = tmp_path / "elsewhere"
    own_digest = load_catalogue(own, dances=["waltz"]).digest
    own.rename(moved)
    assert load_catalogue(moved, dances=["waltz"]).digest == own_digest


def test_all_faults_of_all_files_at_once(folder: Folder) -> None:
    own = folder(
        {
            "waltz/whisk.yaml": {"needs: [": "needs: [natural-tern, "},
            "waltz/natural-turn.yaml": {"dance: waltz": "dance: walz"},
            "waltz/reverse-turn.yaml": {"level:": "levle:"},
        }
    )
    (own / "waltz" / "broken.yaml").write_text("a: [", encoding="utf-8")
    told = faults(own)
    for code, word in [
        ("FIG021", "'natural-turn'"),
        ("FIG025", "walz"),
        ("FIG001", "levle"),
        ("YML003", "broken.yaml"),
    ]:
        assert any(text.startswith(code) and word in text for text in told), (code, told)
    assert all("own/waltz" in text for text in told)


def test_circle_of_prerequisites(folder: Folder) -> None:
    own = folder(
        {
            "waltz/whisk.yaml": {"needs: [": "needs: [natural-turn, "},
            "waltz/natural-turn.yaml": {"needs: [": "needs: [waltz/whisk, "},
        }
    )
    assert sorted(text[:6] for text in faults(own)) == ["FIG024", "FIG024"]


def test_folder_without_a_page_and_missing_folder(folder: Folder, tmp_path: Path) -> None:
    own = folder({"waltz/whisk.yaml": {}}, to={"waltz/whisk.yaml": "waltzing/whisk.yaml"})
    assert any(text.startswith("DNC012") for text in faults(own, dances=("waltzing",)))
    assert any(text.startswith("YML001") for text in faults(tmp_path / "nowhere"))


def test_faulty_hold(folder: Folder) -> None:
    own = folder({"waltz/whisk.yaml": {}})
    (own / "holds.yaml").write_text(
        "format: holds/1\nstances:\n  far: {facing: 4, forward: 2 m, least: 1 m, most: 1.5 m, about: too far}\n"
        "holds:\n  knot: {name: knot, stance: closed, lie: open, hands: [{pair: LR}, {pair: LL}], "
        "about: one hand twice}\n"
        "  top: {name: top, stance: closed, lie: open, top: L, about: nothing crossed}\n",
        encoding="utf-8",
    )
    assert [text[:6] for text in faults(own)] == ["HLD010", "HLD011", "HLD012"]


def test_styles_when_the_file_says_none(whole: Catalogue) -> None:
    for figure in whole.figures.values():
        if figure.chart.suits:
            assert figure.styles == figure.chart.suits
        elif whole.dances[figure.chart.dance].style == "travelling":
            places = [abs(x) for m in figure.motion.moments for x in (m.leader.forward_mm, m.leader.right_mm)]
            assert ("spot" in figure.styles) == (max(places) <= SPOT_REACH_MM)
