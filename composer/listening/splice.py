"""Stretches of a recording joined up: a cut track, with the beats where the cut music has them.

Every join lies on a beat, and the music changes over just before it: an equal-power crossfade of :data:`FADE_S` that
ends :data:`CLEAR_S` before the beat, so that the attack on the beat after the join sounds alone and at full level, also
where the beat was heard a little late. A beginning or an end in the middle of the music is faded. The join of two
stretches falls on the sample nearest to its time; lengths add up without drift. Channels and rate are the recording's.

Codes: those of :mod:`composer.listening.audio` for a recording that cannot be read.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from composer.errors import BadInput, Diagnostic, Where
from composer.listening.audio import as_wav
from composer.timeline.leftout import kept_ticks
from composer.timeline.model import Timeline

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Samples = NDArray[np.float32]

FADE_S: Final = 0.04
CLEAR_S: Final = 0.015
LEAD_S: Final = FADE_S + CLEAR_S
"""Sound before the first beat of music whose beginning was cut away."""
FALL_S: Final = 1.5
"""Longest fade of an end that is not the recording's own."""
AFTER_S: Final = 0.6
"""What follows the last danced beat when the music goes on; common practice, no source."""
BLOCK: Final = 1 << 16

Stretch = tuple[float, float]
"""From and to, seconds of the recording."""


@dataclass(frozen=True)
class Splice:
    """Stretches in order, each from beat to beat, with ``lead_s`` of sound before the first beat and ``tail_s`` after
    the last stretch. ``faded_in`` and ``faded_out`` say that these are not the recording's own beginning and end."""

    stretches: tuple[Stretch, ...]
    lead_s: float
    tail_s: float
    faded_in: bool
    faded_out: bool

    @property
    def length_s(self) -> float:
        """Length of the cut track."""
        return self.lead_s + sum(b - a for a, b in self.stretches) + self.tail_s

    @property
    def joins_s(self) -> tuple[float, ...]:
        """Where the joins lie, seconds of the cut track."""
        found, at = [], self.lead_s
        for begin, end in self.stretches[:-1]:
            at += end - begin
            found.append(at)
        return tuple(found)


def splice_of(
    timeline: Timeline, leave_out: Sequence[tuple[int, int]], length_s: float, most_s: float | None = None
) -> Splice:
    """How a recording is cut so that the danced music is ``timeline`` without some bars.

    The recording's own beginning stays before music that is danced from its first bar; its own end stays after music
    that is danced to the last beat heard. Both give way as far as ``most_s``, the longest track allowed, asks.

    Parameters
    ----------
    timeline : the music before anything is left out, in seconds of the recording.
    length_s : length of the recording.
    """
    stretches = [(timeline.seconds_at(a), timeline.seconds_at(b)) for a, b in kept_ticks(timeline, leave_out)]
    danced = sum(b - a for a, b in stretches)
    first, last = stretches[0][0], stretches[-1][1]
    own_start = first == timeline.seconds_at(0) and timeline.first_bar == 1
    own_end = last == timeline.seconds_at(timeline.length_ticks) and timeline.usable[1] == len(timeline.beats)
    room = float("inf") if most_s is None else max(0.0, most_s - danced)
    lead = first if own_start and first <= room else min(LEAD_S, first)
    tail = max(0.0, length_s - last) if own_end else min(AFTER_S, max(0.0, length_s - last))
    allowed = max(0.0, min(tail, room - lead))
    return Splice(
        tuple(stretches), lead, allowed, faded_in=lead < first, faded_out=allowed < length_s - last - 1e-9
    )  # fmt: skip


def duration(path: Path) -> float:
    """Length of a recording in seconds.

    Raises
    ------
    BadInput
        When it cannot be read.
    """
    with _opened(path) as track:
        return float(track.frames / track.samplerate)


def write_cut(source: Path, splice: Splice, target: Path) -> None:
    """Write the cut track; the kind follows from the suffix of ``target`` (:func:`suffix_for`).

    Raises
    ------
    BadInput
        When the recording cannot be read; an ``OSError`` when the file cannot be written.
    """
    import soundfile

    with _opened(source) as track:
        sound = _joined(track, splice)
        subtype = {"wav": _whole_subtype(track.subtype), "flac": "PCM_24" if "24" in track.subtype else "PCM_16"}
        kind = target.suffix.lower().lstrip(".")
        try:
            with soundfile.SoundFile(
                str(target), "w", track.samplerate, track.channels, subtype.get(kind, "VORBIS"), format=kind.upper()
            ) as out:
                for start in range(0, len(sound), BLOCK):  # the ogg encoder cannot take a whole track at once
                    out.write(sound[start : start + BLOCK])
        except (soundfile.LibsndfileError, RuntimeError) as problem:
            raise OSError(str(getattr(problem, "error_string", problem))) from None


def suffix_for(source: Path) -> str:
    """The kind a cut track is written in: the recording's own where that loses nothing, else ogg."""
    own = source.suffix.lower()
    return {".wav": ".wav", ".aif": ".wav", ".aiff": ".wav", ".flac": ".flac"}.get(own, ".ogg")


def _whole_subtype(subtype: str) -> str:
    return subtype if subtype in {"PCM_16", "PCM_24", "PCM_32", "FLOAT", "DOUBLE"} else "PCM_16"


def _joined(track: Any, splice: Splice) -> Samples:
    """All samples of the cut track, (frames, channels)."""
    import numpy as np

    rate = track.samplerate
    lead, fade, clear = round(splice.lead_s * rate), round(FADE_S * rate), round(CLEAR_S * rate)
    edges = [round(at * rate) for at in (splice.lead_s, *splice.joins_s, splice.length_s - splice.tail_s)]
    total = round(splice.length_s * rate)
    out = np.zeros((total, track.channels), np.float32)
    for number, (begin, _) in enumerate(splice.stretches):
        first, final = number == 0, number == len(splice.stretches) - 1
        start = 0 if first else edges[number] - clear - fade
        stop = total if final else edges[number + 1] - clear
        origin = round(begin * rate) - edges[number]  # frame of the recording that falls on frame 0 of the cut track
        piece = _frames(track, origin + start, stop - start)
        if not first:
            piece[:fade] *= _rise(fade)
        if not final:
            piece[-fade:] *= _rise(fade)[::-1]
        out[max(0, start) : stop] += piece[max(0, -start) :]
    if splice.faded_in:
        size = min(fade, max(1, lead - clear))
        out[:size] *= _rise(size)
    if splice.faded_out:
        size = max(1, min(round(max(splice.tail_s, FADE_S) * rate), round(FALL_S * rate), total))
        out[-size:] *= _rise(size)[::-1]
    return np.clip(out, -1, 1)


def _rise(size: int) -> Samples:
    """An equal-power rise from 0 to 1, (size, 1): its square and that of its mirror image add up to 1."""
    import numpy as np

    return np.sin(np.pi / 2 * (np.arange(size) + 0.5) / size).astype(np.float32)[:, None]


def _frames(track: Any, start: int, count: int) -> Samples:
    """``count`` frames from ``start`` on; silence where the recording has none."""
    import numpy as np

    found = np.zeros((count, track.channels), np.float32)
    begin, end = max(0, start), min(track.frames, start + count)
    if begin < end:
        track.seek(begin)
        read = track.read(end - begin, dtype="float32", always_2d=True)
        found[begin - start : begin - start + len(read)] = read
    return found


@contextmanager
def _opened(path: Path) -> Iterator[Any]:
    """A recording as soundfile gives it; other kinds through ffmpeg."""
    import soundfile

    with tempfile.TemporaryDirectory() as folder:
        try:
            track = soundfile.SoundFile(str(path))
        except (soundfile.LibsndfileError, RuntimeError, ValueError):
            wav = Path(folder) / "track.wav"
            if not as_wav(path, wav):
                message = "is no sound file that can be read."
                raise BadInput(Diagnostic("TML060", message, Where(str(path)), "Use wav, flac, ogg or mp3.")) from None
            track = soundfile.SoundFile(str(wav))
        with track:
            yield track
