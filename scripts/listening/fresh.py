"""Music that nothing was fitted on, chosen on or looked at: kind ``fresh``, for scoring once.

The rule, written down before any of it was made or scored:

* every style file of the folders of arrangements.py, in three or four, of which no other song has anything (their
  names lie in both halves, or hold a word that arrangements.py leaves out); files that play no music are left out;
* of every other style of the scoring half, the main grooves that no song has, where there are any.

One song each, in the tempo range of the style (make_set.WANTED, or arrangements.py by its name).

``fresh`` was scored once, then its mistakes were known. Kind ``fresh2`` takes its place, by a rule again written down
before any of it was made: of every style of the scoring half that has songs (made, more or fresh) one song more, drawn
anew (form, key, chords, melody, tempo); of the main grooves no song has where there are any (``new`` in the truth),
otherwise of all main grooves of the style. No style is left out for what is known of it.

``fresh2`` was scored, then looked at. Kind ``fresh3`` takes its place by the same rule, written down and committed
before any of it was made: one song more of each of these styles, drawn anew; of the main grooves that no song has,
``fresh2`` among them, where there are any, otherwise of all main grooves.

``fresh3`` was scored, then looked at (songs in a room found at another tempo, or late). Kind ``fresh4`` takes its place
by the same rule, written down and committed before any of it was made: one song more of each of these styles, drawn
anew; of the main grooves that no other song has, ``fresh2`` and ``fresh3`` among them, where there are any, otherwise
of all main grooves. It is scored once: as it is, in the room of scoring and as MP3, all songs of it.

``fresh4`` was scored (the jazz waltz and the hymn named as lost). Kind ``fresh5`` takes its place by the same rule,
written down and committed before any of it was made, and is scored once in the same three ways.
"""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import arrangements
from rendering import split_of

KINDS = ("fresh", "fresh2", "fresh3", "fresh4", "fresh5")
SILENT = re.compile(r"metronome|none")


@cache
def _used() -> dict[str, set[str]]:
    """Grooves of the songs of make_set.py by style, as many songs of each as the set measured has."""
    import make_set

    songs: dict[str, list[str]] = {}
    for number, style in enumerate(make_set.WANTED):
        songs[style] = [make_set.song(style, n)[0] for n in range(3 if number < make_set.THRICE else 1)]
    for style in make_set.others():
        songs[style] = [make_set.another_song(style, 0)[0]]
    return {style: set(re.findall(r"^Groove (\S+)", "\n".join(texts), re.M)) for style, texts in songs.items()}


@cache
def styles() -> dict[str, tuple[int, int, int, Path, list[str]]]:
    """``initial_stem`` -> (beats per bar, least, most beats per minute, file, main grooves nobody has heard)."""
    import make_set

    wanted, others, out = make_set.WANTED, make_set.others(), {}
    for initial in arrangements.FOLDERS:
        for path in sorted(arrangements.LIBRARY.glob(f"{initial}*/*.mma")):
            name = f"{initial}_{path.stem}"
            own = path.stem if path.parent.name == "stdlib" and path.stem in wanted else name
            half = split_of(path.stem) if own in wanted else others[name][3] if name in others else "score"
            beats = arrangements.beats_of(path)
            if half != "score" or beats not in (3, 4) or SILENT.search(path.stem):
                continue
            left = [groove for groove in arrangements.grooves(path)[0] if groove not in _used().get(own, set())]
            tempo = wanted[own][1:] if own in wanted else arrangements.usual_tempo(path.stem)
            if left:
                out[name] = (beats, *tempo, path, left)
    return out


@cache
def second_styles() -> dict[str, tuple[int, int, int, Path, list[str], bool]]:
    """``initial_stem`` -> (beats per bar, least, most beats per minute, file, main grooves, whether these are new)."""
    import make_set

    first, out = styles(), {}
    files = {f"s_{style}": make_set.STYLES / f"{style}.mma" for style in make_set.WANTED if split_of(style) == "score"}
    for style, (_, _, _, half) in make_set.others().items():
        if half == "score":
            initial, _, stem = style.partition("_")
            files[style] = next(arrangements.LIBRARY.glob(f"{initial}*/{stem}.mma"))
    files |= {style: path for style, (_, _, _, path, _) in first.items()}
    for name, path in sorted(files.items()):
        wanted = path.parent.name == "stdlib" and path.stem in make_set.WANTED
        heard = set(_used().get(path.stem if wanted else name, set()))
        if name in first:
            heard |= set(re.findall(r"^Groove (\S+)", make_set.fresh_song(name, "fresh")[0], re.M))
        main = arrangements.grooves(path)[0]
        left = [groove for groove in main if groove not in heard]
        tempo = make_set.WANTED[path.stem][1:] if wanted else arrangements.usual_tempo(path.stem)
        out[name] = (arrangements.beats_of(path), *tempo, path, left or main, bool(left))
    return out


@cache
def later_styles(kind: str) -> dict[str, tuple[int, int, int, Path, list[str], bool]]:
    """The same for ``fresh3`` and what follows it; grooves of the kind before are not new any more."""
    import make_set

    before, out = KINDS[KINDS.index(kind) - 1], {}
    for name, (beats, least, most, path, main, new) in songs(before).items():
        heard = set(re.findall(r"^Groove (\S+)", make_set.fresh_song(name, before)[0], re.M))
        left = [groove for groove in main if groove not in heard] if new else []
        out[name] = (beats, least, most, path, left or arrangements.grooves(path)[0], bool(left))
    return out


def songs(kind: str) -> dict[str, tuple[int, int, int, Path, list[str], bool]]:
    """Beats per bar, tempi, file, grooves and whether these are new, of each song of a kind."""
    if kind == "fresh":
        return {name: (*row, True) for name, row in styles().items()}
    return second_styles() if kind == "fresh2" else later_styles(kind)
