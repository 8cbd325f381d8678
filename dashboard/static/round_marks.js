"use strict";
// Lays what was entered since the page was made over its lines: what waits on this phone, and what was sent meanwhile.
(() => {
  const {store, outbox} = window.rindwatch;
  const asOf = document.querySelector("[data-as-of]")?.dataset.asOf ?? "";

  // Of each wheel: what was done (care name -> when), and whether some of it still waits.
  function byWheel(records) {
    const gone = new Set(records.map(({entry}) => entry.replaces).filter(Boolean));
    const found = new Map();
    for (const {id, entry, receivedAt} of records) {
      if (gone.has(id) || entry.body.kind === "withdrawn") continue;
      if (receivedAt && asOf && Date.parse(receivedAt) <= Date.parse(asOf)) continue;
      for (const wheel of wheelsOf(entry)) {
        const own = found.get(wheel) ?? {done: new Map(), waits: false, left: false};
        note(own, entry);
        own.waits ||= !receivedAt;
        found.set(wheel, own);
      }
    }
    return found;
  }

  // A photo of a shelf is about all that stands there.
  function wheelsOf({wheel_id, place_id, body}) {
    if (body.kind !== "shelf_photo") return wheel_id ? [wheel_id] : [];
    return [...document.querySelectorAll(`#s-${CSS.escape(place_id)} .wheel[data-wheel]`)].map(({dataset}) => dataset.wheel);
  }

  function note(own, {body, done_at}) {
    const at = Date.parse(done_at);
    const say = (name, words) => own.done.set(name, {words, at});
    if (body.kind === "care") say(body.care, `${word(body.care)}${body.nothing_new ? ", nothing new" : ""}`);
    if (body.kind === "looked") say("looked", "looked at, nothing new");
    if (body.kind === "shelf_photo") say("looked", "looked at");
    if (body.kind === "weighing") say("weighed", "weighed");
    if (body.kind === "tasting") say("tasted", "tasted");
    if (body.kind === "rind_note") say(`note-${body.note}`, `${word(body.note)}${body.gone ? " is gone" : ""}`);
    if (body.kind === "note") say(`note-${at}`, body.photos?.length ? "photo" : "note");
    if (body.kind === "left_missed") own.left = true;
  }

  // The word that the page itself uses for a kind of care or note.
  function word(name) {
    const button = document.querySelector(`button[name="care"][value="${CSS.escape(name)}"], select[name="note"] option[value="${CSS.escape(name)}"]`);
    return button ? button.textContent.trim() : name.startsWith("own_") ? "a care of your own" : name.replaceAll("_", " ");
  }

  const clock = (at) => new Date(at).toLocaleTimeString("en-GB", {hour: "2-digit", minute: "2-digit"});

  function paint(line, own) {
    const did = line.querySelector("[data-did]");
    did.dataset.house ??= did.textContent;
    const now = own ? [...own.done.values()].sort((one, other) => one.at - other.at).map(({words, at}) => `${words} ${clock(at)}`) : [];
    if (own?.left) now.push("counted from today");
    did.textContent = [did.dataset.house, ...now].filter(Boolean).join(", ");
    did.classList.toggle("waits", Boolean(own?.waits));
    for (const due of line.querySelectorAll("[data-due]")) due.hidden = Boolean(own && (own.left || own.done.has(due.dataset.due)));
    line.classList.toggle("late", Boolean(line.querySelector(".due.overdue:not([hidden])")));
  }

  function count() {
    for (const shelf of document.querySelectorAll("section.shelf")) {
      const late = shelf.querySelectorAll(".wheel.late").length;
      const mark = shelf.querySelector("[data-late]");
      if (mark) [mark.hidden, mark.querySelector("b").textContent] = [late === 0, late];
    }
    const late = document.querySelectorAll(".wheel.late").length;
    const [some, none] = ["some", "none"].map((name) => document.querySelector(`[data-late-total="${name}"]`));
    if (!some) return;
    [some.hidden, none.hidden] = [late === 0, late > 0];
    some.querySelector("strong").textContent = late;
    const due = document.querySelectorAll(".wheel:has(.due:not([hidden]))").length;
    none.querySelector("[data-due-count]").textContent = due;
  }

  function paintPlaces(records) {
    const gone = new Set(records.map(({entry}) => entry.replaces).filter(Boolean));
    for (const {id, entry, receivedAt} of records) {
      const {body, place_id, gear_id} = entry;
      const old = receivedAt && asOf && Date.parse(receivedAt) <= Date.parse(asOf);
      const target = body.kind === "chore" ? document.querySelector(`[data-place="${CSS.escape(place_id)}"] [data-chore][value="${CSS.escape(body.chore)}"] [data-last]`)
        : body.kind === "gear_check" ? document.querySelector(`form[data-gear="${CSS.escape(gear_id)}"] [data-last]`) : null;
      if (!target || old) continue;
      target.dataset.house ??= target.textContent;
      const done = !gone.has(id);
      target.textContent = done ? `done ${clock(Date.parse(entry.done_at))}` : target.dataset.house;
      target.closest(".due-now")?.classList.toggle("done-now", done);
    }
  }

  async function paintAll() {
    const me = outbox.me().person ?? "";
    const records = (await store.done()).filter(({by}) => by === me);
    const found = byWheel(records);
    for (const line of document.querySelectorAll(".wheel[data-wheel]")) paint(line, found.get(line.dataset.wheel));
    paintPlaces(records);
    count();
    document.documentElement.dataset.painted = String(Date.now());
  }

  let painting = null;
  const soon = () => { painting ??= paintAll().catch((error) => console.info(`not painted: ${error.name}`)).finally(() => { painting = null; }); };
  document.addEventListener("outbox", ({detail: {kind}}) => { if (kind === "saved" || kind === "rested") soon(); });
  addEventListener("pageshow", soon);
  if (document.querySelector(".wheel[data-wheel]")) soon();
})();
