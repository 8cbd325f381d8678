"use strict";
// Saves what is entered and sends it to the house: one by one, oldest first, again and again until it is there.
(() => {
  const {store, ids} = window.rindwatch;
  const LOOK_MS = 4000, FIRST_WAIT_MS = 2000, LONGEST_WAIT_MS = 15000;
  const PATIENCE_MS = 20000, SLOW_BYTES_PER_MS = 20;
  const STOPS = new Set([408, 425, 429]);
  const state = {signedOut: false, lost: false, sending: false};
  let running = null, again = false, waitMs = 0, notBeforeMs = 0;

  const me = () => document.getElementById("waiting")?.dataset ?? {};
  const tell = (kind, detail = {}) => document.dispatchEvent(new CustomEvent("outbox", {detail: {kind, ...detail}}));

  // entries: as the book takes them, without the time of sending. photos: {id, bytes, type}. was: what the last of the
  // entries corrects, as it was.
  async function save(entries, words, photos = [], was = null) {
    const owner = {by: me().person ?? "", byName: me().name ?? ""};
    await store.add([
      ...photos.map(({id, bytes, type}) => ({id, sort: "photo", words: "a photo", type, bytes, ...owner})),
      ...entries.map((entry) => ({id: entry.id, sort: "entry", words, entry, was: entry.replaces ? was : null, ...owner})),
    ]);
    tell("saved", {words, group: entries[0]?.group_id ?? "", ids: entries.map((entry) => entry.id)});
    keepForLong();
    flush(true);
  }

  // Asks the browser not to clear this away; it may say no, and then the page says until when it is safe.
  async function keepForLong() {
    if (navigator.storage?.persist && !(await navigator.storage.persisted())) await navigator.storage.persist();
  }

  const stamp = () => ({done_at: new Date().toISOString(), zone: Intl.DateTimeFormat().resolvedOptions().timeZone ?? ""});

  // Takes back everything of a group: entries that say of each that it did not happen. An undone correction would leave
  // nothing standing, so what it corrected is entered again as it was.
  async function undo(group, words) {
    const known = (await store.done()).filter(({entry}) => entry.group_id === group && entry.body.kind !== "withdrawn");
    const gone = new Set((await store.done()).map(({entry}) => entry.replaces).filter(Boolean));
    const mine = known.filter(({id}) => !gone.has(id));
    if (mine.length === 0) return;
    const group_id = ids.newId();
    const about = ({wheel_id, place_id, gear_id}) => JSON.parse(JSON.stringify({wheel_id, place_id, gear_id}));
    await save(mine.map(({id, entry, was}) => ({
      id: ids.newId(), group_id, ...(was ?? {...about(entry), ...stamp(), body: {kind: "withdrawn"}}), replaces: id,
    })), words);
    tell("undone", {group});
  }

  // Takes back one entry, and nothing else of its touch. A correction is taken back with what it corrected.
  async function takeBack({id, entry, words}) {
    const about = Object.fromEntries(["wheel_id", "place_id", "gear_id"].filter((name) => entry?.[name]).map((name) => [name, entry[name]]));
    await save([{id: ids.newId(), group_id: ids.newId(), ...about, ...stamp(), replaces: id, body: {kind: "withdrawn"}}], `Taken back: ${words}`);
  }

  async function send(record) {
    const entry = record.sort === "entry";
    const body = entry ? JSON.stringify({...record.entry, sent_at: new Date().toISOString()}) : await store.content(record.id);
    return fetch(entry ? `/api/entries/${record.id}` : `/api/photos/${record.id}`, {
      method: "PUT", body, redirect: "error", cache: "no-store",
      headers: {"Content-Type": entry ? "application/json" : record.type || "application/octet-stream"},
      signal: AbortSignal.timeout(PATIENCE_MS + record.size / SLOW_BYTES_PER_MS),
    });
  }

  // Only the house's own words count: a network that asks for its own sign-in answers anything with a page.
  async function ownWords(answer) {
    try {
      return await answer.json();
    } catch {
      return null;
    }
  }

  // True when the next one may be sent.
  async function sendOne(record) {
    const answer = await send(record);
    const said = await ownWords(answer);
    if (answer.ok && said?.id === record.id) return settle(record, said);
    if (answer.status === 401 && said?.error) {
      state.signedOut = true;
      return false;
    }
    const trouble = STOPS.has(answer.status) || answer.status >= 500 || !said?.error;
    if (trouble) throw new Error(`answer ${answer.status}`);
    await store.change(record.id, {odd: {status: answer.status, what: said.error.what, hint: said.error.hint ?? "", at: Date.now()}});
    tell("odd", {id: record.id});
    return true;
  }

  async function settle(record, said) {
    const flags = (said.flags ?? []).filter(({name}) => name !== "kept_as_typed");
    const told = flags.length ? {id: record.id, words: record.words, flags: flags.map(({words}) => words), entry: record.entry, atMs: Date.now()} : null;
    await store.settle(record.id, said.received_at, told);
    state.signedOut = state.lost = false;
    waitMs = 0;
    tell("sent", {id: record.id, told: Boolean(told)});
    return true;
  }

  async function sendAll() {
    for (;;) {
      const mine = (await store.waiting()).filter(({by, odd}) => !odd && by === (me().person ?? ""));
      if (mine.length === 0 || !(await sendOne(mine[0]))) return;
    }
  }

  function wait() {
    waitMs = Math.min(waitMs * 2 || FIRST_WAIT_MS, LONGEST_WAIT_MS);
    notBeforeMs = Date.now() + waitMs;
  }

  async function attempt() {
    state.sending = true;
    try {
      await (navigator.locks ? navigator.locks.request("rindwatch-outbox", sendAll) : sendAll());
      if (state.signedOut) wait();
    } catch {
      state.lost = true;
      wait();
    } finally {
      state.sending = false;
      tell("rested");
    }
  }

  // now: something happened that may have brought the house back; else the waits grow.
  function flush(now = false) {
    if (running) {
      again ||= now;
      return running;
    }
    if (!now && Date.now() < notBeforeMs) return Promise.resolve();
    running = attempt().finally(() => {
      running = null;
      if (again) {
        again = false;
        flush();
      }
    });
    return running;
  }

  addEventListener("pageshow", () => flush(true));
  addEventListener("online", () => flush(true));
  addEventListener("focus", () => flush(true));
  document.addEventListener("visibilitychange", () => document.hidden || flush(true));
  setInterval(() => document.hidden || flush(), LOOK_MS);

  window.rindwatch.outbox = {save, undo, takeBack, flush, state, stamp, me};
})();
