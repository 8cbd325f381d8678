"use strict";
// What was entered on this phone in the last days, each to be corrected or taken back, with a signal or without.
(() => {
  const {store, outbox} = window.rindwatch;
  const clock = new Intl.DateTimeFormat("en-GB", {weekday: "short", hour: "2-digit", minute: "2-digit"});
  const SHOWN = 60;

  function button(label, words) {
    const made = Object.assign(document.createElement("button"), {type: "button", className: "quiet thumb", textContent: label});
    made.setAttribute("aria-label", `${label}: ${words}`);
    return made;
  }

  function line(record) {
    const {id, words, entry, receivedAt, when} = record;
    const item = document.createElement("li"), text = document.createElement("p");
    text.append(Object.assign(document.createElement("strong"), {textContent: words}), ` ${when ?? clock.format(Date.parse(entry.done_at))}${when || receivedAt ? "" : ", waits"}`);
    const row = Object.assign(document.createElement("div"), {className: "row"});
    const correct = Object.assign(document.createElement("a"), {className: "button quiet thumb", href: `/correct/${id}`, textContent: "Correct"});
    correct.setAttribute("aria-label", `Correct: ${words}`);
    const back = button("Take back", words);
    back.addEventListener("click", () => outbox.takeBack(record));
    row.append(correct, back);
    item.append(text, row);
    return item;
  }

  // Sheets are changed by their own forms.
  const SHEETS = new Set(["withdrawn", "own_kind", "gear", "make", "wheel", "style"]);

  // The entries that still stand, the newest first; wheel: of one wheel only.
  async function standing(wheel) {
    const me = outbox.me().person ?? "";
    const all = (await store.done()).filter(({by}) => by === me);
    const gone = new Set(all.map(({entry}) => entry.replaces).filter(Boolean));
    return all.filter(({id, entry}) => !gone.has(id) && !SHEETS.has(entry.body.kind) && (!wheel || entry.wheel_id === wheel))
      .sort((one, other) => other.savedMs - one.savedMs).slice(0, SHOWN);
  }

  // The latest entries of one wheel as the house had them, whoever made them; without what this phone shows itself, or
  // has corrected or taken back meanwhile.
  async function keptOf(wheel) {
    const own = await store.done();
    const known = new Set(own.flatMap(({id, entry}) => [id, entry.replaces]));
    return (await window.rindwatch.keptLately(wheel)).filter(({id}) => !known.has(id));
  }

  async function showKept(place, wheel) {
    const found = await keptOf(wheel);
    place.hidden = found.length === 0;
    place.querySelector("[data-list]").replaceChildren(...found.map(line));
  }

  // place: holds a [data-list], and is hidden while there is nothing.
  async function show(place, wheel = "", wanted = () => true) {
    const found = (await standing(wheel)).filter(wanted);
    place.hidden = found.length === 0;
    place.querySelector("[data-list]").replaceChildren(...found.map(line));
  }

  window.rindwatch.enteredHere = {show, showKept};
})();
