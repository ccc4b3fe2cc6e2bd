"""Makes the listening set: music with known beats, bars and phrases, as sound files with a truth beside each.

    python scripts/listening/make_set.py FOLDER [--made-only]

Needs Debian's mma, fluidsynth and timgm6mb-soundfont; recordings and hand-made MIDI come from further Debian
packages (pieces.py). Whatever of them is installed is used; nothing of it is kept in this repository.

Kinds: ``made`` (mma styles, random forms and melodies), ``loose`` (the same with the tempo wandering and every
note a little off), ``midi`` (pieces arranged by people), ``band`` (recordings with the game's own tempo map).
Split: styles and pieces are dealt into ``tune`` and ``score`` by name, so nothing is tuned on what it is scored on.
"""

from __future__ import annotations

import argparse
import random
import subprocess
import zlib
from functools import cache
from pathlib import Path

import arrangements
import bands
import fresh
import midi_events
import pieces
import wide
from rendering import finish, split_of

STYLES = Path("/usr/share/mma/lib/stdlib")
# style file -> (beats per bar, dance whose tempo range is used, least, most beats per minute; ranges of the trade,
# see tests/facts/tempo_standards.csv; styles without a dance get a usual range)
WANTED = {
    "waltz": (3, 84, 96), "countrywaltz": (3, 84, 100), "jazzwaltz": (3, 84, 100), "fastwaltz": (3, 150, 180),
    "frenchwaltz": (3, 150, 180), "vienesewaltz": (3, 150, 180), "latinwaltz": (3, 84, 100),
    "broadwaywaltz": (3, 84, 96), "rockwaltz": (3, 84, 100), "arpeggiowaltz": (3, 84, 96),
    "modernjazzwaltz": (3, 84, 100), "chacha": (4, 112, 128), "rhumba": (4, 100, 130), "foxtrot": (4, 112, 136),
    "quickstep": (4, 192, 208), "tango": (4, 120, 132), "lighttango": (4, 120, 132), "jive": (4, 152, 176),
    "swing": (4, 126, 154), "westernswing": (4, 126, 154), "easyswing": (4, 126, 154), "mambo": (4, 180, 204),
    "bolero": (4, 96, 104), "salsa": (4, 160, 200), "merengue": (4, 116, 128), "countryswing": (4, 112, 136),
    "twist": (4, 140, 160), "slowcountry": (4, 80, 96), "popballad": (4, 70, 90), "rockballad": (4, 70, 90),
    "8beat": (4, 100, 120), "folk": (4, 100, 120), "bluegrass": (4, 110, 130), "60srock": (4, 120, 140),
    "basicrock": (4, 110, 130), "beguine": (4, 100, 120), "countryblues": (4, 100, 120), "charleston": (4, 180, 208),
    "bossanova": (4, 120, 140), "rb": (4, 100, 120),
    "50srock": (4, 130, 160), "afro-cuban": (4, 110, 130), "ballad": (4, 70, 90), "bebop": (4, 160, 200),
    "bigband": (4, 130, 160), "bluefolk": (4, 90, 110), "blues": (4, 90, 120), "boneym": (4, 110, 130),
    "broadway": (4, 110, 130), "bubblerock": (4, 120, 140), "bvfunk": (4, 90, 110), "calypso": (4, 110, 130),
    "desert": (4, 100, 120), "dixie": (4, 160, 200), "dsoul": (4, 90, 110), "fastblues": (4, 150, 180),
    "fastswing": (4, 160, 190), "folkballad": (4, 70, 90), "folkrock": (4, 110, 130), "gypsyjazz": (4, 180, 210),
    "hillcountry": (4, 110, 130), "jazzguitar": (4, 100, 130), "jazzrock": (4, 100, 130), "mellowjazz": (4, 90, 120),
    "pianoballad": (4, 66, 84), "polka": (4, 110, 130), "ragtime": (4, 160, 200), "samba": (4, 200, 208),
    "shuffleboggie": (4, 120, 140), "ska": (4, 120, 140), "slowblues": (4, 60, 80), "softrock": (4, 100, 120),
    "son": (4, 160, 190), "stringballad": (4, 66, 84), "strut": (4, 110, 130), "trance": (4, 125, 140),
    "zydeco": (4, 120, 140), "fastjazzwaltz": (3, 150, 180), "march": (4, 110, 124), "showtune": (4, 110, 130),
}  # fmt: skip
THRICE = 40
"""So many of the styles have three songs each, the others one."""
AGAIN = (5, 6)
"""Numbers of the further songs of the tuning half's styles."""
LOOPS = ["C Am F G7", "C F G7 C", "Am F C G7", "F C Dm G7", "Dm G7 C Am", "Em Am Dm G7", "C C7 F Fm", "C G7 Am E7"]
MORE_LOOPS = ["C G Am Em", "F C G C", "Dm Am Dm Am", "C A7 D7 G7", "Am7 Dm7 G7 CM7", "Em F G Am", "F Fm C A7",
              "C C C G7", "Am Am E7 E7", "Dm7 G7 CM7 CM7", "C Bb F C", "G F C C"]  # fmt: skip
CADENCES = ["Dm G7 C C", "F G7 C C", "Dm G7 C G7"]
TONES = {
    "C": "ceg",
    "Am": "ace",
    "F": "fac",
    "G7": "gbd",
    "Dm": "dfa",
    "Em": "egb",
    "C7": "ceg",
    "Fm": "fac",
    "E7": "egb",
    "G": "gbd", "A7": "aeg", "D7": "dac", "Am7": "ace", "Dm7": "dfa", "CM7": "ceg", "Bb": "dfd",
}  # fmt: skip


def melody(chord: str, beats: int, chance: random.Random, last: bool) -> str:
    tones = TONES[chord]
    if last:
        return f"{{{'2.' if beats == 3 else '1'}{tones[0]};}}"
    cells = {3: ["2 4", "4 4 4", "4. 8 4", "4 8 8 4"], 4: ["2 4 4", "4 4 4 4", "2. 4", "4. 8 4 4", "4 8 8 2"]}[beats]
    notes = []
    for i, length in enumerate(chance.choice(cells).split()):
        pool = tones if i == 0 else tones + "cdefgab"
        notes.append(f"{length}{chance.choice(pool)}")
    return "{" + ";".join(notes) + ";}"


def song(style: str, number: int) -> tuple[str, dict[str, object]]:
    """The text of an mma song and its truth (bars; seconds come from the MIDI file)."""
    chance = random.Random(zlib.crc32(f"{style}{number}".encode()))
    beats, least, most = WANTED[style]
    return composed(style, chance, (beats, least, most), arrangements.grooves(STYLES / f"{style}.mma"))


@cache
def others() -> dict[str, tuple[int, int, int, str]]:
    """The styles of arrangements.py."""
    return arrangements.styles(dict(WANTED))


def another_song(style: str, number: int) -> tuple[str, dict[str, object]]:
    """The same for the arrangements of arrangements.py: any key, chords at other paces."""
    initial, _, stem = style.partition("_")
    if stem:
        file = next(arrangements.LIBRARY.glob(f"{initial}*/{stem}.mma"))
        chance = random.Random(zlib.crc32(f"{file.parent.name}_{stem}{number}".encode()))
        beats, least, most, _ = others()[style]
        text, names = f"Use {file.parent.name}/{stem}", arrangements.grooves(file)
    elif style.startswith("hard"):
        chance = random.Random(zlib.crc32(f"{style}{number}".encode()))
        beats, least, most, text, filled = bands.band(int(style[4:]))
        names = (["Own1", "Own2"], ["Own1Fill", "Own2Fill"] if filled else [], [])
    elif style.startswith("wide"):
        return wide_song(int(style[4:]))
    elif style in WANTED:
        file = STYLES / f"{style}.mma"
        chance = random.Random(zlib.crc32(f"{style}{number}".encode()))
        (beats, least, most), text, names = WANTED[style], f"Use stdlib/{style}", arrangements.grooves(file)
    else:
        chance = random.Random(zlib.crc32(f"{style}{number}".encode()))
        beats, least, most, text = arrangements.mix(int(style[3:]))
        fills = ["Own1Fill", "Own2Fill"] if int(style[3:]) >= arrangements.FILLED else []
        names = (["Own1", "Own2"], fills, [])
    pace = chance.choice(["bar", "bar", "slow", "busy"])
    head = [f"Transpose {chance.randint(-5, 6)}", text]
    return composed(style, chance, (beats, least, most), names, head, pace)


def wide_song(number: int) -> tuple[str, dict[str, object]]:
    """A song of wide.py: more chords and forms, upbeats, quiet parts."""
    chance = random.Random(zlib.crc32(f"wide{number}song".encode()))
    beats, least, most, text, filled = wide.band(number)
    names = (["Own1", "Own2"], ["Own1Fill", "Own2Fill"] if filled else [], [])
    head = [f"Transpose {chance.randint(-5, 6)}", text]
    pace = chance.choice(["bar", "bar", "slow", "busy"])
    return composed(f"wide{number}", chance, (beats, least, most), names, head, pace, broad=True)


def fresh_song(style: str, kind: str) -> tuple[str, dict[str, object]]:
    """A song of fresh.py, of one of its kinds."""
    beats, least, most, file, main, new = fresh.songs(kind)[style]
    chance = random.Random(zlib.crc32(f"{kind}{style}".encode()))
    pace = chance.choice(["bar", "bar", "slow", "busy"])
    _, fills, intros = arrangements.grooves(file)
    head = [f"Transpose {chance.randint(-5, 6)}", f"Use {file.parent.name}/{file.stem}"]
    text, truth = composed(style, chance, (beats, least, most), (main, fills, intros), head, pace)
    return text, truth | ({} if kind == "fresh" else {"new": new})


def composed(
    style: str, chance: random.Random, usual: tuple[int, int, int], names: tuple[list[str], list[str], list[str]],
    head: list[str] | None = None, pace: str = "bar", broad: bool = False,
) -> tuple[str, dict[str, object]]:  # fmt: skip
    """A song of grooves (main, fill, intro); ``usual``: beats per bar, least and most beats per minute."""
    beats, least, most = usual
    main, fills, intros = names
    tempo = chance.randint(least, most)
    tracks = chance.sample(main, min(len(main), 3))
    form = chance.choice(["AABA", "AABB", "ABAB", "AABABA", "ABACA", "AABC"])
    bars_of = dict.fromkeys(form, 8)
    if chance.random() < 0.2:
        bars_of["A"] = 12 if "blues" in style else 16
    if chance.random() < 0.15 and "B" in bars_of:
        bars_of["B"] = chance.choice([4, 12])
    if beats == 3 and chance.random() < 0.3:
        bars_of = dict.fromkeys(bars_of, 16)
    intro = chance.choice([0, 2, 4, 4, 8])
    if broad:
        form = chance.choice([form, form, "AAB", "ABA", "AABB", "AABBA", "ABACA", "AABBCC"])
        bars_of = {k: chance.choice([8] * 12 + [4, 12, 12, 16, 16, 5, 6, 7]) for k in sorted(set(form))}
        bars_of["A"] = chance.choice([8, 8, 8, 8, 8, 16, 12])
    lines = [f"Tempo {tempo}", *(head or []), "SeqRnd Off"]
    voice = chance.choice(["Violin", "Trumpet", "Accordion", "Flute", "TenorSax", "Piano1"])
    sings = chance.random() < 0.75
    lines += ["Begin Solo", f" Voice {voice}", " Volume f", " Octave 5", " Articulate 90", "End"]
    text: list[str] = []
    bar, sections, phrases = 0, [], []
    loops = LOOPS + MORE_LOOPS if broad else LOOPS
    parts = {k: _part(bars_of[k], beats, chance, sings, pace, loops) for k in sorted(set(form))}
    loud = {k: chance.choice(["m"] * 6 + ["p", "f"]) for k in sorted(set(form))} if broad else {}
    groove_of = {k: tracks[i % len(tracks)] for i, k in enumerate(sorted(set(form)))}
    if broad and chance.random() < 0.35:  # an upbeat: a bar of which only the last beat sounds
        bar = 1
        text += [f"Groove {tracks[0]}", "1 " + "z! " * (beats - 1) + "G7"]
    if broad and intro and chance.random() < 0.3:
        text.append("Volume pp")
    if intro:
        text.append(f"Groove {chance.choice(intros or tracks)}")
        for i in range(intro):
            bar += 1
            text.append(f"{bar} {'G7' if i == intro - 1 else 'C'}")
    begin = bar
    for k in form:
        sections.append((bar, bars_of[k], k))
        phrases += [bar + i for i in range(0, bars_of[k], 8)]
        text.append(f"Groove {groove_of[k]}")
        if broad:
            text.append(f"Volume {loud[k]}")
        for i, chords in enumerate(parts[k]):
            if fills and i == bars_of[k] - 1 and i >= 7 and chance.random() < 0.6:
                text.append(f"Groove {chance.choice(fills)}")
            bar += 1
            text.append(f"{bar} {chords}")
    bar += 1
    text.append(f"{bar} C")
    truth = {"metre": beats, "tempo": tempo, "range": [least, most], "bars": bar, "sections": sections,
             "phrases": phrases, "first": begin}  # fmt: skip
    return "\n".join(lines + text) + "\n", truth


def _part(bars: int, beats: int, chance: random.Random, sings: bool, pace: str, loops: list[str]) -> list[str]:
    out: list[str] = []
    while len(out) < bars:
        if bars - len(out) == 4:
            out += chance.choice(CADENCES).split()
        else:
            out += chance.choice(loops).split()
    out = out[:bars]
    if pace == "slow":  # chords of two bars, cadences as before
        out = [out[i // 2] if i < bars - 4 else out[i] for i in range(bars)]
    played = list(out)
    if pace == "busy" and beats == 4:
        for i in range(bars):
            if chance.random() < 0.3:
                played[i] = f"{out[i]} / {chance.choice(['G7', 'F', 'Am', 'Dm'])} /"
    if not sings:
        return played
    return [
        f"{p} {melody(c, beats, chance, (i + 1) % 8 == 0 and chance.random() < 0.6)}"
        for i, (c, p) in enumerate(zip(out, played, strict=True))
    ]


def loosen(midi: midi_events.Midi, beats: int, chance: random.Random) -> None:
    """Let the tempo wander slowly within 4 % and move every note by up to about 20 ms."""
    base = midi.tempos[0][1] if midi.tempos else 500_000
    drift, tempos = 0.0, []
    for beat in range(midi.end() // midi.per_quarter + 2):
        drift = max(-0.04, min(0.04, drift + chance.gauss(0, 0.006)))
        tempos.append((beat * midi.per_quarter, round(base * (1 + drift))))
    midi.tempos = tempos
    spread = 0.010 * 1e6 / base * midi.per_quarter
    moved: dict[tuple[int, int], int] = {}
    events = []
    for tick, track, message in midi.events:
        kind = message[0] & 0xF0
        key = (message[0] & 0x0F, message[1])
        if kind == 0x90 and message[2]:
            moved[key] = max(0, round(tick + chance.gauss(0, spread)))
            events.append((moved[key], track, message))
        elif kind in (0x80, 0x90):
            events.append((max(tick, moved.get(key, 0) + 1), track, message))
        else:
            events.append((tick, track, message))
    midi.events = events


def make(folder: Path, style: str, number: int) -> None:
    """A song of a style of WANTED, as written and loosely played."""
    for kind in ("made", "loose"):
        name = f"{kind}-{style}-{number}"
        if not (folder / f"{name}.json").exists():
            text, truth = song(style, number)
            play(folder, name, text, {**truth, "kind": kind, "split": split_of(style)}, number)


def make_more(folder: Path, style: str, number: int, kind: str, half: str) -> None:
    """One song of arrangements.py. Those for scoring are of a kind of their own, ``more``."""
    name = f"{kind}-{style}-{number}"
    if not (folder / f"{name}.json").exists():
        text, truth = another_song(style, number)
        play(folder, name, text, {**truth, "kind": kind, "split": half}, number, rate=22050)


def play(folder: Path, name: str, text: str, truth: dict[str, object], number: int, **sound: int) -> None:
    """Sound and truth of the text of a song; ``loose`` ones with the tempo wandering. Says so where mma refuses."""
    (folder / "song.mma").write_text(text)
    path = folder / f"{name}.mid"
    done = subprocess.run(["mma", "-f", str(path), str(folder / "song.mma")], capture_output=True, text=True)
    if done.returncode or not path.exists():
        print("mma refuses", name, done.stdout[-200:])
        return
    midi = midi_events.read(path)
    if truth["kind"] == "loose":
        loosen(midi, int(truth["metre"]), random.Random(number))  # type: ignore[call-overload]
    finish(folder, name, midi, truth, **sound)


def more(folder: Path) -> None:
    """All of arrangements.py: every third loose; what is scored is played as written."""
    every = [(style, half) for style, (_, _, _, half) in others().items()]
    every += [(f"mix{i}", "tune") for i in range(arrangements.MIXES)]
    for i, (style, half) in enumerate(every):
        make_more(folder, style, 0, "more" if half == "score" else "loose" if i % 3 == 2 else "made", half)
    for i in range(wide.WIDE):
        make_more(folder, f"wide{i}", 0, "loose" if i // wide.FAMILIES % 3 == 2 else "made", "tune")
    for i in range(bands.HARD):
        make_more(folder, f"hard{i}", 0, "loose" if i // bands.FAMILIES % 3 == 2 else "made", "tune")


def again(folder: Path) -> None:
    """Two songs more of every style of the tuning half (numbers of AGAIN), drawn anew; the second one loose."""
    styles = [style for style in WANTED if split_of(style) == "tune"]
    styles += [style for style, (_, _, _, half) in others().items() if half == "tune"]
    for number, kind in zip(AGAIN, ("made", "loose"), strict=True):
        for style in styles:
            make_more(folder, style, number, kind, "tune")


def unheard(folder: Path, kind: str) -> None:
    """The songs of fresh.py of a kind."""
    for style in fresh.songs(kind):
        name = f"{kind}-{style}-0"
        if not (folder / f"{name}.json").exists():
            text, truth = fresh_song(style, kind)
            play(folder, name, text, {**truth, "kind": kind, "split": "score"}, 0, rate=22050)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--made-only", action="store_true")
    options = parser.parse_args()
    options.folder.mkdir(parents=True, exist_ok=True)
    for at, style in enumerate(WANTED):
        for number in range(3 if at < THRICE else 1):
            make(options.folder, style, number)
    more(options.folder)
    again(options.folder)
    for kind in fresh.KINDS:
        unheard(options.folder, kind)
    if not options.made_only:
        pieces.people(options.folder)
        pieces.bands(options.folder)


if __name__ == "__main__":
    main()
