"""Sound files in: one channel, 22 050 samples a second, with clear refusals for what cannot be listened to.

Kinds that libsndfile reads (wav, aiff, flac, ogg, opus, mp3) are read directly; others (m4a, wma ...) through the
program ffmpeg when it is installed. Files are read in blocks so that twenty minutes stay far below 600 MB.
"""

from __future__ import annotations

import shutil
import subprocess
import tempfile
from dataclasses import dataclass
from math import gcd
from pathlib import Path
from typing import TYPE_CHECKING, Final

from composer.errors import BadInput, Diagnostic, Where

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Samples = NDArray[np.float32]

RATE: Final = 22_050
LONGEST_S: Final = 20 * 60
SHORTEST_S: Final = 8
MAX_FILE_BYTES: Final = 1_000_000_000
SILENT: Final = 10 ** (-60 / 20)
"""Peak below which a track counts as silent: 60 dB under full scale."""
CLIPPED_SHARE: Final = 0.005
"""Share of samples at the very peak above which a track counts as clipped."""


@dataclass(frozen=True)
class Sound:
    """A track: samples (float32, one channel, :data:`RATE` a second), length in seconds, remarks."""

    samples: Samples
    length_s: float
    notes: tuple[str, ...] = ()


def load(path: Path) -> Sound:
    """Read a track.

    Raises
    ------
    BadInput
        TML060 unreadable, TML061 a kind that needs ffmpeg, TML062 too long, TML063 too short, TML064 silent.
    """
    where = Where(str(path))
    try:
        if path.is_dir():
            raise BadInput(Diagnostic("TML060", "this is a folder, a sound file is needed.", where))
        if path.stat().st_size > MAX_FILE_BYTES:
            raise BadInput(Diagnostic("TML062", "the file is too large to be a track.", where))
        if path.stat().st_size == 0:
            raise BadInput(Diagnostic("TML060", "is empty.", where))
    except (OSError, ValueError) as problem:
        reason = getattr(problem, "strerror", None) or str(problem)
        raise BadInput(Diagnostic("TML060", f"cannot be read: {reason}.", where)) from None
    mono, rate = _decoded(path, where)
    length_s = len(mono) / rate
    if length_s < SHORTEST_S:
        raise BadInput(
            Diagnostic("TML063", f"is {length_s:.1f} s long; at least {SHORTEST_S} s are needed to hear a beat.", where)
        )
    notes = _checked(mono, where)
    return Sound(_at_rate(mono, rate), length_s, notes)


def _decoded(path: Path, where: Where) -> tuple[Samples, int]:
    import soundfile

    try:
        return _read(path, where)
    except (soundfile.LibsndfileError, RuntimeError, ValueError):
        ffmpeg = shutil.which("ffmpeg")
        known = path.suffix.lower() in {".m4a", ".mp4", ".aac", ".wma", ".webm", ".mka", ".ac3", ".amr"}
        if ffmpeg is None and known:
            raise BadInput(
                Diagnostic("TML061", f"a {path.suffix} file can only be read with ffmpeg, which is missing.", where,
                           "Install ffmpeg, or save the track as wav, flac, ogg or mp3.")
            ) from None  # fmt: skip
        if ffmpeg is not None:
            with tempfile.TemporaryDirectory() as folder:
                wav = Path(folder) / "track.wav"
                if _converted(ffmpeg, path, wav):
                    return _read(wav, where)
        raise BadInput(  # the library's own reason is no help: it denies that a broken mp3 exists
            Diagnostic("TML060", "is no sound file that can be read.", where, "Use wav, flac, ogg or mp3.")
        ) from None


def as_wav(path: Path, wav: Path) -> bool:
    """Write a recording of any kind as wav with its own channels and rate; False without ffmpeg or when it cannot."""
    ffmpeg = shutil.which("ffmpeg")
    return ffmpeg is not None and _converted(ffmpeg, path, wav, ())


def _converted(ffmpeg: str, path: Path, wav: Path, shape: tuple[str, ...] = ("-ac", "1", "-ar", str(2 * RATE))) -> bool:
    """Let ffmpeg write the first audio stream as wav; only the local file protocol is allowed."""
    command = [
        ffmpeg, "-v", "error", "-nostdin", "-protocol_whitelist", "file", "-i", f"file:{path.resolve()}",
        "-map", "0:a:0", "-t", str(LONGEST_S + 5), *shape, str(wav),
    ]  # fmt: skip
    try:
        done = subprocess.run(command, capture_output=True, timeout=180, check=False)
    except (OSError, subprocess.TimeoutExpired):
        return False
    return done.returncode == 0 and wav.exists() and wav.stat().st_size > 1000


def _read(path: Path, where: Where) -> tuple[Samples, int]:
    import numpy as np
    import soundfile

    with soundfile.SoundFile(str(path)) as track:
        rate = int(track.samplerate)
        if not 8000 <= rate <= 384_000:
            raise BadInput(Diagnostic("TML060", f"has {rate} samples a second, which is no music.", where))
        limit = LONGEST_S * rate
        mono = np.empty(min(max(int(track.frames), 0), limit + 1), np.float32)
        total = 0
        for block in track.blocks(blocksize=1 << 20, dtype="float32", always_2d=True):
            if total + len(block) > limit:
                raise BadInput(
                    Diagnostic("TML062", f"is longer than {LONGEST_S // 60} minutes.", where, "Cut the track first.")
                )
            if total + len(block) > len(mono):  # the header said less than there is
                mono = np.concatenate([mono[:total], np.empty(2 * len(block), np.float32)])
            np.mean(block, axis=1, out=mono[total : total + len(block)])
            total += len(block)
    if not total:
        raise BadInput(Diagnostic("TML060", "holds no sound.", where))
    return mono[:total], rate


def _checked(mono: Samples, where: Where) -> tuple[str, ...]:
    import numpy as np

    peak = max(float(mono.max()), -float(mono.min()))  # not a number when any sample is none
    if not np.isfinite(peak):
        raise BadInput(Diagnostic("TML060", "holds values that are no sound.", where))
    if peak < SILENT:
        raise BadInput(Diagnostic("TML064", "is silent.", where))
    loudest = np.count_nonzero(mono >= 0.999 * peak) + np.count_nonzero(mono <= -0.999 * peak)
    at_peak = loudest / len(mono)
    if at_peak > CLIPPED_SHARE:
        return (f"The recording is clipped ({at_peak:.1%} of it lies at its loudest value); beats may be less sure.",)
    return ()


def _at_rate(mono: Samples, rate: int) -> Samples:
    """Resample in blocks of about 30 s with a margin, so memory stays small."""
    import numpy as np
    from scipy.signal import resample_poly

    if rate == RATE:
        return mono
    common = gcd(rate, RATE)
    up, down = RATE // common, rate // common
    block, margin = down * (30 * rate // down), down * max(1, rate // (10 * down))
    parts = []
    for start in range(0, len(mono), block):
        before = margin if start else 0
        piece = resample_poly(mono[start - before : start + block + margin], up, down)
        skip = before // down * up
        parts.append(piece[skip : skip + block // down * up].astype(np.float32))
    return np.concatenate(parts)[: len(mono) * RATE // rate]
