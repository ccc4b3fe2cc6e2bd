// Everything the practice page works out, without a page: time and ticks, places on the floor, counts, clicks, loops.
// Conventions: "seconds" are seconds of the music as the routine knows it; a tick is 1/12 of a beat; tick 0 is the
// first danced beat. Keys of a track are [tick, x, y, turn(sixteenths), weight]. Tested with node.
"use strict";
(function (root) {
  const TICKS = 12;

  // Seconds of the music at a tick; straight between beats, at the first or last beat's tempo outside them.
  function secondsAt(beats, tick) {
    const last = beats.length - 1;
    const beat = tick / TICKS;
    const index = Math.min(Math.max(Math.floor(beat), 0), Math.max(last - 1, 0));
    return beats[index] + (beats[Math.min(index + 1, last)] - beats[index]) * (beat - index);
  }

  // The inverse of secondsAt (ticks need not be whole).
  function tickAt(beats, seconds) {
    const last = beats.length - 1;
    let low = 0;
    let high = Math.max(last - 1, 0);
    while (low < high) {
      const middle = Math.ceil((low + high) / 2);
      if (beats[middle] <= seconds) { low = middle; } else { high = middle - 1; }
    }
    const span = beats[Math.min(low + 1, last)] - beats[low];
    return span > 0 ? (low + (seconds - beats[low]) / span) * TICKS : low * TICKS;
  }

  // Place on a track at a tick: straight between the two keys around it.
  function placeAt(keys, tick) {
    let low = 0;
    let high = keys.length - 1;
    if (tick <= keys[0][0]) { return keys[0]; }
    if (tick >= keys[high][0]) { return keys[high]; }
    while (high - low > 1) {
      const middle = (low + high) >> 1;
      if (keys[middle][0] <= tick) { low = middle; } else { high = middle; }
    }
    const a = keys[low];
    const b = keys[high];
    const share = (tick - a[0]) / (b[0] - a[0]);
    return [tick, a[1] + (b[1] - a[1]) * share, a[2] + (b[2] - a[2]) * share, a[3] + (b[3] - a[3]) * share, a[4]];
  }

  // The part (figure, phrase: objects with start and end ticks) that holds a tick; the last one at the very end.
  function partAt(parts, tick) {
    for (const part of parts) {
      if (tick >= part.start && tick < part.end) { return part; }
    }
    return tick < 0 || !parts.length ? null : parts[parts.length - 1];
  }

  // What dancers say at a tick: count in the routine, in its phrase, in its figure, beat of the bar (all from 1).
  function countAt(data, tick) {
    const least = Math.max(0, Math.min(tick, data.length - 1e-9));
    const beat = Math.floor(least / TICKS);
    const phrase = partAt(data.phrases, least);
    const figure = partAt(data.figures, least);
    return {
      routine: beat + 1,
      phrase: phrase ? Math.floor((least - phrase.start) / TICKS) + 1 : beat + 1,
      figure: figure ? Math.floor((least - figure.start) / TICKS) + 1 : beat + 1,
      inBar: data.inBar[Math.min(beat, data.inBar.length - 1)],
    };
  }

  // Position in the music (seconds) at a moment of the clock, for playing from `anchor` = {clock, music} at `rate`,
  // going round in `loop` = {from, to} (seconds of the music) when there is one.
  function musicAt(anchor, rate, loop, clock) {
    const music = anchor.music + (clock - anchor.clock) * rate;
    if (!loop || music < loop.to || anchor.music >= loop.to) { return music; }
    return loop.from + (music - loop.to) % (loop.to - loop.from);
  }

  // Clicks that fall in [from, to) of the clock: [{clock, tick, accent}], loops unrolled. Beats up to `end` (ticks).
  function clicksBetween(data, anchor, rate, loop, from, to) {
    const found = [];
    const beats = data.beats;
    const count = data.inBar.length;
    const looping = loop && anchor.music < loop.to;
    const round = looping ? loop.to - loop.from : Infinity;
    for (let turn = 0; ; turn += 1) {
      // The stretch of music of this turn and the clock time at which it begins.
      const start = turn === 0 ? anchor.music : loop.from;
      const begins = turn === 0 ? anchor.clock : anchor.clock + ((loop.to - anchor.music) + (turn - 1) * round) / rate;
      const end = looping ? loop.to : beats[count];
      if (begins >= to) { break; }
      for (let beat = 0; beat < count; beat += 1) {
        const music = beats[beat];
        if (music < start - 1e-6 || music >= end - 1e-6) { continue; }
        const clock = begins + (music - start) / rate;
        if (clock >= from - 1e-9 && clock < to - 1e-9) {
          found.push({ clock: clock, tick: beat * TICKS, accent: data.inBar[beat] === 1 });
        }
      }
      if (!looping) { break; }
    }
    return found;
  }

  // The next or the previous whole count from a tick.
  function stepFrom(tick, by, length) {
    const beat = by > 0 ? Math.floor(tick / TICKS + 1e-6) + 1 : Math.ceil(tick / TICKS - 1e-6) - 1;
    return Math.max(0, Math.min(beat * TICKS, length - TICKS));
  }

  const core = { TICKS, secondsAt, tickAt, placeAt, partAt, countAt, musicAt, clicksBetween, stepFrom };
  if (typeof module !== "undefined" && module.exports) { module.exports = core; }
  root.PracticeCore = core;
})(typeof globalThis !== "undefined" ? globalThis : this);
