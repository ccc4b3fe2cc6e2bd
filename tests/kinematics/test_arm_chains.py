"""Figures of the catalogue in a row: arms carried on from figure to figure stay such as a body can hold.

Every figure is checked alone against the arms its entry hold names. Here the arms are not set back to the hold between
figures, so a hold that hides a winding or a twist would show.
"""

from __future__ import annotations

from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from composer.catalogue import Catalogue, Figure, load_catalogue
from composer.charts import HoldsFile
from composer.errors import Where
from composer.kinematics import arms as lie
from composer.kinematics.armholds import arms_at, stance_bearings
from composer.kinematics.arms import Arms
from composer.kinematics.armwalk import ArmWalk, walk_arms
from composer.kinematics.fit import Fitted
from composer.kinematics.simulate import Layout, laid_out_and_fitted


@cache
def catalogue() -> Catalogue:
    return load_catalogue()


@cache
def holds() -> HoldsFile:
    known = catalogue()
    return HoldsFile.model_construct(format="holds/1", stances=dict(known.stances), holds=dict(known.holds))


@cache
def with_hands() -> tuple[str, ...]:
    """Figures in which hands or turns do something."""
    return tuple(
        k for k, f in catalogue().figures.items() if f.chart.hands or not holds().holds[f.chart.exit.hold].frame
    )


@cache
def followers(key: str) -> tuple[str, ...]:
    """Ids of the figures with hands that can follow."""
    stand = catalogue().figures[key].end_of(0)
    return tuple(k for k in with_hands() if catalogue().joins(stand, catalogue().figures[k]))


@cache
def places(key: str) -> tuple[Layout, Fitted]:
    chart = catalogue().figures[key].chart
    return laid_out_and_fitted(chart, holds(), catalogue().dances[chart.dance].tempo.most)


def led(figure: Figure, begin: Arms) -> ArmWalk:
    layout, fitted = places(figure.id)
    return walk_arms(figure.chart, holds(), layout, fitted, lambda *_: Where(), begin)


def carried(arms: Arms, hold: str) -> Arms:
    """Hands the next hold does not need are let go; bearings are taken on whole turns from where they are."""
    wanted = {j.pair for j in holds().holds[hold].hands}
    for winding in arms.pairs:
        if winding.pair not in wanted:
            arms = lie.dropped(arms, winding.pair)
    leader, _ = stance_bearings(holds().stances[holds().holds[hold].stance])
    off = (leader - arms.leader + 180) % 360 - 180
    return lie.moved(arms, 0, 0, off)


@settings(max_examples=40)
@given(st.data())
def test_no_row_of_figures_ties_the_arms(data: st.DataObject) -> None:
    figure = catalogue().figures[data.draw(st.sampled_from(with_hands()))]
    arms = arms_at(holds(), figure.chart.entry.hold)
    danced = []
    for _ in range(8):
        danced.append(figure.id)
        walk = led(figure, arms)
        assert not walk.faults, (danced, [str(f) for f in walk.faults])
        assert walk.end is not None
        after = followers(figure.id)
        if not after:
            break
        figure = catalogue().figures[data.draw(st.sampled_from(after))]
        arms = carried(walk.end, figure.chart.entry.hold)


def test_catalogue_has_the_arms_a_catalogue_should_have() -> None:
    """Open, raised, wrapped, behind the back and crossed all occur: the property above has something to find."""
    ways = {h.follower_arm for f in catalogue().figures.values() for m in f.motion.moments for h in m.hands}
    assert ways == {"open", "raised", "front", "behind"}
    assert any(holds().holds[f.chart.exit.hold].lie == "crossed" for f in catalogue().figures.values())


@pytest.mark.parametrize("role", ["leader", "follower"])
def test_somebody_passes_under(role: str) -> None:
    assert any(role in f.motion.under for f in catalogue().figures.values())
