"use strict";
// The round by one thumb: what is touched is kept on this phone at once and shown on its line; nothing waits for a page.
(() => {
  const {entries, outbox, photos} = window.rindwatch;
  const CLEAN = "+clean";
  const dialogs = {weigh: document.getElementById("d-weigh"), note: document.getElementById("d-note"), more: document.getElementById("d-more")};

  function bodyOf(value, texts, button) {
    const name = value.replace(CLEAN, "");
    if (name === "looked") return {kind: "looked"};
    if (name === "left") return {kind: "left_missed"};
    const body = {kind: "care", care: name};
    if (value.endsWith(CLEAN)) body.nothing_new = true;
    if (texts.side && (name === "dry_salted" || name === "pierced")) body.side = Number(texts.side);
    return body;
  }

  const USES = {washed: 1, wiped: 1, rubbed: 1, brushed: 1, brined: 1, board_changed: 1};
  const codeOf = (line) => line.querySelector("[data-code]").textContent;

  // Which lines one touch means: its own, or all that are marked.
  function linesOf(form, button) {
    const [value, one] = button.name === "one" ? button.value.split(":") : [button.value, ""];
    const lines = [...form.querySelectorAll(".wheel")];
    const meant = one ? lines.filter(({dataset}) => dataset.wheel === one) : lines.filter((line) => line.querySelector("input[name=wheel]").checked);
    return {value, lines: value === "left" ? meant.filter((line) => line.querySelector(".due.overdue:not([hidden])")) : meant, one};
  }

  async function touch(form, button) {
    const {value, lines, one} = linesOf(form, button);
    if (lines.length === 0) return entries.complain(form, value === "left" ? "Nothing was missed on the marked wheels." : "Mark at least one wheel.");
    form.querySelector("[data-complaint]")?.remove();
    const texts = entries.textsOf(form, null);
    const entry = entries.sheet(one ? {} : texts);
    const refs = !one && texts.gear && USES[value] ? {gear_id: texts.gear} : {};
    const made = lines.map((line) => {
      const body = bodyOf(value, one ? {} : texts);
      return entry(body, {wheel_id: line.dataset.wheel, ...refs});
    });
    const said = button.textContent.trim().replace(/ all\b/, "");
    const words = one ? `${codeOf(lines[0])}: ${said}` : `${form.dataset.shelf}, ${lines.length} ${lines.length === 1 ? "wheel" : "wheels"}: ${said}`;
    try {
      await outbox.save(made, words);
    } catch (error) {
      return entries.complain(form, `Not saved: this phone has no room or lets nothing be kept (${error.name}).`);
    }
    for (const box of form.querySelectorAll("input[name=wheel]")) box.checked ||= !one;
  }

  document.addEventListener("submit", async (event) => {
    const form = event.target;
    if (!form.matches("form[data-shelf]") || form.dataset.plain !== undefined) return;
    event.preventDefault();
    if (form.saving) return;
    form.saving = true;
    await touch(form, event.submitter).finally(() => { form.saving = false; });
  });

  document.addEventListener("change", async ({target}) => {
    if (target.dataset?.shelfPhoto === undefined || target.files.length === 0) return;
    const pictures = await photos.all([...target.files]);
    target.value = "";
    await shelfPhoto(target.form, pictures);
  });

  // A photo of all that stands there, marked or not: one entry of the place, and whatever stood there was looked at.
  async function shelfPhoto(form, pictures) {
    form.querySelector("[data-complaint]")?.remove();
    const entry = entries.sheet({})({kind: "shelf_photo", photos: pictures.map(({id}) => id)}, {place_id: form.dataset.place});
    try {
      await outbox.save([entry], `Photo of ${form.dataset.shelf}`, pictures);
    } catch (error) {
      entries.complain(form, `Not saved: this phone has no room or lets nothing be kept (${error.name}).`);
    }
  }

  function facts(dialog, id) {
    const kept = window.rindwatch.kept.wheels?.[id] ?? {};
    for (const place of dialog.querySelectorAll("[data-fact]")) {
      const name = place.dataset.fact, value = kept[name] ?? "";
      if (name === "last") place.textContent = value ? `Last: ${value}` : "Not weighed yet.";
      else if (name === "clean") place.textContent = value ? `From the rounds: ${value}.` : "From the rounds, if you leave it blank.";
      else place.textContent = value || (name === "code" ? "this wheel" : "");
    }
  }

  // A button for each open note, to say that it is gone.
  function openNotes(dialog, id) {
    const place = dialog.querySelector("[data-open-notes]");
    if (!place) return;
    place.replaceChildren(...(window.rindwatch.kept.wheels?.[id]?.notes ?? []).map(([name, word, since]) => {
      const form = Object.assign(document.createElement("form"), {className: "entry"});
      form.dataset.entry = "rind_note";
      for (const [key, value] of [["note", name], ["gone", "yes"]]) form.append(Object.assign(document.createElement("input"), {type: "hidden", name: key, value}));
      form.append(Object.assign(document.createElement("button"), {className: "full thumb quiet", textContent: `${word} (since ${since}) is gone`}));
      return form;
    }));
  }

  function open(which, id) {
    const dialog = dialogs[which];
    dialog.dataset.wheel = id;
    facts(dialog, id);
    openNotes(dialog, id);
    dialog.querySelector("[data-wheel-link]")?.setAttribute("href", `/at/${id}`);
    dialog.querySelector("[data-move]")?.setAttribute("href", `/wheels/move?wheel=${id}`);
    for (const form of dialog.querySelectorAll("form")) form.reset();
    const next = dialog.querySelector("[data-next]");
    if (next) next.hidden = !nextOf(id);
    dialog.showModal();
    dialog.scrollTop = 0;
  }

  const lineOf = (id) => document.getElementById(`w-${id}`);

  function nextOf(id) {
    const next = lineOf(id)?.nextElementSibling;
    return next?.dataset.wheel ?? "";
  }

  document.addEventListener("click", (event) => {
    const opener = event.target.closest("[data-open]"), closer = event.target.closest("[data-close]");
    if (closer) closer.closest("dialog").close();
    if (!opener || !dialogs[opener.dataset.open]) return;
    event.preventDefault();
    open(opener.dataset.open, opener.closest("[data-wheel]").dataset.wheel);
  });

  document.addEventListener("entering", ({target, detail}) => {
    const id = target.closest("dialog")?.dataset.wheel;
    const code = id ? window.rindwatch.kept.wheels?.[id]?.code || "Wheel" : "";
    const said = detail.button?.textContent.trim();
    if (target.dataset.entry !== "weighing") detail.words ||= [code, said && !/^Keep/.test(said) ? said.split("\n")[0] : code ? "kept" : "Kept"].filter(Boolean).join(": ");
  });

  // A dialog closes by itself once its entry is kept; from a weighing one goes on to the next wheel of the shelf.
  document.addEventListener("entered", ({target, detail}) => {
    const dialog = target.closest("dialog");
    if (!dialog) return;
    const id = dialog.dataset.wheel;
    dialog.close();
    if (detail.button?.name === "then" && nextOf(id)) open("weigh", nextOf(id));
  });

  if (document.body.dataset.kept !== undefined) for (const line of document.querySelectorAll(".kept-words")) line.hidden = false;
  if (!("serviceWorker" in navigator)) for (const line of document.querySelectorAll(".plain-http")) line.hidden = false;
})();
