"use strict";
// Reads the forms of entries as the house would, keeps what they say on this phone, and leaves the page where it is.
// dashboard/rounds/typed.py and entering.py are the same for a browser without script.
(() => {
  const {ids, outbox, store, weights, photos} = window.rindwatch;
  const MOVING = new Set(["moved", "move", "moved to another place"]); // no care: where it stands is an entry of its own
  const words = (text) => text;
  const flag = () => true;
  const whole = (text) => weights.between(text, 1, 10000, "a whole number") | 0;
  const weight = (text, form) => weights.grams(text, form.elements.unit?.value || form.dataset.unit || "g");
  const moment = (text) => new Date(text).toISOString();
  const warmth = (text, form) => form.dataset.warmth === "F" ? (weights.between(text, 0, 120, "a temperature") - 32) * 5 / 9 : weights.between(text, 0, 50, "a temperature");
  const percent = (text) => weights.between(text, 0, 100, "a percentage");

  const FIELDS = {
    weighing: {weight: ["scale_g", weight], wet: ["wet", flag], start: ["start", words], text: ["text", words], pieces: ["pieces", whole]},
    care: {care: ["care", words], with_what: ["with_what", words], text: ["text", words], side: ["side", whole], nothing_new: ["nothing_new", flag], salt: ["salt_g", weight]},
    looked: {text: ["text", words]},
    took_out: {what: ["what", words], text: ["text", words], taken: ["taken_g", weight], before: ["before_g", weight], after: ["after_g", weight]},
    rind_note: {note: ["note", words], where: ["where", words], text: ["text", words], how_much: ["how_much", whole], how_bad: ["how_bad", whole], gone: ["gone", flag], first_seen: ["first_seen_on", words], last_clean: ["last_clean_at", moment]},
    tasting: {...Object.fromEntries(["appearance", "texture", "aroma", "flavour", "next_time", "tasters", "text"].map((name) => [name, [name, words]])), ...Object.fromEntries(["salt", "acid", "bitter", "strength", "moist", "verdict"].map((name) => [name, [name, whole]]))},
    note: {text: ["text", words]},
    chore: {chore: ["chore", words], text: ["text", words], amount: ["amount_l", (text) => weights.between(text, 0.001, 10000, "litres")]},
    gear_check: {strength_pct: ["strength_pct", percent], ph: ["ph", (text) => weights.between(text, 2, 10, "a pH")], temperature_c: ["temperature_c", warmth], salt_added_g: ["salt_added_g", weight], checked_with_g: ["checked_with_g", weight], showed_g: ["showed_g", weight], boiled: ["boiled", flag], scalded: ["scalded", flag], renewed: ["renewed", flag], text: ["text", words]},
    // These are only corrected by such a form.
    moved: {spot: ["spot", words], text: ["text", words]},
    covered: {covering: ["covering", words], text: ["text", words], coats: ["coats", whole], before: ["before_g", weight], after: ["after_g", weight]},
    cut: {rest: ["rest", words], to_whom: ["to_whom", words], text: ["text", words], rest_g: ["rest_g", weight]},
    lifted: {code: ["code", words], text: ["text", words], pieces: ["pieces", whole], weight: ["weight_g", weight]},
    counted: {text: ["text", words], pieces: ["pieces", (text) => weights.between(text, 0, 10000, "a whole number") | 0]},
    ended: {how: ["how", words], to_whom: ["to_whom", words], reason: ["reason", words], text: ["text", words], pieces: ["pieces", whole], amount: ["amount_g", weight]},
    left_missed: {text: ["text", words]},
    shelf_photo: {text: ["text", words]},
  };

  function textsOf(form, button) {
    const texts = {};
    for (const [name, value] of new FormData(form)) if (typeof value === "string" && value.trim()) texts[name] = value.trim();
    if (button?.name) texts[button.name] = button.value;
    return texts;
  }

  function bodyOf(kind, texts, form) {
    const body = {kind};
    for (const [name, [to, read]] of Object.entries(FIELDS[kind])) if (texts[name]) body[to] = read(texts[name], form);
    return body;
  }

  // What all entries of one touch share. A time that a correction leaves as it was stays as exact as it was.
  function sheet(texts, corrects = null) {
    const {done_at, zone} = outbox.stamp();
    const typed = corrects && texts.when === corrects.when ? corrects.was.done_at : texts.when && new Date(texts.when).toISOString();
    const common = {group_id: ids.newId(), done_at: typed || done_at, zone};
    if (texts.when) common.typed_time = true;
    return (body, refs) => ({id: ids.newId(), ...common, ...refs, body});
  }

  // A word that is in no list yet comes along as an entry of its own.
  function ownWord(body, name, of, texts, form, entry) {
    if (body[name] && body[name] !== "own") return [];
    const word = texts.own_word;
    if (!word) throw new RangeError("Choose what it was, or give it a word of your own.");
    if (of === "care" && MOVING.has(word.toLowerCase())) throw new RangeError("To say that it was moved, touch Moved and take the place.");
    const listed = [...form.querySelectorAll(`[name="${name}"] option, button[name="${name}"]`)]
      .find((one) => one.textContent.trim().toLowerCase() === word.toLowerCase() && one.value !== "own");
    if (listed) {
      body[name] = listed.value;
      return [];
    }
    body[name] = `own_${ids.newId().slice(-12)}`;
    return [entry({kind: "own_kind", of, name: body[name], word}, {})];
  }

  function weighedOn(body, texts, form, entry, on = {}) {
    if (!("scale_g" in body)) throw new RangeError("Type the weight first.");
    body.typed = `${texts.weight}${/\d$/.test(texts.weight) ? ` ${texts.unit ?? ""}` : ""}`.trim();
    const scale = form.elements.scale?.selectedOptions[0];
    if (scale?.value) Object.assign(body, {scale_id: scale.value}, scale.dataset.step ? {step_g: Number(scale.dataset.step)} : {});
    const board = form.elements.board.selectedOptions[0];
    if (board.value === "new") return [newBoard(body, texts, form, entry)];
    if (board.value) Object.assign(body, {board_id: board.value, tare_g: Number(board.dataset.tare ?? 0)});
    // Board and scale weighed on the day what they weighed on the day.
    if (body.board_id === on.board_id && "tare_g" in on) body.tare_g = on.tare_g;
    if (body.scale_id === on.scale_id && "step_g" in on) body.step_g = on.step_g;
    if (body.tare_g >= body.scale_g) throw new RangeError(`The board alone weighs ${weights.shown(body.tare_g, texts.unit)}.`);
    return [];
  }

  function newBoard(body, texts, form, entry) {
    if (!texts.board_name || !texts.board_tare) throw new RangeError("Give the new board a name and its weight.");
    const id = ids.newId(), tare_g = weight(texts.board_tare, form);
    const option = new Option(`on ${texts.board_name}`, id, true, true);
    option.dataset.tare = tare_g;
    form.elements.board.add(option, form.elements.board.options.length - 1);
    Object.assign(body, {board_id: id, tare_g});
    return entry({kind: "gear", gear: "board", name: texts.board_name, tare_g}, {gear_id: id});
  }

  const files = (form) => [...photos.taken(form), ...[...form.querySelectorAll('input[type="file"]')].flatMap((input) => [...input.files])];

  // What the entry was that this form corrects; null for a form that enters something new.
  const correctsOf = (form) => form.dataset.corrects ? JSON.parse(form.dataset.corrects) : null;

  // What the form does not ask; of a rind note that turns out to be a mere remark only its photos.
  function carriedOver(corrects, kind) {
    const {photos, ...more} = corrects?.carried ?? {};
    return {...(corrects?.was.body.kind === kind ? more : {}), ...(photos ? {photos} : {})};
  }

  // What an entry is about, and what it replaces.
  function refsOf(form, kind, texts, corrects) {
    const {done_at, zone, typed_time, body, ...refs} = corrects?.was ?? {};
    const wheel = form.closest("[data-wheel]")?.dataset.wheel;
    if (wheel) refs.wheel_id = wheel;
    if (form.dataset.place) refs.place_id = form.dataset.place;
    if (form.dataset.gear) refs.gear_id = form.dataset.gear;
    if (kind === "care") texts.gear ? refs.gear_id = texts.gear : delete refs.gear_id;
    if (kind === "moved" && texts.place) refs.place_id = texts.place;
    if (corrects) refs.replaces = corrects.id;
    return refs;
  }

  // The entries of a form, in order; a RangeError says what is missing.
  function entriesOf(form, button) {
    const texts = textsOf(form, button);
    let kind = form.dataset.entry;
    if (kind === "rind_note" && !texts.note && !texts.own_word) kind = "note";
    const corrects = correctsOf(form);
    const entry = sheet(texts, corrects), body = {...carriedOver(corrects, kind), ...bodyOf(kind, texts, form)};
    const refs = refsOf(form, kind, texts, corrects);
    if (kind === "note" && !texts.text && files(form).length === 0 && !body.photos) throw new RangeError("Write something, or take a photo.");
    if (kind === "gear_check" && Object.keys(body).length === 1) throw new RangeError("Fill in what was measured, or mark what was done.");
    const before = kind === "weighing" ? weighedOn(body, texts, form, entry, corrects?.on)
      : kind === "rind_note" ? ownWord(body, "note", "rind_note", texts, form, entry)
      : kind === "care" ? ownWord(body, "care", "care", texts, form, entry)
      : kind === "chore" ? ownWord(body, "chore", "chore", texts, form, entry) : [];
    return [...before, entry(body, refs)];
  }

  function complain(form, text) {
    const line = form.querySelector("[data-complaint]") ?? form.appendChild(Object.assign(document.createElement("p"), {className: "error"}));
    line.dataset.complaint = "";
    line.setAttribute("role", "alert");
    line.textContent = text;
  }

  // Saves what a form says; the page's own script may look at the entries first and hold them back.
  async function keep(form, button) {
    form.querySelector("[data-complaint]")?.remove();
    let entries;
    try {
      entries = entriesOf(form, button);
    } catch (error) {
      if (!(error instanceof RangeError)) throw error;
      return complain(form, error.message);
    }
    const held = new CustomEvent("entering", {bubbles: true, cancelable: true, detail: {entries, button}});
    if (!form.dispatchEvent(held)) return null;
    const pictures = await photos.all(files(form));
    if (pictures.length) entries.at(-1).body.photos = [...entries.at(-1).body.photos ?? [], ...pictures.map(({id}) => id)];
    try {
      await outbox.save(entries, form.dataset.words || held.detail.words || "Kept", pictures, correctsOf(form)?.was);
    } catch (error) {
      return complain(form, `Not saved: this phone has no room or lets nothing be kept (${error.name}).`);
    }
    form.dispatchEvent(new CustomEvent("entered", {bubbles: true, detail: {entries, button}}));
    form.reset();
    return entries;
  }

  document.addEventListener("submit", async (event) => {
    const form = event.target, button = event.submitter;
    if (!form.matches("form[data-entry]") || form.dataset.plain !== undefined) return;
    event.preventDefault();
    if (form.saving) return;
    form.saving = true;
    await keep(form, button).finally(() => { form.saving = false; });
  });

  // A browser that keeps nothing posts the forms as one without script does.
  store.works().then((works) => {
    if (!works) for (const form of document.querySelectorAll("form[data-entry], form[data-shelf]")) form.dataset.plain = "";
  });

  document.addEventListener("change", ({target}) => {
    const hint = target.name === "note" && target.form?.querySelector("[data-calls-for]");
    if (hint) hint.textContent = target.selectedOptions?.[0].dataset.calls ?? "";
  });

  window.rindwatch.entries = {entriesOf, keep, sheet, textsOf, files, complain};
})();
