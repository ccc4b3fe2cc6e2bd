"""Chart lines and standing places of one figure in the words of the sheet."""

from __future__ import annotations

from fractions import Fraction

from composer.catalogue.model import Catalogue, Figure
from composer.catalogue.roles import SWAPPED
from composer.charts import HoldFile, Step
from composer.kinematics.motion import Moment, Pose
from composer.report.directions import Compass, goes_back
from composer.report.lines import NoteLine, Station, StepLine
from composer.report.words import (
    FOOT,
    Role,
    event_words,
    footwork_words,
    hands_words,
    pair_words,
    step_chart,
    step_plain,
    turn_chart,
    turn_plain,
)
from composer.routine import Placed
from composer.units import count_text

_SWAY = {"L": "left", "R": "right", "straight": "straight"}


def step_lines(
    figure: Figure,
    placed: Placed,
    role: Role,
    compass: Compass,
    following: Figure | None = None,
    *,
    changes: bool = False,
) -> tuple[StepLine, ...]:
    """The chart of one role, line by line; ``following`` is the figure danced next, when that is known.

    ``changes``: roles change before it, so who dances this role goes on with the other one.
    """
    steps = _steps_of(figure, role)
    other: Role = "follower" if role == "leader" else "leader"
    after = () if following is None else _steps_of(following, other if changes else role)
    end = figure.motion.moments[-1]
    opposite = (end.leader.facing16 - end.follower.facing16) % 16 == 8
    backing = goes_back(steps, after, otherwise=role == "follower" and opposite)
    return tuple(
        _step_line(step, figure, placed, role, compass, back) for step, back in zip(steps, backing, strict=True)
    )


def _steps_of(figure: Figure, role: Role) -> tuple[Step, ...]:
    return figure.chart.leader if role == "leader" else figure.chart.follower


def _step_line(step: Step, figure: Figure, placed: Placed, role: Role, compass: Compass, backing: bool) -> StepLine:
    pose = _pose_at(figure, step.tick, role)
    mark = pose.left if step.foot == "L" else pose.right
    turn = turn_chart(step.turn)
    if step.body is not None and step.body != step.turn:
        body = turn_chart(step.body)
        turn = f"{turn or 'no turn'} (body {body or 'none'})"
    return StepLine(
        count=count_text(step.at),
        tick=placed.start_tick + step.tick,
        foot=step.foot,
        foot_words=FOOT[step.foot],
        what=step_chart(step),
        turn=turn,
        ends=compass.step_ends(pose.facing16 + 2 * placed.faces, mark.points16 + 2 * placed.faces, backing=backing),
        footwork=step.work or "",
        footwork_words=footwork_words(step.work),
        rise=step.rise or "",
        sway=_SWAY[step.sway] if step.sway else "",
        note=step.note or "",
        takes_weight=step.takes_weight,
        plain=step_plain(step),
    )


def _pose_at(figure: Figure, tick: int, role: Role) -> Pose:
    """The pose the step at ``tick`` leads to (see :mod:`composer.kinematics.motion` on ``at_tick``)."""
    moments = figure.motion.moments
    found = next((m for m in moments if m.at_tick == tick), None)
    if found is None:
        found = max((m for m in moments if m.tick <= tick), key=lambda m: m.tick, default=moments[0])
    return found.leader if role == "leader" else found.follower


def station(hold: HoldFile, moment: Moment, faces: int, free: tuple[str, str], compass: Compass) -> Station:
    """How the couple stands at a moment: hold, hands, both facings, both free feet."""
    lead, follow = moment.leader.facing16 + 2 * faces, moment.follower.facing16 + 2 * faces
    names = {"L": "left", "R": "right"}
    return Station(
        hold=hold.name,
        hold_about=hold.about,
        hands=hands_words(hold),
        leader_faces=compass.words(lead),
        follower_faces=compass.words(follow),
        leader_free=names[free[0]],
        follower_free=names[free[1]],
        plain=f"{_capital(hold.about)}. The leader {compass.plain(lead)}, {names[free[0]]} foot free; "
        f"the follower {compass.plain(follow)}, {names[free[1]]} foot free.",
    )


def stations(figure: Figure, placed: Placed, catalogue: Catalogue, compass: Compass) -> tuple[Station, Station]:
    """Entry and exit of a figure where the routine puts it."""
    chart = figure.chart
    begin, end = figure.motion.moments[0], figure.motion.moments[-1]
    return (
        station(
            catalogue.holds[chart.entry.hold], begin, placed.faces,
            (chart.entry.leader_free, chart.entry.follower_free), compass,
        ),
        station(
            catalogue.holds[chart.exit.hold], end, placed.faces,
            (chart.exit.leader_free, chart.exit.follower_free), compass,
        ),
    )  # fmt: skip


def hand_lines(
    figure: Figure, before: HoldFile | None, catalogue: Catalogue, *, changed: bool = False
) -> tuple[NoteLine, ...]:
    """What hands do: hands let go on entering, events of the chart, holds passed through.

    ``changed``: roles changed since ``before``, so its pairs of hands are read the other way round.
    """
    chart = figure.chart
    lines: list[tuple[Fraction | int, NoteLine]] = []
    if before is not None:
        kept = {joined.pair for joined in catalogue.holds[chart.entry.hold].hands}
        for joined in before.hands:
            pair = SWAPPED[joined.pair] if changed else joined.pair
            if pair not in kept:
                lines.append((0, NoteLine("1", f"let go of {pair_words(pair)}")))
    lines += [(event.at, NoteLine(count_text(event.at), event_words(event))) for event in chart.hands]
    lines += [
        (via.at, NoteLine(count_text(via.at), f"pass through {catalogue.holds[via.hold].name}")) for via in chart.via
    ]
    return tuple(line for _, line in sorted(lines, key=lambda pair: pair[0]))


def sums_up(figure: Figure, end: Station, travel: str) -> str:
    """One sentence on the whole figure: length, travel, turns, how it ends."""
    motion, chart = figure.motion, figure.chart
    turns = [
        f"the {role} turns {words}" if (words := turn_plain(amount)) else f"the {role} does not turn"
        for role, amount in (("leader", motion.leader_turn16), ("follower", motion.follower_turn16))
    ]
    if motion.leader_turn16 == motion.follower_turn16:
        same = turn_plain(motion.leader_turn16)
        turns = [f"both turn {same}" if same else "nobody turns"]
    moved = f"about {travel} on the floor" if travel else "on the spot"
    count = "1 count" if chart.beats == 1 else f"{chart.beats} counts"
    return f"{count}, {moved}; in all {' and '.join(turns)}. It ends in {end.hold}."


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
