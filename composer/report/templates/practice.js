// The practice page: plays the click or a recording, moves the dancers, shows counts and figures. The sums are in
// practice-core.js. Keys: space play, left/right one count, up/down speed, L loop the phrase, Home to the start.
"use strict";
(function () {
  const core = globalThis.PracticeCore;
  const data = JSON.parse(document.getElementById("routine-data").textContent);
  const at = (id) => document.getElementById(id);
  const audio = at("track");
  const state = { playing: false, tick: 0, rate: 1, loop: null, anchor: null, source: "click", booked: 0, sounds: [] };
  let context = null;

  const seconds = (tick) => core.secondsAt(data.beats, tick);
  const endOf = () => data.beats[data.beats.length - 1];

  function clockNow() { return context ? context.currentTime : performance.now() / 1000; }

  // What is heard now was sent to the loudspeaker a little earlier; the picture follows the ear.
  function heardNow() { return clockNow() - (context ? context.outputLatency || 0 : 0); }

  // With a recording its own clock leads; "shift" is where the routine's first second lies in the recording.
  function shift() { return state.source === "track" ? Number(at("shift").value) || 0 : 0; }

  function musicNow() {
    if (!state.playing) { return seconds(state.tick); }
    if (state.source === "track") { return audio.currentTime - shift(); }
    return core.musicAt(state.anchor, state.rate, state.loop, heardNow());
  }

  function wakeAudio() {
    if (!context && globalThis.AudioContext) { context = new AudioContext(); }
    if (context && context.state === "suspended") { context.resume(); }
  }

  function click(clock, accent) {
    const tone = context.createOscillator();
    const loud = context.createGain();
    tone.frequency.value = accent ? 1760 : 1100;
    loud.gain.setValueAtTime(accent ? 0.5 : 0.28, clock);
    loud.gain.exponentialRampToValueAtTime(0.001, clock + 0.05);
    tone.connect(loud).connect(context.destination);
    tone.start(clock);
    tone.stop(clock + 0.06);
    state.sounds.push(tone);
    tone.onended = () => { state.sounds = state.sounds.filter((other) => other !== tone); };
  }

  function bookClicks() {
    if (!context || !state.playing || !at("click-on").checked || state.source === "track") { return; }
    const until = clockNow() + 0.25;
    const from = Math.max(state.booked, clockNow());
    if (until > from) {
      core.clicksBetween(data, state.anchor, state.rate, state.loop, from, until).forEach((c) => click(c.clock, c.accent));
      state.booked = until;
    }
  }

  function hush() {
    state.sounds.forEach((tone) => { try { tone.stop(); } catch (error) { /* already ended */ } });
    state.sounds = [];
  }

  function anchorHere(music) {
    hush();
    state.anchor = { clock: clockNow() + 0.06, music: music };
    state.booked = 0;
  }

  function play() {
    wakeAudio();
    if (state.tick >= data.length - 1) { state.tick = state.loop ? core.tickAt(data.beats, state.loop.from) : 0; }
    const music = seconds(state.tick);
    anchorHere(music);
    state.playing = true;
    if (state.source === "track") {
      audio.playbackRate = state.rate;
      audio.preservesPitch = true;
      audio.currentTime = Math.max(0, music + shift());
      audio.play().catch((error) => { pause(); say("The recording cannot be played: " + error.message); });
    }
    at("play").textContent = "Pause";
    requestAnimationFrame(frame);
  }

  function pause() {
    if (state.playing) { state.tick = Math.max(0, Math.min(core.tickAt(data.beats, musicNow()), data.length)); }
    state.playing = false;
    hush();
    audio.pause();
    at("play").textContent = "Play";
    draw();
  }

  function jump(tick) {
    state.tick = Math.max(0, Math.min(tick, data.length));
    if (state.playing) {
      anchorHere(seconds(state.tick));
      if (state.source === "track") { audio.currentTime = Math.max(0, seconds(state.tick) + shift()); }
    }
    draw();
  }

  function setRate(percent) {
    const value = Math.max(40, Math.min(130, percent));
    const music = musicNow();
    state.rate = value / 100;
    at("speed").value = value;
    at("speed-shown").textContent = value + " %";
    audio.playbackRate = state.rate;
    if (state.playing) { anchorHere(music); }
  }

  function setLoop(phrase) {
    state.loop = phrase ? { from: seconds(phrase.start), to: seconds(phrase.end), number: phrase.number } : null;
    at("loop").setAttribute("aria-pressed", phrase ? "true" : "false");
    at("loop").textContent = phrase ? "Looping phrase " + phrase.number : "Loop this phrase";
    if (state.playing) {
      const music = musicNow();
      anchorHere(phrase && (music < state.loop.from || music >= state.loop.to) ? state.loop.from : music);
    }
  }

  function toggleLoop() {
    setLoop(state.loop ? null : core.partAt(data.phrases, state.tick));
  }

  function say(words) { at("message").textContent = words; }

  // Drawing: the only place that touches the picture.
  const px = (key) => [(key[1] - data.frame.x0) * data.frame.scale, (data.frame.y1 - key[2]) * data.frame.scale];
  function put(id, key) {
    const [x, y] = px(key);
    at(id).setAttribute("transform", "translate(" + x.toFixed(2) + " " + y.toFixed(2) + ") rotate(" + (key[3] * 22.5).toFixed(2) + ")");
  }

  let shownFigure = null;
  let shownCount = "";
  function draw() {
    const tick = Math.max(0, Math.min(state.tick, data.length));
    for (const role of ["leader", "follower"]) {
      put(role, core.placeAt(data.bodies[role], tick));
      for (const side of ["left", "right"]) {
        const key = core.placeAt(data.feet[role + "_" + side], tick);
        put(role + "-" + side, key);
        at(role + "-" + side).classList.toggle("stands", Boolean(key[4]));
      }
    }
    const count = core.countAt(data, tick);
    const words = count.phrase + "|" + count.routine;
    if (words !== shownCount) {
      shownCount = words;
      at("count").textContent = String(count.phrase);
      at("count-routine").textContent = "count " + count.routine + " of " + data.length / core.TICKS + ", beat " + count.inBar + " of the bar";
    }
    const figure = core.partAt(data.figures, tick);
    if (figure !== shownFigure) { showFigure(figure); }
    showSteps(figure, tick);
    follow(tick);
    const share = tick / data.length;
    at("progress").value = Math.round(share * 1000);
    placeHead(tick);
  }

  function showFigure(figure) {
    shownFigure = figure;
    at("figure").textContent = figure.number + ". " + figure.name;
    at("hold").textContent = (figure.leads ? figure.leads + ", " : "") + figure.hold;
    const next = data.figures[figure.number];
    const taken = next && next.leads && next.leads !== figure.leads ? ", " + next.leads : "";
    at("next").textContent = next ? "then " + next.name + taken : "then hold the last position";
    document.querySelectorAll("button.block").forEach((block) => {
      const here = Number(block.dataset.figure) === figure.number;
      block.classList.toggle("here", here);
      if (here) { block.setAttribute("aria-current", "step"); } else { block.removeAttribute("aria-current"); }
    });
  }

  const shownStep = { leader: null, follower: null };
  function showSteps(figure, tick) {
    for (const role of ["leader", "follower"]) {
      const steps = figure[role];
      let now = steps[0];
      for (const step of steps) { if (step.tick <= tick + 1e-6) { now = step; } }
      if (shownStep[role] !== now) {
        shownStep[role] = now;
        at(role + "-step").textContent = now.count + ": " + now.words;
      }
    }
  }

  function follow(tick) {
    const svg = at("floor");
    if (!data.frame.follow || !at("follow").checked) { svg.setAttribute("viewBox", data.frame.whole); return; }
    const a = px(core.placeAt(data.bodies.leader, tick));
    const b = px(core.placeAt(data.bodies.follower, tick));
    const wide = 6000 * data.frame.scale;
    const tall = wide * 0.66;
    svg.setAttribute("viewBox", ((a[0] + b[0] - wide) / 2).toFixed(1) + " " + ((a[1] + b[1] - tall) / 2).toFixed(1) + " " + wide.toFixed(1) + " " + tall.toFixed(1));
  }

  function placeHead(tick) {
    document.querySelectorAll(".row").forEach((row) => {
      const start = Number(row.dataset.start);
      const end = Number(row.dataset.end);
      const here = tick >= start && (tick < end || (end === data.length && tick >= end));
      row.classList.toggle("here", here);
      if (here) { row.style.setProperty("--at", String((tick - start) / (end - start))); }
    });
  }

  function frame() {
    if (!state.playing) { return; }
    const music = musicNow();
    if (state.source === "track" && state.loop && (music >= state.loop.to || music < state.loop.from - 0.5)) {
      audio.currentTime = state.loop.from + shift();
    }
    state.tick = Math.max(0, Math.min(core.tickAt(data.beats, music), data.length));
    draw();
    if (!state.loop && (music >= endOf() || (state.source === "track" && audio.ended))) { pause(); return; }
    requestAnimationFrame(frame);
  }
  setInterval(bookClicks, 60);

  // Controls.
  at("play").addEventListener("click", () => (state.playing ? pause() : play()));
  at("back").addEventListener("click", () => step(-1));
  at("on").addEventListener("click", () => step(1));
  at("loop").addEventListener("click", toggleLoop);
  at("speed").addEventListener("input", () => setRate(Number(at("speed").value)));
  at("progress").addEventListener("input", () => jump(Number(at("progress").value) / 1000 * data.length));
  at("click-on").addEventListener("change", () => { hush(); state.booked = clockNow(); });
  at("follow").addEventListener("change", draw);
  function step(by) { pause(); state.tick = core.stepFrom(state.tick, by, data.length); draw(); }
  document.querySelectorAll("button.block").forEach((block) => {
    block.addEventListener("click", () => jump(data.figures[Number(block.dataset.figure) - 1].start));
  });
  document.querySelectorAll("button.phrase").forEach((button) => {
    button.addEventListener("click", () => {
      const phrase = data.phrases[Number(button.dataset.phrase) - 1];
      if (state.loop) { setLoop(phrase); }
      jump(phrase.start);
    });
  });
  at("file").addEventListener("change", () => {
    const file = at("file").files[0];
    if (file) { useTrack(URL.createObjectURL(file)); say("Playing from " + file.name + "."); }
  });
  document.querySelectorAll("input[name=source]").forEach((radio) => radio.addEventListener("change", () => {
    pause();
    state.source = document.querySelector("input[name=source]:checked").value;
    if (state.source === "track" && !audio.getAttribute("src")) { say("Choose a recording first."); }
  }));
  function useTrack(address) {
    pause();
    audio.src = address;
    state.source = "track";
    at("source-track").checked = true;
  }
  document.addEventListener("keydown", (event) => {
    const typing = event.target.matches("input, button, select, summary, a");
    const plain = !event.ctrlKey && !event.metaKey && !event.altKey;
    if (!plain || (typing && event.key !== "l" && event.key !== "L")) { return; }
    const act = {
      " ": () => (state.playing ? pause() : play()), ArrowLeft: () => step(-1), ArrowRight: () => step(1),
      ArrowUp: () => setRate(Math.round(state.rate * 100) + 5), ArrowDown: () => setRate(Math.round(state.rate * 100) - 5),
      l: toggleLoop, L: toggleLoop, Home: () => jump(0),
    }[event.key];
    if (act) { event.preventDefault(); act(); }
  });

  // For tests and for the curious: what is shown right now, read from the picture itself.
  globalThis.practice = {
    shown: () => ({
      tick: state.tick, playing: state.playing, rate: state.rate,
      leader: at("leader").getAttribute("transform"), follower: at("follower").getAttribute("transform"),
      count: at("count").textContent, routine: at("count-routine").textContent, figure: at("figure").textContent,
    }),
    play, pause, jump, setRate, setLoop, frame: data.frame,
  };
  setRate(100);
  draw();
})();
