"""``revise``: options to asks, the search, and what changed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

from composer.brief.names import FigureNames
from composer.cli import speak
from composer.cli.interrupting import interruptible
from composer.errors import BadInput, Diagnostic, Where, did_you_mean
from composer.outcome import NoRoutine
from composer.revise.asks import Ask, avoid_from, counts_from, is_counts, music_path, room_from, side_from
from composer.revise.kept import Counts
from composer.revise.mirror import axis_from
from composer.revise.opened import Opened
from composer.revise.revision import Failed, Faulty, Request, Revised
from composer.routine import as_data
from composer.rules.base import Breach
from composer.units import TICKS_PER_BEAT

Given = TypeVar("Given")


@dataclass(frozen=True)
class Options:
    """What the command line said."""

    forbid: list[str]
    allow: list[str]
    require: list[str]
    replace: list[str]
    keep: list[str]
    practised: list[str]
    avoid: list[str]
    leader_level: int | None
    follower_level: int | None
    room: str | None
    audience: str | None
    bars: str | None
    leave_out: list[str]
    music: str | None
    swap_roles: bool
    both_lead: bool
    mirror: str | None
    take_back: list[str]
    repair: bool


def revise_command(
    path: Path, options: Options, *, brief: str | None, out: Path | None, time_limit_s: float, as_json: bool
) -> int:
    """Revise a routine; the exit code."""
    from composer.revise import best_opened, check_home, revise, write_revision
    from composer.revise.telling import data_of

    with speak.libraries_silenced():
        opened = best_opened(path, brief, out, repair=options.repair)
        request = request_from(options, opened)
        check_home(opened.home)
        found = interruptible(lambda: revise(opened, request, time_limit_s=time_limit_s))
        written = write_revision(found) if isinstance(found, Revised) else None
    for fault in opened.faults:
        speak.line(str(fault))
    if isinstance(found, Revised) and written is not None:
        if as_json:
            data = data_of(found, written.version, [str(file) for file in written.files])
            speak.document({**data, "routine": as_data(found.routine)})
        else:
            show_revised(found, written.version)
        return speak.DONE
    if isinstance(found, Faulty):
        _tell_faulty(found, as_json)
        return speak.NO_ROUTINE
    assert isinstance(found, Failed)
    return tell_failed(found, as_json)


def request_from(options: Options, opened: Opened) -> Request:
    """The asks that options mean.

    Raises
    ------
    BadInput
        With every fault of the options.
    """
    reader = _Reader(opened)
    asks = reader.asks(options)
    keep = [found for text in options.keep if (found := reader.tried(reader.kept, text)) is not None]
    done = [
        counts
        for text in options.practised
        if (counts := reader.tried(counts_from, text, "--practised", reader.counts)) is not None
    ]
    if faults := [*reader.faults, *reader.names.faults]:
        raise BadInput(faults)
    kept = tuple(counts for counts_list in keep for counts in counts_list)
    return Request(tuple(asks), tuple(options.take_back), kept, tuple(done), options.repair)


class _Reader:
    """Reads option texts against a routine; gathers every fault."""

    def __init__(self, opened: Opened) -> None:
        self.opened, self.problem = opened, opened.problem
        self.names = FigureNames(self.problem.catalogue, self.problem.brief.dances, family="CMD")
        self.faults: list[Diagnostic] = []
        self.counts = opened.routine.length_ticks // TICKS_PER_BEAT

    def tried(self, read: Callable[..., Given], *given: object) -> Given | None:
        try:
            return read(*given)
        except BadInput as bad:
            self.faults.extend(bad.diagnostics)
            return None

    def figure(self, text: str, option: str) -> str:
        return self.names.find(text, Where(key=option)) or text

    def asks(self, options: Options) -> list[Ask]:
        found = [Ask("forbid", self.figure(text, "--forbid")) for text in options.forbid]
        found += [Ask("allow", self.figure(text, "--allow")) for text in options.allow]
        found += [ask for text in options.require if (ask := self.required(text)) is not None]
        for text in options.replace:
            found += self.replaced(text)
        for text in options.avoid:
            if (kind := self.tried(avoid_from, text)) is not None:
                found.append(Ask("avoid", kind))
        for role, level in (("leader", options.leader_level), ("follower", options.follower_level)):
            found += [] if level is None else [Ask("level", f"{role} {level}")]
        if options.room is not None and self.tried(room_from, options.room) is not None:
            found.append(Ask("room", self.styled(" ".join(options.room.lower().split()))))
        if options.audience is not None and (side := self.tried(side_from, options.audience)) is not None:
            found.append(Ask("audience", side))
        if options.music is not None:
            file = self.tried(music_path, options.music, self.problem.document.file)
            found += [] if file is None else [Ask("music", file)]
        if options.bars is not None and (span := self.tried(counts_from, options.bars, "--bars")):
            found.append(Ask("bars", f"{span[0]}-{span[1]}"))
        for text in options.leave_out:
            if (span := self.tried(counts_from, text, "--leave-out")) is not None:
                found.append(Ask("leave-out", f"{span[0]}-{span[1]}"))
        if options.mirror is not None and (axis := self.tried(axis_from, options.mirror)) is not None:
            found.append(Ask("mirror", axis))
        found += [Ask("both-lead")] if options.both_lead else []
        return [*found, *([Ask("swap-roles")] if options.swap_roles else [])]

    def styled(self, room: str) -> str:
        """The room with the style of the dance, where neither the option nor the brief names one."""
        if "style" in room_from(room) or self.problem.brief.room is not None:
            return room
        return f"{self.problem.catalogue.dances[self.problem.brief.dances[0]].style} {room}"

    def required(self, text: str) -> Ask | None:
        name, _, at = text.partition("@")
        figure = self.figure(name, "--require")
        if at and self.tried(counts_from, at, "--require") is None:
            return None
        return Ask("require", f"{figure}@{int(at)}" if at else figure)

    def replaced(self, text: str) -> list[Ask]:
        from composer.revise.places import danced_within

        if is_counts(text):
            counts = self.tried(counts_from, text, "--replace", self.counts)
            if counts is None:
                return []
            places = danced_within(self.opened.routine, counts)
            return [Ask("replace", f"{counts[0]}-{counts[1]}", places)]
        old, _, new = text.partition("=")
        found = [Ask("forbid", self.figure(old, "--replace"))]
        return [*found, *([Ask("require", self.figure(new, "--replace"))] if new else [])]

    def kept(self, text: str) -> list[Counts]:
        """A stretch of counts, or every section with that label."""
        if is_counts(text):
            return [counts_from(text, "--keep", self.counts)]
        music = self.problem.timeline
        first = music.usable[0]
        found = [
            (section.start - first + 1, section.start - first + section.beats)
            for section in music.sections
            if section.label.casefold() == text.strip().casefold()
        ]
        if not found:
            labels = sorted({section.label for section in music.sections if section.label})
            remedy = did_you_mean(text, labels) or (f"Sections: {', '.join(labels)}." if labels else None)
            raise BadInput(Diagnostic("CMD016", f"--keep: '{text}' is no counts and no section.", Where(), remedy))
        return found


def show_revised(found: Revised, version: int | None) -> None:
    """Before and after on the terminal."""

    from composer.revise.telling import verdict

    out = speak.console()
    for line in verdict(found):
        speak.wrapped(line, out.width)
    for note in found.notes:
        speak.wrapped(f"Note: {note}.", out.width)
    if found.difference.changed:
        print()
        for line in difference_lines(found, out.width):
            out.print(line)
    if version is not None:
        print()
        print(speak.clean(f"Kept as version {version}. Written to {found.opened.home}"))


def difference_lines(found: Revised, width: int) -> list[Any]:
    """Changed lines in full, runs that stay in one line each."""
    from rich.text import Text

    half = max(12, (width - 10) // 2)
    lines: list[Any] = [Text(f"{'count':>6}  {'before':<{half}}{'after'}", style="dim")]
    run: list[int] = []

    def flush() -> None:
        if run:
            lines.append(Text(f"{run[0]:>6}  {'…' if len(run) > 1 else ''}{len(run)} figures as before"
                              if len(run) > 1 else f"{run[0]:>6}  1 figure as before", style="dim"))  # fmt: skip
            run.clear()

    for line in found.difference.lines:
        if line.same:
            run.append(line.count)
            continue
        flush()
        before = "…" if line.before_goes_on else _cut(speak.clean(line.before), half - 2)
        after = "…" if line.after_goes_on else _cut(speak.clean(line.after), half)
        text = Text(f"{line.count:>6}  ")
        text.append(f"{before:<{half}}", style="dim")
        text.append(after, style="bold")
        lines.append(text)
    flush()
    return lines


def _cut(text: str, width: int) -> str:
    return text if len(text) <= width else f"{text[: width - 1]}…"


def _tell_faulty(found: Faulty, as_json: bool) -> None:
    if as_json:
        speak.document({"status": "breaches", "breaches": [_breach(item) for item in found.breaches]})
        return
    width = speak.console().width
    for item in found.breaches:
        count = "" if item.count is None else f"count {item.count}: "
        speak.wrapped(f"! {count}{item.message}", width)
    print()
    print("The routine does not hold as it is written. revise --repair mends it with the fewest changes.")


def _breach(item: Breach) -> dict[str, Any]:
    return {"key": item.key, "message": item.message, "count": item.count, "law": item.law}


def tell_failed(found: Failed, as_json: bool) -> int:
    """No routine, or none in time; the exit code."""
    none = isinstance(found.outcome, NoRoutine)
    clashes = found.outcome.clashes if isinstance(found.outcome, NoRoutine) else ()
    helps = found.outcome.remedies if isinstance(found.outcome, NoRoutine) else ()
    if as_json:
        speak.document(
            {
                "status": "no-routine" if none else "undecided",
                "clashes": [
                    {
                        "minimal": clash.minimal,
                        "reasons": list(clash.reasons),
                        "wishes": [{"key": m.key, "sentence": m.sentence} for m in clash.members],
                    }
                    for clash in clashes
                ],
                "remedies": [
                    {"sentence": item.sentence, "cost": item.cost, "verified": item.verified} for item in helps
                ],
                "notes": list(found.notes),
            }
        )
    elif none:
        print("No routine meets all of this; that is proved. The routine stays as it is.")
        width = speak.console().width
        for clash in clashes:
            print("These wishes cannot all hold:" if clash.minimal else "The clash lies among these wishes:")
            for member in clash.members:
                speak.wrapped(f"- {member.sentence}", width, "  ")
            for reason in clash.reasons:
                speak.wrapped(f"because {reason}", width, "    ")
        if helps:
            print("What would help:")
        for item in helps:
            speak.wrapped(f"- {item.sentence}{'' if item.verified else ' (not tried out)'}", width, "  ")
    else:
        print("Undecided: time ran out before such a routine, or a proof that there is none, was found.")
        print("The routine stays as it is. What to try: a larger --time-limit, or fewer asks at once.")
    return speak.NO_ROUTINE if none else speak.UNDECIDED
