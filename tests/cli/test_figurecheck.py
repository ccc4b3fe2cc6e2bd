"""``figures check`` on whatever a teacher has: one file, a folder, a catalogue, pages and holds of their own."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from composer.resources import shipped
from tests.cli.speaking import Teller

CATALOG = shipped("catalog")


def copied(source: str, folder: Path, **changes: object) -> Path:
    """A file of the shipped catalogue with some top keys changed."""
    data = yaml.safe_load((CATALOG / source).read_text("utf-8"))
    folder.mkdir(parents=True, exist_ok=True)
    file = folder / Path(source).name
    file.write_text(yaml.safe_dump({**data, **changes}, sort_keys=False), "utf-8")
    return file


def test_one_dance_of_the_shipped_catalogue_page_and_all(cli: Teller) -> None:
    said = cli("figures", "check", CATALOG / "waltz")
    figures = [file for file in (CATALOG / "waltz").glob("*.yaml") if file.stem != "dance"]
    assert said.code == 0, said.err
    assert said.out.splitlines()[-1] == f"{len(figures)} figures checked, no fault."
    assert "dance.yaml: page of a dance, no fault" in said.out
    data = cli("figures", "check", CATALOG / "waltz", "--json").document
    assert len(data["figures"]) == len(figures)
    assert data["other_files"] == [str(CATALOG / "waltz" / "dance.yaml")]


def test_pages_and_holds_are_checked_as_what_they_are(cli: Teller, tmp_path: Path) -> None:
    assert cli("figures", "check", CATALOG / "holds.yaml").code == 0
    assert cli("figures", "check", CATALOG / "waltz" / "dance.yaml").code == 0
    page = copied("waltz/dance.yaml", tmp_path / "waltz", usual_hold="closd", starts_with=["box-step", "box-stepp"])
    said = cli("figures", "check", page)
    assert (said.code, said.codes) == (2, ["DNC010", "DNC011"])
    assert "Did you mean 'closed'?" in said.err
    assert "Did you mean 'box-step'?" in said.err
    holds = tmp_path / "holds.yaml"
    text = "format: holds/1\nstances: {}\nholds:\n  mine: {name: m, stance: closed, lie: open, about: x, hands: "
    holds.write_text(text + "[{pair: LR}, {pair: LL}]}\n", "utf-8")
    assert cli("figures", "check", holds).codes == ["HLD011"]
    holds.write_text(text + "[{pair: LR}]}\n", "utf-8")
    assert cli("figures", "check", holds).code == 0


def test_a_dance_and_a_hold_of_ones_own_are_used_by_the_figures_beside_them(cli: Teller, tmp_path: Path) -> None:
    folder = tmp_path / "mine" / "slow-five"
    figure = copied("waltz/whisk.yaml", folder, dance="slow-five", needs=[])
    assert cli("figures", "check", figure).codes == ["FIG091"]
    page = copied("waltz/dance.yaml", folder, name="Slow five", beats_per_bar=5, starts_with=["whisk"])
    for path in (figure, page, folder, tmp_path / "mine"):
        said = cli("figures", "check", path)
        assert said.code == 0, said.err
    copied("waltz/whisk.yaml", folder, dance="slow-five", needs=[], starts_on=[5])
    assert cli("figures", "check", figure).code == 0
    copied("waltz/whisk.yaml", folder, dance="slow-five", needs=[], starts_on=[6])
    assert cli("figures", "check", figure).codes == ["FIG026"]
    copied(
        "waltz/whisk.yaml",
        folder,
        dance="slow-five",
        needs=[],
        exit={
            "hold": "my-v",
            "follower_turn": 2,
            "leader_free": "R",
            "follower_free": "L",
            "travel": yaml.safe_load(figure.read_text("utf-8"))["exit"]["travel"],
        },
    )
    assert cli("figures", "check", figure).code == 2
    (tmp_path / "mine" / "holds.yaml").write_text(
        "format: holds/1\nstances: {}\nholds:\n  my-v: {name: my V, stance: promenade, frame: true, lie: frame, "
        "hands: [{pair: LR}], about: like promenade}\n",
        "utf-8",
    )
    for path in (figure, folder, tmp_path / "mine"):
        said = cli("figures", "check", path)
        assert said.code == 0, said.err


@pytest.mark.parametrize("name", ["whisk", "natural-turn", "chasse-from-promenade"])
def test_a_step_on_the_wrong_foot_is_told_with_its_line(name: str, cli: Teller, tmp_path: Path) -> None:
    text = (CATALOG / "waltz" / f"{name}.yaml").read_text("utf-8")
    lines = text.splitlines()
    at = next(i for i, line in enumerate(lines) if line.startswith("leader:")) + 2
    swapped = lines[at].replace("foot: R", "foot: X").replace("foot: L", "foot: R").replace("foot: X", "foot: L")
    assert swapped != lines[at]
    file = tmp_path / "bad.yaml"
    file.write_text("\n".join([*lines[:at], swapped, *lines[at + 1 :]]) + "\n", "utf-8")
    said = cli("figures", "check", file)
    assert said.code == 2
    assert all(code.startswith("FIG") for code in said.codes)
    assert f"{file}:{at + 1} leader[1]" in said.err
