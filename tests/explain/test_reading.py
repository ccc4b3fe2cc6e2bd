"""A dancer's reading test: ten explanations, printed (see with ``-s``), without a word from the engine room."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest

from composer.cli.whytell import told_brief
from composer.explain.why import why
from composer.outcome import NoRoutine
from composer.problem import Problem
from composer.report.whypage import Told, why_html
from tests.builders import a_figure, a_problem, a_timeline
from tests.explain.pages import the_pages
from tests.explain.planted import KINDS, planted, planted_several

ENGINE_WORDS = re.compile(
    r"\b(variables?|literals?|constraints?|infeasib\w+|feasib\w+|arcs?|nodes?|edges?|solvers?|models?|boolean|integer|"
    r"unsat\w*|core|relaxation|objective|network|graph|cp-sat|linear|domain|clause|assumption|mus|"
    r"\w+_\w+:\w+|tick|ticks|mm)\b",
    re.IGNORECASE,
)
PROGRAM_WORDS = re.compile(r"\b(None|True|False|Undecided\(|Nothing\()")

PAGES = (
    "several", "undecided", "figure-price", "figure-price-at", "figure-impossible", "figure-impossible-at",
    "figure-undecided", "count", "count-asked-for", "count-better", "count-undecided",
)  # fmt: skip


def clean_of_engine_words(text: str) -> None:
    assert not ENGINE_WORDS.search(text), ENGINE_WORDS.findall(text)
    assert not PROGRAM_WORDS.search(text), PROGRAM_WORDS.findall(text)


def text_of(told: Told) -> str:
    lines = [told.question, told.answer]
    for part in told.parts:
        lines.append(part.heading)
        for line in part.lines:
            lines += [f"  - {line.text}", *(f"      {more}" for more in line.more)]
    return "\n".join(lines)


def sixes_and_a_promenade() -> Problem:
    figures = [
        a_figure("Basic", beats=6), a_figure("Open to promenade", beats=6, exit="promenade"),
        a_figure("Close from promenade", beats=6, entry="promenade", exit="closed", level=3),
        a_figure("Eight", beats=8, level=3),
    ]  # fmt: skip
    wishes = {"must": ["Open to promenade"], "closing": {"hold": "closed"}}
    return a_problem(figures, wishes, None, None, a_timeline(9))


def a_short_hall() -> Problem:
    figures = [a_figure("Walk", beats=4, travel=(2400, 0)), a_figure("Back", beats=4, travel=(-200, 0))]
    room = {"style": "spot", "width": 4, "depth": 2}
    return a_problem(figures, {"must": [{"figure": "Walk", "times": 2}]}, room, None, a_timeline(2))


def too_few_different() -> Problem:
    figures = [a_figure(name, beats=4) for name in ("Left box", "Right box", "Balance")]
    return a_problem(figures, {"at_least_different": 4}, None, None, a_timeline(4))


def across_phrases() -> Problem:
    return a_problem([a_figure("Six", beats=6)], {"protect": "phrases"}, None, None, a_timeline(12, 4, 2))


def planted_ones() -> list[Problem]:
    kinds = tuple(kind for kind in KINDS if kind != "narrow")
    return [one.problem for one in planted(7, seed=11, kinds=kinds)]


MADE: tuple[Callable[[], Problem], ...] = (sixes_and_a_promenade, a_short_hall, too_few_different, across_phrases)


def explanations() -> list[Told]:
    found = []
    for problem in [*(make() for make in MADE), *planted_ones()]:
        answer = why(problem)
        assert isinstance(answer, NoRoutine)
        assert any(clash.reasons or len(clash.members) == 2 for clash in answer.clashes)
        found.append(told_brief(problem, answer))
    return found


@pytest.mark.parametrize("name", PAGES)
def test_no_answer_of_any_kind_has_a_word_from_the_engine_room(name: str) -> None:
    """Several clashes at once, --figure, --count, undecided."""
    text = text_of(the_pages()[name])
    print(f"\n{text}")
    clean_of_engine_words(text)


def test_no_kind_of_answer_is_left_out() -> None:
    assert set(the_pages()) == set(PAGES)


def test_combined_changes_have_no_word_from_the_engine_room() -> None:
    for one in planted_several(3, seed=2):
        found = why(one.problem)
        assert isinstance(found, NoRoutine)
        text = text_of(told_brief(one.problem, found))
        print(f"\n{text}")
        assert f"{len(one.clashes)} clashes were found; each change named below meets all of them." in text
        clean_of_engine_words(text)


def test_only_what_is_proved_is_called_proved() -> None:
    for name, told in the_pages().items():
        if "undecided" in name:
            assert "proved" not in text_of(told).replace("nor a proof", "")
            assert "ndecided" in told.answer
        else:
            assert "ndecided" not in text_of(told)


def test_ten_explanations_have_no_word_from_the_engine_room() -> None:
    told = explanations()
    assert len(told) >= 10
    for one in told:
        text = text_of(one)
        print(f"\n{text}")
        clean_of_engine_words(text)
        page = why_html(one)
        assert "<script" not in page
        assert one.answer in page


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (
            sixes_and_a_promenade,
            "nothing left leaves promenade position (leader's left foot free) after Open to promenade; the only one",
        ),
        (a_short_hall, "the width of the floor is"),
        (too_few_different, "only 3 different figures have a place"),
        (across_phrases, "the 8 counts from count 1 to 8 cannot be made of sixes, 6 and 12 can"),
    ],
)
def test_the_cause_is_told_in_figures(make: Callable[[], Problem], words: str) -> None:
    answer = why(make())
    assert isinstance(answer, NoRoutine)
    reasons = [reason for clash in answer.clashes for reason in clash.reasons]
    assert any(words in reason for reason in reasons), reasons
