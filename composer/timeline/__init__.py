"""Music as data: exact timelines from tempo and bars, beat files, scores and MIDI."""

from composer.timeline.assemble import Bars, HitWish, SectionWish, Shape, assemble
from composer.timeline.beatfile import beats_from_text, read_beat_file
from composer.timeline.datafile import TimelineFile, as_data, from_data, read_timeline
from composer.timeline.model import Accent, Beat, Phrase, Section, Timeline, faults
from composer.timeline.score import read_score
from composer.timeline.steady import steady_bars

__all__ = [
    "Accent",
    "Bars",
    "Beat",
    "HitWish",
    "Phrase",
    "Section",
    "SectionWish",
    "Shape",
    "Timeline",
    "TimelineFile",
    "as_data",
    "assemble",
    "beats_from_text",
    "faults",
    "from_data",
    "read_beat_file",
    "read_score",
    "read_timeline",
    "steady_bars",
]
