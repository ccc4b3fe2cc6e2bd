"""Scores listening on the ``score`` half of the listening set and says whether the goals are met.

    python scripts/listening/score.py FOLDER [--every N] [--harsh] [--free] [--json FILE]

Judge of beats: mir_eval (F within 70 ms, first five seconds left out as usual). Phrases: F of phrase starts within
half a second; the very beginning and the closing chord are not counted, for they are no choice. Bars are judged where
the file's own notes bear them out (barlines.py); "all bars" counts the rest too. Recordings: the games' tempo maps
lag or lead the sound by a constant; its median is taken away first. ``--harsh`` scores the same music again as
32 kbit/s MP3 and with noise and room sound. ``--free`` scores without a tempo range, for which no goal is set. In
brackets: where the mean would lie 95 times of 100 for other tracks of the same kind (bootstrap). "All generated": every
song of the scoring half together, of which the first kinds were scored often and looked at; only nothing was fitted on
them. "midi later": the pieces of the games added last (pieces.py), "midi first" the others.
"""

from __future__ import annotations

import argparse
import json
from collections import defaultdict
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Any

import mir_eval
import numpy as np
import soundfile
from fresh import KINDS
from heard import heard as heard_before
from heard import truths
from pieces import LATER
from treatments import TREATMENTS, as_mp3, in_a_room

from composer.listening.audio import RATE, Sound, load
from composer.listening.beats import Track
from composer.listening.corrections import Corrections
from composer.listening.doubt import ASK_BELOW
from composer.listening.features import hear
from composer.listening.listen import Asked, timeline_of

GENERATED = ("made", "loose", "more", *KINDS)
GOALS = {f"{what} {kind}": goal for kind in GENERATED
         for what, goal in (("beat", 0.99), ("bars", 0.99), ("phrases", 0.90), ("anchored", 0.97))}  # fmt: skip
GOALS |= {f"{what} {kind}": goal for kind in ("midi", "midi first", "midi later")
          for what, goal in (("beat", 0.95), ("bars", 0.90))}  # fmt: skip
GOALS |= {"beat band": 0.95, "bars band": 0.85, "claimed bars": 0.98}


def one(job: tuple[Path, str, bool]) -> dict[str, Any]:
    path, treatment, free = job
    truth = json.loads(path.read_text())
    if treatment == "plain":
        heard, beats_before, fit = heard_before(path, truth)
        track = None if free else Track(beats_before, fit)
        length_s = soundfile.info(path.parent / truth["file"]).duration
        sound = Sound(np.zeros(0, np.float32), length_s)
    else:
        track = None
        samples = {"mp3": as_mp3, "room": in_a_room}[treatment](load(path.parent / truth["file"]).samples)
        heard = hear(samples)
        sound = Sound(samples, len(samples) / RATE)
    asked = Asked(None if free else tuple(truth["range"]), None if free else truth["metre"])
    timeline = timeline_of(heard, sound, asked, path, track)
    beats = [(b.at_s, b.in_bar) for b in (*timeline.before, *timeline.beats)]
    found = np.array([t for t, _ in beats])
    reference, place = np.array(truth["beats"]), np.array(truth["in_bar"])
    sounding = reference >= truth.get("first_sound", 0) - 0.01
    reference, place = reference[sounding], place[sounding]
    if truth["kind"] == "band":
        off = found[np.abs(found[:, None] - reference[None]).argmin(axis=0)] - reference
        reference = reference + np.median(off[np.abs(off) < 0.1])
    inside = (found > reference[0] - 0.2) & (found < reference[-1] + 0.3)
    firsts = np.array([t for (t, p), keep in zip(beats, inside, strict=True) if p == 1 and keep])
    result = {
        "name": path.stem, "kind": truth["kind"], "treatment": treatment,
        "beat": f_measure(reference, found[inside]), "all bars": f_measure(reference[place == 1], firsts),
        "metre": timeline.beats_per_bar == truth["metre"], "sure": timeline.confidence,
    }  # fmt: skip
    if not truth.get("beats_judged", True):
        del result["beat"]
    if truth.get("bars_judged", True):
        result["bars"] = result["all bars"]
    if "phrases" in truth:
        result["phrases"] = phrase_score(timeline, truth)
        anchor = reference[place == 1][truth["phrases"][0]]
        bar_times = np.array([timeline.beats[0].at_s, *[b.at_s for b in timeline.beats[1:] if b.in_bar == 1]])
        bar = int(np.abs(bar_times - anchor).argmin()) + 1
        anchored = Asked(asked.tempo_range, asked.beats_per_bar, Corrections(phrase_starts=(bar,)))
        again = timeline_of(heard, sound, anchored, path, track)
        result["anchored"] = phrase_score(again, truth)
    return result


def f_measure(reference: np.ndarray, found: np.ndarray) -> float:
    trimmed = [mir_eval.beat.trim_beats(np.sort(t)) for t in (reference, found)]
    return float(mir_eval.beat.f_measure(*trimmed)) if len(trimmed[0]) and len(trimmed[1]) else 0.0


def phrase_score(timeline: Any, truth: dict[str, Any]) -> float:
    firsts = np.array(truth["beats"])[np.array(truth["in_bar"]) == 1]
    true = np.array([firsts[p] for p in truth["phrases"]])
    end = sum(bars for _, bars, _ in truth["sections"]) + truth["first"]
    close = firsts[min(end, len(firsts) - 1)] - 0.6
    starts = np.array([timeline.beats[p.start].at_s for p in timeline.phrases])
    keep = (starts < close) & ((starts > firsts[0] + 0.6) | (truth["first"] == 0))
    starts = starts[keep]
    both = len(mir_eval.util.match_events(true, starts, 0.5)) if len(starts) else 0
    return 2 * both / max(1, len(true) + len(starts))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--every", type=int, default=1, help="score every Nth track only")
    parser.add_argument("--harsh", action="store_true")
    parser.add_argument("--free", action="store_true")
    parser.add_argument("--json", type=Path)
    options = parser.parse_args()
    paths = truths(options.folder, "score")
    treatments = TREATMENTS if options.harsh else ("plain",)
    jobs = [(p, t, options.free) for t in treatments for p in paths[:: options.every]]
    with ProcessPoolExecutor(2) as pool:
        results = list(pool.map(one, jobs, chunksize=4))
    if options.json:
        options.json.write_text(json.dumps(results, indent=1))
    report(results, {} if options.free else GOALS)


def interval(values: list[float]) -> tuple[float, float]:
    """Where 95 of 100 means of as many tracks drawn anew from these lie (bootstrap, 5000 drawings)."""
    drawn = np.random.default_rng(1).choice(values, (5000, len(values))).mean(axis=1)
    return float(np.percentile(drawn, 2.5)), float(np.percentile(drawn, 97.5))


def report(results: list[dict[str, Any]], goals: dict[str, float]) -> None:
    means: dict[str, list[float]] = defaultdict(list)
    for r in results:
        for what in ("beat", "bars", "all bars", "phrases", "anchored"):
            if what in r:
                extra = "" if r["treatment"] == "plain" else f" {r['treatment']}"
                means[f"{what} {r['kind']}{extra}"].append(r[what])
                if r["kind"] == "midi":
                    when = "later" if r["name"].startswith(LATER) else "first"
                    means[f"{what} midi {when}{extra}"].append(r[what])
                if r["kind"] in GENERATED:
                    means[f"{what} all generated{extra}"].append(r[what])
        for what, goal in (("bars", 0.9), ("phrases", 0.85)):
            if r["sure"].get(what, 0) >= ASK_BELOW and what in r:
                means[f"claimed {what}"].append(float(r[what] >= goal))
                means[f"claimed {what} {r['kind']}"].append(float(r[what] >= goal))
    for key, values in sorted(means.items()):
        goal = goals.get(key)
        verdict = "" if goal is None else f"  goal {goal:.2f} {'met' if np.mean(values) >= goal else 'MISSED'}"
        low, high = interval(values)
        spread = f"{np.mean(values):.3f} ({low:.3f} to {high:.3f})"
        print(f"{key:24s} {spread}  least {min(values):.2f}  n={len(values)}{verdict}")
    print("metre right:", sum(r["metre"] for r in results), "of", len(results))
    for r in results:
        if r.get("beat", 1) < 0.9 or r.get("bars", 1) < 0.85:
            scores = ", ".join(f"{what} {r[what]:.2f}" for what in ("beat", "bars") if what in r)
            print(f"  {r['name']} ({r['treatment']}): {scores}, sure {r['sure']}")


if __name__ == "__main__":
    main()
