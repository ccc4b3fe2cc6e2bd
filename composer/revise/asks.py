"""What a revision may ask for, in plain words, and what each does to the brief.

An :class:`Ask` is kept in every version in the order of asking; the brief of a version is the first brief with all of
its asks applied, so that one can be *taken back* later and the rest stands. A newer ask outweighs an older wish about
the same thing (forbidding a figure the brief requires takes that wish away); :func:`applied` notes it.

Kinds: ``forbid``, ``allow``, ``require`` (a figure; ``figure@17`` says where), ``avoid`` (a kind of hold), ``level``
(``leader 3``), ``room`` (``spot 5 m x 4 m``), ``audience`` (the side it sits on), ``bars`` (``9-40``), ``leave-out``
(bars cut out of the music, ``17-24``), ``music`` (a file), ``swap-roles``, ``both-lead`` (each leads some), ``mirror``
(the room as in a mirror, ``east-west``), ``replace`` (counts such as ``17-24``;
``places`` names what was danced there and does not come back there).
"""

from __future__ import annotations

import copy
import os
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, get_args

from composer.brief.names import plain
from composer.charts import Caution, Style
from composer.errors import BadInput, Diagnostic, Where, did_you_mean
from composer.floor.model import Side
from composer.revise.mirror import mirrored_facing, mirrored_room
from composer.timeline.model import Timeline
from composer.versions import Ask as Ask
from composer.versions import Counts

KINDS: Final = (
    "forbid", "allow", "require", "avoid", "level", "room", "audience", "bars", "leave-out", "music", "swap-roles",
    "both-lead", "mirror", "replace",
)  # fmt: skip
BY_ROLE: Final = ("level", "knows", "not_yet", "avoid")
"""What a brief may say of a partner for each role apart."""
SOUND: Final = frozenset({".wav", ".flac", ".ogg", ".opus", ".mp3", ".aif", ".aiff", ".m4a"})
SCORES: Final = frozenset({".abc", ".musicxml", ".xml", ".mxl", ".mid", ".midi"})
_LENGTH: Final = r"(\d+(?:\.\d+)?\s*(?:mm|cm|m|ft|in)?)"
_ROOM: Final = re.compile(rf"^\s*(?:([a-z]+)\s+)?{_LENGTH}\s*(?:x|by)\s*{_LENGTH}(?:\s+margin\s+{_LENGTH})?\s*$")
_COUNTS: Final = re.compile(r"^\s*(\d{1,6})(?:\s*-\s*(\d{1,6}))?\s*$")


def counts_from(text: str, option: str, most: int | None = None) -> Counts:
    """Read ``17-24`` or ``17``.

    Raises
    ------
    BadInput
        ``CMD010`` when it is neither, or goes beyond the routine.
    """
    match = _COUNTS.match(text)
    first = int(match[1]) if match else 0
    last = int(match[2] or match[1]) if match else 0
    if match is None or not 1 <= first <= last:
        raise BadInput(
            Diagnostic("CMD010", f"{option}: '{text}' is not a stretch of counts.", Where(), "Write it like 17-24.")
        )
    if most is not None and last > most:
        raise BadInput(Diagnostic("CMD010", f"{option}: the routine has {most} counts; {last} lies beyond it."))
    return first, last


def is_counts(text: str) -> bool:
    """Whether a text is meant as counts."""
    return _COUNTS.match(text) is not None


def room_from(text: str) -> dict[str, Any]:
    """The part of a brief that ``spot 5 m x 4 m margin 20 cm`` means.

    Raises
    ------
    BadInput
        ``CMD011`` when it is no room.
    """
    match = _ROOM.match(text.lower())
    if match is None:
        remedy = "Write it like '6 m x 5 m', 'show 12 m x 9 m' or '20 ft x 16 ft margin 1 ft'."
        raise BadInput(Diagnostic("CMD011", f"--room: '{text}' is not a room.", Where(), remedy))
    style, width, depth, margin = match.groups()
    if style is not None and style not in get_args(Style):
        remedy = did_you_mean(style, get_args(Style)) or f"Styles: {', '.join(get_args(Style))}."
        raise BadInput(Diagnostic("CMD011", f"--room: '{style}' is not a style of room.", Where(), remedy))
    found = {"style": style, "width": width, "depth": depth, "margin": margin}
    return {key: value for key, value in found.items() if value is not None}


def level_from(text: str) -> tuple[str, int]:
    """(role, level) of ``leader 3``.

    Raises
    ------
    BadInput
        ``CMD012`` when it is not that.
    """
    role, _, number = text.partition(" ")
    if role not in ("leader", "follower") or number.strip() not in "012345" or not number.strip():
        raise BadInput(Diagnostic("CMD012", f"'{text}' is not a partner and a level from 0 to 5."))
    return role, int(number)


def side_from(text: str) -> str:
    """A side of the room.

    Raises
    ------
    BadInput
        ``CMD019`` when it is none.
    """
    if plain(text) not in get_args(Side):
        raise BadInput(Diagnostic("CMD019", f"--audience: '{text}' is not one of {', '.join(get_args(Side))}."))
    return plain(text)


def avoid_from(text: str) -> str:
    """A kind of hold a brief may avoid.

    Raises
    ------
    BadInput
        ``CMD013`` when there is no such kind.
    """
    known = get_args(Caution)
    if plain(text) not in known:
        remedy = did_you_mean(text, known) or f"Kinds: {', '.join(known)}."
        raise BadInput(Diagnostic("CMD013", f"--avoid: '{text}' is not a kind of hold to avoid.", Where(), remedy))
    return plain(text)


@dataclass(frozen=True)
class Brief:
    """A brief as data while asks are applied: what it says, where its files are, what gave way."""

    data: dict[str, Any]
    file: str
    notes: tuple[str, ...] = ()


def applied(data: dict[str, Any], file: str, asks: Sequence[Ask], timeline: Timeline) -> Brief:
    """The brief with every ask applied in order. ``timeline`` is the music of the brief as it was."""
    box = _Box(copy.deepcopy(data), file, timeline)
    for ask in asks:
        getattr(box, ask.kind.replace("-", "_"))(ask.value)
    return Brief(box.data, file, tuple(box.notes))


def without(asks: Iterable[Ask], text: str) -> tuple[tuple[Ask, ...], Ask]:
    """The asks without the last one that reads ``text``, and that one.

    Raises
    ------
    BadInput
        ``CMD014`` when nothing like it was asked.
    """
    listed = list(asks)
    wanted = plain(text)
    for index in range(len(listed) - 1, -1, -1):
        if wanted in (plain(listed[index].text), plain(_short(listed[index]))):
            taken = listed.pop(index)
            return tuple(listed), taken
    texts = [ask.text for ask in listed]
    remedy = did_you_mean(text, texts) or (f"Asked so far: {'; '.join(texts)}." if texts else "Nothing was asked yet.")
    raise BadInput(Diagnostic("CMD014", f"--take-back: '{text}' was not asked.", Where(), remedy))


def _short(ask: Ask) -> str:
    """``forbid whisk`` for ``forbid waltz/whisk``."""
    return f"{ask.kind} {ask.value.split('/')[-1]}".strip()


def _names(entry: Any, figure: str) -> bool:
    """Whether an entry of a brief (a name, or a table with ``figure``) means this figure."""
    name = entry.get("figure") if isinstance(entry, dict) else entry
    return plain(str(name)) in (plain(figure), plain(figure.split("/")[-1]))


class _Box:
    """The data of a brief being changed; one method per kind of ask."""

    def __init__(self, data: dict[str, Any], file: str, timeline: Timeline) -> None:
        self.data, self.file, self.timeline = data, file, timeline
        self.notes: list[str] = []

    def part(self, *path: str) -> dict[str, Any]:
        here = self.data
        for name in path:
            if not isinstance(here.get(name), dict):
                here[name] = {}
            here = here[name]
        return here

    def drop(self, name: str, figure: str, told: str) -> None:
        """Take a figure out of a list of the wishes."""
        wishes = self.part("wishes")
        before = list(wishes.get(name) or ())
        after = [entry for entry in before if not _names(entry, figure)]
        if len(after) < len(before):
            self.notes.append(told)
        if after:
            wishes[name] = after
        else:
            wishes.pop(name, None)

    def forbid(self, figure: str) -> None:
        self.drop("must", figure, f"the wish that {figure} must come gives way")
        wishes = self.part("wishes")
        for end in ("opening", "closing"):
            standing = wishes.get(end)
            if isinstance(standing, dict) and standing.get("figure") and _names(standing, figure):
                self.notes.append(f"the wish for {figure} as the {end} gives way")
                wishes[end] = {key: value for key, value in standing.items() if key != "figure"}
        if not any(_names(entry, figure) for entry in wishes.get("never") or ()):
            wishes["never"] = [*(wishes.get("never") or ()), figure]

    def allow(self, figure: str) -> None:
        self.drop("never", figure, f"{figure} may come again")

    def require(self, value: str) -> None:
        figure, _, at = value.partition("@")
        self.drop("never", figure, f"the wish that {figure} is never danced gives way")
        wishes = self.part("wishes")
        wish: dict[str, Any] = {"figure": figure, **({"at": int(at)} if at else {})}
        wishes["must"] = [*(wishes.get("must") or ()), wish]

    def avoid(self, caution: str) -> None:
        couple = self.part("couple")
        if caution not in (couple.get("avoid") or ()):
            couple["avoid"] = [*(couple.get("avoid") or ()), caution]
        if couple.get("accept"):
            couple["accept"] = [entry for entry in couple["accept"] if entry != caution]

    def level(self, value: str) -> None:
        role, level = level_from(value)
        self.part("couple", role)["level"] = level

    def swap_roles(self, _: str) -> None:
        couple = self.part("couple")
        couple["leader"], couple["follower"] = (_other_way(couple.get(key) or {}) for key in ("follower", "leader"))

    def both_lead(self, _: str) -> None:
        couple = self.part("couple")
        couple["both_lead"] = couple.get("both_lead") or True

    def mirror(self, axis: str) -> None:
        room = self.data.get("room")
        if not isinstance(room, dict):
            self.notes.append("without a room there is nothing to mirror")
            return
        self.data["room"] = mirrored_room(room, axis)
        wishes = self.part("wishes")
        for end in ("opening", "closing") if room.get("style") != "travelling" else ():
            standing = wishes.get(end)
            if isinstance(standing, dict) and "faces" in standing:
                wishes[end] = {**standing, "faces": mirrored_facing(standing["faces"], axis)}

    def replace(self, _: str) -> None:
        """Nothing in the brief: the places are demands of the revision itself."""

    def room(self, value: str) -> None:
        given = room_from(value)
        before = self.data.get("room") if isinstance(self.data.get("room"), dict) else {}
        if before and "start" in before:
            self.notes.append("the starting place of the old room is left open")
        kept = {key: entry for key, entry in (before or {}).items() if key not in ("start", *given)}
        self.data["room"] = {**kept, **given}

    def audience(self, value: str) -> None:
        if isinstance(self.data.get("room"), dict):
            self.part("room")["audience"] = value
            if self.part("room").pop("start", None) is not None:
                self.notes.append("the starting place is left open, for the room is seen from another side")
        else:
            self.notes.append("without a room there is no side to sit on")

    def music(self, value: str) -> None:
        suffix = Path(value).suffix.lower()
        kinds = ((SOUND, "track"), (SCORES, "score"), ((".json",), "timeline"))
        key = next((name for suffixes, name in kinds if suffix in suffixes), "beats")
        kept = ("phrase_bars",) if key != "timeline" else ()
        music = {name: entry for name, entry in self.part("music").items() if name in kept}
        self.data["music"] = {**music, key: value}
        self.notes.append("sections and hits are taken from the new music")

    def leave_out(self, value: str) -> None:
        first, last = counts_from(value, "--leave-out")
        music = self.part("music")
        music["leave_out"] = [*(music.get("leave_out") or ()), {"first": first, "last": last}]
        if any(isinstance(wish, dict) and wish.get("at") for wish in self.part("wishes").get("must") or ()):
            self.notes.append("wishes for a count are taken to mean counts of the music as it is now cut")

    def bars(self, value: str) -> None:
        first, last = counts_from(value, "--bars")
        music = self.part("music")
        was_first = int(music.get("first_bar") or 1)
        if music.get("sections"):
            trimmed = _trimmed(music["sections"], was_first, first, last)
            if trimmed is None:
                music.pop("sections")
                self.notes.append("the sections do not reach so far and are left out")
            else:
                music["sections"] = trimmed
        if music.get("hits"):
            music["hits"] = [hit for hit in music["hits"] if first <= int(hit["bar"]) <= last]
        music["first_bar"], music["last_bar"] = first, last
        self.shift_counts((first - was_first) * self.timeline.beats_per_bar, last - first + 1)

    def shift_counts(self, counts: int, bars: int) -> None:
        """Wishes tied to a count move with the music, or go with the part that is cut away."""
        wishes = self.part("wishes")
        moved = []
        for wish in wishes.get("must") or ():
            at = wish.get("at") if isinstance(wish, dict) else None
            if at is not None:
                if not 1 <= at - counts <= bars * self.timeline.beats_per_bar:
                    self.notes.append(f"{wish['figure']} at count {at} goes with the music that is cut away")
                    continue
                wish = {**wish, "at": at - counts}
            moved.append(wish)
        if moved:
            wishes["must"] = moved
        else:
            wishes.pop("must", None)


def _other_way(dancer: dict[str, Any]) -> dict[str, Any]:
    """A partner under the other role: what was said of the other role is now said first, and the other way round."""
    other = dancer.get("other_role")
    if not isinstance(other, dict):
        return dancer
    first = {key: value for key, value in dancer.items() if key not in BY_ROLE and key != "other_role"}
    return {**first, **other, "other_role": {key: dancer[key] for key in BY_ROLE if key in dancer}}


def _trimmed(sections: list[dict[str, Any]], was_first: int, first: int, last: int) -> list[dict[str, Any]] | None:
    """Sections cut to bars first..last of the music; None when they do not cover them."""
    found, at = [], was_first
    for section in sections:
        begins, ends = max(at, first), min(at + int(section["bars"]) - 1, last)
        if begins <= ends:
            found.append({**section, "bars": ends - begins + 1})
        at += int(section["bars"])
    return found if first >= was_first and last < at else None


def music_path(given: str, brief_file: str) -> str:
    """A music file as a brief beside ``brief_file`` names it.

    Raises
    ------
    BadInput
        ``CMD015`` when there is no such file.
    """
    if not Path(given).is_file():
        raise BadInput(Diagnostic("CMD015", f"--music: there is no file '{given}'."))
    return os.path.relpath(given, Path(brief_file).parent)
