// Tests of the practice page's sums; run by test_practice.py, or by hand: node --test tests/report/practice.test.cjs
"use strict";
const test = require("node:test");
const assert = require("node:assert");
const path = require("node:path");
const core = require(process.env.PRACTICE_CORE || path.join(__dirname, "../../composer/report/templates/practice-core.js"));

// Two bars of three beats: half a second per beat, then a slower bar; the last entry is the end.
const beats = [1, 1.5, 2, 2.5, 3.25, 4, 4.75];
const data = {
  beats, inBar: [1, 2, 3, 1, 2, 3], length: 72,
  phrases: [{ number: 1, start: 0, end: 36 }, { number: 2, start: 36, end: 72 }],
  figures: [{ number: 1, start: 0, end: 24 }, { number: 2, start: 24, end: 72 }],
};

test("seconds and ticks are inverse, also outside the beats", () => {
  for (let tick = -12; tick <= 84; tick += 0.5) {
    assert.ok(Math.abs(core.tickAt(beats, core.secondsAt(beats, tick)) - tick) < 1e-9, String(tick));
  }
  assert.strictEqual(core.secondsAt(beats, 0), 1);
  assert.strictEqual(core.secondsAt(beats, 42), 2.5 + 0.375);
  assert.strictEqual(core.secondsAt(beats, 72), 4.75);
  assert.strictEqual(core.secondsAt(beats, -12), 0.5);
});

test("places are straight between keys and still outside", () => {
  const keys = [[0, 0, 0, 0, 1], [12, 120, -60, 4, 1], [36, 120, 60, -4, 0]];
  assert.deepStrictEqual(core.placeAt(keys, -5).slice(1), [0, 0, 0, 1]);
  assert.deepStrictEqual(core.placeAt(keys, 6).slice(1), [60, -30, 2, 1]);
  assert.deepStrictEqual(core.placeAt(keys, 24).slice(1), [120, 0, 0, 1]);
  assert.deepStrictEqual(core.placeAt(keys, 99).slice(1), [120, 60, -4, 0]);
  assert.deepStrictEqual(core.placeAt([[0, 5, 6, 7, 1]], 3), [0, 5, 6, 7, 1]);
});

test("counts change exactly on the beat", () => {
  assert.deepStrictEqual(core.countAt(data, 0), { routine: 1, phrase: 1, figure: 1, inBar: 1 });
  assert.deepStrictEqual(core.countAt(data, 11.999), { routine: 1, phrase: 1, figure: 1, inBar: 1 });
  assert.deepStrictEqual(core.countAt(data, 12), { routine: 2, phrase: 2, figure: 2, inBar: 2 });
  assert.deepStrictEqual(core.countAt(data, 36), { routine: 4, phrase: 1, figure: 2, inBar: 1 });
  assert.deepStrictEqual(core.countAt(data, 72), { routine: 6, phrase: 3, figure: 4, inBar: 3 });
});

test("the music goes round a loop and not outside it", () => {
  const loop = { from: 1.5, to: 2.5 };
  const anchor = { clock: 10, music: 1.75 };
  assert.strictEqual(core.musicAt(anchor, 1, loop, 10.5), 2.25);
  assert.strictEqual(core.musicAt(anchor, 1, loop, 10.75), 1.5);
  assert.strictEqual(core.musicAt(anchor, 1, loop, 12.0), 1.75);
  assert.strictEqual(core.musicAt(anchor, 0.5, loop, 12.0), 1.75);
  assert.strictEqual(core.musicAt({ clock: 10, music: 3 }, 1, loop, 11), 4);
});

test("clicks fall on the beats at any speed, bar starts accented", () => {
  const clicks = core.clicksBetween(data, { clock: 100, music: 1 }, 0.5, null, 100, 200);
  assert.deepStrictEqual(clicks.map((c) => c.tick), [0, 12, 24, 36, 48, 60]);
  assert.deepStrictEqual(clicks.map((c) => c.accent), [true, false, false, true, false, false]);
  clicks.forEach((c, i) => assert.ok(Math.abs(c.clock - (100 + (beats[i] - 1) / 0.5)) < 1e-9));
});

test("booking in slices books every click once, round a loop too", () => {
  const loop = { from: 1.5, to: 2.5 };
  const anchor = { clock: 7, music: 1 };
  const whole = core.clicksBetween(data, anchor, 0.8, loop, 7, 15);
  const slices = [];
  for (let from = 7; from < 15 - 1e-9; from += 0.25) {
    slices.push(...core.clicksBetween(data, anchor, 0.8, loop, from, Math.min(from + 0.25, 15)));
  }
  assert.deepStrictEqual(slices, whole);
  // Beat 1 once on the way in, then two beats per round of 1 s of music, at 0.8 speed.
  assert.deepStrictEqual(whole.slice(0, 6).map((c) => c.tick), [0, 12, 24, 12, 24, 12]);
  whole.forEach((c) => assert.ok(Math.abs(core.secondsAt(beats, c.tick) - core.musicAt(anchor, 0.8, loop, c.clock + 1e-7)) < 1e-5));
});

test("stepping goes to whole counts and stops at the ends", () => {
  assert.strictEqual(core.stepFrom(0, 1, 72), 12);
  assert.strictEqual(core.stepFrom(13, 1, 72), 24);
  assert.strictEqual(core.stepFrom(13, -1, 72), 12);
  assert.strictEqual(core.stepFrom(12, -1, 72), 0);
  assert.strictEqual(core.stepFrom(0, -1, 72), 0);
  assert.strictEqual(core.stepFrom(66, 1, 72), 60);
  assert.strictEqual(core.stepFrom(60, 1, 72), 60);
});
