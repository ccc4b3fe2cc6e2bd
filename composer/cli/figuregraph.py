"""``figures follow`` and ``figures graph``: what may be danced before and after what, and why not."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from composer.catalogue.model import Catalogue, Figure
from composer.cli import speak
from composer.cli.figurefinding import find_figure, known_dance, loaded, roots
from composer.units import ALIGNMENTS

FOOT = {"L": "left", "R": "right"}


def obstacles(catalogue: Catalogue, first: Figure, second: Figure) -> list[str]:
    """Why ``second`` cannot follow ``first``; empty when it can. Alignment counts where the dance travels."""
    stand, entry = first.end_of(0), second.chart.entry
    found = []
    if not catalogue.fits(stand.hold, entry.hold):
        have, need = catalogue.holds[stand.hold].name, catalogue.holds[entry.hold].name
        found.append(f"ends in {have}, needs {need}")
    for role, have_foot, need_foot in (
        ("leader", stand.leader_free, entry.leader_free),
        ("follower", stand.follower_free, entry.follower_free),
    ):
        if have_foot != need_foot:
            found.append(f"the {role}'s {FOOT[have_foot]} foot is free, needs the {FOOT[need_foot]}")
    if not _meets(first, second) and not _meets_round_a_corner(catalogue, first, second):
        ends = " or ".join(ALIGNMENTS[a] for a in _ends(first))
        needs = " or ".join(ALIGNMENTS[a] for a in entry.faces or ())
        found.append(f"ends facing {ends}, needs {needs}")
    return found


def _ends(figure: Figure) -> list[int]:
    return [figure.end_of(faces).faces for faces in figure.chart.entry.faces or range(8)]


def _meets(first: Figure, second: Figure) -> bool:
    wanted = second.chart.entry.faces
    return wanted is None or bool(set(wanted) & set(_ends(first)))


def _meets_round_a_corner(catalogue: Catalogue, first: Figure, second: Figure) -> bool:
    """Whether the alignment is right once a corner of the room is turned, which renames it by +2 eighths."""
    if catalogue.dances[second.chart.dance].style != "travelling":
        return False
    return bool({(faces + 2) % 8 for faces in _ends(first)} & set(second.chart.entry.faces or range(8)))


def follow_command(name: str, *, dance: str | None, own: list[Path], as_json: bool) -> int:
    """List what may come before and after a figure; the exit code."""
    catalogue, figure = find_figure(name, dance, own)
    others = [f for f in catalogue.figures.values() if f.chart.dance == figure.chart.dance]
    before = {other.id: obstacles(catalogue, other, figure) for other in others}
    after = {other.id: obstacles(catalogue, figure, other) for other in others}
    if as_json:
        speak.document({"figure": figure.id, "before": _sides(before), "after": _sides(after)})
        return speak.DONE
    out = speak.console()
    entry, exit_ = figure.chart.entry, figure.chart.exit
    holds = catalogue.holds
    aligned = f", facing {' or '.join(ALIGNMENTS[a] for a in entry.faces)}" if entry.faces else ""
    print(speak.clean(figure.chart.name))
    print(
        speak.clean(
            f"begins in {holds[entry.hold].name}{aligned}, leader's {FOOT[entry.leader_free]} and follower's "
            f"{FOOT[entry.follower_free]} foot free"
        )
    )
    ends = f", facing {' or '.join(ALIGNMENTS[a] for a in _ends(figure))}" if entry.faces else ""
    print(
        speak.clean(
            f"ends in {holds[exit_.hold].name}{ends}, leader's {FOOT[exit_.leader_free]} and follower's "
            f"{FOOT[exit_.follower_free]} foot free"
        )
    )
    for title, sides in (("may come before", before), ("may come after", after)):
        fit = [_named(catalogue, figure, key, title) for key, why in sides.items() if not why]
        print(f"\n{title} ({len(fit)} of {len(sides)}):")
        speak.wrapped(", ".join(fit) or "nothing", out.width, "  ")
        for reason, count in Counter(why[0].split(",")[0] for why in sides.values() if why).most_common(4):
            print(speak.clean(f"  {count} may not: {_because(title, reason)}"))
    return speak.DONE


def _named(catalogue: Catalogue, figure: Figure, other: str, title: str) -> str:
    """The stem, with a word where the two meet only round a corner of the room."""
    pair = (catalogue.figures[other], figure) if title.endswith("before") else (figure, catalogue.figures[other])
    return other.split("/")[-1] + ("" if _meets(*pair) else " (round a corner)")


def _because(title: str, reason: str) -> str:
    who = "the one before" if title.endswith("before") else "this figure"
    return f"{who} {reason}" if reason.startswith("ends") else f"as {who} ends, {reason}"


def _sides(found: Mapping[str, list[str]]) -> dict[str, Any]:
    return {
        "may": [key for key, why in found.items() if not why],
        "may_not": {key: why for key, why in found.items() if why},
    }


def graph_command(dance: str, *, level: int, own: list[Path], as_json: bool) -> int:
    """Tell how the figures of a dance hang together; the exit code (3 when they do not)."""
    roots(own)
    name = known_dance(dance, own)
    catalogue = loaded(own, [name])
    figures = {k: f for k, f in catalogue.figures.items() if f.chart.dance == name and f.chart.level <= level}
    follows = {
        key: [other for other, second in figures.items() if not obstacles(catalogue, first, second)]
        for key, first in figures.items()
    }
    middle = {k for k, f in figures.items() if not (catalogue.only_first(f) or catalogue.only_last(f))}
    parts = strong_parts(
        {key: [other for other in nexts if other in middle] for key, nexts in follows.items() if key in middle}
    )
    reached = {other for key, nexts in follows.items() for other in nexts if other != key}
    lonely = {
        "nothing_leads_to": sorted(k for k in set(figures) - reached if not catalogue.only_first(figures[k])),
        "nothing_follows": sorted(
            k for k, nexts in follows.items() if not set(nexts) - {k} and not catalogue.only_last(figures[k])
        ),
    }
    connected = len(parts) == 1 and not lonely["nothing_leads_to"] and not lonely["nothing_follows"]
    if as_json:
        data = {"dance": name, "level": level, "connected": connected, "parts": parts, **lonely, "follows": follows}
        speak.document(data)
    else:
        _show_graph(catalogue.dances[name].name, level, follows, parts, lonely)
    return speak.DONE if connected else speak.NO_ROUTINE


def _show_graph(
    name: str, level: int, follows: Mapping[str, list[str]], parts: list[list[str]], lonely: Mapping[str, list[str]]
) -> None:
    out = speak.console()
    joins = sum(len(nexts) for nexts in follows.values())
    print(speak.clean(f"{name}, figures up to level {level}: {len(follows)} figures, {joins} joins"))
    for key, nexts in follows.items():
        names = ", ".join(n.split("/")[-1] for n in nexts) or "nothing"
        speak.wrapped(f"{key.split('/')[-1]} → {names}", out.width)
    print()
    for title, key in (("Nothing leads to", "nothing_leads_to"), ("Nothing follows", "nothing_follows")):
        if lonely[key]:
            speak.wrapped(f"{title}: {', '.join(k.split('/')[-1] for k in lonely[key])}", out.width)
    if not follows:
        print("There are no figures at this level.")
    elif len(parts) == 1 and not any(lonely.values()):
        print(
            "Strongly connected: a way that needs no opening and no final pose leads from every figure to every other."
        )
    else:
        print(f"Not strongly connected: {len(parts)} part{'' if len(parts) == 1 else 's'}.")
        for part in parts[1:]:
            speak.wrapped(f"apart from the rest: {', '.join(k.split('/')[-1] for k in part)}", out.width, "  ")


def strong_parts(follows: Mapping[str, list[str]]) -> list[list[str]]:
    """Strongly connected parts of the graph, the largest first (Kosaraju: two depth-first passes, no recursion)."""
    back: dict[str, list[str]] = {key: [] for key in follows}
    for key, nexts in follows.items():
        for other in nexts:
            back[other].append(key)
    order: list[str] = []
    seen: set[str] = set()
    for root in follows:
        _visit(root, follows, seen, order)
    parts: list[list[str]] = []
    seen = set()
    for root in reversed(order):
        if root not in seen:
            part: list[str] = []
            _visit(root, back, seen, part)
            parts.append(sorted(part))
    return sorted(parts, key=lambda part: (-len(part), part))


def _visit(root: str, edges: Mapping[str, list[str]], seen: set[str], done: list[str]) -> None:
    """Depth first from ``root``; keys are added to ``done`` as they are finished."""
    if root in seen:
        return
    seen.add(root)
    stack = [(root, iter(edges[root]))]
    while stack:
        key, rest = stack[-1]
        following = next((other for other in rest if other not in seen), None)
        if following is None:
            done.append(key)
            stack.pop()
        else:
            seen.add(following)
            stack.append((following, iter(edges[following])))
