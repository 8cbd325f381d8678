"use strict";
// The timer to the next step of a make. It is kept on this phone, so that it survives a reload, and rings on whatever
// page is open. Browsers make no sound before a touch, so the touch that starts it, or any later one, opens the sound.
(() => {
  const place = document.getElementById("timers");
  if (!place) return;
  const KEY = "rindwatch-timers";
  const RING_FOR_MS = 5 * 60000, CLOSED_MS = 5000, LOOK_MS = 1000, FORGET_MS = 2 * 86400e3;
  const NOTES_HZ = [880, 880, 1175], NOTE_S = 0.2;
  let sound = null, awake = null, beats = 0, title = null;

  // Timers by make: {step, path, dueMs, group of its entry, rangMs: when it first rang, or null}.
  function read() {
    try {
      return JSON.parse(localStorage.getItem(KEY)) ?? {};
    } catch {
      return {};
    }
  }
  const write = (timers) => localStorage.setItem(KEY, JSON.stringify(timers));

  function openSound() {
    if (Object.keys(read()).length === 0 || !window.AudioContext) return;
    sound ??= new AudioContext();
    if (sound.state === "suspended") sound.resume().catch(() => {});
  }

  function beep() {
    if (sound?.state !== "running") return;
    NOTES_HZ.forEach((hertz, number) => {
      const tone = sound.createOscillator(), loudness = sound.createGain();
      const at = sound.currentTime + number * NOTE_S * 1.2;
      tone.frequency.value = hertz;
      tone.type = "square";
      loudness.gain.value = 0.4;
      tone.connect(loudness).connect(sound.destination);
      tone.start(at);
      tone.stop(at + NOTE_S);
    });
  }

  // A dark screen stops the page; while a timer runs the phone is asked to stay awake. Over plain http it is not asked.
  async function stayAwake(wanted) {
    if (!navigator.wakeLock || document.hidden) return;
    if (wanted && (!awake || awake.released)) awake = await navigator.wakeLock.request("screen");
    else if (!wanted && awake) [awake] = [null, await awake.release()];
  }

  const clock = (ms) => new Date(ms).toLocaleTimeString("en-GB", {hour: "2-digit", minute: "2-digit"});

  function span(ms) {
    const seconds = Math.max(0, Math.ceil(ms / 1000)), minutes = Math.floor(seconds / 60);
    if (minutes < 60) return `${minutes}:${String(seconds % 60).padStart(2, "0")}`;
    return minutes < 1440 ? `${Math.floor(minutes / 60)} h ${minutes % 60} min` : `${Math.floor(minutes / 1440)} days`;
  }

  function long(ms) {
    const minutes = Math.max(1, Math.round(ms / 60000));
    return minutes < 60 ? `${minutes} min` : minutes < 1440 ? `${Math.floor(minutes / 60)} h ${minutes % 60} min` : `${Math.floor(minutes / 1440)} days`;
  }

  function wordsOf({step, dueMs, rangMs}, nowMs) {
    if (dueMs > nowMs) return `${step} in ${span(dueMs - nowMs)}, at ${clock(dueMs)}`;
    const late = nowMs - dueMs;
    if (rangMs && rangMs - dueMs > CLOSED_MS) return `${step}: it was due at ${clock(dueMs)}, ${long(late)} ago, while no page was open.`;
    return late < 60000 ? `${step}: now` : `${step}: it was due at ${clock(dueMs)}, ${long(late)} ago`;
  }

  function stop(make) {
    const timers = read(), {step} = timers[make];
    delete timers[make];
    write(timers);
    const {ids, outbox} = window.rindwatch;
    const body = {kind: "make", next_step: "", next_at: null};
    outbox.save([{id: ids.newId(), group_id: ids.newId(), make_id: make, ...outbox.stamp(), body}], `${step}: timer stopped`)
      .catch((error) => console.info(`timer stopped here only: ${error.name}`));
    look();
  }

  function lineOf(make) {
    const known = place.querySelector(`[data-make="${CSS.escape(make)}"]`);
    if (known) return known;
    const line = document.createElement("div"), link = document.createElement("a"), button = document.createElement("button");
    line.dataset.make = make;
    Object.assign(button, {type: "button", className: "quiet", textContent: "Stop"});
    button.addEventListener("click", () => stop(make));
    line.append(link, button);
    place.append(line);
    return line;
  }

  function show(make, timer, nowMs) {
    const line = lineOf(make), link = line.querySelector("a"), words = wordsOf(timer, nowMs);
    const due = timer.dueMs <= nowMs;
    link.href = timer.path;
    if (link.textContent !== words) link.textContent = words;
    // Read out once it rings; a countdown that is read out each second would drown everything else.
    line.setAttribute("role", due ? "alert" : "timer");
    line.classList.toggle("rings", due);
    line.querySelector("button").setAttribute("aria-label", `Stop: ${timer.step}`);
  }

  function look() {
    const timers = read(), nowMs = Date.now();
    for (const [make, timer] of Object.entries(timers)) {
      if (nowMs - timer.dueMs > FORGET_MS) delete timers[make];
      else if (timer.dueMs <= nowMs && !timer.rangMs) timer.rangMs = nowMs;
    }
    write(timers);
    for (const line of [...place.children]) if (!timers[line.dataset.make]) line.remove();
    for (const [make, timer] of Object.entries(timers)) show(make, timer, nowMs);
    place.hidden = place.children.length === 0;
    const ringing = Object.values(timers).find(({rangMs}) => rangMs && nowMs - rangMs < RING_FOR_MS);
    ring(ringing);
    stayAwake(Object.values(timers).some(({dueMs}) => dueMs > nowMs)).catch(() => {});
  }

  function ring(timer) {
    // The page's own title comes back between the beats and afterwards.
    if (title !== null) [document.title, title] = [title, null];
    if (!timer) return;
    if (beats++ % 2 === 0) [title, document.title] = [document.title, `${timer.step}: now!`];
    beep();
    // Refused without a touch on the page, and unknown to some browsers.
    if (navigator.userActivation?.hasBeenActive) navigator.vibrate?.([400, 200, 400]);
  }

  function start(make, step, path, dueMs, group = "") {
    write({...read(), [make]: {step, path, dueMs, group, rangMs: null}});
    look();
  }

  const MINUTES = /^(?:(\d+) *(?:h|:) *)?(?:(\d+(?:[.,]\d+)?) *(?:min|m)?)?$/;

  function minutesOf(text) {
    const read = MINUTES.exec(text.trim());
    const found = read ? Number(read[1] ?? 0) * 60 + Number((read[2] ?? "0").replace(",", ".")) : NaN;
    return found > 0 && found <= 7 * 1440 ? found : null;
  }

  // The same as the house does with the form, but the page stays, and with it the sound.
  async function submitted(event) {
    const form = event.target, button = event.submitter;
    if (button?.value && button.value !== "own") form.elements.own_minutes.value = button.value;
    const minutes = minutesOf(form.elements.own_minutes.value);
    if (minutes === null || !(await window.rindwatch.store.works())) return form.submit();
    const make = form.dataset.make, step = form.elements.step.value.trim() || "The next step";
    const dueMs = Date.now() + Math.round(minutes * 60000);
    const {ids, outbox} = window.rindwatch, group_id = ids.newId();
    start(make, step, form.dataset.path, dueMs, group_id);
    openSound();
    fillSheet(step, dueMs);
    const body = {kind: "make", next_step: step, next_at: new Date(dueMs).toISOString()};
    await outbox.save([{id: ids.newId(), group_id, make_id: make, ...outbox.stamp(), body}], `${step}: timer for ${clock(dueMs)}`);
    form.elements.own_minutes.value = "";
  }

  // The sheet on this page must not say otherwise when it is kept next.
  function fillSheet(step, dueMs) {
    const at = new Date(dueMs - new Date(dueMs).getTimezoneOffset() * 60000).toISOString().slice(0, 16);
    for (const [name, value] of [["next_step", step], ["next_at", at]]) {
      const field = document.querySelector(`form:not([data-timer]) [name="${name}"]`);
      if (field) field.value = value;
    }
  }

  for (const form of document.querySelectorAll("form[data-timer]")) {
    // One that was started on another phone, or without script, rings here too.
    const dueMs = Date.parse(form.dataset.nextAt);
    if (dueMs > Date.now() && !read()[form.dataset.make]) start(form.dataset.make, form.dataset.nextStep, form.dataset.path, dueMs);
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      submitted(event).catch(() => form.submit());
    });
  }
  document.addEventListener("outbox", ({detail: {kind, group}}) => {
    if (kind !== "undone") return;
    write(Object.fromEntries(Object.entries(read()).filter(([, timer]) => timer.group !== group)));
    look();
  });
  document.addEventListener("click", openSound);
  document.addEventListener("visibilitychange", look);
  addEventListener("storage", ({key}) => { if (key === KEY) look(); });
  setInterval(look, LOOK_MS);
  look();
})();
