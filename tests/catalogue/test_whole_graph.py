"""Every dance hangs together by its own figures: no opening and no final pose is needed on the way.

The composer dances openings first and final poses last (``composer/rules/order.py``), so a figure that only a pose
leads to could hardly ever be danced. Corners of the room count as joins in the dances that travel.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from composer.cli.figuregraph import graph_command
from composer.resources import shipped

DANCES = sorted(page.parent.name for page in shipped("catalog").glob("*/dance.yaml"))


def test_there_are_twelve_dances() -> None:
    assert len(DANCES) == 12


@pytest.mark.parametrize("level", [1, 2, 3, 4, 5])
@pytest.mark.parametrize("dance", DANCES)
def test_every_figure_leads_to_every_other(dance: str, level: int, capsys: pytest.CaptureFixture[str]) -> None:
    assert graph_command(dance, level=level, own=[], as_json=True) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["connected"]
    assert len(told["parts"]) == 1
    assert told["nothing_leads_to"] == told["nothing_follows"] == []


def test_a_figure_only_a_pose_leads_to_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Without its twinkle the quickstep comes to promenade by a pose alone; that must not pass as connected."""
    home = shipped("catalog") / "quickstep"
    own = tmp_path / "quickstep"
    own.mkdir()
    twinkle = (home / "twinkle-to-promenade.yaml").read_text("utf-8")
    (own / "twinkle-to-promenade.yaml").write_text(twinkle + "good_for: [ending]\n", "utf-8")
    assert graph_command("quickstep", level=1, own=[tmp_path], as_json=True) == 3
    told = json.loads(capsys.readouterr().out)
    assert ["quickstep/promenade-close"] in told["parts"]
