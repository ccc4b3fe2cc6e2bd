"""``room smallest`` and ``room fits``: how much room a routine needs, and what fits a room."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final, cast

from composer.brief import load_problem
from composer.cli import speak
from composer.errors import BadInput, Diagnostic
from composer.floor.model import Room
from composer.floor.resized import Thing, resized, things
from composer.outcome import Found, NoRoutine
from composer.problem import Problem
from composer.report.words import Lengths, clean, length_text
from composer.roomsize import NotFinished, Smallest, figures_that_fit, room_of_size, smallest
from composer.routine import Routine
from composer.routinefile import load_routine
from composer.verify import verify

LARGER: Final = (1.1, 1.25, 1.5, 2.0)
SHORTER: Final = (90, 80)


def smallest_command(routine: Path, *, brief: str | None, least: float, lengths: str, as_json: bool) -> int:
    """Tell the smallest room of a routine; the exit code."""
    unit = _unit(lengths)
    problem, read = load_routine(routine, brief)
    strides = list(dict.fromkeys([(100, 100), (max(90, round(100 * least)), 100), (round(100 * least), 100)]))
    found: list[tuple[tuple[int, int], Smallest | None]] = []
    with speak.libraries_silenced():
        for stride in strides:
            found.append((stride, _smallest(problem, read, stride)))
    room = problem.room
    if as_json:
        speak.document({"rooms": [_size_data(stride, item) for stride, item in found], **_kept_data(room)})
    else:
        for stride, item in found:
            print(_size_words(stride, item, unit))
        for sentence in kept_words(room, unit):
            print(sentence)
    return speak.DONE if all(item is not None and not item.less_mm for _, item in found) else speak.UNDECIDED


def _unit(lengths: str) -> Lengths:
    if lengths.lower() not in ("metres", "feet"):
        raise BadInput(Diagnostic("CMD004", f"--lengths: '{lengths}' is neither metres nor feet."))
    return cast("Lengths", lengths.lower())


def _smallest(problem: Problem, routine: Routine, stride: tuple[int, int]) -> Smallest | None:
    """The smallest room, looked at again by the checker; None when the search did not finish."""
    try:
        found = smallest(problem, routine, stride)
    except NotFinished:
        return None
    inside = replace(problem, room=room_of_size(problem, found))
    faults = [
        item for item in verify(inside, found.routine) if item.key.split(":")[1] in {"walls", "room", "lane", "ground"}
    ]
    if faults:
        raise RuntimeError(f"the smallest room failed its check: {faults[0].message}")
    return found


def _size_data(stride: tuple[int, int], item: Smallest | None) -> dict[str, Any]:
    size = None if item is None else {"width_mm": item.width_mm, "depth_mm": item.depth_mm}
    proved = item is not None and not item.less_mm
    return {"least_stride": stride[0] / 100, "proved": proved, "room": size}


def _size_words(stride: tuple[int, int], item: Smallest | None, unit: Lengths) -> str:
    how = "As written" if stride[0] == 100 else f"With strides down to {stride[0]} %"
    if item is None:
        return f"{how}: undecided in time."
    how = f"{how}: {_text(item.width_mm, unit)} wide, {_text(item.depth_mm, unit)} deep"
    return f"{how} is enough; whether less is was undecided in time." if item.less_mm else f"{how} (proved)."


def kept_words(room: Room | None, unit: Lengths) -> list[str]:
    """What a smaller room keeps of the one given, and what it leaves out."""
    if room is None:
        return []
    found = ["The outline of the floor is left out: these are rectangles."] if room.outline else []
    for thing in things(room):
        walls = [
            f"{length_text(far, unit)} from the {name} wall"
            for far, name in zip(_apart(room, thing), _sides(thing), strict=True)
        ]
        found.append(f"{clean(thing.name)} stays {' and '.join(walls)}.")
    return [sentence[:1].upper() + sentence[1:] for sentence in found]


def _sides(thing: Thing) -> tuple[str, str]:
    return "east" if thing.east else "west", "north" if thing.north else "south"


def _apart(room: Room, thing: Thing) -> tuple[int, int]:
    """How far something is from the walls it keeps its distance from, mm."""
    x = room.width_mm - thing.box[2] if thing.east else thing.box[0]
    y = room.depth_mm - thing.box[3] if thing.north else thing.box[1]
    return max(0, x), max(0, y)


def _kept_data(room: Room | None) -> dict[str, Any]:
    """The same for programs; nothing for a plain rectangle."""
    if room is None or not (room.outline or room.obstacles):
        return {}
    kept = [
        {"name": thing.name, "from_mm": dict(zip(_sides(thing), _apart(room, thing), strict=True))}
        for thing in things(room)
    ]
    return {"kept": kept, "outline_left_out": bool(room.outline)}


def _text(length_mm: int, unit: Lengths) -> str:
    """A length rounded up, so that what is told is never too small."""
    step = 10 if unit == "metres" else 31
    return length_text(-(-length_mm // step) * step, unit)


@dataclass(frozen=True)
class _Tried:
    """One room that was tried."""

    words: str
    room: Room
    verdict: str
    routine: Routine | None = None


def fits_command(brief: str, *, time_limit_s: float, lengths: str, as_json: bool) -> int:
    """Tell what fits the room of a brief; the exit code."""
    unit = _unit(lengths)
    problem = load_problem(brief)
    if problem.room is None:
        where = problem.where("room")
        raise BadInput(Diagnostic("CMD007", "the brief has no room.", where, "Add 'room: {width: 5 m, depth: 4 m}'."))
    with speak.libraries_silenced():
        fitting = figures_that_fit(problem)
        tried = _tried(problem, problem.room, time_limit_s, unit)
    able = [item.figure.chart.name for item in fitting if item.faces]
    not_able = [item.figure.chart.name for item in fitting if not item.faces]
    last = tried[-1]
    if as_json:
        speak.document(
            {
                "figures": {item.figure.id: list(item.faces) for item in fitting},
                "rooms": [{"room": item.words, "verdict": item.verdict} for item in tried],
            }
        )
    else:
        print(f"{len(able)} of {len(fitting)} figures can be danced in this room by themselves.")
        if not_able:
            print(f"Too large for it: {', '.join(sorted(not_able))}.")
        for item in tried:
            print(f"{item.words}: {item.verdict}.")
        _say_spare(problem, last, unit)
    return {"a routine fits": speak.DONE, "no routine fits (proved)": speak.NO_ROUTINE}.get(
        tried[0].verdict, speak.UNDECIDED
    )


def _tried(problem: Problem, room: Room, time_limit_s: float, unit: Lengths) -> list[_Tried]:
    """The room as it is; then, as long as nothing fits, shorter strides and larger floors."""
    tried = [_try(problem, "The room as it is", room, time_limit_s)]
    others: list[tuple[str, Room]] = []
    if not room.outline:
        others += [
            (f"With strides down to {least} %", replace(room, stride=(least, max(100, room.stride[1]))))
            for least in SHORTER
            if least < room.stride[0]
        ]
    if not room.outline:
        for times in LARGER:
            wide, deep = round(room.width_mm * times), round(room.depth_mm * times)
            words = f"A floor of {length_text(wide, unit)} by {length_text(deep, unit)}"
            others.append((words, resized(room, wide, deep)))
    while tried[-1].routine is None and others:
        tried.append(_try(problem, *others.pop(0), time_limit_s))
    return tried


def _try(problem: Problem, words: str, room: Room, time_limit_s: float) -> _Tried:
    from composer.solve import solve

    changed = replace(problem, room=room)
    match solve(changed, time_limit_s=time_limit_s):
        case Found(routine=routine):
            if faults := verify(changed, routine):
                raise RuntimeError(f"the routine failed its check: {faults[0].message}")
            return _Tried(words, room, "a routine fits", routine)
        case NoRoutine():
            return _Tried(words, room, "no routine fits (proved)")
        case _:
            return _Tried(words, room, "undecided in time; this is no proof")


def _say_spare(problem: Problem, last: _Tried, unit: Lengths) -> None:
    """How small a floor the routine found would do with."""
    if last.routine is None or last.room.outline:
        return  # a routine for a floor with corners missing says little about a rectangle
    own = replace(problem, room=last.room)
    found = _smallest(own, last.routine, last.room.stride)
    if found is not None:
        size = f"{_text(found.width_mm, unit)} by {_text(found.depth_mm, unit)}"
        print(f"The routine found would do with {size}.")
        for sentence in kept_words(last.room, unit):
            print(sentence)
