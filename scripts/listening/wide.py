"""More bands at random, for tuning: ``wide0`` and on, broader than bands.py (common practice, no style file).

Eight families, turn about: instruments that speak slowly, to 130 beats a minute; Latin percussion and basses written
on sixteenths; jazz with walking or two-beat basses, ride or side stick; piano alone (stride, boogie, broken and
repeated chords); sixteenths of funk and pop; off-beat basses and piano over hand drums; rock, shuffle, march, slow
twelve-eight; plucked and struck instruments without drums.
"""

from __future__ import annotations

import random
import zlib

from bands import put_together, track

WIDE = 240
FAMILIES = 8
SLOW = ("ChurchOrgan", "ChurchOrgan", "ReedOrgan", "SlowStrings", "Strings", "ChoirAahs", "VoiceOohs", "WarmPad",
        "SynthStrings1", "Organ3", "FrenchHorn", "BrassSection", "Accordion", "Clarinet")  # fmt: skip
LOW_SLOW = (
    "ChurchOrgan",
    "ChurchOrgan",
    "ReedOrgan",
    "Strings",
    "SlowStrings",
    "Organ3",
    "Cello",
    "Contrabass",
    "Tuba",
)
PLUCKED = ("Piano1", "NylonGuitar", "SteelGuitar", "CleanGuitar", "OrchestralHarp", "EPiano", "Vibraphone", "Marimba",
           "PizzicatoString", "Harpsichord", "MusicBox", "Banjo", "JazzGuitar", "Clavinet")  # fmt: skip
BASSES = ("AcousticBass", "FingeredBass", "PickedBass", "FretlessBass", "SlapBass1", "SynthBass1", "Tuba", "Piano1")
HANDS = ("Claves", "CowBell", "Maracas", "OpenHighConga", "MuteHighConga", "LowConga", "HighBongo", "LowBongo",
         "ShortGuiro", "HighTimbale", "Cabasa", "Shaker", "HighAgogo", "Tambourine", "HighWoodBlock")  # fmt: skip
RANGES = (
    {3: ((66, 100), (84, 130)), 4: ((60, 84), (84, 110), (100, 130), (100, 130))},
    {4: ((84, 104), (96, 110), (100, 130), (100, 130))},
    {4: ((90, 120), (100, 130), (112, 136), (126, 154), (160, 208))},
    {3: ((84, 100), (150, 180)), 4: ((66, 84), (100, 130), (150, 200))},
    {4: ((70, 90), (90, 110), (100, 130))},
    {4: ((100, 130), (120, 140), (160, 190), (180, 208))},
    {3: ((84, 100), (110, 130)), 4: ((60, 84), (110, 130), (120, 140), (150, 180))},
    {3: ((84, 96), (84, 100), (150, 180)), 4: ((66, 90), (100, 130))},
)
WALKS = (("1", "2", "3", "5"), ("1", "3", "5", "6"), ("1", "7", "6", "5"), ("5", "4", "3", "2"), ("1", "5", "6", "5"),
         ("1+", "7", "6", "5"), ("3", "2", "1", "5-"), ("1", "1", "5", "5"), ("1", "5-", "6-", "7-"))  # fmt: skip
LENGTHS = {0.25: "16", 0.5: "8", 0.75: "8.", 1: "4", 1.5: "4.", 2: "2", 2.5: "2", 3: "2.", 3.5: "2.", 4: "1"}


def band(number: int) -> tuple[int, int, int, str, bool]:
    """(beats per bar, least, most beats per minute, the text that defines groove ``Own1`` and ``Own2``, fills too)."""
    chance = random.Random(zlib.crc32(f"wide{number}".encode()))
    family = number % FAMILIES
    swung = {2: 0.85, 3: 0.3, 6: 0.4}.get(family, 0.08)
    makers = (_slow, _sixteenth_latin, _jazz, _piano, _funk, _montuno, _plain, _plucked)
    return put_together(chance, RANGES[family], 0.5, lambda: chance.random() < swung, makers[family], _fill)


def _notes(
    where: list[float], beats: int, chance: random.Random, degrees: tuple[str, ...] = (), accent: int = 0
) -> str:
    """One bar; each note lasts to the next. ``degrees`` of the chord for a bass, none for chords."""
    parts = []
    for i, (at, end) in enumerate(zip(where, [*where[1:], beats + 1], strict=True)):
        degree = f"{degrees[i % len(degrees)]} " if degrees else ""
        length = LENGTHS.get(end - at, "8")
        parts.append(f"{at:g} {length} {degree}{chance.randint(66, 84) + (accent if at == 1 else 0)}")
    return "; ".join(parts)


def _drum(tone: str, bars: list[list[float]], chance: random.Random, loud: tuple[int, int] = (60, 90)) -> list[str]:
    """Two bars; loudness of each stroke is the same in every bar."""
    of = {at: chance.randint(*loud) for bar in bars for at in bar}
    rows = ["{" + "; ".join(f"{at:g} 0 {of[at]}" for at in bar) + "}" if bar else "z" for bar in bars]
    return [f"Begin Drum-{tone}", f" Tone {tone}", " Sequence " + " ".join(rows), "End"]


def _two(chance: random.Random, pick: list[list[float]]) -> list[list[float]]:
    """Two bars, alike as often as not."""
    one = chance.choice(pick)
    return [one, one if chance.random() < 0.6 else chance.choice(pick)]


def _bass(
    beats: int, chance: random.Random, voice: str, pick: list[list[float]], degrees: tuple[str, ...] = (),
    octave: int = 3, *more: str,
) -> list[str]:  # fmt: skip
    degrees = degrees or chance.choice([("1", "5"), ("1", "5", "3"), ("1", "3", "5"), ("1",), ("1", "5-"), ("1", "1+")])
    rows = [_notes(bar, beats, chance, degrees, chance.choice([0, 0, 6])) for bar in _two(chance, pick)]
    return track("Bass", voice, octave, rows, *more)


def _chords(
    beats: int, chance: random.Random, voice: str, pick: list[list[float]], held: int, octave: int = 4
) -> list[str]:
    rows = [_notes(bar, beats, chance, (), chance.choice([0, 0, 6])) for bar in _two(chance, pick)]
    return track("Chord", voice, octave, rows, f"Articulate {held}")


def _all(beats: int, step: float, begin: float = 1.0) -> list[float]:
    return [begin + i * step for i in range(round((beats + 1 - begin) / step))]


def _some(beats: int, step: float, chance: random.Random, least: int, most: int) -> list[float]:
    return sorted(chance.sample(_all(beats, step), min(chance.randint(least, most), round(beats / step))))


def _broken(beats: int, chance: random.Random, voice: str, octave: int) -> list[str]:
    where = _all(beats, chance.choice([0.5, 0.5, 0.5, 1, 0.25 if beats == 4 else 0.5]))
    if chance.random() < 0.4:
        figure = chance.sample(["1", "3", "5", "1+", "3+", "5+", "6", "2"], chance.randint(3, 6))
        rows = [_notes(where, beats, chance, tuple(figure))]
        return track("Bass", voice, octave, rows, "Articulate 100")
    way = chance.choice(["UP", "DOWN", "BOTH", "RANDOM"])
    return track("Arpeggio", voice, octave, [_notes(where, beats, chance)], f"Direction {way}")


def _slow(beats: int, chance: random.Random, people: random.Random) -> list[str]:
    low: list[list[float]] = [[1], [1, 3], [1, 2, 3]] if beats == 3 else [[1], [1, 3], [1, 3], [1, 2, 3, 4], [1, 4]]
    high: list[list[float]] = [_all(beats, 1), _all(beats, 1), [1], [1, 3], [2, 3], [1, 2]]
    every, bass = people.random() < 0.5, people.choice(LOW_SLOW)
    lines = _bass(beats, chance, bass, low, (), people.choice([2, 3, 3]), f"Articulate {people.choice([90, 100, 120])}")
    lines += _chords(beats, chance, people.choice(SLOW), high[:1] if every else high, 95, people.choice([4, 5, 5]))
    if people.random() < 0.4:
        lines += _chords(beats, chance, people.choice(SLOW), [[1]], 100, 6 if people.random() < 0.3 else 4)
    if people.random() < 0.35:
        lines += _broken(beats, chance, people.choice(SLOW + PLUCKED), people.choice([5, 6]))
    if people.random() < 0.1:
        lines += _drum("ClosedHiHat", [_all(beats, 1)] * 2, chance, (40, 60))
    return lines


def _sixteenth_latin(beats: int, chance: random.Random, people: random.Random) -> list[str]:
    """Two written bars of Latin music in one: basses before the beat, patterns of sixteenths."""
    bass: list[list[float]] = [[1, 1.75, 2.5, 3.75, 4.5], [1.75, 2.5, 3.75, 4.5], [1, 1.75, 2.5, 3, 3.75, 4.5],
                               [1, 2.75, 3, 4.75], [1.75, 2.5, 4], [1, 1.75, 2.5, 4.5]]  # fmt: skip
    keys: list[list[float]] = [[1, 1.5, 1.75, 2.25, 2.75, 3.25, 3.75, 4.25, 4.75],
                               [1, 1.5, 2.25, 2.75, 3.25, 3.75, 4.5], [1.25, 1.75, 2.25, 2.75, 3.25, 3.75, 4.25, 4.75],
                               [1.5, 2.5, 3.5, 4.5],
                               [1, 1.75, 2.5, 3.25, 3.75, 4.5], [1.75, 2.25, 3.75, 4.25]]  # fmt: skip
    lines = _bass(beats, chance, people.choice(BASSES), bass)
    if people.random() < 0.85:
        lines += _chords(beats, chance, people.choice(("Piano1", "Piano1", "EPiano", "NylonGuitar")), keys, 60, 5)
    for tone in people.sample(HANDS, people.randint(2, 5)):
        regular = chance.choice([[1, 2, 3, 4], _all(4, 0.5), [1.5, 2.5, 3.5, 4.5], [2.5, 2.75, 4.5, 4.75], [1, 3],
                                 [1.5, 3.5], [1.75, 2, 3.75, 4], [1, 1.75, 2.5, 3.5, 4]])  # fmt: skip
        lines += _drum(tone, [_some(4, 0.25, chance, 3, 9) if chance.random() < 0.4 else regular] * 2, chance)
    if people.random() < 0.3:
        lines += _drum(
            "KickDrum1", [chance.choice([[1, 3], [1.75, 2, 3.75, 4], [1], [1.75, 2.5, 3.75, 4.5]])] * 2, chance
        )
    if people.random() < 0.3:
        lines += _chords(
            beats, chance, people.choice(("BrassSection", "Trumpet", "Strings")), [[1], [2.5], [4.5, 4.75]], 70
        )
    return lines


def _jazz(beats: int, chance: random.Random, people: random.Random) -> list[str]:
    voice = people.choice(("AcousticBass", "AcousticBass", "FretlessBass", "FingeredBass"))
    if people.random() < 0.25:
        lines = track("Walk", voice, 3, [_notes(_all(4, 1), beats, chance)])
    else:
        walks = chance.random() < 0.65
        bass: list[list[float]] = [[1, 2, 3, 4], [1, 2, 2.5, 3, 4]] if walks else [[1, 3], [1, 3, 4], [1, 2.5, 3], [1]]
        lines = _bass(beats, chance, voice, bass, chance.choice(WALKS) if walks else ())
    spots: list[list[float]] = [[1], [2, 4], [1.5], [2.5], [2.5, 4.5], [1, 2.5], [4.5], [1, 2, 3, 4], [1.5, 4], [3.5],
                                [1, 2.5, 4], [2], [2.5, 4]]  # fmt: skip
    if people.random() < 0.85:
        lines += _chords(
            beats, chance, people.choice(("Piano1", "Piano1", "JazzGuitar", "Vibraphone", "Organ1")), spots, 70
        )
    if people.random() < 0.25:
        lines += _chords(beats, chance, people.choice(("BrassSection", "TenorSax", "Strings")), [*spots, [1]], 80)
    ride: list[list[float]] = [[1, 2, 2.5, 3, 4, 4.5], [1, 2, 2.5, 3, 4, 4.5], [1, 2, 3, 4], [1, 2, 3, 4, 4.5]]
    if people.random() < 0.85:
        tone = people.choice(("RideCymbal1", "ClosedHiHat", "RideCymbal2", "OpenHiHat"))
        lines += _drum(tone, _two(chance, ride), chance, (55, 105))
    if people.random() < 0.6:
        lines += _drum(people.choice(("PedalHiHat", "SideKick", "SnareDrum2")),
                       [chance.choice([[2, 4], [2, 4], [4]])] * 2, chance, (55, 85))  # fmt: skip
    if people.random() < 0.5:
        kicks = [[1], [1, 3], [1, 2, 3, 4], [4.5], [1, 4.5], []]
        lines += _drum("KickDrum1", [chance.choice(kicks), chance.choice(kicks[:4])], chance, (40, 75))
    return lines


def _piano(beats: int, chance: random.Random, people: random.Random) -> list[str]:
    voice = people.choice(("Piano1", "Piano1", "Piano2", "Piano3", "EPiano"))
    way = people.randrange(4)
    if way == 0:  # stride
        where = [1.0] if beats == 3 else [1.0, 3.0]
        lines = _bass(beats, chance, voice, [where], (), 2)
        return lines + _chords(beats, chance, voice, [[2, 3]] if beats == 3 else [[2, 4], [2, 4], [1.5, 2, 4]], 60)
    if way == 1:  # boogie
        figure = chance.choice(
            (("1", "3", "5", "6"), ("1", "1+", "5", "6"), ("1", "5", "6", "5"), ("1", "3", "5", "3"))
        )
        lines = _bass(beats, chance, voice, [_all(beats, 0.5), _all(beats, 1)], figure, 2)
        pick: list[list[float]] = [[1], [2], [1.5], [2.5], [1, 2.5], _all(beats, 1), _all(beats, 1, 2)]
        return lines + _chords(beats, chance, voice, pick, 70)
    if way == 2:
        lines = _broken(beats, chance, voice, people.choice([3, 4]))
        return lines + (_chords(beats, chance, voice, [[1], [1, 3]], 90, 5) if people.random() < 0.6 else [])
    lines = _bass(beats, chance, voice, [[1], [1, 3], [1, 2.5], [1, 2.5, 3]], (), 2)
    return lines + _chords(beats, chance, voice, [_all(beats, 0.5), _all(beats, 1), _all(beats, 0.5, 1.5)], 80)


def _funk(beats: int, chance: random.Random, people: random.Random) -> list[str]:
    bass: list[list[float]] = [[1, 1.75, 2.5, 3], [1, 2.75, 3, 4.5], [1, 1.5, 2.75, 3.5, 4.25], [1, 3], [1, 2.5],
                               _some(4, 0.25, chance, 3, 7), _all(4, 0.5)]  # fmt: skip
    lines = _bass(beats, chance, people.choice(BASSES), bass)
    lines += _drum(
        "KickDrum1", _two(chance, [[1, 2.75, 3], [1, 3], [1, 2.5, 3.75], [1, 1.75, 3], [1, 2.75], [1, 2.5]]), chance
    )
    lines += _drum(people.choice(("SnareDrum1", "SnareDrum2", "HandClap", "SideKick")),
                   _two(chance, [[2, 4], [2, 4], [2, 4, 4.75], [3], [2, 3.75, 4]]), chance)  # fmt: skip
    if people.random() < 0.85:
        hats = [_all(4, 0.5), _all(4, 0.25), [1, 2, 3, 4], _all(4, 0.5, 1.5), [1, 1.5, 1.75, 2.5, 3, 3.5, 3.75, 4.5]]
        lines += _drum(
            people.choice(("ClosedHiHat", "Shaker", "RideCymbal1")), [chance.choice(hats)] * 2, chance, (45, 75)
        )
    spots: list[list[float]] = [
        [1.5, 2.5, 3.5, 4.5],
        [1.75, 2.25],
        _some(4, 0.25, chance, 2, 6),
        [1],
        [2, 4],
        [1, 2.75],
    ]
    if people.random() < 0.8:
        lines += _chords(beats, chance, people.choice(PLUCKED), spots, chance.choice([50, 90]))
    return lines + (_chords(beats, chance, people.choice(SLOW), [[1]], 100) if people.random() < 0.4 else [])


def _montuno(beats: int, chance: random.Random, people: random.Random) -> list[str]:
    bass: list[list[float]] = [[2.5, 4], [2.5, 4], [1, 2.5, 4], [2.5, 4, 4.5], [1.5, 2.5, 4], [2.5, 3, 4], [1, 4]]
    keys: list[list[float]] = [[1, 2, 2.5, 3.5, 4.5], [1.5, 2.5, 3.5, 4.5], [1, 1.5, 2.5, 3.5, 4.5],
                               [1.5, 2, 3, 3.5, 4.5], [2, 2.5, 4, 4.5], [1, 2.5, 4]]  # fmt: skip
    lines = _bass(beats, chance, people.choice(BASSES), bass)
    if people.random() < 0.9:
        rows = [_notes(chance.choice(keys), beats, chance) for _ in range(2)]
        lines += track("Chord", people.choice(("Piano1", "Piano1", "EPiano", "NylonGuitar")), 5, rows, "Articulate 60")
    for tone in people.sample(HANDS, people.randint(2, 5)):
        one = chance.choice([[1, 2, 3, 4], [1, 3], _all(4, 0.5), [2, 4], [4, 4.5], [1, 2, 2.5, 3, 4, 4.5], [1, 2.5, 4],
                             [2, 3], [2, 4, 4.5], _some(4, 0.5, chance, 2, 6)])  # fmt: skip
        other = chance.choice([[2, 3], [1, 2.5, 4], [4, 4.5], [1, 2.5, 4.5]]) if chance.random() < 0.3 else one
        lines += _drum(tone, [one, other], chance)
    return lines


def _plain(beats: int, chance: random.Random, people: random.Random) -> list[str]:
    """Rock, shuffle, march, polka; and slow rock in triplets."""
    triplets = people.random() < 0.2
    step = 1 / 3 if triplets else 0.5
    lines = _bass(beats, chance, people.choice(BASSES), [[1], [1, 3], _all(beats, 1), _all(beats, 0.5), [1, 2.5]])
    kick: list[list[float]] = (
        [[1], [1, 2.5]] if beats == 3 else [[1, 3], [1, 3], [1], [1, 2.5, 3], [1, 3, 3.5], [1, 2, 3, 4]]
    )
    snare: list[list[float]] = (
        [[2, 3], [3], [2]] if beats == 3 else [[2, 4], [2, 4], [3], [2, 4, 4.5], _all(4, 0.5, 1.5)]
    )
    if people.random() < 0.85:
        lines += _drum("KickDrum1", _two(chance, kick), chance)
        lines += _drum(people.choice(("SnareDrum1", "SnareDrum2", "SideKick")), _two(chance, snare), chance)
    if people.random() < 0.75:
        lines += _drum(people.choice(("ClosedHiHat", "RideCymbal1", "OpenHiHat", "Tambourine")),
                       [_all(beats, chance.choice([step, step, 1]))] * 2, chance, (45, 75))  # fmt: skip
    spots = [_all(beats, step), _all(beats, 1), [1], _all(beats, 1, 2), _all(beats, 0.5, 1.5)]
    voice = people.choice((*PLUCKED, "OverdriveGuitar", "DistortonGuitar", "BrassSection", "Accordion"))
    return lines + _chords(beats, chance, voice, spots, chance.choice([50, 80, 100]))


def _plucked(beats: int, chance: random.Random, people: random.Random) -> list[str]:
    lines = _broken(beats, chance, people.choice(PLUCKED), people.choice([4, 5]))
    if people.random() < 0.6:
        lines += _bass(beats, chance, people.choice(BASSES), [[1], [1, 3], [1, 2], [1, 2.5], _all(beats, 1)])
    if people.random() < 0.5:
        lines += _chords(
            beats, chance, people.choice(PLUCKED), [[1], [2, 3], [2], _all(beats, 1), _all(beats, 0.5)], 70
        )
    if people.random() < 0.3:
        lines += _chords(beats, chance, people.choice(SLOW), [[1]], 100)
    return lines


def _fill(beats: int, chance: random.Random) -> list[str]:
    lines = []
    for tone in chance.sample(["SideKick", "LowTom1", "SnareDrum2", "MidTom1", "Tambourine"], chance.randint(1, 2)):
        lines += _drum(
            f"{tone}", [_some(beats, chance.choice([0.5, 0.25]), chance, 2, beats + 3)] * 2, chance, (65, 100)
        )
    return lines
