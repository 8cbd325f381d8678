"use strict";
// Lists what waits on this phone, what the house flagged and what it did not take, with what can be done about each.
(() => {
  const {store, outbox, outboxFile} = window.rindwatch;
  const root = document.getElementById("outbox");
  const part = (name) => root.querySelector(`[data-${name}]`);
  const clock = new Intl.DateTimeFormat("en-GB", {weekday: "short", day: "numeric", month: "short", hour: "2-digit", minute: "2-digit"});

  function line(words, atMs, more, ...buttons) {
    const item = document.createElement("li");
    const text = document.createElement("p");
    text.append(Object.assign(document.createElement("strong"), {textContent: words}), ` ${clock.format(atMs)}`);
    item.append(text);
    for (const said of more) item.append(Object.assign(document.createElement("p"), {className: "mark-line", textContent: said}));
    const row = Object.assign(document.createElement("div"), {className: "row"});
    for (const [label, act] of buttons) {
      const button = Object.assign(document.createElement("button"), {type: "button", className: "quiet thumb", textContent: label});
      button.setAttribute("aria-label", `${label}: ${words}`);
      button.addEventListener("click", async () => { await act(); await show(); });
      row.append(button);
    }
    if (buttons.length) item.append(row);
    return item;
  }

  // What the house said in words, and behind a touch what exactly it was, for whoever mends that.
  function refused(record) {
    const {odd: {status, what, hint}, entry, sort, words, savedMs} = record;
    const said = status === 422 && sort === "entry" && hint ? hint : [capital(what), hint].filter(Boolean).join(" ");
    const item = line(words, savedMs, [said],
      ["Try again", () => store.change(record.id, {odd: null}).then(() => outbox.flush(true))], ["Throw away", () => throwAway(record)]);
    const again = Object.assign(document.createElement("a"), {className: "button quiet thumb", textContent: "Enter it anew"});
    again.href = entry?.wheel_id ? `/at/${entry.wheel_id}` : entry?.gear_id ? `/gear/${entry.gear_id}` : "/round";
    item.querySelector(".row").prepend(again);
    const details = document.createElement("details");
    details.append(Object.assign(document.createElement("summary"), {textContent: "Details"}), Object.assign(document.createElement("p"), {className: "hint", textContent: `${what} (${status}, ${record.id})`}));
    item.append(details);
    return item;
  }

  function fill(name, items) {
    part(name).hidden = items.length === 0;
    part(name).querySelector("[data-list]").replaceChildren(...items);
  }

  const capital = (text) => `${text[0].toUpperCase()}${text.slice(1)}${/[.?!]$/.test(text) ? "" : "."}`;

  async function takeBack(one) {
    await outbox.takeBack(one);
    await store.untell(one.id);
  }

  // A refused entry leaves this phone only when its maker says so, and never by accident.
  const throwAway = ({id, words}) => confirm(`Throw away "${words}"? It is nowhere else.`) ? store.drop(id) : null;

  async function show() {
    const records = await store.waiting(), told = await store.told();
    const me = outbox.me().person ?? "";
    const mine = records.filter(({by}) => by === me);
    const waits = mine.filter(({odd}) => !odd);
    part("summary").textContent = waits.length ? `${waits.length} ${waits.length === 1 ? "entry waits" : "entries wait"} on this phone.` : "Nothing waits: the house has everything.";
    fill("waits", waits.map(({words, savedMs, sort, size}) => line(words, savedMs, sort === "photo" ? [`${Math.round(size / 1000)} kB`] : [])));
    fill("odd", mine.filter(({odd}) => odd).map(refused));
    fill("flagged", told.map((one) => line(one.words, one.atMs, one.flags.map(capital), ["Keep it so", () => store.untell(one.id)], ["Correct", () => store.untell(one.id).then(() => location.assign(`/correct/${one.id}`))], ["Take it back", () => takeBack(one)])));
    fill("others", records.filter(({by}) => by !== me).map(({words, savedMs, byName}) => line(words, savedMs, [`entered by ${byName}`])));
    await window.rindwatch.enteredHere.show(part("here"));
    const safe = await navigator.storage?.persisted?.();
    part("safe").textContent = waits.length && !safe ? "Browsers clear what a site keeps when it was not touched for about a week, so open this in Wi-Fi before that, or save it as a file." : "";
  }

  let showing = null;
  const soon = () => { showing ??= show().finally(() => { showing = null; }); };
  document.addEventListener("outbox", soon);
  part("send").addEventListener("click", () => outbox.flush(true));
  part("save").addEventListener("click", () => outboxFile.save());
  part("bring").addEventListener("change", async ({target}) => {
    const say = part("brought");
    try {
      say.textContent = `${await outboxFile.bring(target.files[0])} brought in.`;
    } catch (error) {
      say.textContent = `That is no file of waiting entries (${error.name}).`;
    }
    target.value = "";
  });
  root.hidden = false;
  soon();
})();
