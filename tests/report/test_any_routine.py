"""Whatever routine is handed in, also one that the checker would refuse, every output is written and well-formed."""

from __future__ import annotations

import json
import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from typing import Any

from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from composer.problem import Problem
from composer.report import sheet_from
from composer.report.captions import captions_vtt
from composer.report.cuecard import cue_card_pdf
from composer.report.page import sheet_html
from composer.report.pdfsheet import sheet_pdf
from composer.report.plan import plan_svg
from composer.report.practice import practice_html
from composer.report.score import routine_musicxml
from composer.report.strip import timeline_svg
from composer.routine import Placed, Routine
from tests.builders import a_routine, tiny_problems
from tests.report.test_page import read

QUICK = (Phase.explicit, Phase.reuse, Phase.generate)
"""No shrinking: drawing everything again takes minutes, and any failing routine says enough."""


@st.composite
def any_routine(draw: st.DrawFn) -> tuple[Problem, Routine]:
    """Figures one after another in any order, perhaps too few or too many, perhaps with a gap or an overlap."""
    problem = draw(tiny_problems())
    names = sorted(problem.catalogue.figures)
    order = draw(st.lists(st.sampled_from(names), min_size=1, max_size=8))
    place = (1500, 1200) if problem.room is not None else None
    routine = a_routine(problem, order, faces=draw(st.integers(0, 7)), at=place)
    shift = draw(st.sampled_from([0, 0, 12, -12, 48]))
    moved = [replace(p, start_tick=p.start_tick + shift, end_tick=p.end_tick + shift) for p in routine.figures[1:]]
    figures: list[Placed] = [routine.figures[0], *moved]
    return problem, replace(routine, figures=tuple(figures))


@given(given_routine=any_routine(), lengths=st.sampled_from(["metres", "feet"]))
@settings(max_examples=25, phases=QUICK)
def test_every_output_is_written(given_routine: tuple[Problem, Routine], lengths: Any) -> None:
    problem, routine = given_routine
    sheet = sheet_from(problem, routine, lengths=lengths)
    assert [f.number for f in sheet.figures] == list(range(1, len(routine.figures) + 1))
    assert sorted(n for p in sheet.phrases for n in p.figures) == [f.number for f in sheet.figures]
    for page in (sheet_html(sheet), practice_html(sheet)):
        assert read(page).wrong == []
    data = re.search(r'id="routine-data">(.*?)</script>', practice_html(sheet), re.DOTALL)
    assert data is not None
    ticks = [key[0] for key in json.loads(data.group(1))["bodies"]["leader"]]
    assert ticks == sorted(set(ticks))
    for picture in (plan_svg(sheet), timeline_svg(sheet), routine_musicxml(sheet)):
        ET.fromstring(picture)
    assert captions_vtt(sheet).startswith("WEBVTT")


@given(given_routine=any_routine())
@settings(max_examples=5, phases=QUICK)
def test_every_paper_is_written(given_routine: tuple[Problem, Routine]) -> None:
    sheet = sheet_from(*given_routine)
    assert sheet_pdf(sheet).startswith(b"%PDF")
    assert cue_card_pdf(sheet).startswith(b"%PDF")
