"""One figure as people read it: counts, stations, both charts, leads, energy, cautions.

The same line serves a figure of a routine and a figure shown by itself (:func:`lone_figure`).
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Final

from composer.catalogue.model import Catalogue, Figure
from composer.floor.model import Room
from composer.floor.placing import moved, travel_of
from composer.report.counting import Counting, counts_text
from composer.report.directions import Compass, compass_for
from composer.report.footdata import foot_chart
from composer.report.ground import stills_of
from composer.report.lines import NoteLine
from composer.report.model import AccentMark, FigureLine, Still
from composer.report.steps import hand_lines, stations, step_lines, sums_up
from composer.report.words import CAUTION, Lengths, length_text
from composer.routine import Placed, Routine
from composer.timeline.model import Beat, Phrase, Section, Timeline
from composer.units import count_text

LEVELS: Final = ("", "beginner", "improver", "intermediate", "advanced", "expert")
ENERGY: Final = ("", "calm", "easy", "lively", "strong", "full out")


@dataclass(frozen=True)
class Setting:
    """Where figures are danced. ``aligned``: directions are against line of dance.

    ``partners`` are the names of both, the brief's leader first, where both lead.
    """

    catalogue: Catalogue
    counting: Counting
    room: Room | None
    aligned: bool
    accents: tuple[AccentMark, ...]
    lengths: Lengths
    partners: tuple[str, str] | None = None

    def compass(self, placed: Placed) -> Compass:
        """Names directions for a figure; every corner turned before it turns the line of dance."""
        base = compass_for(self.room, self.aligned)
        return Compass("line", -2 * placed.corners) if base.kind == "line" else base


def dance_name(catalogue: Catalogue, dance: str) -> str:
    """The dance's own name, its key when the catalogue has no page for it."""
    known = catalogue.dances.get(dance)
    return known.name if known is not None else dance


def figure_line(
    setting: Setting,
    placed: Placed,
    number: int,
    stills: tuple[Still, ...],
    previous: Placed | None = None,
    following: Placed | None = None,
) -> FigureLine:
    """The line of a placed figure; ``same_as`` and ``points`` are left for the caller."""
    catalogue, counting, timeline = setting.catalogue, setting.counting, setting.counting.timeline
    figure = catalogue.figures[placed.figure]
    chart = figure.chart
    compass = setting.compass(placed)
    entry, exit = stations(figure, placed, catalogue, compass)
    after = None if following is None else catalogue.figures[following.figure]
    before = None if previous is None else catalogue.holds[catalogue.figures[previous.figure].chart.exit.hold]
    dx, dy = moved((0, 0), figure.motion, placed.faces, (placed.more_x_mm, placed.more_y_mm))
    far = round((dx**2 + dy**2) ** 0.5 / 100) * 100
    peak_tick = None if figure.peak_tick is None else placed.start_tick + figure.peak_tick
    hit = next((a for a in setting.accents if a.tick == peak_tick), None)
    start, end = counting.phrase_at(placed.start_tick), counting.phrase_at(max(placed.end_tick - 1, placed.start_tick))
    changed = previous is not None and previous.swapped != placed.swapped
    changes = following is not None and following.swapped != placed.swapped
    flags = [*chart.cautions, *(c for h in (chart.entry.hold, chart.exit.hold) for c in catalogue.holds[h].cautions)]
    return FigureLine(
        number=number,
        id=placed.figure,
        name=chart.name,
        dance=dance_name(catalogue, chart.dance),
        level=f"level {chart.level}, {LEVELS[chart.level]}",
        about=chart.about,
        start_tick=placed.start_tick,
        end_tick=placed.end_tick,
        counts=counts_text(placed.start_tick, placed.end_tick),
        phrase_counts=counting.phrase_counts(placed.start_tick, placed.end_tick),
        bars=counting.bars_text(placed.start_tick, placed.end_tick),
        clock=counting.clock_at(placed.start_tick),
        start_s=round(timeline.seconds_at(placed.start_tick), 4),
        end_s=round(timeline.seconds_at(placed.end_tick), 4),
        entry=entry,
        exit=exit,
        hands=hand_lines(figure, before, catalogue, changed=changed),
        leader=step_lines(figure, placed, "leader", compass, after, changes=changes),
        follower=step_lines(figure, placed, "follower", compass, after, changes=changes),
        lead=tuple(NoteLine(count_text(s.at), s.say) for s in chart.lead),
        follow=tuple(NoteLine(count_text(s.at), s.say) for s in chart.follow),
        sums_up=sums_up(figure, exit, length_text(far, setting.lengths) if far else "") + _stride_words(figure, placed),
        energy=chart.energy,
        energy_words=ENERGY[chart.energy],
        peak="" if peak_tick is None else _peak_words(count_text(chart.peak or Fraction(1)), hit),
        peak_tick=peak_tick,
        on_hit=hit is not None,
        cautions=tuple(CAUTION[c] for c in dict.fromkeys(flags)),
        points=0,
        same_as=None,
        runs_on=f"runs on into phrase {end + 1}" if end > start else "",
        stills=stills,
        feet=foot_chart(figure),
        **_led(setting, placed, begins=previous is None, changed=changed),
    )


def _led(setting: Setting, placed: Placed, *, begins: bool, changed: bool) -> dict[str, Any]:
    """Who leads and who follows a figure, where both partners lead."""
    if setting.partners is None:
        return {"swapped": placed.swapped}
    lead, follow = reversed(setting.partners) if placed.swapped else setting.partners
    change = f"{lead} leads first." if begins else f"{lead} leads from here." if changed else ""
    return {"swapped": placed.swapped, "leads": f"{lead} leads", "follows": f"{follow} follows", "change": change}


def _stride_words(figure: Figure, placed: Placed) -> str:
    """What to do with the strides when the routine asks for more or less ground than comes naturally."""
    more = (placed.more_x_mm, placed.more_y_mm)
    if more == (0, 0):
        return ""
    dx, dy = travel_of(figure.motion, placed.faces)
    along = (dx * more[0] + dy * more[1]) / max((dx**2 + dy**2) ** 0.5, 1.0)
    percent = round(100 * along / max((dx**2 + dy**2) ** 0.5, 1.0))
    if percent == 0:
        return ""
    return f" Take strides about {abs(percent)} % {'longer' if percent > 0 else 'shorter'} than usual."


def _peak_words(count: str, hit: AccentMark | None) -> str:
    return f"peak on {count}" + (f", on the {hit.words} at {hit.clock}" if hit else "")


def lone_figure(catalogue: Catalogue, figure: Figure, number: int = 1, lengths: Lengths = "metres") -> FigureLine:
    """A figure by itself, begun in the first direction it allows, to a steady beat."""
    page = catalogue.dances.get(figure.chart.dance)
    per_bar = page.beats_per_bar if page is not None else 4
    beat_s = 60 / page.tempo.most if page is not None else 0.5
    beats = figure.chart.beats
    timeline = Timeline(
        title="",
        origin="tempo",
        beats_per_bar=per_bar,
        beats=tuple(Beat(i * beat_s, i % per_bar + 1) for i in range(beats)),
        end_s=beats * beat_s,
        usable=(0, beats),
        phrases=(Phrase(0, beats),),
        sections=(Section(0, beats),),
    )
    placed = Placed(figure.id, 0, figure.length_ticks, (figure.chart.entry.faces or (0,))[0])
    routine = Routine(figure.chart.name, (figure.chart.dance,), figure.length_ticks, (placed,))
    setting = Setting(catalogue, Counting(timeline), None, True, (), lengths)
    return figure_line(setting, placed, number, stills_of(routine, catalogue.figures, timeline)[0])
