"""The track with clicks on its beats, so that a person hears at once whether the map is right.

Beat 1 clicks higher than the others, the first beat of a phrase twice as long and higher still.
"""

from __future__ import annotations

import io
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from composer.listening.audio import RATE, Sound
from composer.textfiles import write_bytes
from composer.timeline import Timeline

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Samples = NDArray[np.float32]

PITCHES_HZ: Final = {"beat": 1000.0, "bar": 1600.0, "phrase": 2200.0}
LENGTHS_S: Final = {"beat": 0.03, "bar": 0.04, "phrase": 0.08}


def write_clicks(sound: Sound, timeline: Timeline, out: Path) -> None:
    """Write a wav file (one channel, 16 bit) of the track, a little softer, with clicks on all beats.

    Raises
    ------
    BadInput
        ``OUT001`` if the place cannot be written.
    """
    import soundfile

    buffer = io.BytesIO()
    soundfile.write(buffer, with_clicks(sound.samples, timeline), RATE, format="WAV", subtype="PCM_16")
    write_bytes(out, buffer.getvalue())


def with_clicks(samples: Samples, timeline: Timeline) -> Samples:
    """Samples with clicks, never over full scale."""
    import numpy as np

    peak = max(1e-6, float(np.abs(samples).max()))
    mixed = samples * np.float32(0.5 / peak)
    phrases = {phrase.start for phrase in timeline.phrases}
    marked = [(beat, "bar" if beat.in_bar == 1 else "beat") for beat in timeline.before]
    for index, beat in enumerate(timeline.beats):
        kind = "phrase" if index in phrases else "bar" if beat.in_bar == 1 else "beat"
        marked.append((beat, kind))
    sounds = {kind: _click(kind) for kind in PITCHES_HZ}
    for beat, kind in marked:
        start = round(beat.at_s * RATE)
        piece = mixed[start : start + len(sounds[kind])]
        piece += sounds[kind][: len(piece)]
    result: Samples = np.clip(mixed, -1, 1)
    return result


def _click(kind: str) -> Any:
    import numpy as np

    time = np.arange(int(LENGTHS_S[kind] * RATE)) / RATE
    return (0.45 * np.sin(2 * np.pi * PITCHES_HZ[kind] * time) * np.exp(-time / LENGTHS_S[kind] * 4)).astype(np.float32)
