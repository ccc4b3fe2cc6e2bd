"""Pieces made by people: MIDI files and recordings that Debian packages ship, with their grids as truth.

Packages: openttd-openmsx (GPL-2), planetblupi-music-midi (GPL-3), freedoom and freedm (BSD; MIDI inside the game
files); fretsonfire-songs-muldjord (CC BY-SA 3.0) and fretsonfire-songs-sectoid (MIT), recordings with tempo maps.
simutrans-data (Artistic 1.0) and freedink-data (zlib and other free licences) were added later, all their pieces, by
the same rules, before any of them was rendered or heard; Debian's other packages with MIDI files hold lessons,
examples or fewer than four pieces. Whether a file's bar lines are believed is decided by barlines.py from its notes
alone.
"""

from __future__ import annotations

import hashlib
import json
import re
import struct
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path

import barlines
import midi_events
import numpy as np
from rendering import finish, split_of

FOLDERS = (
    ("", Path("/usr/share/games/openttd/baseset/openmsx")),
    ("", Path("/usr/share/planetblupi/music")),
    ("simutrans-", Path("/usr/share/games/simutrans/music")),
    ("dink-", Path("/usr/share/games/dink/dink/Sound")),
)
"""What their names begin with here, and where they are."""
LATER = "midi-simutrans_", "midi-dink_"
"""How the names of the pieces added later begin."""
GAMES = tuple(Path("/usr/share/games/doom") / f"{name}.wad" for name in ("freedoom1", "freedoom2", "freedm"))
LONGEST_S = 360
WITHIN = 1.12
"""The tempo is taken as known within this factor, and must stay within it for nine tenths of the beats."""


def packed(game: Path) -> Iterator[tuple[str, bytes]]:
    """(name, MIDI data) of the music inside a game file: a directory of (offset, size, name) of 16 bytes each."""
    data = game.read_bytes()
    count, at = struct.unpack("<II", data[4:12])
    for i in range(count):
        begin, size, raw = struct.unpack("<II8s", data[at + 16 * i : at + 16 * i + 16])
        name = raw.split(b"\0")[0].decode("ascii", "replace").lower()
        if name.startswith("d_") and data[begin : begin + 4] == b"MThd":
            yield f"{game.stem}-{name[2:]}", data[begin : begin + size]


def found() -> Iterator[tuple[str, midi_events.Midi]]:
    """All pieces by name, each once."""
    seen = set()
    for begin, folder in FOLDERS:
        for path in sorted(folder.glob("*.mid")):
            yield begin + path.stem, midi_events.read(path)
    for game in GAMES:
        for name, data in packed(game) if game.exists() else ():
            mark = hashlib.sha256(data).hexdigest()
            if mark in seen:
                continue
            seen.add(mark)
            with tempfile.TemporaryDirectory() as folder:
                path = Path(folder) / "piece.mid"
                path.write_bytes(data)
                yield name, midi_events.read(path)


def unfit(midi: midi_events.Midi) -> str | None:
    """Why a piece is left out, or None."""
    onsets = midi.onsets()
    if not onsets or midi.seconds([midi.end()])[0] > LONGEST_S or midi.seconds([midi.end()])[0] < 30:
        return "too long or too short"
    if {(b, t) for _, b, t in midi.metres} not in (set(), {(4, 4)}, {(3, 4)}):
        return "another metre, or several"
    near = sum(min(o * 12 % (midi.per_quarter * k) for k in (3, 4)) < midi.per_quarter * 12 / 24 for o in onsets)
    if near / len(onsets) < 0.5:
        return "its notes do not lie on its grid"
    gaps = np.diff(midi.seconds([float(i * midi.per_quarter) for i in range(midi.end() // midi.per_quarter)]))
    ratio = gaps / gaps.mean()
    if np.mean((ratio < 1 / WITHIN) | (ratio > WITHIN)) > 0.1:
        return "its tempo changes too much for a dance"
    return None


def people(folder: Path) -> None:
    """MIDI files arranged by people: beats and bars from their own grid, when their notes lie on it."""
    for name, midi in found():
        if (folder / f"midi-{name.replace('-', '_')}.json").exists():
            continue
        why = unfit(midi)
        if why:
            print("left out", name, "-", why)
            continue
        metre = midi.metres[0][1] if midi.metres else 4
        bars = midi.end() // (midi.per_quarter * metre)
        tempo = 60 * bars * metre / midi.seconds([bars * metre * midi.per_quarter])[0]
        judged, lead = barlines.borne_out(midi, metre)
        beats_judged, beats_lead = barlines.beats_borne_out(midi)
        truth: dict[str, object] = {
            "metre": metre, "tempo": tempo, "range": [tempo / WITHIN, tempo * WITHIN], "bars": bars, "kind": "midi",
            "split": split_of(name), "first_sound": midi.seconds([midi.onsets()[0]])[0],
            "bars_judged": judged and beats_judged, "lead": lead, "beats_judged": beats_judged,
            "beats_lead": beats_lead,
        }  # fmt: skip
        finish(folder, f"midi-{name.replace('-', '_')}", midi, truth)


def bands(folder: Path) -> None:
    """Recordings with a tempo map; song and guitar are separate files and are mixed."""
    for song_file in sorted(Path("/usr/share/games/fretsonfire/data/songs").glob("*/*/song.ogg")):
        name = "band-" + re.sub(r"\W+", "_", song_file.parent.name)
        midi = midi_events.read(song_file.parent / "notes.mid")
        out = folder / f"{name}.flac"
        subprocess.run(
            ["ffmpeg", "-v", "error", "-y", "-i", str(song_file), "-i", str(song_file.parent / "guitar.ogg"),
             "-filter_complex", "amix=inputs=2:duration=longest", "-ac", "1", str(out)], check=True,
        )  # fmt: skip
        bars = midi.end() // (midi.per_quarter * 4)
        beats = midi.seconds([i * midi.per_quarter for i in range(bars * 4)])
        tempo = 60 * (len(beats) - 1) / (beats[-1] - beats[0])
        first = midi.seconds([midi.onsets()[0]])[0]
        judged, lead = barlines.borne_out(midi, 4)
        truth = {
            "metre": 4, "tempo": tempo, "range": [tempo / 1.12, tempo * 1.12], "bars": bars, "kind": "band",
            "split": split_of(name), "beats": beats, "in_bar": [i % 4 + 1 for i in range(len(beats))],
            "file": out.name, "first_sound": first, "tempos": len(midi.tempos), "metres": midi.metres,
            "bars_judged": judged, "lead": lead,
        }  # fmt: skip
        (folder / f"{name}.json").write_text(json.dumps(truth))
