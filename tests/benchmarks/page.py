"""``python -m tests.benchmarks.page``: fills the tables of ``docs/speed.md`` and draws its pictures from the JSON file.

The page is written by hand around blocks ``<!-- NAME -->`` ... ``<!-- end NAME -->``, whose contents are replaced.
"""

from __future__ import annotations

import argparse
import json
import re
from collections.abc import Sequence
from pathlib import Path
from statistics import median

from composer.textfiles import write_text
from tests.benchmarks.__main__ import HERE, OUT
from tests.benchmarks.plots import draw_all
from tests.benchmarks.promises import Promise, promises
from tests.benchmarks.summary import Duel, Entry, Kind, duels, failed, grown, kinds, network_of, ratios

PAGE = HERE / "docs" / "speed.md"
HEAD = (
    "kind",
    "proved",
    "first routine",
    "in all",
    "gap at 5 / 15 / 60 s",
    "work",
    "arcs",
    "usable",
    "last band",
    "MB",
)


def main() -> None:
    """Read, fill, draw."""
    parser = argparse.ArgumentParser(description="Fills docs/speed.md from measured numbers.")
    parser.add_argument("--results", type=Path, default=OUT, metavar="FILE")
    parser.add_argument("--page", type=Path, default=PAGE, metavar="FILE")
    chosen = parser.parse_args()
    document = json.loads(chosen.results.read_text(encoding="utf-8"))
    results, about = document["results"], document["about"]
    found = duels(results)
    blocks = {
        "about": ", ".join(f"{key} {value}" for key, value in about.items()) + speed_of(results),
        "promises": promises_table(promises(results, document.get("startup", {}))),
        "core": kinds_table(kinds(results, "core")),
        "growth": kinds_table(kinds(results, "growth")),
        "real": kinds_table(kinds(results, "real")),
        "peers": peers_table(found),
        "ratios": ratios_table(found),
        "stages": stages_table(results),
        "failed": "\n".join(f"* {case}: {engine}: {what}" for case, engine, what in failed(results)) or "None.",
    }
    draw_all(grown(results), found, chosen.results.parent)
    write_text(chosen.page, filled(chosen.page.read_text(encoding="utf-8"), blocks))


def speed_of(results: Sequence[Entry]) -> str:
    """How fast the machine was meanwhile, in words."""
    took = sorted(entry["yardstick"] for entry in results if "yardstick" in entry)
    if not took:
        return ""
    spread = f"{took[0]:.2f} to {took[-1]:.2f} s, median {median(took):.2f}"
    return f"; a fixed piece of work (`measure.yardstick`) took {spread}"


def filled(text: str, blocks: dict[str, str]) -> str:
    """The page with its blocks replaced; a block that the page does not have is left out."""
    for name, content in blocks.items():
        pattern = re.compile(rf"(<!-- {name} -->\n).*?(<!-- end {name} -->)", re.DOTALL)
        text = pattern.sub(lambda match, new=content: f"{match[1]}{new}\n{match[2]}", text)  # type: ignore[misc]
    return text


def table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """A Markdown table; all columns but the first to the right."""
    lines = [head, ["---", *["---:"] * (len(head) - 1)], *rows]
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)


def promises_table(rows: Sequence[Promise]) -> str:
    """One line per promise."""
    words = {True: "yes", False: "**no**", None: "-"}
    return table(("asked for", "measured", "reached"), [(row.asked, row.measured, words[row.reached]) for row in rows])


def kinds_table(rows: Sequence[Kind]) -> str:
    """One line per kind."""
    return table(
        HEAD,
        [
            (
                row.name,
                f"{row.proved} of {row.instances}",
                seconds(row.first_s),
                seconds(row.total_s),
                " / ".join(per_cent(gap) for gap in row.gaps),
                f"{row.work:.1f}",
                f"{row.arcs:,}",
                f"{row.usable:,}",
                f"{row.last_band:,}",
                f"{row.peak_mb:,}",
            )
            for row in rows
        ],
    )


def peers_table(found: Sequence[Duel]) -> str:
    """One line per instance; clock seconds."""
    rows = []
    for duel in found:
        cells = [duel.name, f"{seconds(duel.ours_s)}{'' if duel.ours_proved else ' (open)'}"]
        for engine in ("highs", "cpsat"):
            rival = next((r for r in duel.rivals if r.engine == engine), None)
            if rival is None:
                cells += ["-", "-"]
                continue
            more = "" if rival.proved else f" (open, {'no routine' if rival.score is None else rival.score})"
            mark = "at least " if rival.at_least else ""
            cells += [f"{seconds(rival.clock_s)}{more}", f"{mark}{rival.ratio:.1f}" if duel.ours_proved else "-"]
        rows.append(cells)
    return table(("instance", "this tool", "HiGHS", "times as long", "CP-SAT", "times as long"), rows)


def ratios_table(found: Sequence[Duel]) -> str:
    """Medians of the ratios per kind."""
    words = {"highs": "HiGHS", "cpsat": "CP-SAT"}
    rows = [
        (kind, words[engine], str(number), f"{'at least ' if least else ''}{ratio:.1f}")
        for engine in words
        for kind, number, ratio, least in ratios(found, engine)
    ]
    return table(("kind", "peer", "instances", "median ratio"), rows)


def stages_table(results: Sequence[Entry]) -> str:
    """What comes before any search, in processor seconds."""
    rows = []
    for entry in results:
        facts = network_of(entry)
        if entry["name"].endswith(("#0", "laps", "dance", "showcase", "travelling")) and facts["arcs"]:
            sizes = [f"{facts[key]:,}" for key in ("arcs", "nodes", "rows", "weights")]
            times = [f"{facts[key]:.2f}" for key in ("build cpu", "state cpu", "arrays cpu")]
            rows.append([entry["name"], *sizes, *times])
    return table(("instance", "arcs", "nodes", "rows", "weights", "build", "state", "arrays"), rows)


def seconds(value: float | None) -> str:
    """Seconds for people."""
    return "-" if value is None else f"{value:.2f} s" if value < 10 else f"{value:.0f} s"


def per_cent(value: float | None) -> str:
    """A part as per cent."""
    return "-" if value is None else "0" if value == 0 else f"{100 * value:.1f} %"


if __name__ == "__main__":
    main()
