"use strict";
// The weighing form: a big keypad, the wheel's last weight and board, and a question before an odd weight is kept.
(() => {
  const {weights} = window.rindwatch;
  const place = document.getElementById("kept");
  window.rindwatch.kept = place ? JSON.parse(place.textContent) : {};
  const keptOf = (form) => window.rindwatch.kept.wheels?.[form.closest("[data-wheel]")?.dataset.wheel] ?? {};
  const unitOf = (form) => form.elements.unit.value;

  function press(form, key) {
    const input = form.elements.weight;
    let text = input.value;
    if (key === "back") text = text.replace(/( lb )?.?$/, "");
    else if (key === "point") text = unitOf(form) === "lb" && /^\d+$/.test(text) ? `${text} lb ` : /\d$/.test(text) && !/\.\d*$/.test(text) ? `${text}.` : text;
    else if (text.length < 12) text += key;
    input.value = text;
    input.dispatchEvent(new Event("input", {bubbles: true}));
  }

  function showUnit(form) {
    const unit = unitOf(form);
    form.querySelector("[data-unit]").textContent = unit === "lb" ? "" : unit;
    const point = form.querySelector('[data-key="point"]');
    point.textContent = unit === "lb" ? point.dataset.lb : ".";
    point.setAttribute("aria-label", unit === "lb" ? "pounds, then ounces" : "point");
  }

  // The doubt belongs to what was typed; another weight is looked at anew.
  function clearDoubt(form) {
    delete form.dataset.insisted;
    form.querySelector("[data-doubt]").hidden = true;
    form.querySelector("[data-keep]").textContent = "Keep";
  }

  function doubtOf(body, kept) {
    if (kept.low_g === undefined) return "";
    const net = (body.scale_g - (body.tare_g ?? 0)) / (body.pieces ?? kept.pieces ?? 1);
    const unit = /lb|oz/.test(kept.last) ? "lb" : "g";
    const said = `${weights.shown(net, unit)} after ${kept.last}`;
    if (net > (body.wet ? kept.wet_high_g : kept.high_g)) return `${said}: heavier than it can be. Is it wet, on its board, or was it another unit?`;
    if (net < kept.low_g) return `${said}: lighter than it can be. Was something taken out, or was it another unit?`;
    return "";
  }

  document.addEventListener("entering", (event) => {
    const form = event.target, body = event.detail.entries.at(-1).body;
    if (body.kind !== "weighing") return;
    const doubt = doubtOf(body, keptOf(form));
    if (doubt && form.dataset.insisted !== "yes") {
      event.preventDefault();
      const line = form.querySelector("[data-doubt]");
      line.querySelector("span").textContent = doubt;
      line.hidden = false;
      form.dataset.insisted = "yes";
      form.querySelector("[data-keep]").textContent = "Keep it as typed";
      return;
    }
    if (doubt) body.insisted = true;
    event.detail.words ||= `${keptOf(form).code ?? "Wheel"} weighed ${weights.shown(body.scale_g - (body.tare_g ?? 0), unitOf(form))}`;
  });

  // What was weighed now is the last weight, and its board and scale are remembered.
  document.addEventListener("entered", ({target: form, detail: {entries}}) => {
    const body = entries.at(-1).body;
    if (body.kind !== "weighing") return;
    const kept = keptOf(form);
    Object.assign(kept, {last: `${weights.shown((body.scale_g - (body.tare_g ?? 0)) / (body.pieces ?? kept.pieces ?? 1), unitOf(form))} just now`, board: body.board_id, scale: body.scale_id});
    for (const name of ["low_g", "high_g", "wet_high_g"]) delete kept[name];
    window.rindwatch.lastScale = body.scale_id ?? "";
    window.rindwatch.lastUnit = unitOf(form);
    clearDoubt(form);
  });

  // The wheel's own board, the scale and unit that were used last.
  function fill(form) {
    const kept = keptOf(form);
    const has = (select, value) => [...(select?.options ?? [])].some((option) => option.value === value);
    form.elements.board.value = has(form.elements.board, kept.board) ? kept.board : "";
    const scale = window.rindwatch.lastScale ?? kept.scale;
    if (has(form.elements.scale, scale)) form.elements.scale.value = scale;
    if (window.rindwatch.lastUnit) form.elements.unit.value = window.rindwatch.lastUnit;
    showBoard(form);
    showUnit(form);
    clearDoubt(form);
  }

  const showBoard = (form) => { form.querySelector("[data-new-board]").hidden = form.elements.board.value !== "new"; };

  function setUp(form) {
    form.querySelector("[data-keypad]").hidden = false;
    form.elements.weight.inputMode = "none";
    form.noValidate = true;
    for (const key of form.querySelectorAll("[data-key]")) key.addEventListener("click", () => press(form, key.dataset.key));
    form.elements.weight.addEventListener("input", () => clearDoubt(form));
    form.addEventListener("change", ({target}) => {
      if (target.name === "unit") showUnit(form);
      if (target.name === "board") showBoard(form);
      if (["unit", "wet", "board"].includes(target.name)) clearDoubt(form);
    });
    form.addEventListener("reset", () => setTimeout(() => fill(form)));
    showBoard(form);
    showUnit(form);
  }

  function setUpNote(form) {
    const own = form.querySelector("[data-own-word]");
    const choice = form.elements.note ?? form.elements.care ?? form.elements.chore;
    const look = () => { own.hidden = choice.value !== "own"; };
    form.addEventListener("change", look);
    form.addEventListener("reset", () => setTimeout(look));
    look();
  }

  for (const form of document.querySelectorAll('form[data-entry="weighing"]')) setUp(form);
  for (const own of document.querySelectorAll("[data-own-word]")) setUpNote(own.closest("form"));
  window.rindwatch.fillWeighing = fill;
})();
