"""Bands in the manner of what is hard to hear, for tuning: ``hard0`` and on, by random rules (common practice).

Six families, turn about: broken chords in three without a backbeat; the same over a bass, with held chords; walking
and descending basses with little else; instruments that speak slowly (organ pipes, strings, voices, pads); basses and
chords that keep off the beat over hand drums; drums alike on every beat. No rule is taken from a style file.
"""

from __future__ import annotations

import random
import zlib
from collections.abc import Callable

HARD = 132
FAMILIES = 6
PLUCKED = ("Piano1", "NylonGuitar", "SteelGuitar", "CleanGuitar", "OrchestralHarp", "EPiano", "Vibraphone")
SLOW = ("ChurchOrgan", "SlowStrings", "Strings", "ChoirAahs", "VoiceOohs", "WarmPad", "SynthStrings1", "Organ3")
SLOW_BASSES = ("ChurchOrgan", "ChurchOrgan", "Strings", "SlowStrings", "Organ3", "Cello", "Contrabass")
BASSES = ("AcousticBass", "FingeredBass", "PickedBass", "FretlessBass", "SynthBass1", "Piano1", "Tuba")
RANGES = (
    {3: ((84, 100), (110, 130), (150, 180))},
    {3: ((84, 96), (84, 100), (150, 180))},
    {4: ((90, 120), (120, 150), (150, 200))},
    {3: ((66, 84), (84, 100)), 4: ((60, 80), (66, 84), (80, 100), (100, 120))},
    {4: ((96, 104), (112, 128), (160, 190), (180, 208))},
    {4: ((100, 120), (110, 130), (120, 140), (125, 140))},
)
RISING = (("1", "3", "5", "1+", "3+", "5+"), ("1", "5", "1+", "3+", "5+", "3+"), ("1", "5", "3+", "5", "1+", "5"))
TURNING = (("1", "5", "3", "5", "3", "5"), ("5", "3", "1", "3", "5", "3"), ("3", "5", "1+", "5", "3", "1"))
WALKS = (("1", "2", "3", "5"), ("1", "3", "5", "6"), ("1", "7", "6", "5"), ("5", "4", "3", "2"), ("1", "5", "6", "5"),
         ("1+", "7", "6", "5"), ("3", "2", "1", "5-"), ("1", "1", "5", "5"))  # fmt: skip
OFF_BASS = ([2.5, 4], [1, 2.5, 4], [2.5, 4, 4.5], [2.5, 3.5, 4.5], [1.5, 2.5, 4], [2.5, 3, 4])
OFF_CHORDS = (
    [1, 1.5, 2.5, 3.5, 4.5],
    [1, 2, 2.5, 3.5, 4.5],
    [1.5, 2.5, 3.5, 4.5],
    [1, 2.5, 3, 4.5],
    [1.5, 2, 3, 3.5, 4.5],
)
HANDS = (
    "Claves",
    "CowBell",
    "Maracas",
    "OpenHighConga",
    "MuteHighConga",
    "LowConga",
    "HighBongo",
    "LowBongo",
    "ShortGuiro",
)
CLAVE = (([1, 2.5, 4], [2, 3]), ([2, 3], [1, 2.5, 4]), ([1, 2.5, 4.5], [2, 3]), ([1, 2, 3, 4], [1, 2, 3, 4]))


def band(number: int) -> tuple[int, int, int, str, bool]:
    """(beats per bar, least, most beats per minute, the text that defines groove ``Own1`` and ``Own2``, fills too)."""
    chance = random.Random(zlib.crc32(f"hard{number}".encode()))
    family = number % FAMILIES
    makers = (_broken_alone, _broken_waltz, _walking, _slow, _off_beat, _every_beat)

    def swings() -> bool:
        return family in (1, 2) and chance.random() < 0.3

    return put_together(chance, RANGES[family], 0.4, swings, makers[family], _turn)


def put_together(
    chance: random.Random,
    ranges: dict[int, tuple[tuple[int, int], ...]],
    fills_part: float,
    swings: Callable[[], bool],
    maker: Callable[[int, random.Random, random.Random], list[str]],
    fill: Callable[[int, random.Random], list[str]],
) -> tuple[int, int, int, str, bool]:
    """A band of two grooves that the same people play; see :func:`band` for what comes back."""
    beats = chance.choice(sorted(ranges))
    least, most = chance.choice(ranges[beats])
    fills = chance.random() < fills_part
    lines = [f"Time {beats}", "SeqSize 2"] + (["SwingMode On"] if swings() else [])
    people = random.Random(chance.random())
    for groove in ("Own1", "Own2"):
        keep = people.getstate()
        lines += ["SeqClear", *maker(beats, chance, people), f"DefGroove {groove}"]
        if fills:
            lines += [*fill(beats, chance), f"DefGroove {groove}Fill"]
        people.setstate(keep)
    return beats, least, most, "\n".join(lines), fills


def track(kind: str, voice: str, octave: int, bars: list[str], *more: str) -> list[str]:
    return [f"Begin {kind}-{octave}{voice}", f" Voice {voice}", f" Octave {octave}", *(f" {line}" for line in more),
            " Volume mf", " Sequence " + " ".join("{" + bar + "}" for bar in bars), "End"]  # fmt: skip


def _length(gap: float) -> str:
    return {0.5: "8", 1: "4", 1.5: "4.", 2: "2", 2.5: "2", 3: "2.", 3.5: "2.", 4: "1"}.get(gap, "8")


def _row(where: list[float], beats: int, chance: random.Random, accent: int, degrees: tuple[str, ...] = ()) -> str:
    """One bar of notes; each lasts to the next. ``degrees`` of the chord for a bass, none for chords."""
    ends = [*where[1:], beats + 1]
    parts = []
    for i, (at, end) in enumerate(zip(where, ends, strict=True)):
        degree = f"{degrees[i % len(degrees)]} " if degrees else ""
        parts.append(f"{at:g} {_length(end - at)} {degree}{chance.randint(68, 82) + (accent if at == 1 else 0)}")
    return "; ".join(parts)


def _broken(beats: int, chance: random.Random, voices: random.Random) -> list[str]:
    """A chord broken into notes of half a beat or one beat: a figure of fixed degrees, or mma's own arpeggio."""
    voice, accent, step = voices.choice(PLUCKED), chance.choice([0, 0, 0, 6]), chance.choice([0.5, 0.5, 1])
    begin = chance.choice([1, 1, 1, 1 + step])
    where = [begin + i * step for i in range(round((beats + 1 - begin) / step))]
    if chance.random() < 0.5:
        figure = chance.choice(RISING + TURNING)
        bars = [_row(where, beats, chance, accent, figure)]
        bars.append(
            bars[0] if chance.random() < 0.5 else _row(where, beats, chance, accent, chance.choice(RISING + TURNING))
        )
        return track("Bass", voice, chance.choice([4, 5]), bars, "Articulate 100")
    way = chance.choice(["UP", "DOWN", "BOTH", "BOTH", "RANDOM"])
    return track("Arpeggio", voice, chance.choice([4, 5]), [_row(where, beats, chance, accent)], f"Direction {way}")


def _held(beats: int, chance: random.Random, voice: str) -> list[str]:
    where = chance.choice([[1], [1], [1, 2], [1, 3]] if beats == 3 else [[1], [1], [1, 3], [3], [1, 4]])
    return track("Chord", voice, chance.choice([4, 5]), [_row(list(where), beats, chance, 0)], "Articulate 100")


def _bass(bars: tuple[list[float], ...], beats: int, chance: random.Random, voice: str, octave: int = 3) -> list[str]:
    degrees = chance.choice([("1", "5"), ("1", "5", "3"), ("1", "3", "5"), ("1",), ("1", "5-")])
    return track(
        "Bass", voice, octave, [_row(list(bar), beats, chance, chance.choice([0, 5]), degrees) for bar in bars]
    )


def _drum(tone: str, bars: list[list[float]], chance: random.Random, loud: tuple[int, int]) -> list[str]:
    rows = ["{" + "; ".join(f"{at:g} 0 {chance.randint(*loud)}" for at in bar) + "}" for bar in bars]
    return [f"Begin Drum-{tone}", f" Tone {tone}", " Sequence " + " ".join(rows), "End"]


def _broken_alone(beats: int, chance: random.Random, voices: random.Random) -> list[str]:
    lines = _broken(beats, chance, voices)
    if voices.random() < 0.3:
        lines += _held(beats, chance, voices.choice(SLOW))
    if voices.random() < 0.3:
        lines += _bass(
            tuple(chance.choice([[1], [1, 3], [2], [1, 2.5]]) for _ in range(2)), beats, chance, voices.choice(BASSES)
        )
    if voices.random() < 0.3:
        lines += _drum("RideCymbal1", [[float(b) for b in range(1, beats + 1)]] * 2, chance, (50, 65))
    return lines


def _broken_waltz(beats: int, chance: random.Random, voices: random.Random) -> list[str]:
    lines = _broken(beats, chance, voices)
    basses = chance.choice([([1], [1]), ([1], [1, 3]), ([1, 3], [1, 3]), ([1], [3]), ([1, 2, 3], [1]), ([1, 2.5], [1])])
    lines += _bass(basses, beats, chance, voices.choice(BASSES))
    if voices.random() < 0.5:
        lines += _held(beats, chance, voices.choice(SLOW))
    if voices.random() < 0.4:
        lines += _drum("ClosedHiHat", [chance.choice([[2, 3], [1, 2, 3], [3], [1, 2.5]])] * 2, chance, (45, 70))
    return lines


def _walking(beats: int, chance: random.Random, voices: random.Random) -> list[str]:
    """A bass on every beat (or every second), chords here and there, at most a ride."""
    voice, every = voices.choice(BASSES), chance.random() < 0.8
    where = [1.0, 2.0, 3.0, 4.0] if every else [1.0, 3.0]
    if chance.random() < 0.3:
        lines = track("Walk", voice, 3, [_row(where, beats, chance, 0)])
    else:
        bars = [_row(where, beats, chance, 0, chance.choice(WALKS)) for _ in range(2)]
        lines = track("Bass", voice, 3, bars if chance.random() < 0.6 else bars[:1] * 2)
    if voices.random() < 0.85:
        spots = [[1], [1, 3], [2, 4], [1.5], [2.5], [2.5, 4], [1, 2.5], [4.5], [1, 2, 3, 4], [3]]
        bars = [_row(chance.choice(spots), beats, chance, 0) for _ in range(2)]
        lines += track("Chord", voices.choice(PLUCKED), 4, bars, "Articulate 60")
    if voices.random() < 0.5:
        ride = chance.choice([[1, 2, 3, 4], [1, 2, 2.5, 3, 4, 4.5], [1, 1.5, 2, 2.5, 3, 3.5, 4, 4.5]])
        lines += _drum("RideCymbal1", [ride] * 2, chance, (55, 75))
    return lines


def _slow(beats: int, chance: random.Random, voices: random.Random) -> list[str]:
    """Instruments that speak slowly, in two to four parts; drums hardly ever."""
    moves: tuple[list[list[float]], ...] = (
        ([[1], [1, 2, 3], [1, 3], [1, 2]], [[1], [1, 3], [2, 3]])
        if beats == 3
        else ([[1], [1, 3], [1, 2, 3, 4], [1, 2, 3]], [[1], [1, 3], [2, 4], [1, 2, 3, 4], [1, 4]])
    )
    low, high = moves
    lines = _bass(
        tuple(chance.choice(low) for _ in range(2)), beats, chance, voices.choice(SLOW_BASSES), chance.choice([2, 3])
    )
    bars = [_row(list(chance.choice(high)), beats, chance, 0) for _ in range(2)]
    lines += track("Chord", voices.choice(SLOW), chance.choice([4, 5]), bars, "Articulate 95")
    if voices.random() < 0.5:
        lines += _held(beats, chance, voices.choice(SLOW))
    if voices.random() < 0.35:
        lines += _broken(beats, chance, voices)
    if voices.random() < 0.15:
        lines += _drum("ClosedHiHat", [[float(b) for b in range(1, beats + 1)]] * 2, chance, (40, 60))
    return lines


def _off_beat(beats: int, chance: random.Random, voices: random.Random) -> list[str]:
    """Bass and chords beside the beat, hand drums, a two-bar pattern of sticks."""
    basses = (
        (chance.choice(OFF_BASS),) * 2 if chance.random() < 0.6 else (chance.choice(OFF_BASS), chance.choice(OFF_BASS))
    )
    lines = _bass(basses, beats, chance, voices.choice(BASSES))
    if voices.random() < 0.85:
        bars = [_row(list(chance.choice(OFF_CHORDS)), beats, chance, chance.choice([0, 5])) for _ in range(2)]
        lines += track("Chord", voices.choice(("Piano1", "Piano1", "EPiano", "NylonGuitar")), 5, bars, "Articulate 60")
    for tone in voices.sample(HANDS, voices.randint(1, 4)):
        if tone == "Claves":
            lines += _drum(tone, [list(bar) for bar in chance.choice(CLAVE)], chance, (70, 90))
            continue
        places = [1 + 0.5 * i for i in range(2 * beats)]
        some = sorted(chance.sample(places, chance.randint(2, 6)))
        even = chance.choice([[1, 2, 3, 4], places, [2, 4], [2, 4, 4.5], [1, 2, 2.5, 3, 4, 4.5]])
        lines += _drum(tone, [some if chance.random() < 0.5 else even] * 2, chance, (55, 85))
    return lines


def _every_beat(beats: int, chance: random.Random, voices: random.Random) -> list[str]:
    """Drums alike on every beat; bass and chords tell little more."""
    lines = _drum("KickDrum1", [[1, 2, 3, 4]] * 2, chance, (85, 100))
    hat = voices.choice(("ClosedHiHat", "OpenHiHat"))
    lines += _drum(hat, [chance.choice([[1.5, 2.5, 3.5, 4.5], [1 + 0.5 * i for i in range(8)]])] * 2, chance, (60, 75))
    if voices.random() < 0.3:
        lines += _drum("HandClap", [chance.choice([[1, 2, 3, 4], [2, 4], [4]])] * 2, chance, (60, 80))
    spots = [[1.5, 2.5, 3.5, 4.5], [1, 1.5, 2, 2.5, 3, 3.5, 4, 4.5], [1, 2, 3, 4], [1, 2.5, 4], [1]]
    lines += _bass(
        (chance.choice(spots),) * 2, beats, chance, voices.choice(("SynthBass1", "SynthBass2", "FingeredBass"))
    )
    if voices.random() < 0.6:
        lines += _held(beats, chance, voices.choice(SLOW))
    if voices.random() < 0.6:
        bars = [
            _row(chance.choice([[1.5, 2.5, 3.5, 4.5], [1, 2.5, 4], [2.5, 4.5], [1, 2, 3, 4]]), beats, chance, 0)
            for _ in range(2)
        ]
        lines += track("Chord", voices.choice(PLUCKED), 5, bars, "Articulate 50")
    return lines


def _turn(beats: int, chance: random.Random) -> list[str]:
    """A fill: a drum more, on a few half beats."""
    tone = chance.choice(["SideKick", "LowTom1", "SnareDrum2", "MidTom1", "Tambourine"])
    places = [1 + 0.5 * i for i in range(2 * beats)]
    return _drum(tone, [sorted(chance.sample(places, chance.randint(2, beats + 1)))] * 2, chance, (65, 95))
