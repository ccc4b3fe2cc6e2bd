"""Structure as choreographers think, over published song forms: each wish is read off the routine itself, not off the
rules' own checkers.

Outside facts: tests/facts/phrasing.csv (AABA of 4 x 8 bars, AABB of 4 x 16 counts, 12 bars of 4).
"""

from __future__ import annotations

import csv
from itertools import pairwise
from pathlib import Path

import pytest

from composer.catalogue.model import Figure
from composer.outcome import Found, NoRoutine
from composer.problem import Problem
from composer.routine import Placed, Routine
from composer.solve import solve
from composer.timeline.model import Timeline
from composer.units import TICKS_PER_BEAT
from tests.builders import a_figure, a_problem, a_timeline

FACTS = Path(__file__).resolve().parents[1] / "facts" / "phrasing.csv"
FORMS: dict[str, tuple[int, list[tuple[int, str, int | None]]]] = {
    "AABA": (8, [(8, "A", 2), (8, "A", 2), (8, "B", 3), (8, "A", 4)]),
    "contra tune AABB": (4, [(4, "A", 2), (4, "A", 2), (4, "B", 3), (4, "B", 4)]),
    "12-bar blues": (4, [(4, "A", 2), (4, "A", 2), (4, "B", 4)]),
}
"""Bars of a phrase, and sections of (bars, label, energy); a count of the contra form is a beat, four to the bar."""
FIGURES = [
    a_figure("walk", 4, energy=1), a_figure("side", 4, energy=2), a_figure("turn", 8, energy=3),
    a_figure("spin", 4, energy=4, peak=1), a_figure("leap", 8, energy=5, peak=5), a_figure("rock", 2, energy=1),
]  # fmt: skip


def music_of(form: str, phrases: int = 1) -> Timeline:
    """The form with so many phrases to a section."""
    phrase_bars, sections = FORMS[form]
    phrase_bars //= phrases
    bars = sum(section[0] for section in sections)
    return a_timeline(bars, 4, phrase_bars, sections=sections, hits=[(4 * bars - 3, 3)])


def danced_in(routine: Routine, start_beat: int, beats: int) -> list[tuple[str, int]]:
    """(figure, beats after the stretch's beginning) of what begins in a stretch."""
    low, high = start_beat * TICKS_PER_BEAT, (start_beat + beats) * TICKS_PER_BEAT
    return [(p.figure, p.start_tick - low) for p in routine.figures if low <= p.start_tick < high]


def best(form: str, phrases: int = 1, **wishes: object) -> tuple[Problem, Routine]:
    problem = a_problem(FIGURES, {"repeats": {"most": 30}, **wishes}, timeline=music_of(form, phrases))
    outcome = solve(problem)
    assert isinstance(outcome, Found)
    return problem, outcome.routine


def energy(problem: Problem, placed: Placed) -> int:
    figure: Figure = problem.catalogue.figures[placed.figure]
    return figure.chart.energy


def test_the_forms_are_as_published() -> None:
    with FACTS.open(encoding="utf-8") as stream:
        told = {row["item"]: row["value"] for row in csv.DictReader(stream)}
    assert told["AABA"] == "4 x 8 = 32 bars"
    assert [bars for bars, _, _ in FORMS["AABA"][1]] == [8] * 4
    assert told["contra tune AABB"].startswith("4 x 16 = 64 beats")
    assert [4 * bars for bars, _, _ in FORMS["contra tune AABB"][1]] == [16] * 4
    assert told["12-bar blues"].startswith("3 x 4 bars = 48 beats")
    assert [bars for bars, _, _ in FORMS["12-bar blues"][1]] == [4] * 3


@pytest.mark.parametrize("form", FORMS)
def test_sections_with_one_label_are_danced_with_the_same_figures(form: str) -> None:
    problem, routine = best(form, alike=True)
    by_label: dict[str, list[list[tuple[str, int]]]] = {}
    for section in problem.timeline.sections:
        by_label.setdefault(section.label, []).append(danced_in(routine, section.start, section.beats))
    assert all(part == parts[0] for parts in by_label.values() for part in parts)
    assert len(by_label["A"]) > 1
    free = best(form)[1]
    labelled = [danced_in(free, s.start, s.beats) for s in problem.timeline.sections if s.label == "A"]
    assert any(part != labelled[0] for part in labelled), "not asked for, the sections differ"


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("share", [50, 75])
def test_a_varied_motif_keeps_the_share_asked(form: str, share: int) -> None:
    problem, routine = best(form, varied=share)
    parts = [s for s in problem.timeline.sections if s.label == "A"]
    beats = parts[0].beats
    danced = [set(danced_in(routine, section.start, beats)) for section in parts]
    for before, after in pairwise(danced):
        kept = before & after
        counts = sum(problem.catalogue.figures[name].chart.beats for name, _ in kept)
        assert 100 * counts >= share * beats


@pytest.mark.parametrize("form", FORMS)
def test_the_signature_returns_in_every_section_or_in_those_named(form: str) -> None:
    problem, routine = best(form, signature={"figure": "leap"}, prefer={"leap": -20})
    assert all("test/leap" in dict(danced_in(routine, s.start, s.beats)) for s in problem.timeline.sections)
    problem, routine = best(form, signature={"figure": "leap", "section": "A"}, prefer={"leap": -20})
    with_it = {s.label for s in problem.timeline.sections if "test/leap" in dict(danced_in(routine, s.start, s.beats))}
    assert with_it == {"A"}


@pytest.mark.parametrize("form", FORMS)
def test_every_second_phrase_answers_the_first(form: str) -> None:
    """Two phrases to a section: the second begins with the same figure, and another one ends it."""
    problem, routine = best(form, 2, answer=True)
    begun = {p.start_tick: p.figure for p in routine.figures}
    ended = {p.end_tick: p.figure for p in routine.figures}
    phrases = problem.timeline.phrases
    assert len(phrases) == 2 * len(problem.timeline.sections)
    for call, answer in zip(phrases[::2], phrases[1::2], strict=True):
        assert begun.get(12 * call.start) == begun.get(12 * answer.start)
        last = ended.get(12 * answer.start), ended.get(12 * (answer.start + answer.beats))
        assert last[0] != last[1] or last[0] is None


@pytest.mark.parametrize("form", FORMS)
def test_energy_rises_from_one_a_to_the_next(form: str) -> None:
    """Figures count to the section they begin in; the energy does not fall, and the last A has more than the first."""
    problem, routine = best(form, build_up="A")
    found = []
    for section in problem.timeline.sections:
        if section.label == "A":
            low, high = section.start * TICKS_PER_BEAT, (section.start + section.beats) * TICKS_PER_BEAT
            own = [p for p in routine.figures if low <= p.start_tick < high]
            found.append(sum(energy(problem, p) * (p.end_tick - p.start_tick) for p in own))
    assert found == sorted(found)
    assert found[-1] > found[0]


@pytest.mark.parametrize("form", FORMS)
def test_after_a_hard_figure_comes_a_quieter_one(form: str) -> None:
    problem, routine = best(form, breath=3, prefer={"spin": 20, "leap": 20})
    for placed, following in pairwise(routine.figures):
        if energy(problem, placed) >= 3:
            assert energy(problem, following) < 3
    assert any(energy(problem, p) >= 3 for p in routine.figures)


@pytest.mark.parametrize("form", FORMS)
def test_the_last_figure_peaks_on_the_last_hit(form: str) -> None:
    problem, routine = best(form, final_hit=True)
    last = routine.figures[-1]
    peak = problem.catalogue.figures[last.figure].peak_tick
    assert peak is not None
    assert last.start_tick + peak == problem.timeline.accents[-1].tick


def test_at_the_limit_and_a_step_past_it() -> None:
    """Each wish with just enough figures to grant it, and with one fewer."""
    sections = [(1, "A", None)] * 3
    music = a_timeline(3, 4, 1, sections=sections)
    levels = [a_figure(f"e{n}", 4, energy=n) for n in (1, 2, 3)]
    assert isinstance(solve(a_problem(levels[:2], {"build_up": "A"}, timeline=music)), Found)
    assert isinstance(solve(a_problem(levels[:1], {"build_up": "A"}, timeline=music)), NoRoutine)
    assert isinstance(solve(a_problem(levels[1:], {"breath": 3}, timeline=music)), Found)
    assert isinstance(solve(a_problem(levels[1:], {"breath": 2}, timeline=music)), NoRoutine)
    pairs = a_timeline(4, 4, 2)
    begins, ends = a_figure("begins", 4), a_figure("ends", 4)
    assert isinstance(solve(a_problem([begins, ends], {"answer": True}, timeline=pairs)), Found)
    assert isinstance(solve(a_problem([begins], {"answer": True}, timeline=pairs)), NoRoutine)
    once = {"signature": {"figure": "ends"}, "repeats": {"most": 3}}
    twice = {"signature": {"figure": "ends"}, "repeats": {"most": 2}}
    assert isinstance(solve(a_problem([begins, ends], once, timeline=music)), Found)
    assert isinstance(solve(a_problem([begins, ends], twice, timeline=music)), NoRoutine)
