"""The practice sessions as a calendar file (iCalendar, RFC 5545), for plans with dates only.

Every session is an all-day entry; stamps are taken from the plan, not from the clock, so the same plan gives the same
bytes.
"""

from __future__ import annotations

import hashlib
from datetime import timedelta

from composer.report.planning import LearningPlan


def calendar_ics(plan: LearningPlan, title: str) -> str:
    """The calendar; lines are folded at 75 octets and end with CR LF, as the format asks.

    Raises
    ------
    ValueError
        If the plan has no dates.
    """
    dated = [(session, session.day) for session in plan.sessions if session.day is not None]
    if not dated:
        raise ValueError("a calendar needs a plan with dates")
    stamp = f"{dated[0][1]:%Y%m%d}T000000Z"
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//routine-composer//practice//EN", "CALSCALE:GREGORIAN"]
    for session, day in dated:
        work = "\n".join(f"{part.minutes} min: {part.words}" for part in session.parts)
        key = hashlib.sha256(f"{title}|{session.number}|{day.isoformat()}|{work}".encode()).hexdigest()[:24]
        lines += [
            "BEGIN:VEVENT",
            f"UID:{key}@routine-composer",
            f"DTSTAMP:{stamp}",
            f"DTSTART;VALUE=DATE:{day:%Y%m%d}",
            f"DTEND;VALUE=DATE:{day + timedelta(days=1):%Y%m%d}",
            f"SUMMARY:{_escaped(f'Practice {session.number} of {len(plan.sessions)}: {title}')}",
            f"DESCRIPTION:{_escaped(work)}",
            "TRANSP:TRANSPARENT",
            "END:VEVENT",
        ]
    lines.append("END:VCALENDAR")
    return "".join(_folded(line) + "\r\n" for line in lines)


def _escaped(words: str) -> str:
    for plain, written in (("\\", "\\\\"), (";", "\\;"), (",", "\\,"), ("\n", "\\n")):
        words = words.replace(plain, written)
    return words


def _folded(line: str) -> str:
    """Break after at most 75 octets, never inside a letter; what follows begins with a space."""
    parts: list[str] = []
    now, used = "", 0
    for letter in line:
        size = len(letter.encode("utf-8"))
        if used + size > (75 if not parts else 74):
            parts.append(now)
            now, used = "", 0
        now, used = now + letter, used + size
    return "\r\n ".join([*parts, now])
