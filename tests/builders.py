"""Small builders for tests: figures with plain synthetic motion, catalogues, timelines, problems, routines.

Conventions: figures belong to the made-up dance ``test``; ``a_figure("a")`` has the id ``test/a``. Motion is
not simulated: the leader's centre goes in a straight line (or along ``path``) and turns evenly, the follower
keeps the standing place of the entry hold. Feet are written leader then follower (``"LR"``).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from functools import cache
from typing import Any

import yaml
from hypothesis import strategies as st

from composer.brief.schema import BriefFile
from composer.catalogue.model import Catalogue, Figure
from composer.charts import DanceFile, FigureFile, Foot, HoldsFile, StanceFile, Style, Tempo
from composer.errors import Where
from composer.floor.model import Room
from composer.kinematics.motion import FootMark, Moment, Motion, Pose
from composer.problem import Problem
from composer.resources import shipped
from composer.routine import Placed, Routine
from composer.textfiles import Document, read_yaml, validated, yaml_document
from composer.timeline.model import Accent, Beat, Phrase, Section, Timeline
from composer.units import TICKS_PER_BEAT, count_text

DANCE = "test"
ALL_STYLES: tuple[Style, ...] = ("travelling", "slot", "spot", "show")
OTHER: dict[str, Foot] = {"L": "R", "R": "L"}


@cache
def the_holds() -> HoldsFile:
    """The shipped holds and stances."""
    return validated(HoldsFile, read_yaml(shipped("catalog") / "holds.yaml"), code="HLD")


def full_id(name: str) -> str:
    """``a`` as ``test/a``; ids with a slash stay as they are."""
    return name if "/" in name else f"{DANCE}/{name}"


def _pose(forward: float, right: float, facing16: int, weight: Foot) -> Pose:
    angle = facing16 * math.pi / 8
    offset = (round(100 * -math.sin(angle)), round(100 * math.cos(angle)))
    x, y = round(forward), round(right)
    left = FootMark("L", x - offset[0], y - offset[1], facing16)
    return Pose(x, y, facing16, weight, left, FootMark("R", x + offset[0], y + offset[1], facing16))


def _partner(leader: Pose, stance: StanceFile, weight: Foot) -> Pose:
    angle = leader.facing16 * math.pi / 8
    cos, sin = math.cos(angle), math.sin(angle)
    return _pose(
        leader.forward_mm + stance.forward * cos - stance.right * sin,
        leader.right_mm + stance.forward * sin + stance.right * cos,
        leader.facing16 + stance.facing,
        weight,
    )


def _motion(
    length: int, turn16: int, travel: tuple[int, int], path: Sequence[tuple[int, int, int]], hold: str, out: str,
    before: str, after: str,
) -> Motion:  # fmt: skip
    corners = [(0, 0, 0), *path, (length, *travel)]
    stances = the_holds().stances
    first, last = stances[the_holds().holds[hold].stance], stances[the_holds().holds[out].stance]
    moments = []
    for tick in sorted({*range(0, length, TICKS_PER_BEAT), *(c[0] for c in corners)}):
        at = max(i for i, c in enumerate(corners[:-1]) if c[0] <= tick)
        (t0, f0, r0), (t1, f1, r1) = corners[at], corners[at + 1]
        share = (tick - t0) / (t1 - t0)
        feet = after if tick == length else before
        lead = _pose(
            f0 + (f1 - f0) * share, r0 + (r1 - r0) * share, round(turn16 * tick / length), OTHER[feet[0]]
        )  # fmt: skip
        place = last if tick == length else first
        moments.append(Moment(tick, lead, _partner(lead, place, OTHER[feet[1]]), out if tick == length else hold))
    return Motion(
        moments=tuple(moments),
        length_ticks=length,
        leader_turn16=turn16,
        follower_turn16=turn16 + last.facing - first.facing,
        travel_forward_mm=travel[0],
        travel_right_mm=travel[1],
        leader_free=_foot(after[0]),
        follower_free=_foot(after[1]),
        residual_mm=0,
        least_gap_mm=400,
        most_gap_mm=400,
        fastest_mm_per_beat=0,
    )


def _foot(letter: str) -> Foot:
    return "L" if letter == "L" else "R"


def a_figure(
    name: str,
    beats: int = 6,
    entry: str = "closed",
    exit: str | None = None,
    *,
    turn: int = 0,
    level: int = 1,
    energy: int = 2,
    peak: int | Fraction | None = None,
    travel: tuple[int, int] = (0, 0),
    path: Sequence[tuple[int, int, int]] = (),
    feet: str = "LR",
    feet_after: str | None = None,
    starts_on: Iterable[int] = (1, 2, 3, 4),
    faces: Iterable[int] | None = None,
    suits: Iterable[Style] = ALL_STYLES,
    cautions: Iterable[str] = (),
    needs: Iterable[str] = (),
    good_for: Iterable[str] = (),
) -> Figure:
    """A figure of the dance ``test``.

    Parameters
    ----------
    beats : length in beats.
    turn : the leader's net turn in eighths, clockwise positive.
    peak : count (from 1) of the peak.
    travel : where the leader's centre ends, (forward, right) in mm in the frame of the first facing.
    path : extra corners of the leader's path, (tick, forward_mm, right_mm), strictly inside the figure.
    feet, feet_after : free feet at the start and at the end, leader then follower; the same when left out.
    """
    after = feet_after or feet
    out = exit or entry
    identity = full_id(name)
    turn16 = 2 * turn
    stances, holds = the_holds().stances, the_holds().holds
    follower16 = turn16 + stances[holds[out].stance].facing - stances[holds[entry].stance].facing
    step = {"at": 1, "do": "in-place"}
    chart = FigureFile.model_validate(
        {
            "format": "figure/1",
            "name": identity.split("/")[1],
            "dance": identity.split("/")[0],
            "level": level,
            "beats": beats,
            "starts_on": tuple(starts_on),
            "suits": tuple(suits),
            "energy": energy,
            "peak": None if peak is None else count_text(Fraction(peak)),
            "needs": tuple(full_id(n) for n in needs),
            "cautions": tuple(cautions),
            "good_for": tuple(good_for),
            "about": "made up for a test",
            "entry": {
                "hold": entry,
                "faces": None if faces is None else tuple(faces),
                "leader_free": feet[0],
                "follower_free": feet[1],
            },
            "exit": {
                "hold": out,
                "leader_turn": str(Fraction(turn16, 2)),
                "follower_turn": str(Fraction(follower16, 2)),
                "leader_free": after[0],
                "follower_free": after[1],
                "travel": {"forward": f"{travel[0]} mm", "right": f"{travel[1]} mm"},
            },
            "leader": [{**step, "foot": feet[0]}],
            "follower": [{**step, "foot": feet[1]}],
        }
    )
    motion = _motion(beats * TICKS_PER_BEAT, turn16, travel, path, entry, out, feet, after)
    return Figure(identity, chart, motion, f"{identity}.yaml", tuple(suits))


def a_catalogue(figures: Iterable[Figure], *, style: Style = "spot", beats_per_bar: int = 4) -> Catalogue:
    """A catalogue of the given figures with the shipped holds; one dance page per dance that occurs."""
    by_id = {figure.id: figure for figure in figures}
    dances = {
        dance: DanceFile(
            format="dance/1",
            name=dance.title(),
            beats_per_bar=beats_per_bar,
            tempo=Tempo(least=80, most=140, source="made up"),
            rhythm="1 2 3 4",
            style=style,
            usual_hold="closed",
            starts_with=(),
            about="made up for a test",
        )
        for dance in sorted({f.chart.dance for f in by_id.values()} | {DANCE})
    }
    return Catalogue(dict(sorted(by_id.items())), the_holds().holds, the_holds().stances, dances, "test-catalogue")


def a_timeline(
    bars: int = 8,
    beats_per_bar: int = 4,
    phrase_bars: int | None = None,
    *,
    sections: Sequence[tuple[int, str, int | None]] = (),
    hits: Iterable[int | tuple[int, int]] = (),
    ends_with_accent: bool = False,
    bpm: float = 120.0,
    first_beat: int = 0,
    drop_last: int = 0,
) -> Timeline:
    """Steady music.

    Parameters
    ----------
    phrase_bars : bars of every phrase (the last may be shorter); one phrase when left out.
    sections : (bars, label, energy); one unlabelled section when left out. Must fill the bars.
    hits : counts (from 1), or (count, strength), that are accents.
    first_beat : usable beats begin here (a pick-up that is not danced); ``drop_last`` beats at the end are not danced.
    """
    total = bars * beats_per_bar
    beats = tuple(Beat(i * 60.0 / bpm, i % beats_per_bar + 1) for i in range(total))
    usable = (first_beat, total - drop_last)
    length = phrase_bars or bars
    phrases = tuple(
        Phrase(max(a, usable[0]), min(b, usable[1]) - max(a, usable[0]))
        for a, b in ((i, min(i + length * beats_per_bar, total)) for i in range(0, total, length * beats_per_bar))
        if min(b, usable[1]) > max(a, usable[0])
    )
    parts, at = [], 0
    for count, label, energy in sections or [(bars, "", None)]:
        a, b = max(at, usable[0]), min(at + count * beats_per_bar, usable[1])
        if b > a:
            parts.append(Section(a, b - a, label, energy))
        at += count * beats_per_bar
    if at != total:
        raise ValueError("the sections do not fill the bars")
    accents = [
        Accent(
            (first_beat + (h if isinstance(h, int) else h[0]) - 1) * TICKS_PER_BEAT, 2 if isinstance(h, int) else h[1]
        )
        for h in hits
    ]
    if ends_with_accent:
        accents.append(Accent((usable[1] - 1) * TICKS_PER_BEAT, 3, "end"))
    return Timeline(
        title="made-up music",
        origin="tempo",
        beats_per_bar=beats_per_bar,
        beats=beats,
        end_s=total * 60.0 / bpm,
        usable=usable,
        phrases=phrases,
        sections=tuple(parts),
        accents=tuple(sorted(accents, key=lambda a: a.tick)),
    )


def a_problem(
    figures: Iterable[Figure] | None = None,
    wishes: Mapping[str, Any] | None = None,
    room: Mapping[str, Any] | None = None,
    couple: Mapping[str, Any] | None = None,
    timeline: Timeline | None = None,
    *,
    dance: str | tuple[str, ...] = DANCE,
    catalogue: Catalogue | None = None,
) -> Problem:
    """A real problem: the brief goes through YAML text and validation, so that every key has its line."""
    music = timeline or a_timeline()
    known = catalogue or a_catalogue(figures if figures is not None else [a_figure("a"), a_figure("b", beats=8)])
    data: dict[str, Any] = {
        "format": "brief/1",
        "title": "a test",
        "dance": dance if isinstance(dance, str) else list(dance),
        "music": {
            "tempo": 120,
            "bars": len(music.beats) // music.beats_per_bar,
            "beats_per_bar": music.beats_per_bar,
        },
    }
    for key, value in (("couple", couple), ("room", room), ("wishes", wishes)):
        if value:
            data[key] = value
    document = yaml_document(yaml.safe_dump(data, sort_keys=False), "brief.yaml")
    brief = validated(BriefFile, document, code="BRF")
    return Problem(brief, document, known, music, a_room(brief))


def a_room(brief: BriefFile) -> Room | None:
    """The room of a brief, faults or not."""
    from composer.brief.room import room_of

    return room_of(brief, Document("brief.yaml", {}, {}), [])


def a_routine(
    problem: Problem, figures: Sequence[str], *, faces: int = 0, at: tuple[int, int] | None = None, start_tick: int = 0
) -> Routine:
    """The given figures danced one after another from a facing (and a place, in a room). Checks nothing.

    ``~a`` is the figure ``a`` led by the partner whom the brief calls follower.
    """
    from composer.floor.placing import handed, travel_of

    placed: list[Placed] = []
    tick, place = start_tick, at
    for name in figures:
        swapped, figure = name.startswith("~"), problem.catalogue.figures[full_id(name.removeprefix("~"))]
        if placed and swapped != placed[-1].swapped:
            before = problem.catalogue.figures[placed[-1].figure]
            stance = problem.catalogue.stances[problem.catalogue.holds[before.chart.exit.hold].stance]
            place = None if place is None else handed(place, stance, faces)
            faces = (faces + stance.facing // 2) % 8
        x, y = place or (None, None)
        placed.append(Placed(figure.id, tick, tick + figure.length_ticks, faces, x, y, swapped=swapped))
        if place is not None:
            dx, dy = travel_of(figure.motion, faces)
            place = (place[0] + dx, place[1] + dy)
        tick, faces = tick + figure.length_ticks, figure.end_of(faces).faces
    return Routine("a test", problem.brief.dances, problem.length_ticks, tuple(placed))


def a_where(key: str = "wishes", line: int = 1) -> Where:
    """A place in a brief."""
    return Where("brief.yaml", line, key)


def a_document(data: Mapping[str, Any]) -> Document:
    """A document as if read from ``brief.yaml``."""
    return yaml_document(yaml.safe_dump(dict(data), sort_keys=False), "brief.yaml")


# --- strategies -------------------------------------------------------------------------------------------

HOLDS = ("closed", "two-hands", "left-to-right")
FEET = ("LR", "RL")


@st.composite
def tiny_figures(
    draw: st.DrawFn, *, most: int = 6, travels: bool = False, aligned: bool = False, open_only: bool = False
) -> list[Figure]:
    """1 to ``most`` figures that often, not always, join each other; lengths share no common shape on purpose.

    With ``open_only`` most are in holds and end on feet from which roles may change.
    """
    count = draw(st.integers(1, most))
    lengths = draw(st.sampled_from([(2, 3, 4), (4, 6), (3, 6), (4, 6, 8), (2, 5), (4,), (3, 4, 6, 8)]))
    changeable = draw(st.sampled_from([False, False, True])) or open_only
    holds = ("two-hands", "two-hands", "left-to-right", "inside-hands", "closed") if open_only else HOLDS
    found = []
    for index in range(count):
        hold = draw(st.sampled_from(holds)) if changeable else "closed"
        beats = draw(st.sampled_from(lengths))
        far = draw(st.sampled_from([0, 500, 1500, 3000, -1200])) if travels else 0
        found.append(
            a_figure(
                "abcdefgh"[index],
                beats=beats,
                entry=hold,
                exit=draw(st.sampled_from(holds)) if changeable else None,
                turn=draw(st.sampled_from([0, 0, 0, 1, 2, 4, -2, -3, 6])),
                level=draw(st.sampled_from([1, 1, 1, 1, 2, 3])),
                energy=draw(st.integers(1, 5)),
                peak=draw(st.one_of(st.none(), st.integers(1, beats))),
                travel=(far, draw(st.sampled_from([0, 0, 400, -700])) if travels else 0),
                path=[(TICKS_PER_BEAT, far + 600, 300)] if travels and draw(st.integers(0, 3)) == 0 else (),
                feet=draw(st.sampled_from(("LR", "LR", "RL"))) if changeable else "LR",
                feet_after=draw(st.sampled_from([None, *FEET])) if changeable else None,
                starts_on=draw(st.sampled_from([(1, 2, 3, 4)] * 4 + [(1, 3), (1,)])),
                faces=draw(st.sampled_from([None, None, (0, 1, 2), (0,), (7, 1, 3)])) if aligned else None,
                cautions=draw(st.sampled_from([(), (), (), ("dip",), ("wrap",)])),
            )
        )
    return found


def tiny_timelines(most_beats: int = 24) -> st.SearchStrategy[Timeline]:
    """Music of at most ``most_beats`` beats with phrases, sections, hits."""

    @st.composite
    def build(draw: st.DrawFn) -> Timeline:
        per_bar = draw(st.sampled_from([3, 4, 4, 2]))
        bars = draw(st.integers(1, most_beats // per_bar))
        cut = draw(st.integers(1, bars))
        labels = draw(st.sampled_from([("A", "B"), ("A", "A"), ("", "")]))
        energies = [draw(st.one_of(st.none(), st.integers(1, 5))) for _ in range(2)]
        sections = [(cut, labels[0], energies[0]), (bars - cut, labels[1], energies[1])]
        hits = draw(st.lists(st.integers(1, bars * per_bar), max_size=2, unique=True))
        return a_timeline(
            bars,
            per_bar,
            draw(st.sampled_from([None, 1, 2, 4])),
            sections=[s for s in sections if s[0]],
            hits=hits,
            ends_with_accent=draw(st.booleans()),
        )

    return build()


@st.composite
def tiny_wishes(draw: st.DrawFn, names: Sequence[str]) -> dict[str, Any]:
    """Wishes of every kind, a few at a time, about the figures named."""
    name = st.sampled_from(list(names))
    choices: dict[str, st.SearchStrategy[Any]] = {
        "must": st.lists(
            st.one_of(
                st.fixed_dictionaries({"figure": name, "times": st.integers(1, 3)}),
                st.fixed_dictionaries({"figure": name, "at": st.sampled_from([1, 4, 5, 7, 9, 13])}),
            ),
            min_size=1,
            max_size=2,
        ),
        "never": st.lists(name, min_size=1, max_size=2, unique=True),
        "prefer": st.dictionaries(name, st.integers(-20, 20), min_size=1),
        "repeats": st.fixed_dictionaries({"most": st.integers(1, 3), "apart": st.integers(0, 9)}),
        "at_least_different": st.integers(1, 4),
        "at_most_different": st.integers(1, 3),
        "learn": st.fixed_dictionaries({"most": st.integers(1, 2), "level": st.integers(1, 3)}),
        "alike": st.just(True),
        "varied": st.sampled_from([25, 50, 100]),
        "signature": st.fixed_dictionaries({"figure": name}, optional={"section": st.sampled_from(["A", "B"])}),
        "answer": st.just(True),
        "build_up": st.sampled_from(["A", "B"]),
        "breath": st.integers(2, 5),
        "final_hit": st.just(True),
        "spinning": st.fixed_dictionaries({"turns": st.just(1), "within": st.integers(3, 16)}),
        "protect": st.sampled_from(["sections", "phrases", "nothing"]),
        "hits": st.sampled_from(["must", "prefer", "ignore"]),
        "final_pose": st.booleans(),
        "opening": st.fixed_dictionaries(
            {}, optional={"hold": st.sampled_from(HOLDS), "figure": name, "faces": st.sampled_from(["any", "LOD", "W"])}
        ),
        "closing": st.fixed_dictionaries(
            {}, optional={"hold": st.sampled_from(HOLDS), "figure": name, "faces": st.sampled_from(["any", "LOD", "C"])}
        ),
        "weights": st.fixed_dictionaries({k: st.integers(0, 5) for k in ("music", "variety", "energy", "flow")}),
    }
    kinds = draw(st.lists(st.sampled_from(sorted(choices)), max_size=4, unique=True))
    return {kind: draw(choices[kind]) for kind in sorted(kinds)}


@st.composite
def tiny_leading(draw: st.DrawFn, names: Sequence[str]) -> dict[str, Any]:
    """A couple in which each leads some of the time, in all the ways a brief may ask for it."""
    leads = st.sampled_from(["leader", "follower"])
    parts = st.one_of(
        st.fixed_dictionaries({"leads": leads, "section": st.sampled_from(["A", "B"])}),
        st.fixed_dictionaries({"leads": leads, "first": st.sampled_from([1, 5]), "last": st.sampled_from([6, 8])}),
    )
    wish = draw(
        st.fixed_dictionaries(
            {"at_a_time": st.sampled_from([1, 2, 4, 5, 8])},
            optional={
                "begins": st.sampled_from(["leader", "follower", "either", "either"]),
                "changes": st.one_of(st.integers(1, 3), st.just({"least": 2}), st.just({"most": 1})),
                "share": st.sampled_from([10, 33, 50]),
                "parts": st.lists(parts, min_size=1, max_size=2),
            },
        )
    )
    other = st.fixed_dictionaries(
        {"level": st.integers(1, 3)},
        optional={
            "knows": st.lists(st.sampled_from(list(names)), max_size=1),
            "not_yet": st.lists(st.sampled_from(list(names)), max_size=1),
            "avoid": st.just(["wrap"]),
        },
    )
    roles = {
        role: {"level": draw(st.integers(1, 3)), **draw(st.fixed_dictionaries({}, optional={"other_role": other}))}
        for role in ("leader", "follower")
    }
    return {**roles, "both_lead": wish}


@st.composite
def tiny_problems(
    draw: st.DrawFn, *, most_figures: int = 6, most_beats: int = 24, rooms: bool = True, both_lead: bool = False
) -> Problem:
    """Random tiny problems, feasible or not, with or without a room.

    With ``both_lead`` figures change holds and feet and both partners lead.
    """
    style = draw(st.sampled_from([None, None, "spot", "show", "travelling"])) if rooms else None
    aligned = draw(st.integers(0, 3)) == 0
    figures = draw(tiny_figures(most=most_figures, travels=style is not None, aligned=aligned, open_only=both_lead))
    timeline = draw(tiny_timelines(most_beats))
    if draw(st.integers(0, 3)):  # most problems get a figure that fills any number of bars
        hold = "two-hands" if both_lead else "closed"
        filler = a_figure("filler", timeline.beats_per_bar, hold, travel=(0, 100) if style else (0, 0))
        figures = [filler, *figures[1:]]
    names = [figure.id for figure in figures]
    room: dict[str, Any] | None = None
    if style is not None:
        room = {"style": style, "width": draw(st.sampled_from([2, 4, 8])), "depth": draw(st.sampled_from([2, 5]))}
        if draw(st.booleans()):
            room["audience"] = draw(st.sampled_from(["south", "east"]))
        if style == "travelling" or draw(st.booleans()):
            room["start"] = {"x": 1.5, "y": draw(st.sampled_from([1.0, 0.5]))}
    couple: dict[str, Any] = {
        "leader": {"level": draw(st.sampled_from([1, 2, 3, 3]))},
        "follower": {"level": draw(st.sampled_from([1, 3, 3]))},
        "accept": draw(st.sampled_from([[], ["dip"]])),
    }
    if both_lead:
        couple |= draw(tiny_leading(names))
    wishes = draw(tiny_wishes(names))
    return a_problem(figures, wishes, room, couple, timeline)
