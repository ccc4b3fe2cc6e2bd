"""More arrangements for the listening set: styles of mma's other folders, and bands put together at random.

Styles: those of every folder of mma that are not in ``make_set.WANTED``, in three or four. A style goes to the half
of the wanted styles that its name is part of or that are part of its name (``fasttwist`` goes with ``twist``); left
out when they lie in both halves; by the checksum of its letters when there are none. Bands: bass, chords, broken
chords and drums as common practice has them (no source), with or without each, all for tuning.

Songs have chords held for one bar or two, or changed within the bar, and stand in any key.
"""

from __future__ import annotations

import random
import re
import zlib
from pathlib import Path

from rendering import split_of

LIBRARY = Path("/usr/share/mma/lib")
FOLDERS = "sckypa"
"""Initials of the folders; the one left out has drums alone."""
MIXES = 180
FILLED = 120
"""Bands from this number on have fills, more held chords and swing; off-beat snares and syncopated bass too."""
UNFIT = re.compile(r"metronome|none|ending|intro|count|rd$")
SPEEDS = (("slow", 66, 84), ("ballad", 66, 90), ("lullaby", 84, 100), ("waltz", 84, 100), ("fast", 150, 180),
          ("bebop", 160, 200), ("march", 110, 124), ("techno", 120, 140), ("dance", 120, 132))  # fmt: skip
USUAL = (100, 130)
RANGES = {
    3: ((84, 96), (84, 100), (110, 130), (150, 180)),
    4: ((66, 84), (100, 120), (112, 136), (140, 165), (170, 208)),
}
BASS = {
    3: [[1], [1], [1, 3], [1, 2, 3], [1, 2.5], [1, 2.5, 3]],
    4: [[1], [1, 3], [1, 3], [1, 2, 3, 4], [1, 2.5, 4], [1, 2.5, 3], [1, 1.5, 3, 3.5], [1, 4], [1, 2.5, 3, 4.5]],
}
CHORDS = {
    3: [[2, 3], [2, 3], [1], [1, 2, 3], [2], [1, 2.5], [1.5, 2.5, 3.5], [2, 2.5, 3], [1, 3]],
    4: [[2, 4], [1], [1, 3], [1, 2, 3, 4], [1.5, 2.5, 3.5, 4.5], [1, 2.5, 4], [2.5, 4], [1, 2.5], [2, 3, 4], [2, 4.5]],
}
KICKS = {3: [[1], [1], [1, 3], [1, 2.5]], 4: [[1, 3], [1, 3], [1], [1, 2, 3, 4], [1, 2.5, 3], [1, 3, 3.5], [1, 2.5, 4]]}
SNARES = {3: [[2, 3], [3], [2], [2, 3, 3.5]], 4: [[2, 4], [2, 4], [3], [2.5, 4], [4], [2, 4, 4.5]]}
OFFBEATS = {3: [[1.5, 2.5, 3.5], [2.5, 3.5]], 4: [[1.5, 2.5, 3.5, 4.5], [1.5, 3.5], [2.5, 4.5]]}
PUSHED = {
    3: [[1, 2.5], [1.5, 3], [2.5, 3.5]],
    4: [[2.5, 4], [1, 2.5, 4], [1, 1.75, 2.5, 3.75], [1.75, 2.5, 3.75, 4.5], [2.5, 4.5], [1, 2.5, 4.5]],
}
KINDS = [["chord"], ["chord"], ["broken"], ["broken"], ["chord", "broken"], ["chord", "held"], ["held"]]
HELD_KINDS = [["held"], ["held"], ["chord", "held"], ["broken", "held"], ["chord"], ["broken"]]
PLUCKED = ("Piano1", "NylonGuitar", "SteelGuitar", "CleanGuitar", "OrchestralHarp", "EPiano", "Vibraphone")
HELD = ("Strings", "Accordion", "ChurchOrgan", "SlowStrings", "ChoirAahs", "Organ3", "Piano1", "JazzGuitar")
BASSES = ("AcousticBass", "FingeredBass", "PickedBass", "FretlessBass", "SynthBass1", "SlapBass1", "Piano1", "Tuba")


def grooves(style: Path) -> tuple[list[str], list[str], list[str]]:
    """(main, fill, intro) grooves of a style file; what is called an intro, a fill, a break or an end is never main."""
    text = style.read_text(errors="replace")
    rows: list[tuple[str, str]] = re.findall(r"^\s*DefGroove[ \t]+(\S+)[ \t]*(.*?)\s*$", text, re.M)
    names = [name for name, _ in rows]
    fills = [n for n in names if re.search(r"Fill[A-D]*$", n)]
    intros = [n for n in names if re.search(r"Intro[A-D]*$", n)]
    part = r"Fill|[Ii]ntro|End|Break"
    main = [n for n, about in rows if not re.search(part, n) and not re.search(r"Fill-in$|, Ending$", about)]
    return main or names, fills, intros


def letters(name: str) -> str:
    return re.sub(r"[^a-z]", "", name.lower())


def half_of(stem: str, wanted: dict[str, object]) -> str:
    """``tune``, ``score`` or nothing; see above."""
    own = letters(stem)
    related = {split_of(name) for name in wanted if letters(name) in own or own in letters(name)}
    if len(related) == 2:
        return ""
    return related.pop() if related else split_of(own)


def styles(wanted: dict[str, object]) -> dict[str, tuple[int, int, int, str]]:
    """``initial_stem`` -> (beats per bar, least, most beats per minute, half)."""
    out = {}
    for initial in FOLDERS:
        for path in sorted(LIBRARY.glob(f"{initial}*/*.mma")):
            text, beats = path.read_text(errors="replace"), beats_of(path)
            half = half_of(path.stem, wanted)
            if (path.parent.name == "stdlib" and path.stem in wanted) or UNFIT.search(path.stem) or not half:
                continue
            if beats in (3, 4) and "DefGroove" in text and not re.search(r"[^\w.-]", path.stem):
                out[f"{initial}_{path.stem}"] = (beats, *usual_tempo(path.stem), half)
    return out


def beats_of(style: Path) -> int:
    """Beats per bar of a style file."""
    time = re.search(r"^\s*Time\s+(\d+)", style.read_text(errors="replace"), re.M | re.I)
    return int(time[1]) if time else 4


def usual_tempo(stem: str) -> tuple[int, int]:
    """Least and most beats per minute, by words in the name of a style."""
    return next(((least, most) for word, least, most in SPEEDS if word in stem.lower()), USUAL)


def mix(number: int) -> tuple[int, int, int, str]:
    """(beats per bar, least, most beats per minute, the mma text that defines groove ``Own1`` and ``Own2``; from
    FILLED on, ``Own1Fill`` and ``Own2Fill`` too)."""
    filled = number >= FILLED
    chance = random.Random(zlib.crc32(f"mix{number}".encode()))
    beats = 3 if number % 2 == 0 else 4
    least, most = chance.choice(RANGES[beats])
    lines = [f"Time {beats}", "SeqSize 2"] + (["SwingMode On"] if chance.random() < (0.4 if filled else 0.25) else [])
    drums, bass = chance.random() < 0.6, chance.random() < 0.9
    kinds = chance.choice(HELD_KINDS if filled else KINDS)
    voices = {kind: chance.choice(HELD if kind == "held" else PLUCKED) for kind in kinds} | {
        "bass": chance.choice(BASSES)
    }
    for groove in ("Own1", "Own2"):
        lines += ["SeqClear"]
        if bass:
            kind = "Bass" if chance.random() < 0.7 else "Walk"
            pushed = filled and chance.random() < 0.35
            lines += _track(kind, voices["bass"], 3, _bass(beats, chance, kind == "Bass", PUSHED if pushed else BASS))
        for kind in kinds:
            if kind == "broken":
                lines += _track("Arpeggio", voices[kind], chance.choice([4, 5, 5]), _broken(beats, chance),
                                f"Direction {chance.choice(['UP', 'DOWN', 'BOTH', 'UP', 'RANDOM'])}")  # fmt: skip
            else:
                where = [1] if kind == "held" else None
                lines += _track("Chord", voices[kind], chance.choice([4, 5]), _chords(beats, chance, where))
        if drums:
            lines += _drums(beats, chance, OFFBEATS if filled and chance.random() < 0.3 else SNARES)
        lines.append(f"DefGroove {groove}")
        if filled:
            lines += [*_fill(beats, chance, drums), f"DefGroove {groove}Fill"]
    return beats, least, most, "\n".join(lines)


def _track(kind: str, voice: str, octave: int, sequence: list[str], *more: str) -> list[str]:
    return [f"Begin {kind}-{octave}{voice}", f" Voice {voice}", f" Octave {octave}", " Articulate 85", " Volume mf",
            *(f" {line}" for line in more), " Sequence " + " ".join(sequence), "End"]  # fmt: skip


def _two(pick: list[list[float]], chance: random.Random) -> list[list[float]]:
    """Two bars, alike as often as not."""
    one = chance.choice(pick)
    return [one, one if chance.random() < 0.6 else chance.choice(pick)]


def _loudness(at: float, chance: random.Random, accent: float) -> int:
    return round(chance.uniform(70, 80) + (accent if at == 1 else 0) - (8 if at % 1 else 0))


def _length(where: list[float], i: int, beats: int) -> str:
    gap = (where[i + 1] if i + 1 < len(where) else beats + 1) - where[i]
    return {0.5: "8", 1: "4", 1.5: "4.", 2: "2", 2.5: "2", 3: "2.", 3.5: "2.", 4: "1"}.get(gap, "8")


def _bass(beats: int, chance: random.Random, degreed: bool, pick: dict[int, list[list[float]]]) -> list[str]:
    """``degreed``: with the degree of the chord; a walking bass finds its own."""
    accent, bars = chance.choice([0, 5, 12]), _two(pick[beats], chance)
    degrees = chance.choice([[1, 1, 1, 1], [1, 5, 1, 5], [1, 5, 3, 5], [1, 3, 5, 3]])
    return ["{" + "; ".join(
        f"{at:g} {_length(bar, i, beats)} {f'{degrees[i % 4]} ' if degreed else ''}{_loudness(at, chance, accent)}"
        for i, at in enumerate(bar)) + "}" for bar in bars]  # fmt: skip


def _chords(beats: int, chance: random.Random, where: list[float] | None) -> list[str]:
    accent, short = chance.choice([0, 5, 12]), chance.random() < 0.4 and where is None
    bars = _two([where] if where else CHORDS[beats], chance)
    return ["{" + "; ".join(f"{at:g} {'8' if short else _length(bar, i, beats)} {_loudness(at, chance, accent)}"
            for i, at in enumerate(bar)) + "}" for bar in bars]  # fmt: skip


def _broken(beats: int, chance: random.Random) -> list[str]:
    step = chance.choice([0.5, 0.5, 0.5, 1])
    begin = chance.choice([1, 1, 1, 1 + step])
    where = [begin + i * step for i in range(round((beats + 1 - begin) / step))]
    accent = chance.choice([0, 0, 5, 12])
    return ["{" + "; ".join(f"{at:g} {'8' if step < 1 else '4'} {_loudness(at, chance, accent)}" for at in where) + "}"]


def _drums(beats: int, chance: random.Random, snares: dict[int, list[list[float]]]) -> list[str]:
    lines = []
    hat = chance.choice([None, 0.5, 0.5, 1])
    parts = [("KickDrum1", KICKS), ("SnareDrum2" if chance.random() < 0.7 else "SideKick", snares)]
    for tone, pick in parts:
        if chance.random() < 0.85:
            bars = _two(pick[beats], chance)
            sequence = ["{" + "; ".join(f"{at:g} 0 {chance.randint(65, 95)}" for at in bar) + "}" for bar in bars]
            lines += [f"Begin Drum-{tone}", f" Tone {tone}", " Sequence " + " ".join(sequence), "End"]
    if hat:
        where = [1 + i * hat for i in range(round(beats / hat))]
        sequence = ["{" + "; ".join(f"{at:g} 0 {chance.randint(55, 75)}" for at in where) + "}"]
        lines += ["Begin Drum-Hat", f" Tone {chance.choice(['ClosedHiHat', 'RideCymbal1', 'Shaker'])}",
                  " Sequence " + " ".join(sequence), "End"]  # fmt: skip
    return lines


def _fill(beats: int, chance: random.Random, drums: bool) -> list[str]:
    """Another bar of the band: drums roll, or the bass or an extra drum plays a turn."""
    places = [1 + 0.5 * i for i in range(2 * beats)]
    tones = ["SnareDrum2", "LowTom1", "MidTom1"] if drums else ["SideKick", "LowTom1"]
    lines = []
    for tone in chance.sample(tones, chance.randint(1, 2)):
        where = sorted(chance.sample(places[beats if chance.random() < 0.6 else 0 :], beats))
        lines += [f"Begin Drum-Turn{tone}", f" Tone {tone}", " Sequence {" +
                  "; ".join(f"{at:g} 0 {chance.randint(70, 105)}" for at in where) + "}", "End"]  # fmt: skip
    if chance.random() < 0.3:
        lines += [f"Begin Drum-{tone}\n Off\nEnd" for tone in ("KickDrum1", "Hat") if drums and chance.random() < 0.5]
    return lines
