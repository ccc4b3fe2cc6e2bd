"""Says whether the bar lines a file claims are borne out by its own notes, before anything is heard.

A MIDI file always has a grid; whether its fourth-beat groups are the bars of the music is another matter (pieces
begun with a pickup at tick 0, sequencers that write 4/4 whatever is played). The rule, fixed before any score was
looked at: over the whole piece, the notes are counted at each beat of the bar by up to seven signs (below); each
sign is standardised over the beats, and the signs are added. **Bars are judged when the file's beat 1 leads every
other beat by at least 0.1 for each sign there is.** The beats themselves are not judged only where the notes put the
off-beats ahead of the beats by as much (files begun half a beat early). No tracker takes part in this.

Signs: cymbal crashes, bass drum, (less) snare drum, length of the lowest notes that begin, length of all notes that
begin, voices that enter after a rest of four beats, change of harmony over two beats against the two before.
"""

from __future__ import annotations

from collections import defaultdict

import midi_events
import numpy as np

LEAST_LEAD_PER_SIGN = 0.1
CRASHES, KICKS, SNARES = {49, 52, 55, 57}, {35, 36}, {37, 38, 39, 40}
DRUMS, LOWEST = 9, 52
NEAR = 0.12
"""How far, in beats, a note may lie from a beat and belong to it."""


def notes_of(midi: midi_events.Midi) -> list[tuple[int, int, int, int]]:
    """(begin, end, channel, pitch) of all notes, by begin."""
    sounding: dict[tuple[int, int], list[int]] = defaultdict(list)
    notes = []
    for tick, _, message in sorted(midi.events, key=lambda event: event[0]):
        kind, key = message[0] & 0xF0, (message[0] & 0x0F, message[1])
        if kind == 0x90 and message[2]:
            sounding[key].append(tick)
        elif kind in (0x80, 0x90) and sounding[key]:
            notes.append((sounding[key].pop(0), tick, *key))
    end = midi.end()
    notes += [(begin, end, *key) for key, begins in sounding.items() for begin in begins]
    return sorted(notes)


def signs(midi: midi_events.Midi, parts: int = 1) -> dict[str, np.ndarray]:
    """Each sign per quarter note of the file, or per part of one."""
    unit = midi.per_quarter / parts
    beats = int(midi.end() // unit) + 1
    names = ("crash", "kick", "snare", "bass", "length", "enter")
    found = {name: np.zeros(beats) for name in names}
    classes = np.zeros((beats, 12))
    last: dict[int, float] = {}
    for begin, end, channel, pitch in notes_of(midi):
        at, until = begin / unit, end / unit
        beat = round(at)
        on = abs(at - beat) < NEAR and beat < beats
        if channel == DRUMS:
            for name, keys in (("crash", CRASHES), ("kick", KICKS), ("snare", SNARES)):
                if on and pitch in keys:
                    found[name][beat] = found[name][beat] + 1 if name == "crash" else 1
            continue
        for b in range(int(at), min(beats, int(np.ceil(until)))):
            classes[b, pitch % 12] += min(until, b + 1) - max(at, b)
        if on:
            held = min(4.0, until - at)
            found["length"][beat] += held
            if pitch < LOWEST:
                found["bass"][beat] = max(found["bass"][beat], held)
            if at - last.get(channel, -1e9) > 4:
                found["enter"][beat] += 1
        last[channel] = max(last.get(channel, 0.0), until)
    found["change"] = _turns(classes)
    return found


def _turns(classes: np.ndarray) -> np.ndarray:
    """1 - cosine of the pitch classes of two beats before and after each beat."""
    count = len(classes)
    sums = np.concatenate([np.zeros((1, 12)), np.cumsum(classes, axis=0)])
    out = np.zeros(count)
    for i in range(count):
        before, after = sums[i] - sums[max(0, i - 2)], sums[min(count, i + 2)] - sums[i]
        size = float(np.linalg.norm(before) * np.linalg.norm(after))
        out[i] = 1 - before @ after / size if size > 1e-9 else 0.0
    return out


def borne_out(midi: midi_events.Midi, metre: int) -> tuple[bool, float]:
    """(whether bars are judged, lead of the file's beat 1 per sign)."""
    lead = _lead(signs(midi), metre, -0.5)
    return lead >= LEAST_LEAD_PER_SIGN, round(lead, 3)


def beats_borne_out(midi: midi_events.Midi) -> tuple[bool, float]:
    """(whether beats are judged, lead of the file's beats over its off-beats per sign)."""
    lead = _lead(signs(midi, 2), 2, 1.0)
    return lead > -LEAST_LEAD_PER_SIGN, round(lead, 3)


def _lead(found: dict[str, np.ndarray], places: int, snare: float) -> float:
    """How far place 0 of ``places`` leads the best other, per sign."""
    total, count = np.zeros(places), 0
    for name, values in found.items():
        if not values.any():
            continue
        mean = np.array([values[k::places].mean() for k in range(places)])
        total += (mean - mean.mean()) / (values.std() + 1e-9) * (snare if name == "snare" else 1.0)
        count += 1
    return float(total[0] - total[1:].max()) / max(1, count)
