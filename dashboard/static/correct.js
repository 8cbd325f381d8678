"use strict";
// The page that corrects an entry. The house fills its form in; without a signal it is filled in from what this phone
// keeps: entries of its own, and the latest ones of each wheel. Either way the correction is added and what was written before stays.
(() => {
  const {store, keptLately} = window.rindwatch;
  const place = document.getElementById("correct");
  const lead = document.querySelector("[data-lead]");
  const SHOWN = {taken: "taken_g", before: "before_g", after: "after_g", salt: "salt_g", first_seen: "first_seen_on", amount: "amount_l", weight: "scale_g"};
  const SHOWN_OF = {lifted: {...SHOWN, weight: "weight_g"}, ended: {...SHOWN, amount: "amount_g"}, gear_check: {}};
  const GRAMS = /_g$/;
  const ON = ["board_id", "tare_g", "scale_id", "step_g"];

  // A time as a picker takes it: of this phone's zone, without seconds.
  const picked = (iso) => new Date(Date.parse(iso) - new Date(iso).getTimezoneOffset() * 60000).toISOString().slice(0, 16);

  function textOf(name, value) {
    if (value === undefined || value === null) return "";
    if (value === true) return "yes";
    if (!GRAMS.test(name)) return String(value);
    // Three figures behind the point can be read in two ways, and are refused when they are typed.
    const text = String(Number(value.toPrecision(10)));
    return /\.\d{3}$/.test(text) ? `${text}0 g` : `${text} g`;
  }

  function set(form, name, text) {
    const field = form.elements[name];
    if (!field) return;
    if (field.type === "checkbox") field.checked = Boolean(text);
    else field.value = text;
    if (field.tagName === "SELECT" && text && field.value !== text) field.add(new Option("as it was", text, true, true));
  }

  // entry: as a phone made it.
  function fill(form, {body, done_at, gear_id, place_id}) {
    const shown = SHOWN_OF[form.dataset.entry] ?? SHOWN;
    for (const name of new Set([...form.elements].map((field) => field.name))) {
      const to = shown[name] ?? name;
      if (name && !["seed", "replaces", "when", "unit", "photo"].includes(name)) set(form, name, textOf(to, body[to]));
    }
    for (const [name, value] of [["when", picked(done_at)], ["gear", gear_id ?? ""], ["place", place_id ?? ""], ["unit", "g"], ["board", body.board_id ?? ""], ["scale", body.scale_id ?? ""]]) set(form, name, value);
    if (body.temperature_c !== undefined && form.dataset.warmth === "F") set(form, "temperature_c", String(Math.round((body.temperature_c * 9 / 5 + 32) * 10) / 10));
    if (body.last_clean_at) set(form, "last_clean", picked(body.last_clean_at));
    form.dispatchEvent(new Event("change", {bubbles: true}));
  }

  function correctsOf({id, entry, carried: over}) {
    const {wheel_id, make_id, place_id, gear_id, done_at, zone, body} = entry;
    const was = JSON.parse(JSON.stringify({wheel_id, make_id, place_id, gear_id, done_at, zone, typed_time: true, body}));
    const carried = over ?? Object.fromEntries(["photos", "follows"].filter((name) => body[name]).map((name) => [name, body[name]]));
    return {id, when: picked(done_at), carried, on: Object.fromEntries(ON.filter((name) => name in body).map((name) => [name, body[name]])), was};
  }

  async function fillIn() {
    const id = location.pathname.split("/").pop();
    const record = (await store.doneOne(id)) ?? (await keptLately()).find((one) => one.id === id);
    const kind = record?.entry.body.kind === "note" ? "rind_note" : record?.entry.body.kind;
    const section = place.querySelector(`[data-kind="${CSS.escape(kind ?? "")}"]`);
    if (!section) {
      lead.textContent = "This phone keeps nothing of this entry. Open it again where the house answers.";
      return;
    }
    lead.textContent = [record.words, record.when].filter(Boolean).join(", ");
    const form = section.querySelector("form");
    form.dataset.corrects = JSON.stringify(correctsOf(record));
    if (record.entry.wheel_id) place.dataset.back = `/at/${record.entry.wheel_id}`;
    fill(form, record.entry);
    section.hidden = false;
  }

  if (place.dataset.entryId === "any") fillIn().catch((error) => { lead.textContent = `This entry cannot be shown without the house (${error.name}).`; });
  else for (const form of place.querySelectorAll("form")) form.dataset.corrects = place.dataset.corrects;

  document.addEventListener("entering", ({target, detail}) => { if (place.contains(target)) detail.words = `Corrected: ${lead.textContent}`; });
  document.addEventListener("entered", ({target}) => {
    if (!place.contains(target)) return;
    place.hidden = true;
    document.querySelector("[data-corrected]").hidden = false;
    document.querySelector(".back").href = place.dataset.back;
    scrollTo({top: 0});
  });
})();
