"""From a problem and its routine to the sheet: the only place where numbers and words of the outputs are decided."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from composer.problem import Problem
from composer.report.counting import Counting, counts_text
from composer.report.directions import compass_for
from composer.report.figureline import Setting, dance_name, figure_line
from composer.report.ground import joined, stills_of
from composer.report.learning import Sessions, learning_plan
from composer.report.model import (
    AccentMark,
    FigureLine,
    PhraseLine,
    ScoreRow,
    SectionMark,
    Sheet,
    Still,
)
from composer.report.moves import calls_of, foot_tracks
from composer.report.overview import cautions_of, facts_of, partner_names, proof_of
from composer.report.roommark import room_mark
from composer.report.words import Lengths, clean
from composer.routine import Routine
from composer.units import TICKS_PER_BEAT, count_at, count_text


def sheet_from(
    problem: Problem, routine: Routine, *, lengths: Lengths = "metres", sessions: Sessions | None = None
) -> Sheet:
    """Everything the outputs show for a routine; ``sessions`` says how (and until when) the couple practises.

    Every figure of the routine must be in the problem's catalogue (``verify`` says so beforehand).
    """
    counting = Counting(problem.timeline)
    figures = problem.catalogue.figures
    stills = stills_of(routine, figures, problem.timeline)
    accents = _accents(problem, routine, counting)
    both = problem.both_lead or any(placed.swapped for placed in routine.figures)
    names = partner_names(problem, both_lead=both)
    setting = Setting(
        problem.catalogue, counting, problem.room, problem.keeps_alignment, accents, lengths, names if both else None
    )
    lines = _figure_lines(setting, routine, stills)
    timeline = problem.timeline
    proof, proof_short = proof_of(routine)
    couple = problem.brief.couple
    levels = [figures[p.figure].chart.level for p in routine.figures]
    return Sheet(
        title=clean(routine.title or problem.brief.title),
        leader_name=clean(couple.leader.name),
        follower_name=clean(couple.follower.name),
        dances=", ".join(dance_name(problem.catalogue, d) for d in routine.dances),
        facts=facts_of(problem, routine, counting, lengths),
        proof=proof,
        proof_short=proof_short,
        cautions=cautions_of(problem, routine),
        score=routine.score,
        score_rows=tuple(ScoreRow(r.term, r.sentence, r.points, r.by_figure) for r in routine.score_card),
        figures=lines,
        phrases=_phrases(problem, lines, accents, counting),
        sections=tuple(
            SectionMark(clean(s.label) or f"section {i + 1}", *counting.span_of(s), s.energy)
            for i, s in enumerate(timeline.sections)
        ),
        accents=accents,
        stills=joined(stills),
        tracks=foot_tracks(joined(stills)),
        calls=calls_of(lines, timeline),
        track=_track(problem),
        learning=learning_plan(problem, lines, sessions),
        beats_s=tuple(
            round(timeline.seconds_at(i * TICKS_PER_BEAT), 4) for i in range(routine.length_ticks // TICKS_PER_BEAT + 1)
        ),
        beats_in_bar=tuple(b.in_bar for b in timeline.beats[timeline.usable[0] : timeline.usable[1]]),
        beats_per_bar=timeline.beats_per_bar,
        length_ticks=routine.length_ticks,
        end_s=round(timeline.seconds_at(routine.length_ticks), 4),
        room=None if problem.room is None else room_mark(problem.room, lengths),
        direction_note=compass_for(problem.room, problem.keeps_alignment).note,
        begin_with="charts" if max(levels, default=1) >= 3 else "words",
        lengths=lengths,
        routine=routine,
        notes=tuple(clean(note) for note in (*timeline.notes, *timeline.doubts)),
        partners=names,
        both_lead=both,
    )


def _track(problem: Problem) -> str:
    named = problem.brief.music.track
    # a recording that is not cut does not run with the counts of music some of which is left out
    return "" if named is None or problem.brief.music.leave_out else str(Path(problem.document.file).parent / named)


def _accents(problem: Problem, routine: Routine, counting: Counting) -> tuple[AccentMark, ...]:
    peaks = {
        p.start_tick + peak: number
        for number, p in enumerate(routine.figures, 1)
        if (peak := problem.catalogue.figures[p.figure].peak_tick) is not None
    }
    kinds = {"hit": "hit", "break": "break in the music", "end": "last beat"}
    marks: list[AccentMark] = []
    for accent in problem.timeline.accents:
        tick = accent.tick
        if tick <= routine.length_ticks:
            words = ("light ", "", "strong ")[accent.strength - 1] + kinds[accent.kind]
            count = count_text(count_at(tick))
            marks.append(
                AccentMark(tick, count, counting.clock_at(tick), accent.strength, accent.kind, words, peaks.get(tick))
            )
    return tuple(marks)


def _figure_lines(setting: Setting, routine: Routine, stills: tuple[tuple[Still, ...], ...]) -> tuple[FigureLine, ...]:
    seen: dict[tuple[str, int, bool], int] = {}
    lines: list[FigureLine] = []
    for number, placed in enumerate(routine.figures, 1):
        previous = routine.figures[number - 2] if number > 1 else None
        following = routine.figures[number] if number < len(routine.figures) else None
        direction = placed.alignment if setting.aligned else placed.faces
        same = seen.setdefault((placed.figure, direction, placed.swapped), number)
        points = sum(row.by_figure[number - 1] for row in routine.score_card if len(row.by_figure) >= number)
        line = figure_line(setting, placed, number, stills[number - 1], previous, following)
        lines.append(replace(line, same_as=None if same == number else same, points=points))
    return tuple(lines)


def _phrases(
    problem: Problem, lines: tuple[FigureLine, ...], accents: tuple[AccentMark, ...], counting: Counting
) -> tuple[PhraseLine, ...]:
    result: list[PhraseLine] = []
    for index, phrase in enumerate(problem.timeline.phrases):
        start, end = counting.span_of(phrase)
        section = next((s for s in problem.timeline.sections if s.start <= phrase.start < s.start + s.beats), None)
        over = next((f for f in lines if f.start_tick < start < f.end_tick), None)
        last = index == len(problem.timeline.phrases) - 1
        result.append(
            PhraseLine(
                number=index + 1,
                label=clean(phrase.label),
                section="" if section is None else clean(section.label),
                start_tick=start,
                end_tick=end,
                counts=counts_text(start, end),
                bars=counting.bars_text(start, end),
                clock=counting.clock_at(start),
                energy=None if section is None else section.energy,
                figures=tuple(f.number for f in lines if start <= f.start_tick < end or (last and f.start_tick >= end)),
                accents=tuple(a for a in accents if start <= a.tick < end or (last and a.tick >= end)),
                carried="" if over is None else f"begins with the end of {over.number}. {over.name}",
            )
        )
    return tuple(result)
