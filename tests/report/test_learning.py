"""The learning plan and its calendar."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from composer.brief.schema import Dancer
from composer.catalogue.model import Figure
from composer.problem import Problem
from composer.report.calendar import calendar_ics
from composer.report.learning import Sessions, knowledge, learning_plan
from composer.report.planning import LearningPlan
from composer.report.sheet import sheet_from
from tests.builders import a_catalogue, a_figure, a_problem, a_routine, a_timeline
from tests.report.samples import HOSTILE, a_sheet


def planned(
    order: list[str], figures: list[Figure], sessions: Sessions | None = None, **couple: object
) -> LearningPlan:
    beats = sum(next(f for f in figures if f.id == f"test/{n}").chart.beats for n in order)
    problem: Problem = a_problem(
        catalogue=a_catalogue(figures),
        timeline=a_timeline(-(-beats // 4), 4, 4, drop_last=-beats % 4),
        couple=couple or None,
    )
    return sheet_from(problem, a_routine(problem, order), sessions=sessions).learning


@pytest.mark.parametrize(
    ("dancer", "level", "expected"),
    [
        (Dancer(level=1), 1, "new"),
        (Dancer(level=2), 1, "known"),
        (Dancer(level=2), 2, "to refresh"),
        (Dancer(level=2), 3, "new"),
        (Dancer(level=1, knows=("a",)), 4, "known"),
        (Dancer(level=1, knows=("test/a",)), 4, "known"),
        (Dancer(level=4, not_yet=("a",)), 1, "new"),
    ],
)
def test_who_knows_what(dancer: Dancer, level: int, expected: str) -> None:
    assert knowledge(dancer, a_figure("a", level=level)) == expected


def test_prerequisites_come_first_even_from_outside_the_routine() -> None:
    figures = [
        a_figure("spin", beats=8, level=3, needs=["turn"]),
        a_figure("turn", beats=8, level=2, needs=["walk"]),
        a_figure("walk", beats=8),
        a_figure("pose", beats=8),
    ]
    plan = planned(["spin", "walk", "pose", "spin"], figures, leader={"level": 1}, follower={"level": 1})
    names = [item.name for item in plan.figures]
    assert sorted(names) == ["pose", "spin", "turn", "walk"]
    assert names.index("walk") < names.index("turn") < names.index("spin")
    turn = next(item for item in plan.figures if item.name == "turn")
    assert turn.chunk is None
    assert turn.needed_by == "spin"
    # Somebody who knows the spin need not learn what prepares it.
    easy = planned(
        ["spin", "walk", "pose", "spin"], figures, leader={"level": 4}, follower={"level": 4}
    )  # fmt: skip
    assert [item.name for item in easy.figures if item.chunk is None] == []


@given(
    lengths=st.lists(st.sampled_from([2, 3, 4, 6, 8, 12]), min_size=1, max_size=24),
    needs=st.lists(st.tuples(st.integers(0, 23), st.integers(0, 23)), max_size=12),
)
def test_any_routine_gets_whole_chunks_and_an_order_that_respects_needs(
    lengths: list[int], needs: list[tuple[int, int]]
) -> None:
    names = [f"f{i}" for i in range(len(lengths))]
    wants: dict[int, list[str]] = {}
    for a, b in needs:
        if a % len(names) != b % len(names):
            wants.setdefault(a % len(names), []).append(names[b % len(names)])
    figures = [
        a_figure(n, beats=b, needs=sorted(set(wants.get(i, []))))
        for i, (n, b) in enumerate(zip(names, lengths, strict=True))
    ]
    plan = planned(names, figures)
    assert [n for c in plan.chunks for n in range(c.first, c.last + 1)] == list(range(1, len(names) + 1))
    starts = [sum(lengths[: c.first - 1]) for c in plan.chunks]
    assert all(start % 4 == 0 for start in starts)
    assert sorted(i.name for i in plan.figures) == sorted(names)
    place = {i.name: i.order for i in plan.figures}
    if all(b % len(names) < a % len(names) for a, b in needs if a % len(names) != b % len(names)):
        assert all(place[n] < place[names[i]] for i, ns in wants.items() for n in ns)
    assert all(s.minutes <= 45 for s in plan.sessions)
    lessons = [p.words for s in plan.sessions for p in s.parts]
    assert all(sum(words.startswith(f"{n} (") for words in lessons) == 1 for n in names)


def test_no_chunk_begins_in_tangled_arms() -> None:
    figures = [a_figure("in", beats=16, exit="wrapped"), a_figure("out", beats=16, entry="wrapped", exit="closed")]
    figures.append(a_figure("in2", beats=16, exit="closed"))
    plan = planned(["in", "out", "in2"], figures)
    assert [(c.first, c.last) for c in plan.chunks] == [(1, 2), (3, 3)]


def test_sessions_are_dated_until_the_day() -> None:
    how = Sessions(minutes=30, per_week=2, first=date(2027, 1, 4), until=date(2027, 2, 8))
    plan = sheet_learning(how)
    days = [s.day for s in plan.sessions]
    assert len(days) == 10
    assert days[0] == date(2027, 1, 4)
    assert all(d is not None and date(2027, 1, 4) <= d < date(2027, 2, 8) for d in days)
    assert days == sorted(set(days), key=lambda d: d or date.min)
    assert all(s.minutes <= 30 for s in plan.sessions)
    assert "from 2027-01-04 to 2027-02-08" in plan.note


@pytest.mark.parametrize("per_week", [1, 2, 3, 5, 14])
def test_without_a_first_day_the_plan_begins_just_in_time(per_week: int) -> None:
    plan = sheet_learning(Sessions(minutes=15, per_week=per_week, until=date(2027, 2, 8)))
    assert "only time for" not in plan.note
    assert len(plan.sessions) == len(sheet_learning(Sessions(minutes=15)).sessions)
    assert all(s.day is not None and s.day < date(2027, 2, 8) for s in plan.sessions)


def test_too_little_time_is_said() -> None:
    soon = Sessions(minutes=15, per_week=1, first=date(2027, 1, 4), until=date(2027, 1, 12))
    assert "only time for 1" in sheet_learning(soon).note


@pytest.mark.parametrize(
    "how", [Sessions(minutes=14), Sessions(per_week=0), Sessions(first=date(2027, 1, 2), until=date(2027, 1, 1))]
)
def test_impossible_sessions_are_refused(how: Sessions) -> None:
    with pytest.raises(ValueError, match=r"session|last day"):
        sheet_learning(how)


def sheet_learning(how: Sessions) -> LearningPlan:
    from tests.report.samples import a_dance

    problem, routine = a_dance()
    return learning_plan(problem, sheet_from(problem, routine).figures, how)


def test_the_calendar_is_read_by_an_independent_library() -> None:
    from icalendar import Calendar

    plan = sheet_learning(Sessions(minutes=30, first=date(2027, 1, 4), until=date(2027, 2, 8)))
    title = HOSTILE[:200].replace("\u202e", "").replace("\u0007", " ")
    text = calendar_ics(plan, title)
    calendar = Calendar.from_ical(text)
    events = list(calendar.walk("VEVENT"))
    assert len(events) == len(plan.sessions)
    assert len({str(e["UID"]) for e in events}) == len(events)
    for event, session in zip(events, plan.sessions, strict=True):
        assert event["DTSTART"].dt == session.day
        assert event["DTEND"].dt - event["DTSTART"].dt == timedelta(days=1)
        assert str(event["SUMMARY"]) == f"Practice {session.number} of {len(plan.sessions)}: {title}"
        assert str(event["DESCRIPTION"]) == "\n".join(f"{p.minutes} min: {p.words}" for p in session.parts)
    assert all(len(line.encode()) <= 75 for line in text.split("\r\n"))
    assert text == calendar_ics(plan, title)
    with pytest.raises(ValueError, match="dates"):
        calendar_ics(a_sheet().learning, "x")
    assert replace(plan, sessions=plan.sessions[:1]).sessions[0].day is not None
